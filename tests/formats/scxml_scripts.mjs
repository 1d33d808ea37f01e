// Scripts for a state chart in an engine that runs by the clock: the runs that the table brings along, as far as their times can be told apart, and
// random ones, with what is logged when the table is run. Nothing in them happens closer than MARGIN to a time that decides something.
// usage: scxml_scripts.mjs TABLE.json COUNT SEED MARGIN LONGEST     all in ms; prints [{steps: [{at, event, data}], logs, place}]
import { readFileSync } from "node:fs";
import { readTable } from "../../examples/readers/read.mjs";
import { Run } from "../../examples/readers/run.mjs";

const [file, count, seed, margin, longest] = [process.argv[2], ...process.argv.slice(3).map(Number)];
const read = readTable(readFileSync(file, "utf8"));
const { table } = read;
let state = BigInt(seed) * 2654435761n + 88172645463325252n;
const draw = (n) => {
    for (const [left, by] of [[true, 13n], [false, 7n], [true, 17n]]) state ^= BigInt.asUintN(64, left ? state << by : state >> by);
    return Number((state >> 33n) % BigInt(n));
};
const BURST = 25; // steps at one moment: an engine takes its time, too
const eventOf = (label) => label.replace(/[~= .]/g, "_");
const idOf = (id) => id.replaceAll("~", "_");
const copy = (run) => Object.assign(Object.create(Run.prototype), run, { values: { ...run.values }, zero: { ...run.zero }, trace: [] });

// Moments that decide something here.
function moments(run) {
    const of = [...run.place.deadlines, ...table.deadlinesEverywhere, ...run.place.edges.flatMap((edge) => [...edge.notBefore, ...edge.notAfter])];
    return of.filter((one) => one.ms).map((one) => run.zero[one.clock] + one.ms);
}
const apart = (run, at) => moments(run).every((one) => Math.abs(one - at) >= margin);

// Time passes until `at`: null where an engine could see it in another order.
function wait(run, at) {
    const after = copy(run);
    if (run.place.kind === "joint" && at > run.now) return null; // its deadline is no one's
    if (at > longest || !apart(run, at)) return null;
    after.pass(at);
    if (after.halted || after.trace.length > 2) return null;
    const lapse = after.trace.length ? Number(after.trace[0].split(" ")[0]) : null;
    if (lapse !== null && (moments(run).some((one) => one !== lapse && Math.abs(one - lapse) < margin) || at - lapse < margin
        || lapse - run.now < margin || moments(after).some((one) => one > lapse && one - lapse < margin) || !apart(after, at)
        || (after.place.kind === "joint"))) return null;
    return after;
}

const logged = (line) => line.replace(/^[0-9]+ /, "").replace(/^refused (.*): [^:]*$/, (_, label) => `refused ${eventOf(label)}`);

class Script {
    constructor() { Object.assign(this, { run: new Run(read), steps: [], logs: [] }); }
    begin(data) {
        this.run.input(["start", ...Object.entries(data).map(([fact, value]) => `${fact}=${value}`)].join(" "));
        this.steps.push({ at: 0, event: "run.start", data });
    }
    // False: it cannot be told apart in time, or ends the run.
    step(at, label, data) {
        const after = wait(this.run, at);
        if (!after) return false;
        if (this.steps.length >= BURST && this.steps.at(-BURST).at === at) return false;
        if (label) {
            const choices = Object.entries(data ?? {}).map(([fact, value]) => `${fact}=${value}`).join(" ");
            after.act(label, after.choices(choices));
            if (after.halted) return false;
        }
        this.logs.push(...after.trace.map(logged));
        this.steps.push({ at, event: label ? eventOf(label) : null, data: data ?? {} });
        this.run = after;
        return true;
    }
    end() { return { steps: this.steps, logs: this.logs, place: idOf(this.run.place.id) }; }
}

// A vector with all that it comes after.
function inputOf(vector) {
    const before = vector.after ? inputOf(table.vectors[vector.after.vector]).slice(0, vector.after.lines) : [];
    return [...before, ...vector.input.filter((line) => !line.startsWith("stop "))];
}

const valuesOf = (words) => Object.fromEntries(words.split(" ").filter(Boolean).map((one) => one.split("=")).map(([fact, value]) => [fact, Number(value)]));

function fromVector(vector) {
    const script = new Script();
    for (const line of inputOf(vector)) {
        if (line.startsWith("start")) {
            script.begin(valuesOf(line.slice(5)));
            continue;
        }
        const [, time, label, chosen] = line.match(/^([0-9]+) ([^;]*?)(?:; *(.*))?$/);
        if (!script.step(Number(time), label, valuesOf(chosen ?? ""))) break;
    }
    return script;
}

function begun() {
    const script = new Script(), data = {};
    for (const fact of table.facts) if (fact.initial.length > 1 && draw(2)) data[fact.id] = fact.initial[draw(fact.initial.length)];
    script.begin(data);
    return script;
}

function oneRandom(script) {
    const { run } = script, when = [run.now + margin + draw(4000)];
    for (const one of moments(run)) if (one > run.now) when.push(one + margin, one - margin);
    const at = draw(5) > 1 && script.steps.at(-BURST + 1)?.at !== run.now ? run.now : when[draw(when.length)];
    const after = at >= run.now && wait(run, at);
    if (!after) return;
    const edges = after.place.edges.filter((edge) => edge.by !== "time"), open = edges.filter((edge) => after.standing(edge) === "open");
    const own = open.filter((edge) => edge.leaves === after.place);
    if (!draw(12)) return void script.step(at, table.edges[draw(table.edges.length)].label);
    if (!open.length) return void script.step(at, null);
    const from = own.length && draw(15) ? own : open, edge = from[draw(from.length)], data = {};
    for (const { fact, to } of edge.set) if (to.length > 1 && !draw(3)) data[fact] = to[draw(to.length)];
    if (!draw(40)) data[table.facts[draw(table.facts.length)].id] = 63; // what no edge leaves open
    script.step(at, edge.label, data);
}

// Half of them are the table's own runs, those that go farthest before their times are too close.
const own = table.vectors.map(fromVector).sort((a, b) => b.steps.length - a.steps.length).slice(0, count / 2);
const made = own.filter((script) => script.steps.length > 5);
while (made.length < count) {
    const script = begun();
    for (let n = 0; n < 400 && script.steps.length < 90; n++) oneRandom(script);
    if (script.steps.length > 10) made.push(script);
}
console.log(JSON.stringify(made.map((script) => script.end())));
