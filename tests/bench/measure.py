"""The driver of make bench: yardsticks and commands in turn, medians, one line for each figure: want and got."""
import os
import re
import resource
import shutil
import subprocess
import sys
import time

import generate

PROGRAM, WORK = os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2])
PARTS = sys.argv[3:] or ["start", "front", "check", "linear", "proof", "growth", "spin", "cards", "fleet"]
EXAMPLE = "examples/saltmarsh/marram.start"
HUNDRED = "tests/bench/hundred.start"


def tool(name):
    return os.path.join(WORK, name)


def put(name, text):
    path = tool(name)
    with open(path, "w", encoding="utf-8") as out:
        out.write(text)
    return path


def race(rounds, *commands):
    """For each command: median seconds, most memory in KiB, exit status."""
    words = [tool("race"), str(rounds)]
    for i, command in enumerate(commands):
        words += (["--"] if i else []) + command
    lines = subprocess.run(words, check=True, stdout=subprocess.PIPE, text=True).stdout.splitlines()
    fields = [line.split() for line in lines]
    return [(int(f[0]) / 1e9, int(f[2]), int(f[3])) for f in fields]


def line(what, want, got, good=None):
    mark = "" if good is None else "  ok" if good else "  MISSED"
    print(f"{what:<66} want {want:<14} got {got}{mark}", flush=True)


def expect_status(result, wanted, what):
    if result[2] != wanted:
        print(f"    ({what}: exit status {result[2]}, not {wanted})")


def instructions(*command):
    done = subprocess.run(["valgrind", "--tool=callgrind", f"--callgrind-out-file={tool('callgrind.out')}", *command],
                          stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, check=False)
    found = re.search(r"Collected : (\d+)", done.stderr)
    return int(found.group(1)) if found else 0


def part_start():
    """Small files: what a person waits for."""
    empty, tidy = [tool("empty")], [PROGRAM, "tidy", "--check", HUNDRED]
    check, whole = [PROGRAM, "check", HUNDRED], [PROGRAM, "check", EXAMPLE]
    base, tidied, checked = race(201, empty, tidy, check)
    whole_base, example = race(21, empty, whole)
    for result, what in ((tidied, "tidy"), (checked, "check"), (example, "the example")):
        expect_status(result, 0, what)
    print(f"an empty C program: {base[0] * 1e3:.2f} ms (beside the example {whole_base[0] * 1e3:.2f} ms)")
    ratio = tidied[0] / base[0]
    line("tidy --check of 100 lines, times the empty program", "<= 1.5", f"{ratio:.2f}", ratio <= 1.5)
    ratio = checked[0] / base[0]
    line("check of 100 lines, 2 drills, 32 gates, times the empty program", "<= 2.5", f"{ratio:.2f}", ratio <= 2.5)
    line("check of the whole example", "< 15 ms", f"{example[0] * 1e3:.1f} ms", example[0] < 0.015)
    most = max(tidied[1], checked[1], example[1])
    line("most memory of these three", "<= 8 MiB", f"{most / 1024:.1f} MiB", most <= 8192)
    for command, what in ((tidy, "tidy --check of 100 lines"), (check, "check of 100 lines"), (whole, "check of the example"),
                          ([PROGRAM, "--version"], "--version")):
        line(f"instructions of {what}", "(a figure)", f"{instructions(*command):,}")
    broken = put("hundred-broken.start", open(HUNDRED, encoding="utf-8").read().replace("set     beacon ON", "set     beacn ON"))
    linted = put("hundred.sh", generate.shell(100))
    found, other = race(21, [PROGRAM, "check", broken], ["shellcheck", linted])
    expect_status(found, 1, "the broken file")
    expect_status(other, 1, "shellcheck")
    ratio = found[0] / other[0]
    line("first finding of 100 lines, times shellcheck's on 100 lines", "<= 0.1", f"{ratio:.3f}", ratio <= 0.1)


def dtc(path):
    return ["dtc", "-q", "-f", "-I", "dts", "-O", "null", "-o", tool("dtc.out"), "-W", "no-duplicate_label", "-E", "no-duplicate_label", path]


