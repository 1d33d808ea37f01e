"""Looks at a folder of outputs with eyes of its own: tables against the schema and against themselves, cards page by page.
usage: outputs.py FOLDER [open]      "open": made with --draft while errors were open
Prints one line for each thing that is wrong; exit status 1 when there is one."""
import hashlib
import json
import os
import sys
import unicodedata

import jsonschema

SCHEMA = "compiler/back/table.schema.json"
CAUTION = ("only. Flight manual, supplements and placards govern. Draft until a qualified person has compared every "
           "line.")
CAUTIONS = ["The approved flight manual, its supplements, placards and local rules govern. Where this differs, stop and use them.",
            "It is a draft until a qualified person has compared every line with the current manual for this aircraft.",
            "\"No findings\" is not an approval: only the rules listed were looked at."]
WIDTH = 76
wrong = []


def say(name, what):
    wrong.append(f"{name}: {what}")


def canonical(value):
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def unique(pairs):
    keys = [key for key, _ in pairs]
    if len(set(keys)) != len(keys):
        raise ValueError(f"a key stands twice among {keys}")
    return dict(pairs)


def check_ids(name, table):
    ids = {}
    for part in ("places", "edges", "clocks", "facts", "scopes"):
        ids[part] = [thing["id"] for thing in table[part]]
        if len(set(ids[part])) != len(ids[part]):
            say(name, f"{part} has an id twice")
    everywhere = [id for part in ("places", "scopes") for id in ids[part]]
    if len(set(everywhere)) != len(everywhere):
        say(name, "a place and a scope have the same id")
    return {part: set(found) for part, found in ids.items()}


def check_values(name, facts, where, fact, values):
    if fact not in facts:
        say(name, f"{where} names {fact}, which does not exist")
    elif not values or any(value >= len(facts[fact]["values"]) for value in values) or sorted(set(values)) != values:
        say(name, f"{where} gives {fact} the values {values}")


def check_when(name, facts, where, when):
    for conjunction in when or []:
        for test in conjunction:
            check_values(name, facts, where, test["fact"], test["in"])


def check_clocks(name, ids, where, used):
    for clock in used:
        if clock not in ids["clocks"]:
            say(name, f"{where} names the clock {clock}, which does not exist")


def check_edge(name, table, ids, facts, edge):
    where = f"edge {edge['id']}"
    if edge["from"] not in ids["places"] and edge["from"] not in ids["scopes"]:
        say(name, f"{where} leaves {edge['from']}, which does not exist")
    if "to" in edge and edge["to"] not in ids["places"]:
        say(name, f"{where} leads to {edge['to']}, which does not exist")
    check_when(name, facts, where, edge.get("when"))
    check_clocks(name, ids, where, [bound["clock"] for bound in edge["notBefore"] + edge["notAfter"]] + edge["reset"])
    for change in edge["set"]:
        check_values(name, facts, where, change["fact"], change["to"])
    for fact in edge["count"]:
        if fact not in facts:
            say(name, f"{where} counts {fact}, which does not exist")
    for event in edge["emit"]:
        if "fact" in event:
            check_values(name, facts, where, event["fact"], event.get("in", [0]))


def check_references(name, table):
    ids = check_ids(name, table)
    facts = {fact["id"]: fact for fact in table["facts"]}
    for fact in table["facts"]:
        check_values(name, facts, "the beginning", fact["id"], fact["initial"])
    for edge in table["edges"]:
        check_edge(name, table, ids, facts, edge)
    deadlines = [("everywhere", deadline) for deadline in table["deadlinesEverywhere"]]
    deadlines += [(place["id"], deadline) for place in table["places"] for deadline in place["deadlines"]]
    for where, deadline in deadlines:
        check_clocks(name, ids, where, [deadline["clock"]])
        check_when(name, facts, where, deadline.get("when"))
        for edge in deadline["lapse"]:
            if edge not in ids["edges"]:
                say(name, f"a deadline of {where} takes the edge {edge}, which does not exist")
    for scope in table["scopes"]:
        if any(place >= len(table["places"]) for place in scope["places"]):
            say(name, f"the scope {scope['id']} names a place that does not exist")
    for gauge in table["gauges"]:
        if gauge["fact"] not in facts:
            say(name, f"a gauge shows {gauge['fact']}, which does not exist")
    if table["joint"] not in ids["places"]:
        say(name, "the joint does not exist")


def leaving(table):
    """By place: the edges that leave it."""
    scopes = {scope["id"]: [table["places"][k]["id"] for k in scope["places"]] for scope in table["scopes"]}
    by_place = {place["id"]: [] for place in table["places"]}
    for edge in table["edges"]:
        for place in scopes.get(edge["from"], [edge["from"]]):
            by_place[place].append(edge)
    return by_place


