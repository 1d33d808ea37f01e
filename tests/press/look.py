"""Looks at a drawing, at the PDF made of it and at the text card beside it with eyes of its own.
usage: look.py DRAWING PDF TEXTCARD     prints one line for each thing that is wrong; exit status 1 when there is one."""
import re
import subprocess
import sys

MARK = re.compile(r'(\w+)((?: -?\d+\.\d{3})*)(?: ((?:plain|bold)(?:-other)?))?(?: (red|amber|pale))?(?: "(.*?)")?(?: "(.*)")?$')
wrong = []


def read_marks(path):
    with open(path, encoding="utf-8") as file:
        head, *lines = file.read().splitlines()
    width, height = (float(word) for word in head.split()[1:3])
    marks = []
    for line in lines:
        kind, numbers, face, ink, text, target = MARK.match(line).groups()
        marks.append((kind, [float(n) for n in numbers.split()], face, ink, text or "", target))
    return width, height, marks


def split_pages(marks):
    pages = []
    for mark in marks:
        if mark[0] == "page":
            pages.append([])
        else:
            pages[-1].append(mark)
    return pages


def words_of(page):
    return " ".join(mark[4] for mark in page if mark[0] == "text")


def look_at_page(where, page, of, width, height, standing):
    texts = [mark for mark in page if mark[0] == "text"]
    words = words_of(page)
    if f"page {where} of {of}" not in words:
        wrong.append(f"page {where} does not say which it is")
    if standing and standing not in [mark[4] for mark in texts] + [""]:
        wrong.append(f"page {where} does not say {standing}")
    if standing and not any(mark[0] == "across" and mark[4] == standing for mark in page):
        wrong.append(f"page {where} has no {standing} across it")
    if "only. Flight manual, supplements and placards govern. Draft until a qualified person has compared every line." not in words:
        wrong.append(f"page {where} has no caution")
    for kind, at, _, ink, text, _ in page:
        if kind in ("text", "bar", "frame") and not (0 <= at[0] < width and 0 <= at[1] < height):
            wrong.append(f"page {where}: {kind} {text!r} is not on the paper")
        if kind in ("bar", "frame") and (at[0] + at[2] > width or at[1] + at[3] > height):
            wrong.append(f"page {where}: a {kind} leaves the paper")
        if kind == "text" and ink:
            wrong.append(f"page {where}: {text!r} is {ink}: text is black")
    if re.search(r"\bproved\b", words.replace("NOT PROVED", ""), re.I):
        wrong.append(f"page {where} calls something proved")
    # what bears a number is read in use: 0.10 in of x-height at 60 cm is 13.1 pt of B612
    if any(at[2] < 13.1 for kind, at, face, _, text, _ in texts if face == "bold"):
        wrong.append(f"page {where} has type too small for its distance")
    return len(texts)


def look_at_breaks(pages):
    """A warning, a head or an `if` is never the last thing on a page; a way out never the first."""
    for n, page in enumerate(pages, 1):
        roles, body, last = 0, [], ""
        for kind, _, _, _, text, _ in page:
            if kind == "open":
                roles += 1
                body.append("")
                last = text
            elif kind == "text" and body:
                body[-1] += text + " "
        lines = [line for line in body[2:-1] if not line.startswith("goes on: page")]
        if lines and re.match(r"(WARNING|CAUTION|Note):|if .*:$|Read on:", lines[-1].strip()):
            wrong.append(f"page {n} ends with {lines[-1]!r}")
        if lines and re.match(r"(else|within|Did not fire:|Not so:|Now:) ", lines[0]):
            wrong.append(f"page {n} begins with {lines[0]!r}")


def pdf_words(path):
    done = subprocess.run(["pdftotext", "-raw", path, "-"], stdout=subprocess.PIPE, check=True)
    return [page.split() for page in done.stdout.decode("utf-8").split("\f")[:-1]]


def boxes_of(path):
    """Of each page, the boxes of its words as poppler sees them."""
    done = subprocess.run(["pdftotext", "-bbox", path, "-"], stdout=subprocess.PIPE, check=True)
    pages = done.stdout.decode("utf-8").split("<page ")[1:]
    box = re.compile(r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">(.*?)</word>')
    return [[(*(float(n) for n in found[:4]), found[4]) for found in box.findall(page)] for page in pages]


def look_at_boxes(path, width):
    for n, words in enumerate(boxes_of(path), 1):
        for i, (x0, y0, x1, y1, word) in enumerate(words):
            if x1 > width - 12:
                wrong.append(f"page {n}: {word} runs into the margin")
            for ox0, oy0, ox1, oy1, other in words[i + 1:]:
                if min(x1, ox1) - max(x0, ox0) > 0.5 and min(y1, oy1) - max(y0, oy0) > 0.6 * min(y1 - y0, oy1 - oy0):
                    wrong.append(f"page {n}: {word} and {other} lie on each other")


def look_at_text_card(path, pages):
    """Every numbered line and every way out of the text card stands on the drawn one, in the same order."""
    with open(path, encoding="utf-8") as file:
        said = re.findall(r"[A-Za-z0-9]+", re.sub(r"(?s)─{70,}[^─]*?page \d+ of \d+.*?(\f|$).*?(─{70,}|$)", " ", file.read()))
    drawn = re.findall(r"[A-Za-z0-9]+", " ".join(words_of(page) for page in pages))
    missing = set(said) - set(drawn)
    if missing:
        wrong.append(f"words of the text card that are not drawn: {sorted(missing)[:10]}")


def main():
    drawing, pdf, text_card = sys.argv[1:4]
    width, height, marks = read_marks(drawing)
    pages = split_pages(marks)
    with open(text_card, encoding="utf-8") as file:
        first = file.readline()
    standing = "NOT PROVED" if "NOT PROVED" in first else "DRAFT" if "DRAFT" in first else ""
    for n, page in enumerate(pages, 1):
        look_at_page(n, page, len(pages), width, height, standing)
    look_at_breaks(pages)
    found = pdf_words(pdf)
    if len(found) != len(pages):
        wrong.append(f"the PDF has {len(found)} pages, the drawing {len(pages)}")
    for n, (page, words) in enumerate(zip(pages, found), 1):
        if words_of(page).split() != words:
            wrong.append(f"page {n} is read from the PDF in another order, or with other words")
    look_at_boxes(pdf, width)
    look_at_text_card(text_card, pages)
    print("\n".join(wrong[:40]))
    return 1 if wrong else 0


sys.exit(main())
