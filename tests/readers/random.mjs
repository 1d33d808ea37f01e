// Random scripts for a table, and the traces that the reader in JavaScript gives.
// usage: random.mjs TABLE.json HOW-MANY SEED SCRIPTS TRACES      scripts and traces are parted by lines "---"
import { closeSync, openSync, readFileSync, writeSync } from "node:fs";
import { readTable } from "../../examples/readers/read.mjs";
import { Run } from "../../examples/readers/run.mjs";

const [file, count, seed, scripts, traces] = process.argv.slice(2);
const read = readTable(readFileSync(file, "utf8"));
const { table } = read;
const labels = [...new Set(table.edges.map((edge) => edge.label))];
let state = BigInt(seed) + 0x9E3779B97F4A7C15n;
function draw(n) {
    state = BigInt.asUintN(64, state * 6364136223846793005n + 1442695040888963407n);
    return Number((state >> 33n) % BigInt(n));
}
const pick = (list) => list[draw(list.length)];
const NASTY = ["", "# a remark", "stop", "stop x", "9007199254740992 crank", "9007199254740991 nothing", "-1 crank", "1.5 crank", "0", "x y", "1e3 crank",
    "stop 5 6", "5 ;", "  7  nothing  ", "start f0=0", "5 crank; f0", "5 crank; f0=99", "5 crank; nobody=1", "007 crank", "0 a\r", "18446744073709551617 a"];

function choices(edge) {
    if (!edge || draw(3)) return "";
    const chosen = edge.set.filter(() => draw(2)).map(({ fact, to }) => `${fact}=${draw(12) ? pick(to) : draw(4)}`);
    return chosen.length || draw(4) === 0 ? `; ${chosen.join(" ")}` : "";
}

// A moment at which something happens or is about to, or soon.
function moment(run, edge) {
    const at = [...(edge?.notBefore ?? []), ...(edge?.notAfter ?? [])].map((bound) => run.zero[bound.clock] + bound.ms);
    const due = Math.min(...run.due().map((one) => one.at));
    if (Number.isFinite(due)) at.push(due);
    const near = at.length && draw(2) ? pick(at) + draw(3) - 1 : run.now + (draw(3) ? draw(3) : draw(2) ? draw(5000) : draw(100000));
    const kept = draw(20) ? Math.min(near, due + (draw(6) ? 0 : 1)) : near;
    return Math.max(kept, draw(400) ? run.now : 0);
}

function script() {
    const run = new Run(read), lines = [];
    const put = (line) => { lines.push(line); run.input(line); };
    if (draw(2)) put(`start ${table.facts.filter(() => draw(2)).map((fact) => `${fact.id}=${draw(300) ? pick(fact.initial) : draw(9)}`).join(" ")}`);
    for (let i = 5 + draw(40); i && !run.halted; i--) {
        const open = run.place.edges.filter((edge) => edge.by !== "time" && run.standing(edge) !== "shut");
        const own = open.filter((edge) => edge.leaves === run.place);
        const edge = open.length && draw(12) ? pick(own.length && draw(4) ? own : open) : null;
        if (!draw(150)) put(pick(NASTY));
        else put(`${moment(run, edge)} ${edge?.label ?? pick(labels)}${choices(edge)}`);
    }
    put(`stop ${run.now + (draw(3) ? draw(3) : draw(1000000))}`);
    return { lines, trace: run.trace };
}

const into = [openSync(scripts, "w"), openSync(traces, "w")];
for (let i = 0; i < Number(count); i++) {
    const { lines, trace } = script();
    writeSync(into[0], `${lines.join("\n")}\n---\n`);
    writeSync(into[1], [...trace, "---", ""].join("\n"));
}
into.forEach(closeSync);
