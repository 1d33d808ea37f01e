"""Looks at the drawn pictures of a state table: every place of a procedure that can be come to stands on one, and no other; what leads from
one to another of the same box is drawn; the head says whose it is, what it stands at, and the cautions.
usage: dot_of.py TABLE.json PICTURES      PICTURES: what `dot -Tsvg` made, one after the other"""
import json
import re
import sys
import xml.etree.ElementTree as tree

SVG, LINK = "{http://www.w3.org/2000/svg}", "{http://www.w3.org/1999/xlink}"


def reachable(table):
    places = [place["id"] for place in table["places"]]
    scopes = {scope["id"]: [places[k] for k in scope["places"]] for scope in table["scopes"]}
    leads = {}
    for edge in table["edges"]:
        for place in scopes.get(edge["from"], [edge["from"]]):
            leads.setdefault(place, []).append(edge.get("to", place))
    found, pending = {table["joint"]}, [table["joint"]]
    while pending:
        new = [to for to in leads.get(pending.pop(), []) if to not in found]
        found.update(new)
        pending += new
    return found


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        table = json.load(file)
    with open(sys.argv[2], encoding="utf-8") as file:
        pictures = [tree.fromstring(text) for text in re.findall(r"<svg.*?</svg>", file.read(), re.S)]
    places = {place["id"]: place for place in table["places"]}
    shown = {id for id in reachable(table) if "procedure" in places[id]}
    assert len(pictures) == len({places[id]["procedure"] for id in shown}), len(pictures)
    nodes, arrows, said = {}, set(), ""
    for picture in pictures:
        words = " ".join("".join(text.itertext()) for text in picture.iter(f"{SVG}text"))
        for must in [table["tail"]["title"], table["document"]["checkCode"], *table["cautions"], *(["DRAFT"] if table["status"] == "draft" else [])]:
            assert must in words, f"does not say: {must}"
        said += words + " "
        for group in picture.iter(f"{SVG}g"):
            link = group.find(f".//{SVG}a")
            title = link.get(f"{LINK}title") if link is not None else None
            if group.get("class") == "node" and title:
                assert title not in nodes, f"{title} is drawn twice"
                nodes[title] = " ".join("".join(text.itertext()) for text in group.iter(f"{SVG}text"))
            if group.get("class") == "edge" and title:
                arrows.add(title)
    assert nodes.keys() == shown, (nodes.keys() ^ shown)
    for id, text in nodes.items():
        words = places[id]["outcome"] if places[id]["kind"] == "end" else places[id]["words"]
        assert re.sub(r"\s", "", words) in re.sub(r"\s", "", text), (id, words, text)
        assert ("by " in text) >= any(one["ms"] for one in places[id]["deadlines"]), id
    edges = {edge["id"]: edge for edge in table["edges"]}
    box = lambda id: (places[id].get("procedure"), places[id].get("drill"))
    ways = {(edge["from"], edge["to"]) for edge in table["edges"] if edge["from"] in shown and "to" in edge and box(edge["from"]) == box(edge["to"])}
    assert ways == {(edges[id]["from"], edges[id]["to"]) for id in arrows}
    return 0


sys.exit(main())
