"""Sources to measure with. Every function gives a text; all names and numbers are invented."""

import re

HEAD = """kind bench "Measured"
control switch "Switch" { OFF, ON }
control lever "Lever" { UP, DOWN }
control valve "Valve" { SHUT, OPEN }
scene door "Door" { SHUT, AJAR }
gauge heat "Heat" degC
"""

ITEMS = (
    'set     switch ON                   because "the book says so"',
    "check   door SHUT, otherwise turn to away-{n}",
    "set     lever DOWN                  # as drawn",
    "set     valve OPEN",
    "wait    at least 2 s",
    "set     switch OFF",
    "set     lever UP",
    "set     valve SHUT",
)


def procedure(n, items, aircraft):
    lines = [f'procedure run-{n} "Run {n}" for {aircraft} {{', "    begins with door SHUT"]
    lines += ["    " + ITEMS[i % len(ITEMS)].format(n=n) for i in range(items)]
    lines += ["    end RUNNING", "}", f'drill away-{n} "Away {n}" for {aircraft} {{', "    set     switch OFF",
              "    end SECURED, no more starts", "}"]
    return lines


def plain(lines):
    """Procedures of 80 items: what the front end reads."""
    out = HEAD.splitlines() + ['aircraft marsh "Marsh" {', "    kind bench", "}"]
    n = 0
    while len(out) < lines:
        out += procedure(n, 80, "marsh")
        n += 1
    return "\n".join(out) + "\n"


def checked(lines):
    """Procedures of 80 items, each with an aircraft and three gates of its own."""
    out = HEAD.splitlines()
    n = 0
    while len(out) < lines:
        out += [f'aircraft marsh-{n} "Marsh {n}" {{', "    kind bench", "}",
                f'standard three-{n} "Three gates" {{',
                f'    gate first-{n} "The switch is on before the lever goes down" {{',
                "        at each lever becomes DOWN: switch ON", "        severity must", "    }",
                f'    gate second-{n} "The door is looked at before the valve opens" {{',
                "        before the first valve becomes OPEN: door seen SHUT", "        severity must", "    }",
                f'    gate third-{n} "It ends with the switch off" {{', "        every end RUNNING: switch OFF", "        severity must",
                "    }", "}", f'document paper-{n} "Paper {n}" {{', f"    for       marsh-{n}", f"    standard  three-{n}",
                "    revision  1, effective 2031-01-01", "}"]
        out += procedure(n, 80, f"marsh-{n}")
        n += 1
    return "\n".join(out) + "\n"


def referring(lines):
    """One reference to a name of the file's own on nearly every line."""
    out = HEAD.splitlines()
    n = 0
    while len(out) < lines:
        out.append(f'state ready-{n} means switch ON and lever DOWN' if n == 0 else
                   f"state ready-{n} means ready-{n * 7919 % n} and valve OPEN")
        n += 1
    return "\n".join(out) + "\n"