def speed(what, text, command, want):
    """The front end against dtc: MB a second, both as whole processes."""
    path, tree_text = put("source.start", text), generate.device_tree(len(text))
    tree = put("tree.dts", tree_text)
    ours, theirs = race(5, command + [path], dtc(tree))
    expect_status(ours, 0, what)
    expect_status(theirs, 0, "dtc")
    fast, slow = len(text) / ours[0] / 1e6, len(tree_text) / theirs[0] / 1e6
    line(f"{what} ({fast:.1f} MB/s) to dtc's ({slow:.1f} MB/s)", f">= {want}", f"{fast / slow:.2f}", fast / slow >= want)
    return ours, len(text)


def part_front():
    ours, size = speed("front end to the tree, 100,000 lines", generate.plain(100000), [tool("front")], 4)
    line("    its memory for each byte of source", "<= 8", f"{ours[1] * 1024 / size:.1f}", ours[1] * 1024 / size <= 8)


def part_check():
    speed("whole check, 100,000 lines of 80-item procedures with 3 gates", generate.checked(100000), [PROGRAM, "check"], 2.5)


def linear(what, maker, command, status):
    small, large = maker(100000), maker(1000000)
    small_path, large_path = put("small.start", small), put("large.start", large)
    short, long = race(3, command + [small_path], command + [large_path])
    expect_status(short, status, what)
    expect_status(long, status, what)
    ratio = long[0] / short[0]
    line(f"{what}: 1,000,000 lines to 100,000 ({short[0]:.2f} s)", "<= 11", f"{ratio:.1f}", ratio <= 11)
    each = long[1] * 1024 / len(large)
    line("    memory for each byte of source", "<= 8", f"{each:.1f}", each <= 8)
    for path in (small_path, large_path):
        os.unlink(path)


def part_linear():
    linear("front end", generate.plain, [tool("front")], 0)
    linear("front end, a mistake on every line", generate.mistaken, [tool("front")], 1)
    linear("check, a reference a line", generate.referring, [PROGRAM, "check"], 0)
    linear("check, every name twice", generate.doubled, [PROGRAM, "check"], 1)
    linear("check, a mistake on every line", generate.mistaken, [PROGRAM, "check"], 1)


def part_proof():
    path = put("eighty.start", generate.eighty())
    done = subprocess.run([tool("proof"), path, "51"], check=True, stdout=subprocess.PIPE, text=True)
    for result in done.stdout.splitlines():
        time, places, edges, rules, zones, _ = (int(field) for field in result.split())
        line(f"proof of 80 items, three tries, a window gate ({places} places, {edges} edges, {rules} rule, {zones} zones)", "< 1 ms",
             f"{time / 1e6:.2f} ms", time < 1e6)


def part_growth():
    """Ten times as much of one thing."""
    sizes = {"items": ((100, 10, 1), (1000, 10, 1)), "gates": ((100, 10, 1), (100, 100, 1)), "procedures": ((20, 10, 10), (20, 10, 100))}
    for what, (few, many) in sizes.items():
        small, large = put("few.start", generate.grown(*few)), put("many.start", generate.grown(*many))
        short, long = race(5, [PROGRAM, "check", small], [PROGRAM, "check", large])
        expect_status(short, 0, what)
        expect_status(long, 0, what)
        ratio = long[0] / short[0]
        line(f"check, ten times as many {what} ({short[0] * 1e3:.1f} ms for the few)", "<= 11", f"{ratio:.1f}", ratio <= 11)
    example = race(11, [PROGRAM, "check", EXAMPLE])[0]
    told = subprocess.run([PROGRAM, "check", EXAMPLE], stdout=subprocess.PIPE, text=True, check=False).stdout
    found = re.search(r"(\d+) procedures? of \d+ tails?, (\d+) rules", told)
    each = example[0] * 1e3 / int(found.group(1))
    line(f"all {found.group(2)} rules of the example, for each of its {found.group(1)} procedures", "< 10 ms", f"{each:.1f} ms", each < 10)


