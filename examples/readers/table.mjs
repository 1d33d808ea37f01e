// A state table from the command line.
//   node table.mjs TABLE.json SCRIPT…      runs each script (`-`: standard input) and prints the trace
//   node table.mjs TABLE.json --vectors    runs the table's own vectors and says which differ
import { readFileSync } from "node:fs";
import { readTable, Refused } from "./read.mjs";
import { runScript, vectorsOf } from "./run.mjs";

function main([file, ...rest]) {
    const read = readTable(readFileSync(file, "utf8"));
    if (rest[0] !== "--vectors") {
        for (const script of rest) for (const line of runScript(read, readFileSync(script === "-" ? 0 : script, "utf8").split("\n"))) console.log(line);
        return 0;
    }
    const differ = vectorsOf(read.table).flatMap(({ input, trace }, i) => (runScript(read, input).join("\n") === trace.join("\n") ? [] : [i]));
    console.log(`${read.table.vectors.length} vectors, ${differ.length} differ${differ.length ? `: ${differ.join(" ")}` : ""}`);
    return differ.length ? 1 : 0;
}

try { process.exitCode = main(process.argv.slice(2)); } catch (error) {
    if (!(error instanceof Refused)) throw error;
    console.error(`refused: ${error.message}`);
    process.exitCode = 2;
}