def doubled(lines):
    """Every name is declared twice."""
    half = [f'scene place-{n} "Place {n}" {{ HERE, THERE }}' for n in range(lines // 2)]
    return "\n".join(half + half) + "\n"


def mistaken(lines):
    """A mistake on every line."""
    wrong = ("set lever = DOWN", "check door SHUT;", "wait at least 2", 'set switch ON because', "expect within 5 s", "set set ON")
    out = HEAD.splitlines() + ['procedure wrong "Wrong" {']
    out += ["    " + wrong[i % len(wrong)] for i in range(lines - len(out) - 1)]
    return "\n".join(out + ["}"]) + "\n"


def device_tree(size):
    """A device tree of about as many bytes: nodes in groups of a hundred, since dtc cannot read 10,000 in a row."""
    out = ["/dts-v1/;", "/ {"]
    used, n = 0, 0
    while used < size:
        node = [f"\tgroup{n} {{"] if n % 100 == 0 else []
        node += [f"\t\tnode{n} {{", f'\t\t\tcompatible = "marsh,thing{n % 97}", "marsh,any";', f"\t\t\tstart-up = <{n} 0x{n:x} 30 2>;",
                 f'\t\t\tlabel = "Switch {n}";', "\t\t\twanted;", f"\t\t\tlimits = <25 {n % 115}>;", "\t\t};"]
        if n % 100 == 99:
            node.append("\t};")
        used += sum(len(line) + 1 for line in node)
        out += node
        n += 1
    return "\n".join(out + ([] if n % 100 == 0 else ["\t};"]) + ["};"]) + "\n"


def eighty(tries=3):
    """One procedure of 80 items with a try block and a window gate."""
    out = ["use trade/starter"] + HEAD.splitlines()[1:]
    out += ['source notes "Notes" edition "invented"', 'kind measured "Measured"', 'aircraft marsh "Marsh" {',
            "    kind       measured, electric-start", "    value      run-down 8 s                                     from notes 1",
            f"    duty       starter up to 10 s on, 20 s rest, {tries} tries, then 10 min rest  from notes 1", "}",
            'standard window "Window" {', '    gate not-all-morning "Not all morning" {', "        in any 30 min: at most 9 crank-start",
            "        severity must", "    }", "}", 'document paper "Paper" {', "    for       marsh", "    standard  window",
            "    revision  1, effective 2031-01-01", "}", 'procedure run "Run" for marsh {',
            "    begins with engine STOPPED"]
    out += ["    set     master ON"]
    out += ["    " + ITEMS[i % len(ITEMS)].format(n=0) for i in range(70)]
    out += ["    try {", "        look    prop-area CLEAR, otherwise turn to away-0", "        call    clear", "        wait    at least 5 s", "        crank",
            "    } until engine RUNNING, between tries {", "        check   engine STOPPED", "    } otherwise turn to away-0",
            "    set     lever UP", "    end RUNNING, next start after 30 min", "}",
            'drill away-0 "Away" for marsh {', "    set     master OFF", "    end SECURED, next start after 30 min", "}"]
    return "\n".join(out) + "\n"


def cards(tails):
    """One procedure a tail: a page of lines and the last page."""
    out = HEAD.splitlines() + ['source notes "Notes" edition "invented"', 'aircraft marsh "Marsh" {', "    kind bench", "}"]
    out += [f'tail qm-{n} "QM-{n}" is marsh {{ }}' for n in range(1, tails + 1)]
    out += ['standard one "One gate" {', '    gate on-first "The switch is on before the lever goes down" {',
            "        at each lever becomes DOWN: switch ON", "        severity must", "    }", "}"]
    out += ['document paper "Paper" {', "    for       " + ", ".join(f"qm-{n}" for n in range(1, tails + 1)),
            "    standard  one", "    revision  1, effective 2031-01-01", "}", 'procedure run "Run" for marsh {', "    begins with door SHUT"]
    out += ["    " + item for item in (ITEMS[0], *ITEMS[2:])] * 2
    out += ["    end RUNNING", "}"]
    return "\n".join(out) + "\n"


RULES = (
    "in any 30 min: at most {m} crank-start",
    "at each crank-start: master ON",
    "before each crank-start since the last crank-start: prop-area seen CLEAR, then call clear, then a pause of at least 5 s",
    "before the first crank-start: lever becomes DOWN",
    "every end RUNNING: master ON",
)


def grown(items, gates, procedures):
    """So many procedures on one aircraft, each with so many items and a start, and so many gates over all."""
    out = ["use trade/starter"] + HEAD.splitlines()[1:]
    out += ['source notes "Notes" edition "invented"', 'kind measured "Measured"', 'aircraft marsh "Marsh" {',
            "    kind       measured, electric-start", "    value      run-down 8 s                                     from notes 1",
            "    duty       starter up to 10 s on, 20 s rest, 3 tries, then 10 min rest  from notes 1", "}",
            'standard all "All gates" {']
    for n in range(gates):
        out += [f'    gate rule-{n} "Rule {n}" {{', "        " + RULES[n % len(RULES)].format(m=9 + n), "        severity must", "    }"]
    out += ["}", 'document paper "Paper" {', "    for       marsh", "    standard  all", "    revision  1, effective 2031-01-01", "}"]
    for p in range(procedures):
        out += [f'procedure run-{p} "Run {p}" for marsh {{', "    begins with engine STOPPED", "    set     master ON"]
        out += ["    " + ITEMS[i % len(ITEMS)].format(n=0) for i in range(items)]
        out += ["    try {", "        look    prop-area CLEAR, otherwise turn to away-0", "        call    clear",
                "        wait    at least 5 s", "        crank", "    } until engine RUNNING, between tries {",
                "        check   engine STOPPED", "    } otherwise turn to away-0", "    end RUNNING, next start after 30 min", "}"]
    out += ['drill away-0 "Away" for marsh {', "    set     master OFF", "    end SECURED, next start after 30 min", "}"]
    return "\n".join(out) + "\n"


def promela(engines):
    """The model of engines.c as one would write it for spin, in ticks of a second."""
    out = ["byte step, e[%d], t[%d];" % (engines, engines), "short c[%d];" % engines, "active proctype model() {", "do",
           ":: atomic { step < 7 -> step++ }"]
    for k in range(engines):
        moves = (("e[K] == 0", "e[K] = 1"), ("e[K] == 1", "e[K] = 4; t[K] = 0"), ("e[K] == 1 && t[K] < 2", "e[K] = 2; t[K]++"),
                 ("e[K] == 1 && t[K] == 2", "e[K] = 3; t[K] = 0"), ("e[K] == 2 && c[K] == 20", "e[K] = 0"),
                 ("e[K] == 3 && c[K] == 600", "e[K] = 0"))
        out += [f":: atomic {{ {when} -> {then}; c[K] = 0 }}".replace("K", str(k)) for when, then in moves]
    dues = [f"!(e[{k}] == {state} && c[{k}] == {most})" for k in range(engines) for state, most in ((1, 10), (2, 20), (3, 600))]
    out += [":: atomic { " + " && ".join(dues) + " ->"]
    out += [f"if :: e[{k}] > 0 && e[{k}] < 4 -> c[{k}]++ :: else -> skip fi;" for k in range(engines)]
    return "\n".join(out + ["assert(e[0] != 1 || c[0] <= 10) }", "od }"]) + "\n"


def shell(lines):
    out = ["#!/bin/sh"]
    for n in range(lines - 1):
        out.append(f'value_{n}="$1"; echo "$value_{n}"' if n % 10 else f"echo $value_{n}")
    return "\n".join(out) + "\n"


def _without(text, *heads):
    """Declarations that begin with one of these are left out."""
    return re.sub(r"^(?:%s)[^\n]*\{.*?^\}\n" % "|".join(heads), "", text, flags=re.MULTILINE | re.DOTALL)


def fleet_type():
    """The Marram of the examples with its school's whole standard and six procedures: its four, and two again under other names."""
    with open("examples/fleet/standard.start", encoding="utf-8") as file:
        standard = file.read()
    with open("examples/saltmarsh/marram.start", encoding="utf-8") as file:
        marram = file.read()
    marram = _without(marram, "tail ", "document ", "test ").replace("for qm-2 from", "for marram-160 from")
    marram = marram.replace("fitted     avionics", "fitted     primer, ground-power, avionics").replace(
        "    pace  ", "    value      prime-limit 6                                                    from supplement-2 3\n    pace  ")
    for again in ("cold", "hot"):
        text = re.search(rf"^procedure {again}-start .*?^\}}\n", marram, re.MULTILINE | re.DOTALL).group(0)
        marram += "\n" + text.replace(f"{again}-start", f"{again}-again").replace(f"start, {again}", f"start, {again} again")
    return standard + "\n" + marram


def fleet_tail(n, distinct, later=0):
    """Tail n of a fleet in which so many differ in what a proof reads; `later`: what an edit adds, in thousandths of a second."""
    run_down = 8000 + n % distinct + later
    return f'tail t-{n} "T-{n}" is marram-160 {{\n    value run-down {run_down // 1000}.{run_down % 1000:03} s because "its own engine"\n}}\n'


def fleet_document(tails):
    names = ",\n              ".join(f"t-{n}" for n in tails)
    return f'document fleet "Fleet" {{\n    for       {names}\n    standard  saltmarsh\n    revision  1, effective 2031-05-01\n}}\n'


def fleet(tails, distinct):
    return fleet_type() + "\n".join(fleet_tail(n, distinct) for n in range(tails)) + fleet_document(range(tails))


def fleet_makefile(program, tails):
    """One tail a file: make runs what changed since, by the files that each says it was made from."""
    made = [f"made/t-{n}.done" for n in range(tails)]
    return (f"all: {' '.join(made)}\n"
            f"made/%.done: %.start {program}\n"
            f"\t{program} issue $< --draft --today 2031-05-01 --workers 1 --into made/$* --depfile made/$*.d >made/$*.told\n"
            "\ttouch $@\n"
            "-include $(wildcard made/*.d)\n")
