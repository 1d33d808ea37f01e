"""Looks at a state table as CSV from outside: everything that the table says (but for its runs) is made again from the rows and must be
the same; in the form for spreadsheets no cell may begin a formula, whichever sign a spreadsheet divides at.
usage: csv_of.py TABLE.json TABLE.csv TABLE.sheet.csv"""
import csv
import json
import sys

NUMBERS = ("line", "column", "endLine", "endColumn")
FORMULA = tuple("=+-@|%\t\r") + ("\uff1d", "\uff0b", "\uff0d", "\uff20")


def read(raw, delimiter=","):
    lines = raw.decode("utf-8")
    return list(csv.reader(lines.splitlines(keepends=True), strict=True, delimiter=delimiter))


def tests(text, key):
    made = []
    for test in text.split():
        fact, values = test.split("=")
        made.append({"fact": fact, key: [int(value) for value in values.split("|")]})
    return made


def when(row):
    return {"when": [[] if term == "always" else tests(term, "in") for term in row["when"].split(" / ")]} if row["when"] else {}


def bounds(text):
    return [{"clock": one.split("=")[0], "ms": int(one.split("=")[1])} for one in text.split()]


def some(row, **names):
    return {member: row[column] for member, column in names.items() if row[column]}


def span(row):
    return {"file": row["file"], **{name: int(row[name]) for name in NUMBERS}} if row["line"] else {}


def mark(text):
    made = {}
    words = text.split()
    made["event"] = words.pop(0)
    if words and words[-1][0] == "x" and words[-1][1:].isdigit():
        made["count"] = int(words.pop()[1:])
    for word in words:
        made.update(tests(word, "in")[0] if "=" in word else {"name": word})
    return made


def put_fact(table, row):
    table["facts"].append({"id": row["id"], "kind": row["kind"], "name": row["words"], "values": [], "initial": []})


def put_value(table, row):
    fact = table["facts"][-1]
    assert fact["id"] == row["of"] and int(row["id"]) == len(fact["values"])
    if row["kind"]:
        fact["initial"].append(len(fact["values"]))
    fact["values"].append(row["words"])


def put_place(table, row):
    place = {"id": row["id"], "kind": row["kind"], "at": span(row), "deadlines": []}
    place |= some(row, outcome="label", words="words", procedure="procedure", drill="drill", phase="phase", item="item")
    if row["item"]:
        place |= {"cautions": [], "formerIds": []}
    for scope in row["scopes"].split():
        table["scopes"].setdefault(scope, []).append(len(table["places"]))
    table["places"].append(place)


def put_deadline(table, row):
    made = {"clock": row["clock"], "ms": int(row["ms"]), "lapse": row["lapse"].split(), **when(row)}
    if row["of"]:
        assert table["places"][-1]["id"] == row["of"]
    (table["places"][-1]["deadlines"] if row["of"] else table["deadlinesEverywhere"]).append(made)


def put_edge(table, row):
    edge = {"by": row["kind"], **some(row, id="id", label="label", to="to"), "from": row["from"], **when(row),
            "notBefore": bounds(row["notBefore"]), "notAfter": bounds(row["notAfter"]), "set": tests(row["set"], "to"),
            "count": row["count"].split(), "reset": row["reset"].split(),
            "emit": [mark(text) for text in row["emit"].split(" / ") if text]}
    if row["overDuty"]:
        edge["overDuty"] = True
    table["edges"].append(edge)


def put_verdict(table, row):
    verdict = {"gate": row["id"], "verdict": row["kind"], "title": row["title"], "rule": row["words"], "pace": row["pace"] == "yes",
               **some(row, engine="engine", why="why", hash="hash")}
    verdict |= {"assumes": row["assumes"].split(), "limits": [], "testedBy": []}
    table["verdicts"].append(verdict)


def of_verdict(table, row):
    verdict = table["verdicts"][-1]
    assert (verdict["gate"], verdict.get("engine", "")) == (row["of"], row["engine"])
    return verdict


def put_limit(table, row):
    table["limits"].append({"key": row["id"], "moreRoom": row["kind"], "words": row["words"], "what": row["title"], "amount": row["amount"], **some(row, ucum="ucum")})


def put_line(table, row):
    procedure = table["procedures"][-1]
    assert procedure["id"] == row["of"]
    made = {"id": row["id"], "words": row["words"], "depth": int(row["depth"]), **some(row, phase="phase")}
    made |= {name: int(row[name]) for name in ("atLeastMs", "atMostMs") if row[name]}
    procedure["lines"].append(made | ({row["kind"]: True} if row["kind"] else {}))


def put_time(table, row):
    made = {"bound": row["kind"], "ms": int(row["ms"]), "what": row["words"], "spare": row["spare"]}
    if row["spareMs"]:
        made["spareMs"] = int(row["spareMs"])
    of_verdict(table, row)["limits"].append(made)