def engines(count, rounds):
    done = subprocess.run([tool("engines"), str(count), str(rounds)], check=True, stdout=subprocess.PIPE, text=True).stdout.split(None, 2)
    return int(done[0]) / 1e9, int(done[1]), done[2].strip()


def part_spin():
    """Engines that are started beside a procedure, by the search and by spin's verifier."""
    for count, wanted in ((1, 10), (2, 136)):
        seconds, zones, verdict = engines(count, 51)
        line(f"{count} engine{'s' if count > 1 else ''} beside 8 steps ({verdict}, {seconds * 1e3:.2f} ms): zones a step", f"<= {wanted}",
             f"{zones / 8:.1f}", zones / 8 <= wanted)
    folder = tool("spin")
    os.makedirs(folder, exist_ok=True)
    put("spin/model.pml", generate.promela(2))
    verifier = os.path.join(folder, "pan")
    build = f"cd {folder} && spin -a model.pml >/dev/null && gcc -O2 -w -DSAFETY -o pan pan.c"
    run = [verifier, "-E", "-m10000000", "-w24"]
    ours, made, ran = race(3, [tool("engines"), "2", "1"], ["sh", "-c", build], run)
    states = subprocess.run(run, stdout=subprocess.PIPE, text=True, check=True).stdout
    print(f"    spin's verifier: {re.search(r'([0-9]+) states, stored', states).group(1)} states, {ran[0]:.2f} s; made in {made[0]:.2f} s")
    whole = (made[0] + ran[0]) / ours[0]
    line("verdict on two engines, whole process: spin and its verifier, times ours", ">= 400", f"{whole:.0f}", whole >= 400)
    alone = ran[0] / engines(2, 51)[0]
    line("    the search alone: the verifier's run, times ours", ">= 100", f"{alone:.0f}", alone >= 100)


def fleet_check(tails, distinct, rounds):
    """Wall seconds, most memory in KiB, seconds of all processors: of the check of a fleet on two of them."""
    path = put("fleet.start", generate.fleet(tails, distinct))
    before = os.times()
    got = race(rounds, [PROGRAM, "check", path, "--today", "2031-05-01", "--workers", "2"])[0]
    after = os.times()
    expect_status(got, 0, f"{tails} tails")
    busy = (after.children_user + after.children_system - before.children_user - before.children_system) / rounds
    return got[0], got[1], busy


def part_fleet():
    """Tails of six procedures each under the whole standard. A model is one of a tail; of 100 models of a procedure 17 tails make 102."""
    equal = {tails: fleet_check(tails, 10, 3) for tails in (10, 100, 1000)}
    other = {tails: fleet_check(tails, tails, 3 if tails < 1000 else 1) for tails in (10, 100, 1000)}
    for distinct, wanted in ((17, 2), (100, 2)):
        wall, _, busy = fleet_check(1000, distinct, 3)
        line(f"1,000 tails, {distinct} of them distinct ({busy:.2f} s of processors)", f"< {wanted} s", f"{wall:.2f} s", wall < wanted)
    wall, _, busy = other[1000]
    line(f"1,000 tails, all distinct ({busy:.2f} s of processors)", "< 30 s", f"{wall:.2f} s", wall < 30)
    for what, got in (("10 of them distinct", equal), ("all distinct", other)):
        for few in (10, 100):
            ratio = got[10 * few][2] / got[few][2]
            line(f"{10 * few:,} tails to {few:,}, {what}, seconds of processors", "<= 11", f"{ratio:.1f}", ratio <= 11)
        each = (got[1000][1] - got[100][1]) / 900
        line(f"    memory ({got[100][1] / 1024:.0f} and {got[1000][1] / 1024:.0f} MiB), for each tail more than 100", "<= 8 KiB",
             f"{each:.1f} KiB", each <= 8)
    fleet_build(20)


