"""A workbook read back: by its parts (zip and XML) and by an independent reader, and held against what the program says elsewhere.
usage: read.py parts FILE | signed FILE | sheets FILE SHEET... | deviations FILE HTML | compared FILE HTML | verdicts FILE JSON | items FILE JSON | limits FILE JSON | texts FILE TEXT... | dump FILE SHEET"""
import html.parser
import json
import re
import sys
import zipfile
import xml.etree.ElementTree as ElementTree

import openpyxl
from openpyxl.utils import range_boundaries

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
VERDICTS = {"provedAsWritten": "proved as written", "broken": "broken", "neverTested": "never tested",
            "notApplicable": "not applicable", "notDecided": "not decided"}


def table(sheet):
    """The sheet's table as a list of dicts, by column title; [] where it has none."""
    if not sheet.tables:
        return []
    (only,) = sheet.tables.values()
    left, top, right, bottom = range_boundaries(only.ref)
    rows = [[sheet.cell(row, column).value for column in range(left, right + 1)] for row in range(top, bottom + 1)]
    return [dict(zip(rows[0], row)) for row in rows[1:]]


def parts(name, book):
    """Sound, dated by nobody's clock, without formulas, protected, set for paper; links and names lead somewhere."""
    with zipfile.ZipFile(name) as file:
        assert file.testzip() is None
        for part in file.infolist():
            assert part.date_time == (1980, 1, 1, 0, 0, 0), part
            if part.filename.endswith((".xml", ".rels")):
                tree = ElementTree.fromstring(file.read(part))
                assert not list(tree.iter(MAIN + "f")), f"a formula in {part.filename}"
                if part.filename.startswith("xl/worksheets/sheet"):
                    one_part(part.filename, tree)
    names = [name.name for name in book.defined_names.definedName]
    assert {"verdicts", "limits", "check_codes", "results", "document", "revision"} <= set(names), names
    for sheet in book:
        assert sheet.protection.sheet and not sheet.protection.autoFilter, sheet.title
        one_sheet(book, sheet)
    for defined in book.defined_names.definedName:
        for title, cells in defined.destinations:
            assert book[title][cells], defined.name


def one_part(part, tree):
    setup, kind = tree.find(MAIN + "pageSetup"), tree.find(f"{MAIN}sheetPr/{MAIN}pageSetUpPr")
    assert setup.get("orientation") == "landscape" and setup.get("paperSize") in ("8", "9"), part
    rows = list(tree.iter(MAIN + "row"))
    assert rows and all(float(row.get("ht")) >= 13.5 for row in rows), f"{part}: a row's height is left to whoever opens it"
    for rule in tree.iter(MAIN + "cfRule"):  # a count of 0 is a number, and is not the text "0"
        for formula in rule.iter(MAIN + "formula"):
            assert not re.search(r'[A-Z][0-9]+<>"0"', formula.text), formula.text
    assert kind.get("fitToPage") == "1" and setup.get("fitToHeight") == "0", part
    head, foot = (tree.find(f"{MAIN}headerFooter/{MAIN}{which}").text for which in ("oddHeader", "oddFooter"))
    assert "revision" in head and len(head) <= 255, head
    assert "Flight manual, supplements and placards govern." in foot and "&P of &N" in foot, foot


def one_sheet(book, sheet):
    rows = table(sheet)
    filled = [cell for row in sheet.iter_rows() for cell in row if cell.data_type == "f"]
    assert not filled, filled
    if rows:
        (only,) = sheet.tables.values()
        left, top, right, bottom = range_boundaries(only.ref)
        assert only.autoFilter is not None and only.headerRowCount in (None, 1), sheet.title
        assert sheet.freeze_panes and range_boundaries(f"A1:{sheet.freeze_panes}")[3] == top + 1, sheet.title
        assert sheet.print_title_rows == f"${top}:${top}" or sheet.print_title_rows == f"{top}:{top}", sheet.print_title_rows
        assert bottom == sheet.max_row, sheet.title
        titles = [sheet.cell(top, column).value for column in range(left, right + 1)]
        assert all(titles) and len(set(titles)) == len(titles), titles
    for row in sheet.iter_rows():
        for cell in row:
            link = cell.hyperlink
            if link and link.location and not link.target:
                title, place = link.location.rsplit("!", 1)
                assert book[title.strip("'")][place].value is not None, link.location
            assert cell.data_type in "snd", (sheet.title, cell.coordinate, cell.data_type)


