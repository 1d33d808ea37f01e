// The vectors of a table as scripts and traces, parted by lines "---".
// usage: vectors.mjs TABLE.json SCRIPTS TRACES
import { readFileSync, writeFileSync } from "node:fs";
import { readTable } from "../../examples/readers/read.mjs";
import { vectorsOf } from "../../examples/readers/run.mjs";

const [file, scripts, traces] = process.argv.slice(2);
const vectors = vectorsOf(readTable(readFileSync(file, "utf8")).table);
const put = (name, part) => writeFileSync(name, vectors.map((one) => [...one[part], "---", ""].join("\n")).join(""));
put(scripts, "input");
put(traces, "trace");
