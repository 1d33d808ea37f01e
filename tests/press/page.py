"""Looks at a card for screens with eyes of its own.
usage: page.py PAGE TEXTCARD     prints one line for each thing that is wrong; exit status 1 when there is one."""
import re
import sys
from html.parser import HTMLParser

wrong = []
VOID = {"meta", "link", "br", "img", "input", "hr"}


class Page(HTMLParser):
    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.open, self.ids, self.hrefs, self.words, self.heads, self.attrs, self.tags = [], [], [], [], [], [], []
        self.styles = ""

    def handle_starttag(self, tag, attrs):
        attrs = dict(attrs)
        self.tags.append(tag)
        self.attrs.append((tag, attrs))
        if tag not in VOID:
            self.open.append(tag)
        if attrs.get("id"):
            self.ids.append(attrs["id"])
        if tag == "a":
            self.hrefs.append(attrs.get("href", ""))
        if re.fullmatch(r"h[1-6]", tag):
            self.heads.append(int(tag[1]))

    def handle_endtag(self, tag):
        if not self.open or self.open[-1] != tag:
            wrong.append(f"</{tag}> closes {self.open[-1:]}")
        else:
            self.open.pop()

    def handle_data(self, data):
        if "style" in self.open:
            self.styles += data
        else:
            self.words += re.findall(r"\w+", data)


def luminance(colour):
    levels = [int(colour[i:i + 2], 16) / 255 for i in (1, 3, 5)]
    levels = [l / 12.92 if l <= 0.04045 else ((l + 0.055) / 1.055) ** 2.4 for l in levels]
    return 0.2126 * levels[0] + 0.7152 * levels[1] + 0.0722 * levels[2]


def contrast(a, b):
    a, b = sorted((luminance(a), luminance(b)))
    return (b + 0.05) / (a + 0.05)


def mixed(colour, over, part):
    """`colour` laid on `over` with this opacity."""
    return "#" + "".join(f"{round(int(colour[i:i + 2], 16) * part + int(over[i:i + 2], 16) * (1 - part)):02x}" for i in (1, 3, 5))


def look_at_colours(styles):
    schemes = re.findall(r":root\{(.*?)\}", styles)
    if len(schemes) != 3:
        wrong.append(f"{len(schemes)} sets of colours, not those of day, night and paper")
    part = float(re.search(r"\.across\{[^}]*opacity:([.\d]+)", styles)[1])
    for scheme in schemes:
        colour = dict(re.findall(r"--(\w+):(#[0-9a-f]{6})", scheme))
        # the word across the page lies on letters and paper alike
        ink, paper = colour["ink"], mixed(colour["ink"], colour["paper"], part)
        for name, least in (("ink", 7), ("warning", 3), ("caution", 3), ("rule", 3)):
            ground = paper if name == "ink" else colour["paper"]
            found = contrast(ink if name == "ink" else colour[name], ground)
            if found < least:
                wrong.append(f"{name} {colour[name]} on {ground}: {found:.2f} to 1, wanted {least}")
    for found in re.findall(r"(?<![-\w])color:(.*?)[;}]", styles):
        if found not in ("inherit", "var(--ink)", "#000"):
            wrong.append(f"text in {found}")


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        text = file.read()
    page = Page()
    page.feed(text)
    if page.open:
        wrong.append(f"left open: {page.open}")
    if len(set(page.ids)) != len(page.ids):
        wrong.append("an id stands twice")
    wrong.extend(f"{href} leads nowhere" for href in set(page.hrefs) if href[:1] != "#" or href[1:] not in page.ids)
    if "script" in page.tags or "img" in page.tags or re.search(r"(src|href)=\"?(?!#)[a-z]+:|url\((?!data:)|@import", text):
        wrong.append("it asks for something from elsewhere")
    attrs = dict((tag, a) for tag, a in page.attrs)
    if not attrs["html"].get("lang") or page.heads.count(1) != 1 or "main" not in page.tags or "nav" not in page.tags:
        wrong.append("no language, or not one head, or no main part")
    if any(b > a + 1 for a, b in zip(page.heads, page.heads[1:])):
        wrong.append(f"heads leave out a level: {page.heads}")
    labels = [a["aria-labelledby"] for tag, a in page.attrs if tag == "article"]
    if not labels or not set(labels) <= set(page.ids):
        wrong.append("a card without a name")
    if any("tabindex" in a or "onclick" in a for _, a in page.attrs) or ":focus-visible" not in page.styles:
        wrong.append("the keyboard is led astray, or cannot be seen")
    look_at_colours(page.styles)
    with open(sys.argv[2], encoding="utf-8") as file:
        card = file.read()
    if ("DRAFT" in card) != ('<div class="across" aria-hidden="true">DRAFT</div>' in text):
        wrong.append("DRAFT on one of them only")
    lines = re.findall(r"^.*[│┃].*$", card, re.M)
    missing = set(re.findall(r"\w+", " ".join(lines))) - set(page.words)
    if not lines or missing:
        wrong.append(f"words of the text card that are not on the page: {sorted(missing)[:10]}")
    print("\n".join(wrong[:30]))
    return 1 if wrong else 0


sys.exit(main())
