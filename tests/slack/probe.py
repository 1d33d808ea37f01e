"""Rules with one wide time each, put under an example: usage: probe.py PROGRAM FOLDER EXAMPLE…"""
import json
import re
import subprocess
import sys

# The name of a rule, its text with room for the time, a time that every example keeps in seconds, and which way is tighter.
PROBES = [
    ("probe-pause-least", "before each turn-start since the last turn-start: call clear, then a pause of at least %s s", 1, 1),
    ("probe-pause-most", "before each turn-start since the last turn-start: call clear, then a pause of 1..%s s", 500, -1),
    ("probe-fires-or-stops", "after each crank-start within %s s except in any drill: engine-fires or crank-stop", 500, -1),
]
# Not kept wherever somebody can sit beside the running engine: its path goes on from where another ends with a wait.
NOT_KEPT = ("probe-stopped", "after each engine-fires within 500 s except in any drill: crank-stop or shutdown")


def gate(name, rule):
    return f'\ngate {name} "A probe: {name}" {{\n    {rule}\n    severity should\n    because "a probe"\n}}\n'


def with_probes(text, times):
    for name, rule, wide, _ in PROBES:
        ms = times.get(name, wide * 1000)
        text += gate(name, rule % f"{ms / 1000:.3f}".rstrip("0").rstrip("."))
    return text + gate(*NOT_KEPT)


def check(program, path, *options):
    run = subprocess.run([program, "check", path, "--format", "json", *options], capture_output=True, text=True)
    return json.loads(run.stdout)


def broken(found):
    return {verdict["gate"] for verdict in found["verdicts"] if verdict["verdict"] == "broken"}


def goes_back_in_time(told):
    """Whether a path, as printed for people, has a step that is earlier than the one before it."""
    previous = 0.0
    for line in told.splitlines():
        step = re.match(r" {6}(\d+):(\d+(?:\.\d+)?)  ", line)
        now = int(step[1]) * 60 + float(step[2]) if step else 0.0
        if step and now < previous:
            return True
        if step or re.match(r" {0,4}\S", line):
            previous = now
    return False


def at_the_pace(found):
    return {verdict["gate"] for verdict in found["verdicts"] if verdict["pace"]}


def main(program, folder, examples):
    passed = failed = 0
    for example in examples:
        source = f"{folder}/{example}.start"
        with open(source, encoding="utf-8") as file:
            text = file.read()
        tail = next(line.split()[1] for line in text.splitlines() if line.startswith("tail "))
        probe = f"{folder}/{example}-probe.start"

        def probed(times, *options):
            with open(probe, "w", encoding="utf-8") as file:
                file.write(with_probes(text, times))
            return check(program, probe, "--tail", tail, *options)

        spare = {}
        for verdict in probed({}, "--verdicts")["verdicts"]:
            for _, _, wide, _ in [p for p in PROBES if p[0] == verdict["gate"]]:
                for limit in verdict["limits"]:
                    if limit["ms"] == wide * 1000 and limit["spare"] == "exact":
                        spare[verdict["gate"]] = limit["spareMs"]
        kept = {name: wide * 1000 + way * spare.get(name, 0) for name, _, wide, way in PROBES}
        past = {name: kept[name] + way for name, _, _, way in PROBES}
        held, after = probed(kept), probed(past)
        for name, *_ in PROBES:
            wrong = ("has no exact spare time" if name not in spare else "breaks at what it has to spare" if name in broken(held)
                     else "still holds past it" if name not in broken(after) | at_the_pace(after) - at_the_pace(held) else "")
            passed, failed = passed + (not wrong), failed + bool(wrong)
            print(f"{'FAIL' if wrong else 'ok'} slack: {example}/{name} {wrong or spare[name]}")
        told = subprocess.run([program, "check", probe, "--tail", tail], capture_output=True, text=True)
        back = goes_back_in_time(told.stdout) or (example == examples[0] and "How both come about" not in told.stdout)
        passed, failed = passed + (not back), failed + back
        print(f"{'FAIL' if back else 'ok'} slack: {example}: paths are told forward in time")
    print(f"{passed} passed, {failed} failed")
    return failed != 0


sys.exit(main(sys.argv[1], sys.argv[2], sys.argv[3:]))