def sheets(book, wanted):
    assert book.sheetnames == wanted, book.sheetnames


def verdicts(book, found):
    """Each rule of each tail with its verdict, its words, and what is missing; the path of each that is broken."""
    rows = table(book["Gates"])
    tails = {row["Tail"] for row in rows}
    wanted = [one for one in found["verdicts"] if one["tail"] in tails]
    assert len(rows) == len(wanted) and wanted, (len(rows), len(wanted))
    for row, one in zip(rows, wanted):
        engine = f" ({one['engine']})" if one["engine"] else ""
        assert row["Tail"] == one["tail"] and row["Gate"] in (one["gate"], one["gate"] + engine), (row, one)
        assert row["Verdict"].split(",")[0] == VERDICTS[one["verdict"]], (row, one)
        assert row["The rule in words"] == one["rule"] and row["Title"] == one["title"], (row, one)
        assert (row["Why not proved"] or "") == one["why"], (row, one)
        assert one["verdict"] != "provedAsWritten" or row["Points"] == one["tested"], (row, one)
        assert (row["Leans on"] or "") == ", ".join(one.get("assumes", [])), (row, one)
        assert (row["Path"] is not None) == (one["verdict"] == "broken"), (row, one)
        assert ", waived until" in row["Verdict"] or not one["waived"], (row, one)
    steps = table(book["Paths"])
    broken = {(row["Tail"], row["Gate"]) for row in rows if row["Verdict"].startswith("broken")}
    assert {(step["Tail"], step["Gate"]) for step in steps} == broken, broken
    margins = [(row["Tail"], row["Time of the rule"], row["Time"], row["To spare"]) for row in table(book["Margins"])]
    spare = [(one["tail"], limit["what"], limit["ms"] / 1000, limit["spareMs"] / 1000 if "spareMs" in limit else None)
             for one in wanted for limit in one["limits"]]
    assert margins == spare, (margins, spare)
    assumed = table(book["Assumptions"])
    assert [row["In words"] for row in assumed] == [one["text"] for one in found["assumptions"] if one["tail"] in tails]
    counts = {row["Tail"]: row for row in table(book["Tails"])}
    for tail in tails:
        mine = [one["verdict"] for one in wanted if one["tail"] == tail]
        assert counts[tail]["Rules"] == len(mine) and counts[tail]["Proved as written"] == mine.count("provedAsWritten")
        assert counts[tail]["Broken"] == mine.count("broken") and counts[tail]["Not decided"] == mine.count("notDecided")


def items(book, found):
    """Each line that has an id is there; numbers are numbers."""
    rows = [row for row in table(book["Items"]) if row["Id"]]
    tails = {row["Tail"] for row in rows}
    phases = {(line["tail"], line["of"], line["phase"]) for line in found["lines"] if line["kind"] == "item"}
    wanted = [line for line in found["lines"] if line["kind"] == "item" and line["tail"] in tails
              and (line["tail"], line["of"], line["id"]) not in phases]
    ids = {(row["Tail"], row["Id"]) for row in rows}
    assert len(wanted) * 2 > len(ids), len(wanted)
    for line in wanted:
        assert (line["tail"], f"{line['of']}.{line['id']}") in ids, line
    for row in rows:
        for end in ("At least", "At most", "Within, s"):
            assert row[end] is None or isinstance(row[end], (int, float)), row
    named = [row for row in rows if row["Source"]]
    assert len(named) * 2 > len(rows)


def limits(book, found):
    """Each line of the aircraft that gives a number is there; numbers are numbers with a unit."""
    rows = table(book["Limits"])
    tails = {row["Tail"] for row in rows}
    places = {row["Line of the text"] for row in rows}
    for line in found["lines"]:
        if line["kind"] == "limit" and line["tail"] in tails and re.search(r"\d", line["words"]) and not line["words"].startswith("print"):
            assert f"{line['file']}:{line['line']}" in places, line
    for row in rows:
        number = row["Number"] if row["Against it"] != "gone" else row["Aircraft's"]
        assert isinstance(number, (int, float)), row
        assert row["Source"], row