def put_test(table, row):
    made = {"by": row["words"], "lines": [int(line) for line in row["line"].split()], "points": int(row["points"]), **some(row, file="file")}
    of_verdict(table, row)["testedBy"].append(made)


def put_step(table, row):
    made = {"at": span(row), "atMs": int(row["ms"]), "by": row["kind"], "text": row["words"], **some(row, facts="if", item="item")}
    of_verdict(table, row).setdefault("witness", {"steps": []})["steps"].append(made)


def put_caution(table, row):
    if row["of"]:
        assert table["places"][-1]["id"] == row["of"]
    (table["places"][-1] if row["of"] else table)["cautions"].append(row["words"])


def put_document(table, row):
    table["document"][row["id"]] = int(row["words"]) if row["id"] == "revision" else row["words"]


def put_table(table, row):
    if row["id"] == "tail":
        table["tail"] = {"id": row["tail"], "title": row["words"]}
    else:
        table[row["id"]] = row["words"]


PUT = {
    "assumption": lambda table, row: table["assumptions"].append(row["words"]),
    "band": lambda table, row: table["gauges"][-1]["bands"].append(
        {"name": row["id"], "ucum": row["ucum"], **some(row, atLeast="atLeast", atMost="atMost")}),
    "broken": lambda table, row: of_verdict(table, row).setdefault("witness", {"steps": []}).update(some(row, wanted="words", nearest="why")),
    "caution": put_caution, "clock": lambda table, row: table["clocks"].append({"id": row["id"], "what": row["words"]}),
    "deadline": put_deadline, "document": put_document, "edge": put_edge, "fact": put_fact,
    "feature": lambda table, row: table["features"].append(row["id"]),
    "formerId": lambda table, row: table["places"][-1]["formerIds"].append(row["id"]),
    "gauge": lambda table, row: table["gauges"].append({"fact": row["of"], "title": row["title"], "bands": []}),
    "limit": put_limit, "line": put_line, "place": put_place,
    "procedure": lambda table, row: table["procedures"].append({"id": row["id"], "kind": row["kind"], "title": row["title"], "lines": []}),
    "source": lambda table, row: table["sources"].append({"file": row["file"], "sha256": row["hash"]}),
    "step": put_step, "table": put_table, "test": put_test, "time": put_time, "value": put_value, "verdict": put_verdict,
}


def made_again(rows, status):
    table = {name: [] for name in ("assumptions", "cautions", "clocks", "deadlinesEverywhere", "edges", "facts", "features", "gauges",
                                   "limits", "places", "procedures", "sources", "verdicts")} | {"document": {}, "scopes": {}, "producer": "startwright", "status": status}
    for row in rows:
        assert row["status"] == status, row
        PUT[row["record"]](table, row)
    table["scopes"] = [{"id": id, "places": table["scopes"].get(id, [])} for id in sorted(table["scopes"], key=lambda id: int(id[1:]))]
    return table


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        table = json.load(file)
    with open(sys.argv[2], "rb") as file:
        raw = file.read()
    with open(sys.argv[3], "rb") as file:
        sheet = file.read()
    assert raw.endswith(b"\r\n") and b"\n" not in raw.replace(b"\r\n", b""), "lines end otherwise than RFC 4180 says"
    cells = read(raw)
    assert len({len(row) for row in cells}) == 1 and len(set(cells[0])) == len(cells[0])
    made = made_again([dict(zip(cells[0], row)) for row in cells[1:]], table["status"])
    del table["vectors"], table["contentHash"]  # of the whole file
    # A path says so of every verdict; a table without details has none of these.
    for verdict, told in zip(made["verdicts"], table["verdicts"]):
        for member in ("assumes", "limits", "testedBy"):
            if member not in told and not verdict[member]:
                del verdict[member]
    for member in sorted(table.keys() | made.keys()):
        if made.get(member) != table.get(member):
            print(f"{member} is not the same:")
            a, b = made.get(member), table.get(member)
            pairs = zip(a, b) if isinstance(a, list) and isinstance(b, list) and len(a) == len(b) else [(a, b)]
            print(*[f"{a}\n{b}" for a, b in pairs if a != b][:2], sep="\n")
            return 1
    # For spreadsheets: the same rows, and nothing that begins a formula.
    assert sheet.startswith(b"\xef\xbb\xbf"), "a spreadsheet may take it for another encoding"
    sheet = sheet[3:]
    safe = read(sheet)
    assert len(safe) == len(cells)
    for plain, row in zip(cells, safe):
        for one, cell in zip(plain, row):
            assert cell == one or cell.replace("'", "") == one.replace("'", "") and len(cell) > len(one), (one, cell)
    for row in safe:
        assert not any(cell.lstrip(' "').startswith(FORMULA) for cell in row), row
    for delimiter in ";\t":
        for line in sheet.decode("utf-8").split("\r\n"):
            for cell in line.split(delimiter):
                assert not cell.lstrip(' "').startswith(FORMULA), f"a formula where {delimiter!r} divides: {cell[:60]!r}"
    return 0


sys.exit(main())