def fleet_build(tails):
    folder = tool("build-fleet")
    shutil.rmtree(folder, ignore_errors=True)
    os.makedirs(os.path.join(folder, "made"))
    put("build-fleet/types.start", generate.fleet_type())
    put("build-fleet/Makefile", generate.fleet_makefile(PROGRAM, tails))

    def write(n, later=0):
        put(f"build-fleet/t-{n}.start", 'use "types.start"\n' + generate.fleet_tail(n, tails, later) + generate.fleet_document([n]))

    def build():
        before = time.monotonic()
        subprocess.run(["make", "-s", "-j2", "-C", folder], check=True, env={k: v for k, v in os.environ.items() if not k.startswith("M")})
        return time.monotonic() - before

    for n in range(tails):
        write(n)
    first = build()
    write(tails // 2, 500)
    changed = build()
    marked = os.path.join(folder, "made")
    ran = sum(os.stat(os.path.join(marked, f"t-{n}.done")).st_mtime >= os.stat(os.path.join(folder, f"t-{tails // 2}.start")).st_mtime
              for n in range(tails))
    line(f"make of {tails} tails ({first:.1f} s), again after an edit of one ({ran} ran), times the first", "<= 0.1", f"{changed / first:.3f}",
         changed <= first / 10 and ran == 1)


def drawn_lines(drawing):
    """The texts of a drawing as bare_card reads them."""
    out = []
    for mark in drawing.splitlines():
        found = re.match(r'text (\S+) (\S+) (\S+) (bold|plain)[^"]* "(.*)"$', mark)
        out += ["page"] if mark == "page" else [" ".join(found.groups())] if found else []
    return "\n".join(out) + "\n"


def files_of(folder):
    return {name: open(os.path.join(folder, name), "rb").read() for name in os.listdir(folder)}


def part_cards():
    """Two-page cards, as whole processes: one, and 200 at once."""
    one, many = put("card.start", generate.cards(1)), put("cards.start", generate.cards(200))
    alone, batch, single = tool("card"), tool("cards"), tool("card-of-many")
    for folder in (alone, batch, single):
        shutil.rmtree(folder, ignore_errors=True)
    subprocess.run([PROGRAM, "issue", one, "--only", "drawings", "--into", tool("drawing")], check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    drawing = next(text.decode() for name, text in files_of(tool("drawing")).items() if name.endswith(".draw"))
    lines = put("card.lines", drawn_lines(drawing))
    ours, theirs = race(51, [PROGRAM, "issue", one, "--only", "cards", "--into", alone], [tool("bare_card"), lines, tool("bare.pdf")])
    expect_status(ours, 0, "one card")
    expect_status(theirs, 0, "the bare program")
    ratio = ours[0] / theirs[0]
    print(f"    {drawing.splitlines().count('page')} pages, {drawn_lines(drawing).count(chr(10))} lines; bare cairo and pango {theirs[0] * 1e3:.1f} ms")
    line(f"one card checked, and as text, PDF and page ({ours[0] * 1e3:.1f} ms), times these", "<= 1.3", f"{ratio:.2f}", ratio <= 1.3)
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    all_of_them, = race(3, ["taskset", "-c", "0", PROGRAM, "issue", many, "--only", "cards", "--into", batch])
    expect_status(all_of_them, 0, "200 cards")
    after = resource.getrusage(resource.RUSAGE_CHILDREN) # the disk and who else is on the core left out
    rate = 3 * 200 / (after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime)
    line(f"200 cards, each as text, PDF and page ({all_of_them[0]:.1f} s by the clock): cards a second of one core", ">= 150", f"{rate:.0f}", rate >= 150)
    line("    its memory", "<= 20 MiB", f"{all_of_them[1] / 1024:.1f} MiB", all_of_them[1] <= 20480)
    for tail in range(1, 201):
        subprocess.run([PROGRAM, "issue", many, "--only", "cards", "--tail", f"qm-{tail}", "--into", single], check=True,
                       stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    together, by_one = files_of(batch), files_of(single)
    same = sum(by_one.get(name) == text for name, text in together.items())
    line("    files of theirs that are, byte for byte, those of a run for one tail", "600 of 600", f"{same} of {len(together)}", same == len(together) == 600)


for part in PARTS:
    globals()["part_" + part]()
