"""Changes of a text that must not change what is proved of it: each is made, and every verdict compared with those of the text as it is.

usage: unchanged.py PROGRAM WORK [TEXT | CHANGE@TEXT]...      CHANGE: the one with this name only; else all of them
Prints a line "ok …" or "FAIL …" for each change of each text, and their counts.
"""

import functools
import json
import pathlib
import re
import subprocess
import sys

program, work = sys.argv[1], pathlib.Path(sys.argv[2])
LIBRARY = "\n".join(path.read_text() for path in sorted(pathlib.Path("stdlib").rglob("*.start")))


# ---- a text as pieces ------------------------------------------------------------------------------------------------------
def apart(text):
    """The text as pairs (is it code?, piece): comments and quoted words are no code."""
    for piece in re.findall(r'"[^"\n]*"|#[^\n]*|[^"#]+', text):
        yield piece[0] not in '"#', piece


def in_code(text, pattern, to):
    return "".join(re.sub(pattern, to, piece) if code else piece for code, piece in apart(text))


def declarations(text):
    """(its `use` lines, its other declarations each with the comment above it)."""
    uses, others, head = [], [], ""
    for line in text.splitlines(True):
        if line.startswith("use "):
            uses.append(head + line)
            head = ""
        elif re.match(r"[a-z]", line):
            others.append(head + line)
            head = ""
        elif re.match(r"[ }]", line):
            others[-1] += line
        else:
            head += line
    return "".join(uses), others


# ---- the changes: text -> (text, {other files}) ----------------------------------------------------------------------------
OWN = r"^(?:aircraft|tail|procedure|group|drill|gate|document|fleet|state|event|standard|source|briefing)\s+([a-z][a-z0-9-]*)"
LABEL = r"^\s+(?:[a-z]+ )?([a-z][a-z0-9-]*): (?:set|look|check|expect|wait|call|crank|hold)\b"


def renamed(text):
    """Every name that the text itself gives; one that the library speaks of is the library's."""
    names = set(re.findall(OWN, text, re.M)) | set(re.findall(LABEL, text, re.M))
    known = set(re.findall(r"[a-z][a-z0-9-]*", LIBRARY))
    mine = sorted(names - known)
    word = r"(?<![a-z0-9-])(%s)(?![a-z0-9-])" % "|".join(map(re.escape, mine))
    return in_code(text, word, r"other-\1"), {}


def reordered(text):
    uses, others = declarations(text)
    return uses + "".join(reversed(others)), {}


def split(text):
    uses, others = declarations(text)
    parts = {f"part-{k}.start": uses + "".join(others[k::3]) for k in (1, 2)}
    return "".join(f'use "{name}"\n' for name in parts) + uses + "".join(others[0::3]), parts


def slower(text):
    """All times three times as long."""

    def longer(found):
        return re.sub(r"\d+", lambda n: str(3 * int(n.group())), found.group(1)) + " " + found.group(2)

    return in_code(text, r"(\d+(?:\.\.\d+)?) (s|min|h)\b", longer), {}


def with_notes(text):
    """A line to read above each line that does something."""
    inside, out = False, []
    for line in text.splitlines(True):
        if re.match(r"[a-z]", line):
            inside = bool(re.match(r"procedure|group|drill", line))
        if inside and re.match(r"\s+(set|check|look|call|brief|hold|release|wait|expect|crank|do) ", line):
            out.append('note "Nothing is done here."\n')
        out.append(line)
    return "".join(out), {}


def badly_set(text):
    squeezed = in_code(text, r"[ \t]+", " ")
    return re.sub(r"\n ?(?=[^\n}])", "\n\n\t   ", squeezed), {}


def tidied(text):
    return subprocess.run([program, "tidy", "-"], input=badly_set(text)[0], capture_output=True, text=True, check=True).stdout, {}


def commented(text):
    return re.sub(r"\n", "   # said beside it\n", re.sub(r"#[^\n]*", "", text)) if '#"' not in text else text, {}


def other_line_ends(text):
    return text.replace("\n", "\r\n"), {}


def unprinted(text):
    """Without its documents: what is printed is no matter of proof. A standard that a document names is one, though."""
    uses, others = declarations(text)
    kept = [each for each in others if not re.search(r"^(document|fleet)\b", each, re.M) or "standard" in each]
    return uses + "".join(kept), {}


CHANGES = [renamed, reordered, split, slower, with_notes, badly_set, tidied, commented, other_line_ends, unprinted]


# ---- what is proved --------------------------------------------------------------------------------------------------------
def checked(path, *more):
    done = subprocess.run([program, "check", path, "--verdicts", "--format", "json", *more], capture_output=True, text=True)
    if not done.stdout:
        raise ValueError(done.stderr)
    return json.loads(re.sub(r"\bother-", "", done.stdout))


def limit_of(limit, scale):
    """`more`: its worst case is beyond what is looked for, so that the number found is none of the text's."""
    spare = limit["spareMs"] / scale if limit["spare"] == "exact" else None
    return limit["bound"], limit["ms"] / scale, limit["spare"], spare


def proved(said, scale, places):
    """By tail, gate and engine: the verdict and all that goes with it, but for where it stands in the text."""
    out = {}
    for v in said["verdicts"]:
        key = v["tail"], v["gate"], v["engine"]
        limits = sorted(str(limit_of(limit, scale)) for limit in v["limits"])
        by = sorted({(t["by"], t["points"]) for t in v["testedBy"]}) if places else bool(v["testedBy"])
        out[key] = v["verdict"], v["pace"], sorted(v["assumes"]), limits, by
    for t in said["textTimes"]:
        key = t["tail"], t["text"], t["limit"]["ms"] / scale
        out.setdefault(key, []).append(limit_of(t["limit"], scale))
        out[key].sort(key=str)
    out["findings"] = sorted((f["id"], f["severity"]) for f in said["findings"])
    return out


def difference(a, b):
    for key in sorted(set(a) | set(b), key=str):
        if a.get(key) != b.get(key):
            return f"{key}: {a.get(key)}, now {b.get(key)}"
    return ""


@functools.cache
def as_it_is(path, scale, places):
    return proved(checked(path), scale, places)


def compare(path, change):
    text, files = change(path.read_text())
    folder = work / path.stem / change.__name__
    folder.mkdir(parents=True, exist_ok=True)
    for name, part in {path.name: text, **files}.items():
        (folder / name).write_text(part, newline="")
    if text == path.read_text():
        return "it changes nothing"
    scale, places = (3, False) if change is slower else (1, change is not with_notes)
    return difference(as_it_is(path, 1, places), proved(checked(folder / path.name), scale, places))


passed = failed = 0
for words in sys.argv[3:]:
    only, _, name = words.rpartition("@")
    path = pathlib.Path(name)
    for change in [each for each in CHANGES if only in ("", each.__name__)]:
        wrong = compare(path, change)
        title = f"unchanged/{path.stem}, {change.__name__.replace('_', ' ')}"
        print(f"FAIL {title}: {wrong}" if wrong else f"ok {title}", flush=True)
        passed, failed = passed + (not wrong), failed + bool(wrong)
print(f"{passed} passed, {failed} failed")
sys.exit(failed > 0 or not passed)
