// Tables with one thing wrong in each, by name, with the words that every reader refuses it with.
// usage: damage.mjs TABLE.json FOLDER     writes FOLDER/NAME.json and FOLDER/NAME.words
import { createHash } from "node:crypto";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";

const [file, folder] = process.argv.slice(2);
const text = readFileSync(file, "utf8");
const sorted = (value) => (Array.isArray(value) ? value.map(sorted)
    : value && typeof value === "object" ? Object.fromEntries(Object.keys(value).sort().map((key) => [key, sorted(value[key])])) : value);
const sha = (table) => createHash("sha256").update(JSON.stringify(sorted(table))).digest("hex");
const TIME = "a time is not a whole number of milliseconds below 2^53";
const bounded = (table) => table.edges.find((edge) => edge.notBefore.length);
const late = (table) => table.places.find((place) => place.deadlines.length).deadlines[0];
const member = (name) => `the member "${name}" is missing or of another kind`;

// The hash is made anew, but for those whose hash is what is wrong.
const DAMAGES = {
    feature: [(t) => t.features.push("loops"), 'the feature "loops" is not known here'],
    schema: [(t) => { t.schema = "urn:startwright:table:7.0"; }, 'the schema "urn:startwright:table:7.0" is not known here'],
    "no-schema": [(t) => { delete t.schema; }, 'the schema "" is not known here'],
    "edge-to": [(t) => { t.edges[3].to = "nowhere"; }, '"nowhere" is named but does not exist'],
    "edge-to-scope": [(t) => { t.edges[3].to = t.scopes[0].id; }, (t) => `"${t.scopes[0].id}" is named but does not exist`],
    "edge-from": [(t) => { t.edges[3].from = "nowhere"; }, '"nowhere" is named but does not exist'],
    "edge-fact": [(t) => { t.edges.find((e) => e.when).when[0][0].fact = "f9999"; }, '"f9999" is named but does not exist'],
    "edge-clock": [(t) => { bounded(t).notBefore[0].clock = "c9999"; }, '"c9999" is named but does not exist'],
    "edge-reset": [(t) => { t.edges[5].reset.push("c9999"); }, '"c9999" is named but does not exist'],
    "edge-count": [(t) => { t.edges[5].count.push("f9999"); }, '"f9999" is named but does not exist'],
    "lapse-edge": [(t) => { late(t).lapse.push("nothing/1"); }, '"nothing/1" is named but does not exist'],
    "no-joint": [(t) => { t.joint = "nowhere"; }, '"nowhere" is named but does not exist'],
    "scope-place": [(t) => { t.scopes[0].places.push(999999); }, (t) => `the scope "${t.scopes[0].id}" names a place that does not exist`],
    value: [(t) => { t.facts[0].initial = [63]; }, 'a value of "f0" does not exist'],
    "no-value": [(t) => { t.facts[0].initial = []; }, 'a value of "f0" does not exist'],
    "fact-twice": [(t) => { t.facts[1].id = "f0"; }, 'the id "f0" stands twice'],
    "edge-twice": [(t) => { t.edges[1].id = t.edges[0].id; }, (t) => `the id "${t.edges[0].id}" stands twice`],
    "place-twice": [(t) => { t.places[1].id = t.places[0].id; }, (t) => `the id "${t.places[0].id}" stands twice`],
    "clock-twice": [(t) => { t.clocks[1].id = "c0"; }, 'the id "c0" stands twice'],
    "time-too-large": [(t) => { bounded(t).notBefore[0].ms = 2 ** 53; }, TIME],
    "deadline-too-large": [(t) => { late(t).ms = 2 ** 53; }, TIME],
    "time-below-0": [(t) => { late(t).ms = -1; }, TIME],
    "time-in-parts": [(t) => { late(t).ms = 0.5; }, TIME],
    "time-a-text": [(t) => { late(t).ms = "5000"; }, TIME],
    "edges-gone": [(t) => { delete t.edges; }, member("edges")],
    "label-gone": [(t) => { delete t.edges[2].label; }, member("label")],
    hash: [(t) => { t.contentHash = `sha256:${"0".repeat(64)}`; }, "the hash is not the one of the content", true],
    content: [(t) => { t.edges[3].notBefore.push({ clock: "c0", ms: 1 }); }, "the hash is not the one of the content", true],
    "no-hash": [(t) => { delete t.contentHash; }, "the hash is not the one of the content", true],
};
mkdirSync(folder, { recursive: true });
const put = (name, bytes, words) => {
    writeFileSync(`${folder}/${name}.json`, bytes);
    writeFileSync(`${folder}/${name}.words`, `refused: ${words}\n`);
};
for (const [name, [damage, words, keep]] of Object.entries(DAMAGES)) {
    const table = JSON.parse(text);
    const said = typeof words === "string" ? words : words(table);
    if (!keep) delete table.contentHash;
    damage(table);
    if (!keep) table.contentHash = `sha256:${sha(table)}`;
    put(name, JSON.stringify(table), said);
}
put("cut", text.slice(0, text.length / 2), "this is not a JSON object");
put("empty", "", "this is not a JSON object");
put("array", "[]", "this is not a JSON object");
put("behind", `${text}x`, "this is not a JSON object");