class Rows(html.parser.HTMLParser):
    """The rows of all tables of a page, as lists of texts."""

    def __init__(self):
        super().__init__()
        self.rows, self.cell = [], None

    def handle_starttag(self, tag, attrs):
        if tag == "tr":
            self.rows.append([])
        elif tag == "td":
            self.cell = ""
        elif tag == "br" and self.cell is not None:
            self.cell += "\n"

    def handle_data(self, data):
        if self.cell is not None:
            self.cell += data

    def handle_endtag(self, tag):
        if tag == "td":
            self.rows[-1].append(self.cell)
            self.cell = None


def words(text):
    return " ".join(str(text or "").split())


def listed(name):
    reader = Rows()
    with open(name, encoding="utf-8") as file:
        reader.feed(file.read())
    return [[words(cell) for cell in row] for row in reader.rows if row]


def deviations(book, name):
    """Every row of the list of deviations, with its number as a number."""
    rows, wanted = table(book["Deviations"]), listed(name)
    assert len(rows) == len(wanted) and wanted, (len(rows), len(wanted))
    for row, cells in zip(rows, wanted):
        mine = [words(value) for value in row.values()] + [words(row["What"]).removeprefix("until ")]
        assert all(cell in mine for cell in cells if cell), (row, cells)
        if row["Part"] == "number" and row["What"] != "gone":
            assert isinstance(row["Number"], (int, float)), row
            assert words(row["This tail's"]).startswith(f"{row['Number']:g}") or row["Unit"] == "s", row
        assert row["Reason (source)"] and row["Who"], row


def compared(book, name):
    """Every line of the handbook beside ours, in its order."""
    rows, wanted = table(book["Compare"]), listed(name)
    assert len(rows) == len(wanted) and wanted, (len(rows), len(wanted))
    for row, cells in zip(rows, wanted):
        mine = [words(row[key]) for key in ("Line", "The handbook's", "Ours", "Stands", "Reason")]
        assert mine == cells[:5], (mine, cells)


def signed(book):
    """Only the cells to fill in are open; choices come from a list, days are days."""
    for sheet in book:
        titles = [] if not table(sheet) else list(table(sheet)[0])
        filled = {"Result", "Initials", "Date", "Remark", "Looked at", "Compared", "Holder, or where it is kept",
                  "Received, initials", "The older revision"} & set(titles)
        for row in sheet.iter_rows():
            for cell in row:
                title = titles[cell.column - 1] if titles and cell.column <= len(titles) else None
                body = bool(titles) and cell.row > range_boundaries(list(sheet.tables.values())[0].ref)[1]
                wants = body and title in filled
                assert cell.protection.locked == (not wants), (sheet.title, cell.coordinate)
                assert not wants or cell.value is None, (sheet.title, cell.coordinate)
        kinds = sorted(one.type for one in sheet.data_validations.dataValidation)
        assert len(kinds) == len(filled), (sheet.title, kinds, filled)
        if sheet.title == "Sign-off":
            assert kinds == ["date", "list", "textLength", "textLength"], kinds
            (choices,) = (one.formula1 for one in sheet.data_validations.dataValidation if one.type == "list")
            assert choices == '"agrees,does not agree,does not apply,open"', choices
    rows = table(book["Sign-off"])
    wanted = [row for row in table(book["Gates"]) if row["Verdict"] not in ("proved as written", "not applicable")]
    assert len([row for row in rows if row["Part"] == "open rule"]) == len(wanted), wanted


def texts(name, book, wanted):
    """These stand in cells, as texts."""
    cells = {cell.value for sheet in book for row in sheet.iter_rows() for cell in row if cell.data_type == "s"}
    for text in wanted:
        assert any(text in value for value in cells), text


def dump(book, title):
    for row in book[title].iter_rows(values_only=True):
        print("\t".join("" if value is None else str(value) for value in row))


def main(what, name, *more):
    book = openpyxl.load_workbook(name)
    if what == "parts":
        parts(name, book)
    elif what == "sheets":
        sheets(book, list(more))
    elif what == "texts":
        texts(name, book, more)
    elif what == "signed":
        signed(book)
    elif what in ("deviations", "compared"):
        {"deviations": deviations, "compared": compared}[what](book, more[0])
    elif what == "dump":
        dump(book, more[0])
    else:
        with open(more[0], encoding="utf-8") as file:
            {"verdicts": verdicts, "items": items, "limits": limits}[what](book, json.load(file))


main(*sys.argv[1:])
