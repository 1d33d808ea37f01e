// Reads a state table and refuses what it does not know to the last reference; every reader refuses with the same words.
import { createHash } from "node:crypto";

const SCHEMA = "urn:startwright:table:0.2", FEATURES = ["choices", "scopes"];
const WRONG_TIME = "a time is not a whole number of milliseconds below 2^53";

export class Refused extends Error {}
const refuse = (words) => { throw new Refused(words); };

// RFC 8785, for all that stands in a table: keys in the order of their UTF-16 units, no blanks.
function canonical(value, but) {
    if (Array.isArray(value)) return `[${value.map((one) => canonical(one)).join(",")}]`;
    if (value === null || typeof value !== "object") return JSON.stringify(value);
    return `{${Object.keys(value).filter((key) => key !== but).sort().map((key) => `${JSON.stringify(key)}:${canonical(value[key])}`).join(",")}}`;
}

export function readTable(text) {
    let table;
    try { table = JSON.parse(text); } catch { refuse("this is not a JSON object"); }
    if (table === null || typeof table !== "object" || Array.isArray(table)) refuse("this is not a JSON object");
    const need = (object, key, type) => {
        const member = object?.[key];
        if (type === "array" ? Array.isArray(member) : typeof member === type) return member;
        refuse(`the member "${key}" is missing or of another kind`);
    };
    if (table.schema !== SCHEMA) refuse(`the schema "${typeof table.schema === "string" ? table.schema : ""}" is not known here`);
    for (const word of need(table, "features", "array"))
        if (!FEATURES.includes(word) && !word.startsWith("x-")) refuse(`the feature "${word}" is not known here`);
    const hash = createHash("sha256").update(canonical(table, "contentHash")).digest("hex");
    if (table.contentHash !== `sha256:${hash}`) refuse("the hash is not the one of the content");

    const parts = {};
    for (const [kind, ...keys] of [["fact", "facts"], ["clock", "clocks"], ["place", "places", "scopes"], ["edge", "edges"]]) {
        parts[kind] = new Map();
        for (const one of keys.flatMap((key) => need(table, key, "array"))) {
            const id = need(one, "id", "string");
            if (parts[kind].has(id)) refuse(`the id "${id}" stands twice`);
            parts[kind].set(id, one);
        }
    }
    const find = (kind, id) => parts[kind].get(id) ?? refuse(`"${id}" is named but does not exist`);
    const values = (fact, list) => {
        if (!list.length || list.some((v) => !(v in find("fact", fact).values))) refuse(`a value of "${fact}" does not exist`);
    };
    const when = (thing) => { for (const term of thing.when ?? []) for (const test of term) values(test.fact, test.in); };
    const timed = (thing) => {
        find("clock", thing.clock);
        if (!Number.isSafeInteger(thing.ms) || thing.ms < 0) refuse(WRONG_TIME);
    };
    const deadlines = (list) => { for (const one of list) { when(one); timed(one); for (const edge of one.lapse) find("edge", edge); } };
    for (const fact of table.facts) {
        if (need(fact, "values", "array").length > 64) refuse(`"${fact.id}" has more than 64 values`);
        values(fact.id, need(fact, "initial", "array"));
    }
    for (const edge of table.edges) {
        for (const key of ["by", "label"]) need(edge, key, "string");
        edge.leaves = find("place", need(edge, "from", "string"));
        if ("to" in edge && !find("place", edge.to).kind) refuse(`"${edge.to}" is named but does not exist`);
        when(edge);
        for (const bound of [...need(edge, "notBefore", "array"), ...need(edge, "notAfter", "array")]) timed(bound);
        for (const change of need(edge, "set", "array")) values(change.fact, change.to);
        for (const fact of need(edge, "count", "array")) find("fact", fact);
        for (const clock of need(edge, "reset", "array")) find("clock", clock);
    }
    for (const place of table.places) { deadlines(need(place, "deadlines", "array")); place.edges = []; }
    deadlines(need(table, "deadlinesEverywhere", "array"));
    find("place", need(table, "joint", "string"));
    for (const scope of table.scopes)
        for (const k of need(scope, "places", "array"))
            if (!(k in table.places)) refuse(`the scope "${scope.id}" names a place that does not exist`);
    for (const edge of table.edges)
        for (const place of edge.leaves.places?.map((k) => table.places[k]) ?? [edge.leaves]) place.edges.push(edge);
    return { table, ...parts };
}
