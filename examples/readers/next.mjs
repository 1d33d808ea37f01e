// Shows what is next in a run of a state table, as a crew would want to see it.
//   node next.mjs TABLE.json     the run so far is read from standard input, a line each (see the guide); what is next is printed
import { readFileSync } from "node:fs";
import { readTable, Refused } from "./read.mjs";
import { Run } from "./run.mjs";

const seconds = (ms) => `${Math.floor(ms / 1000)}${ms % 1000 ? `.${String(ms % 1000).padStart(3, "0").replace(/0+$/, "")}` : ""} s`;

function show({ table, ...read }, lines) {
    const run = new Run({ table, ...read });
    for (const line of lines) run.input(line);
    const { place } = run;
    console.log(`${table.tail.title}, ${table.document.id} revision ${table.document.revision}${table.status === "provedAsWritten" ? "" : "  DRAFT"}`);
    for (const words of table.cautions) console.log(`  ${words}`);
    for (const refused of run.trace.filter((one) => / refused |error: /.test(one))) console.log(`! ${refused}`);
    for (const words of place.cautions ?? []) console.log(`  ${words}`);
    console.log(place.kind === "end" ? `Ended: ${place.outcome}` : place.words ? `Next: ${place.words}` : "Between two starts");
    const due = Math.min(...run.due().map((one) => one.at));
    if (Number.isFinite(due)) console.log(`Until ${seconds(due)}, now ${seconds(run.now)}`);
    for (const edge of run.place.edges.filter((one) => one.by !== "time")) {
        const standing = run.standing(edge);
        if (standing === "open") console.log(`  ${edge.by}: ${edge.label}`);
        else if (typeof standing === "number") console.log(`  ${edge.by}: ${edge.label}, in ${seconds(standing)}`);
    }
}

try { show(readTable(readFileSync(process.argv[2], "utf8")), readFileSync(0, "utf8").split("\n")); } catch (error) {
    if (!(error instanceof Refused)) throw error;
    console.error(`refused: ${error.message}`);
    process.exitCode = 2;
}
