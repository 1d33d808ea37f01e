"""Looks at a workbook as it is printed: every sheet has pages, and no word stands over another or over the edge of its page.
usage: looks.py FILE.xlsx WORDS.xml       WORDS.xml: what pdftotext -bbox gives of the printed file"""
import re
import sys
import xml.etree.ElementTree as ElementTree

import openpyxl

HTML = "{http://www.w3.org/1999/xhtml}"


def words_of(page):
    return [tuple(float(word.get(side)) for side in ("xMin", "yMin", "xMax", "yMax")) + (word.text or "",) for word in page.iter(HTML + "word")]


def over(one, two):
    """By more than a third of the lower one's height and by more than a hair of its width."""
    high = min(one[3], two[3]) - max(one[1], two[1])
    wide = min(one[2], two[2]) - max(one[0], two[0])
    return high > 0.34 * min(one[3] - one[1], two[3] - two[1]) and wide > 0.6


def clashes(words):
    words = sorted(words, key=lambda word: word[1])
    for i, one in enumerate(words):
        for two in words[i + 1:]:
            if two[1] >= one[3]:
                break
            if over(one, two):
                yield one, two


def main(workbook, printed):
    with open(printed, encoding="utf-8") as file:
        tree = ElementTree.fromstring(re.sub(r"[\x00-\x08\x0b\x0c\x0e-\x1f]", "", file.read()))
    sheets, seen, wrong = openpyxl.load_workbook(workbook).sheetnames, set(), 0
    for number, page in enumerate(tree.iter(HTML + "page"), 1):
        words = words_of(page)
        text = " ".join(word[4] for word in words)
        found = re.search(rf"([A-Z][A-Za-z-]*), page {number} of \d+", text)
        assert found, f"page {number} does not say of which sheet it is"
        seen.add(found.group(1))
        assert "Flight manual, supplements and placards govern." in text, f"page {number} lacks the caution"
        for one, two in clashes(words):
            print(f"page {number}, {found.group(1)}: {one[4]!r} and {two[4]!r} stand over each other")
            wrong += 1
        for word in words:
            if word[2] > float(page.get("width")) or word[3] > float(page.get("height")):
                print(f"page {number}, {found.group(1)}: {word[4]!r} stands over the edge")
                wrong += 1
    missing = [sheet for sheet in sheets if sheet not in seen]
    assert not missing, f"not printed: {missing}"
    return wrong > 0


sys.exit(main(*sys.argv[1:]))
