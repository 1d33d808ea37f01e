"""Folds the sheets in mind: every page of the cards stands once on them, whole, on the half where folding puts it.
usage: folded.py CARDS.pdf SHEETS.pdf WIDTH HEIGHT      of a sheet; prints what is wrong, exit status 1"""
import re
import subprocess
import sys

BOX = re.compile(r'xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*?)</word>')


def read(path):
    text = subprocess.run(["pdftotext", "-bbox", path, "-"], stdout=subprocess.PIPE, check=True).stdout.decode("utf-8")
    pages = []
    for page in text.split("<page ")[1:]:
        width, height = (float(n) for n in re.match(r'width="([\d.]+)" height="([\d.]+)"', page).groups())
        pages.append((width, height, [(float(x), word) for x, _, _, _, word in BOX.findall(page)]))
    return pages


def main():
    cards, sides = read(sys.argv[1]), read(sys.argv[2])
    width, height = float(sys.argv[3]), float(sys.argv[4])
    assert all(abs(w - width) < 0.1 and abs(h - height) < 0.1 for w, h, _ in sides), sides[0][:2]
    halves = []
    for _, _, words in sides:
        halves.append(([w for x, w in words if x < width / 2], [w for x, w in words if x >= width / 2]))
    # leaves as they lie after folding: right halves of the fronts with their backs, then the left ones from the middle outward
    order = []
    for front in range(0, len(halves), 2):
        order += [halves[front][1], halves[front + 1][0]]
    for front in range(len(halves) - 2, -1, -2):
        order += [halves[front + 1][1], halves[front][0]]
    want = [[word for _, word in words] for _, _, words in cards]
    assert len(order) % 4 == 0 and 0 <= len(order) - len(want) < 4, (len(order), len(want))
    for i, words in enumerate(order):
        # a word across the page lies on the fold of none, but its letters may be found in another order
        assert sorted(words) == sorted(want[i] if i < len(want) else []), (i + 1, words[:9], want[i][:9] if i < len(want) else [])


main()
