"""Reads the lines of `mutate` and prints the table of a campaign; the places of all survivors go to the file named first.

usage: table.py SURVIVORS LEAST < lines        LEAST: so many mutants on safeguards there must be

"Warned" are survivors where a warning says that a gate at stake is no more put to the test, or the very gate that the oracle finds lost; or that a line
waits for ever or ignores an answer.

Status 1 where another survivor on a safeguard is neither shown equal nor judged in tests/mutate/judged, where those judged are more than 3 in 100 of the
mutants on safeguards, where a judgement applies to nothing, or where there are fewer mutants than LEAST.
"""
import collections
import re
import sys

JUDGED_MOST = 0.03
TOLD_AS = {"waits-for-ever", "answer-ignored", "given-up", "drill-missing"}  # a warning of its own: what is lost is told, by another name than the rule's
survivors_path, least = sys.argv[1], int(sys.argv[2])
judged, used = [], set()
for line in open("tests/mutate/judged", encoding="utf-8"):
    if line.strip() and not line.startswith("#"):
        operator, place, change, why = [part.strip() for part in line.split(" | ")]
        judged.append((operator, re.compile(place), re.compile(change), why))


def judgement(operator, line, change):
    for k, (of, at, to, why) in enumerate(judged):
        if of == operator and at.search(line) and to.search(change):
            used.add(k)
            return why
    return None


def told_as_lost(oracle, told):
    """What the oracle finds lost is a gate of which a warning says that nothing puts it to the test any more."""
    lost = re.match(r"(\S+) is now: never tested$", oracle)
    return bool(lost) and lost.group(1) in told.split()


COLUMNS = ["made", "refused", "caught", "undecided", "warned", "equal", "judged", "OPEN", "no safeguard"]
table = collections.defaultdict(collections.Counter)
survivors = []
guarded = 0
for row in sys.stdin:
    operator, fate, oracle, gates, place, line, change, told = row.rstrip("\n").split("\t")
    gates = gates.strip()
    if "THE CHECKER IS WRONG" in oracle:
        fate = "silent"
    survived = fate in ("silent", "warned")
    guarded += bool(gates)
    column = fate
    if survived and not gates:
        column = "no safeguard"
    elif survived and oracle == "equal":
        column = "equal"
    elif fate == "warned" and set(told.split()) & (set(gates.split()) | TOLD_AS) or told_as_lost(oracle, told):
        column = "warned"
    elif survived:
        why = judgement(operator, line, change)
        column = "judged" if why else "OPEN"
        oracle += f" ({why})" if why else ""
    table[operator]["made"] += 1
    table[operator][column] += 1
    if survived:
        survivors.append((column, operator, place, line, change, fate, told, gates, oracle))

print(f"{'':14}" + "".join(f"{c:>13}" for c in COLUMNS))
total = collections.Counter()
for operator in table:
    total.update(table[operator])
    print(f"{operator:14}" + "".join(f"{table[operator][c]:13}" for c in COLUMNS))
print(f"{'all':14}" + "".join(f"{total[c]:13}" for c in COLUMNS))
with open(survivors_path, "w", encoding="utf-8") as out:
    for column, operator, place, line, change, fate, told, gates, oracle in sorted(survivors, key=lambda s: COLUMNS.index(s[0])):
        out.write(f"{column}: {operator} {place}: {line}\n")
        for what, text in (("change", change), ("told", f"{fate} {told}".strip()), ("safeguard of", gates), ("oracle", oracle)):
            if text:
                out.write(f"    {what}: {text}\n")

failed = []
for column, operator, place, line, change, fate, told, gates, oracle in survivors:
    if column == "OPEN":
        failed.append(f"{operator} at {place}: {line} [{change}]: {oracle} (safeguard of {gates})")
    elif column == "judged":
        print(f"judged: {operator} at {place}: {line} [{change}]: {oracle}")
print(f"{guarded} mutants on safeguards; survivors not shown equal: {total['judged'] + total['OPEN']}; every survivor: {survivors_path}")
if total["judged"] > JUDGED_MOST * guarded:
    failed.append(f"{total['judged']} survivors are judged, not shown equal: more than {JUDGED_MOST:.0%} of {guarded}")
if guarded < least:
    failed.append(f"only {guarded} mutants on safeguards, not {least}")
if least > 1000:
    failed += [f"a judgement that nothing needs: {judged[k]}" for k in range(len(judged)) if k not in used]
for text in failed:
    print(f"FAIL mutate: {text}")
print(f"{total['made'] - total['OPEN']} passed, {len(failed)} failed")
sys.exit(bool(failed))
