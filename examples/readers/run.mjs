// Runs a state table: the interpreter of the guide, step by step, on what read.mjs gives.
const END = 2 ** 53, WRONG_TIME = "a time is not a whole number of milliseconds below 2^53";
const trim = (text) => text.replace(/^ +/, "").replace(/[ \r]+$/, "");

export class Run {
    constructor(read) {
        Object.assign(this, { read, now: 0, line: 0, begun: false, halted: false, place: read.place.get(read.table.joint), trace: [] });
        this.values = Object.fromEntries(read.table.facts.map((fact) => [fact.id, Math.min(...fact.initial)]));
        this.zero = Object.fromEntries(read.table.clocks.map((clock) => [clock.id, 0]));
    }
    say(words) { this.trace.push(`${this.now} ${words}`); }
    halt(words) { this.say(`error: ${words}`); this.halted = true; }
    holds({ when }) { return !when || when.some((term) => term.every((test) => test.in.includes(this.values[test.fact]))); }
    // "shut", "late", "open", or how many milliseconds are missing
    standing(edge) {
        if (!this.holds(edge)) return "shut";
        const value = (bound) => this.now - this.zero[bound.clock];
        if (edge.notAfter.some((bound) => value(bound) > bound.ms)) return "late";
        return Math.max(0, ...edge.notBefore.map((bound) => bound.ms - value(bound))) || "open";
    }
    due() {
        return [...this.place.deadlines, ...this.read.table.deadlinesEverywhere].filter((one) => this.holds(one))
            .map((one) => ({ at: this.zero[one.clock] + one.ms, lapse: one.lapse }));
    }
    take(edge, how, choices = {}) {
        for (const { fact, to } of edge.set)
            this.values[fact] = choices[fact] ?? (to.includes(this.values[fact]) ? this.values[fact] : Math.min(...to));
        for (const fact of edge.count) this.values[fact] = Math.min(this.values[fact] + 1, this.read.fact.get(fact).values.length - 1);
        for (const clock of edge.reset) this.zero[clock] = this.now;
        if (edge.to) this.place = this.read.place.get(edge.to);
        this.say(`${how} ${edge.id}`);
        if (edge.to && this.place.kind === "end") this.say(`end ${this.place.outcome ?? ""}`);
    }
    pass(t) {
        for (let since = -1, still = 0; ;) {
            const first = Math.min(...this.due().map((one) => one.at));
            if (!(first < t)) break;
            this.now = Math.max(first, this.now);
            still = this.now === since ? still + 1 : 0;
            since = this.now;
            const come = this.due().filter((one) => one.at <= this.now).sort((a, b) => a.at - b.at); // a stable sort
            const edge = come.flatMap((one) => one.lapse).map((id) => this.read.edge.get(id))
                .find((one) => this.place.edges.includes(one) && this.standing(one) === "open");
            if (!edge) return this.halt(`overdue at ${this.place.id}`);
            if (still > this.read.table.places.length) return this.halt(`time stands still at ${this.place.id}`);
            this.take(edge, "lapse");
        }
        this.now = t;
    }
    act(label, choices) {
        const of = this.place.edges.filter((edge) => edge.by !== "time" && edge.label === label);
        const open = of.filter((edge) => this.standing(edge) === "open");
        const missing = of.map((edge) => this.standing(edge)).filter((one) => typeof one === "number");
        if (open.length > 1) return this.halt(`ambiguous: ${label}`);
        if (open.length === 1) {
            const may = (fact, value) => open[0].set.some((change) => change.fact === fact && change.to.includes(value));
            if (choices && Object.entries(choices).every(([fact, value]) => may(fact, value))) return this.take(open[0], "take", choices);
        }
        const late = of.some((edge) => this.standing(edge) === "late");
        this.say(`refused ${label}: ${open.length ? "no such choice" : missing.length ? `too early, wait ${Math.min(...missing)} ms`
            : late ? "too late" : "not offered"}`);
    }
    // "f3=1 f4=0"; null: one of them names no fact, or no value of it
    choices(text) {
        const chosen = {};
        for (const word of text.split(" ").filter(Boolean)) {
            const [, fact, value] = word.match(/^([^=]*)=([0-9]+)$/) ?? [];
            if (!(Number(value) in (this.read.fact.get(fact)?.values ?? []))) return null;
            chosen[fact] ??= Number(value);
        }
        return chosen;
    }
    input(text) {
        this.line++;
        const wrong = (words) => { this.trace.push(`error: line ${this.line}: ${words}`); this.halted = true; };
        const line = trim(text);
        if (this.halted || !line || line[0] === "#") return;
        const begins = !this.begun && /^start( |$)/.test(line);
        this.begun = true;
        if (begins) {
            const chosen = this.choices(line.slice(5));
            const may = ([fact, value]) => this.read.fact.get(fact).initial.includes(value);
            if (!chosen || !Object.entries(chosen).every(may)) return wrong("no such choice");
            return void Object.assign(this.values, chosen);
        }
        const [, stop, time, rest] = line.match(/^(?:(stop)(?: +|$))?([^ ]*)(.*)$/);
        if (!/^[0-9]+$/.test(time) || Number(time) >= END) return wrong(WRONG_TIME);
        if (Number(time) < this.now) return wrong("time goes back");
        if (stop && rest) return wrong("nothing stands behind the time of a stop");
        const [label, ...more] = rest.split(";");
        if (!stop && !trim(label)) return wrong("a time needs a label");
        this.pass(Number(time));
        if (this.halted) return;
        if (!stop) return this.act(trim(label), this.choices(more.join(";")));
        const state = [...this.read.table.facts.map(({ id }) => `${id}=${this.values[id]}`),
            ...this.read.table.clocks.map(({ id }) => `${id}=${this.now - this.zero[id]}`)];
        this.say(["stop", this.place.id, ...state].join(" "));
        this.halted = true;
    }
}

export function runScript(read, lines) {
    const run = new Run(read);
    for (const line of lines) run.input(line);
    return run.trace;
}

// The whole input and trace of each vector of a table.
export function vectorsOf(table) {
    const whole = [];
    for (const { after, input, trace } of table.vectors) {
        const before = after ? whole[after.vector] : { input: [], trace: [] };
        whole.push({ input: [...before.input.slice(0, after?.lines), ...input], trace: [...before.trace.slice(0, after?.traced), ...trace] });
    }
    return whole;
}