def meet(a, b):
    """Whether two edges can be open at one moment, as far as facts and clocks by themselves say."""
    def conjunctions(edge):
        return [{test["fact"]: set(test["in"]) for test in one} for one in edge.get("when", [[]])]
    if not any(all(x[f] & y[f] for f in x if f in y) for x in conjunctions(a) for y in conjunctions(b)):
        return False
    for early, late in ((a, b), (b, a)):
        for most in early["notAfter"]:
            if any(least["clock"] == most["clock"] and least["ms"] > most["ms"] for least in late["notBefore"]):
                return False
    return True


def check_runs(name, table):
    """A run of the table is never in doubt: by its label one edge, and what time takes is taken by a deadline."""
    lapses = {edge for place in table["places"] for deadline in place["deadlines"] for edge in deadline["lapse"]}
    lapses |= {edge for deadline in table["deadlinesEverywhere"] for edge in deadline["lapse"]}
    for edge in table["edges"]:
        if edge["by"] == "time" and edge["id"] not in lapses:
            say(name, f"no deadline takes {edge['id']}")
    seen = set()
    for place, edges in leaving(table).items():
        by_label = {}
        for edge in edges:
            if edge["by"] != "time":
                by_label.setdefault(edge["label"], []).append(edge)
        for label, same in by_label.items():
            for i, edge in enumerate(same):
                for other in same[:i]:
                    pair = (edge["id"], other["id"])
                    if pair not in seen and meet(edge, other):
                        say(name, f"at {place} \"{label}\" is {pair[0]} or {pair[1]}")
                    seen.add(pair)


def check_broken(name, table):
    for verdict in table["verdicts"]:
        if (verdict["verdict"] == "broken") != ("witness" in verdict):
            say(name, f"{verdict['gate']} is {verdict['verdict']}, with a path or without one")
        elif "witness" in verdict and not verdict["witness"]["steps"]:
            say(name, f"the path of {verdict['gate']} is empty")


def check_table(name, path, is_open):
    with open(path, "rb") as file:
        raw = file.read()
    table = json.loads(raw.decode("utf-8"), object_pairs_hook=unique)
    with open(SCHEMA, encoding="utf-8") as file:
        schema = json.load(file)
    jsonschema.Draft202012Validator.check_schema(schema)
    for error in jsonschema.Draft202012Validator(schema).iter_errors(table):
        say(name, f"against the schema: {error.json_path}: {error.message[:200]}")
    if raw.rstrip(b"\n") != canonical(table).encode("utf-8"):
        say(name, "not in canonical form")
    without = {key: value for key, value in table.items() if key != "contentHash"}
    if table["contentHash"] != "sha256:" + hashlib.sha256(canonical(without).encode("utf-8")).hexdigest():
        say(name, "contentHash is not the hash of the content")
    if table["cautions"] != CAUTIONS:
        say(name, "the cautions are not there")
    if not table["claim"].startswith("Proved as written means: "):
        say(name, "it does not say what is claimed")
    if is_open != (table["status"] == "open"):
        say(name, f"status {table['status']}")
    for source in table["sources"]:
        if os.path.exists(source["file"]):
            with open(source["file"], "rb") as file:
                if hashlib.sha256(file.read()).hexdigest() != source["sha256"]:
                    say(name, f"the hash of {source['file']} is another")
    check_references(name, table)
    check_runs(name, table)
    check_broken(name, table)


def cells(line):
    return sum(0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in line)


def check_page(name, number, page, pages, is_open):
    where = f"page {number}"
    words = " ".join(page.split())
    title = page.split("   ")[0].strip()
    if not words.endswith(f"{title} {CAUTION}"):
        say(name, f"{where} has no caution at its foot")
    if f"page {number} of {pages}" not in words:
        say(name, f"{where} does not say which page it is")
    for line in page.split("\n"):
        if cells(line) > WIDTH:
            say(name, f"{where} has a line of {cells(line)} cells: {line}")
    if is_open != ("NOT PROVED" in page.split("\n")[0]):
        say(name, f"{where} says NOT PROVED, or does not, against what is known")
    said = words.replace("NOT PROVED", "").lower() if is_open else words.lower()
    if "proved" in said.replace("approved", ""):
        say(name, f"{where} calls something proved")


def check_card(name, path, is_open):
    with open(path, encoding="utf-8", newline="") as file:
        pages = file.read().split("\f")
    for i, page in enumerate(pages):
        check_page(name, i + 1, page, len(pages), is_open)


def main():
    folder, is_open = sys.argv[1], sys.argv[2:] == ["open"]
    names = sorted(os.listdir(folder))
    for name in names:
        path = os.path.join(folder, name)
        if name.endswith(".table.json"):
            check_table(name, path, is_open)
        elif name.endswith(".card.txt"):
            check_card(name, path, is_open)
        elif not name.endswith((".card.pdf", ".card.html")):  # those are looked at by tests/press
            say(name, "what is this?")
    if not names:
        say(folder, "nothing there")
    print("\n".join(wrong[:40]))
    return 1 if wrong else 0


sys.exit(main())
