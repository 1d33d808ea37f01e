// What the reader in JavaScript says of each table of a folder, into NAME.said beside it.
import { readdirSync, readFileSync, writeFileSync } from "node:fs";
import { readTable, Refused } from "../../examples/readers/read.mjs";

const folder = process.argv[2];
for (const name of readdirSync(folder).filter((one) => one.endsWith(".json"))) {
    let said = "";
    try { readTable(readFileSync(`${folder}/${name}`, "utf8")); } catch (error) {
        said = error instanceof Refused ? `refused: ${error.message}\n` : `${error.stack}\n`;
    }
    writeFileSync(`${folder}/${name.slice(0, -5)}.said`, said);
}
