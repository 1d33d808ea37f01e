"""A record as HTML, looked at by a program that shares nothing with ours: every element closed, nothing fetched, the cautions, and the
words of every cell in the same record as text. usage: page.py FILE.html FILE.txt"""
import html.parser
import re
import sys

VOID = {"meta", "col", "br"}


class Page(html.parser.HTMLParser):
    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.open, self.wrong, self.cells, self.rows, self.columns = [], [], [], 0, 0

    def handle_starttag(self, tag, attrs):
        for name, value in attrs:
            if name in ("src", "href") or "url(" in (value or ""):
                self.wrong.append(f"fetches {value}")
        if tag not in VOID:
            self.open.append(tag)
        if tag == "tr":
            self.rows += 1
        if tag in ("td", "th", "p", "h1", "h2"):
            self.cells.append("")

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.wrong.append(f"</{tag}> closes something else")

    def handle_data(self, data):
        if self.cells and self.open and self.open[-1] != "style":
            self.cells[-1] += data + " "


page = Page()
with open(sys.argv[1], encoding="utf-8") as file:
    page.feed(file.read())
with open(sys.argv[2], encoding="utf-8") as file:
    words = set(re.split(r"[\s-]+", file.read()))
if page.open:
    page.wrong.append(f"left open: {page.open}")
if page.rows < 5:
    page.wrong.append("hardly a table")
for cell in page.cells:
    for word in re.split(r"[\s-]+", cell):
        if word and len(word) < 9 and "." not in word and word not in words:
            page.wrong.append(f"the text has not: {word} (of {cell})")
print("\n".join(page.wrong[:20]))
sys.exit(1 if page.wrong else 0)
