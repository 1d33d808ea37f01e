"""Looks at a state chart from outside, where engines and validators are lax: only elements and attributes that the standard has, ids once, what is
named exists, every delayed event is waited for and can be called back; and it is the table: its states are the places that can be come to, its
transitions take the table's edges with what they ask for and do.
usage: scxml_of.py TABLE.json CHART.scxml"""
import json
import re
import sys
import xml.etree.ElementTree as tree

SCXML, TABLE = "{http://www.w3.org/2005/07/scxml}", "{urn:startwright:table:0.2}"
HAS = {  # element: attributes, children
    "scxml": ({"version", "datamodel", "name", "initial"}, {"datamodel", "script", "state"}),
    "datamodel": (set(), {"data"}), "data": ({"id", "expr"}, set()), "script": (set(), set()),
    "state": ({"id", "initial"}, {"state", "transition", "onentry"}),
    "transition": ({"event", "cond", "target"}, {"assign", "raise", "log", "cancel", "send"}),
    "onentry": (set(), {"log", "cancel", "send"}),
    "assign": ({"location", "expr"}, set()), "raise": ({"event"}, set()), "log": ({"label", "expr"}, set()),
    "cancel": ({"sendid"}, set()), "send": ({"event", "id", "delay"}, set()),
}


def name(element):
    assert element.tag.startswith(SCXML), element.tag
    return element.tag[len(SCXML):]


def look_at(element):
    attributes, children = HAS[name(element)]
    own = {key for key in element.keys() if not key.startswith(TABLE)}
    assert own <= attributes, (element.tag, own - attributes)
    for child in element:
        assert name(child) in children, (element.tag, child.tag)
        look_at(child)


def all_of(root, kind):
    return root.iter(SCXML + kind)


def reachable(table):
    places = [place["id"] for place in table["places"]]
    scopes = {scope["id"]: [places[k] for k in scope["places"]] for scope in table["scopes"]}
    leads = {}
    for edge in table["edges"]:
        for place in scopes.get(edge["from"], [edge["from"]]):
            leads.setdefault(place, []).append(edge)
    found, pending = {table["joint"]}, [table["joint"]]
    while pending:
        at = pending.pop()
        new = [edge["to"] for edge in leads.get(at, []) if edge.get("to", at) not in found]
        found.update(new)
        pending += new
    return found, {at: edges for at, edges in leads.items() if at in found}


def id_of(place):
    return place.replace("~", "_")


def guard(when):
    return "(" + "||".join("&&".join("(" + "||".join(f"{one['fact']}=={v}" for v in one["in"]) + ")" for one in term) or "true" for term in when) + ")" if when else "false"


def wanted(edge):
    """The condition of an edge, piece by piece, but for the choices."""
    made = [guard(edge["when"])] if "when" in edge else []
    bounds = [f"{one['clock']}>={one['ms']}" for one in edge["notBefore"] if one["ms"]]
    return sorted(made + bounds + [f"{one['clock']}<{one['ms']}" for one in edge["notAfter"] if one["ms"]])


def pieces(cond):
    """What is joined by && outside brackets."""
    depth, made, now = 0, [], ""
    for part in re.split(r"(&&|[()])", cond):
        depth += (part == "(") - (part == ")")
        if part == "&&" and not depth:
            made.append(now)
            now = ""
        else:
            now += part
    return [*made, now]


def does(transition, edge):
    set_to = {one.get("location"): one.get("expr") for one in transition.iter(SCXML + "assign")}
    for change in edge["set"]:
        said = set_to[change["fact"]]
        assert said == str(change["to"][0]) if len(change["to"]) == 1 else said.startswith(f"one({json.dumps(change['to'], separators=(',', ':'))},"), said
    zeroed = [one.get("event") for one in transition.iter(SCXML + "raise")]
    assert zeroed == [f"{clock}.zero" for clock in edge["reset"]]
    assert set(set_to) == {one["fact"] for one in edge["set"]} | set(edge["count"]) | set(edge["reset"])


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        table = json.load(file)
    with open(sys.argv[2], encoding="utf-8") as file:
        text = file.read()
    root = tree.fromstring(text)
    look_at(root)
    head = " ".join(text[:text.index("<scxml")].split())
    for must in [table["tail"]["title"], table["document"]["checkCode"], table["status"], *table["cautions"]]:
        assert must in head, f"does not say: {must}"
    assert (root.get("version"), root.get("datamodel")) == ("1.0", "ecmascript")
    ids = [state.get("id") for state in all_of(root, "state")]
    assert len(set(ids)) == len(ids) and all(re.fullmatch(r"[A-Za-z_][A-Za-z0-9._-]*", id) for id in ids)
    named = [one.get("initial") for one in root.iter() if one.get("initial")] + [one.get("target") for one in all_of(root, "transition") if one.get("target")]
    named += [id for one in all_of(root, "transition") for id in re.findall(r"In\('([^']*)'\)", one.get("cond", ""))]
    assert set(named) <= set(ids), set(named) - set(ids)
    assert {one.get("id") for one in all_of(root, "data")} == {one["id"] for one in [*table["facts"], *table["clocks"]]}
    events = {event for one in all_of(root, "transition") for event in one.get("event", "").split()}
    for send in all_of(root, "send"):
        assert send.get("event") == send.get("id") and send.get("delay") == send.get("id").split(".")[1] + "ms" and send.get("id") in events
    assert {one.get("event") for one in all_of(root, "raise")} <= events
    for holder in [*all_of(root, "transition"), *all_of(root, "onentry")]:
        assert [one.get("sendid") for one in holder.iter(SCXML + "cancel")] == [one.get("id") for one in holder.iter(SCXML + "send")]
    # the table
    found, leads = reachable(table)
    shown = {id for id in ids if not re.fullmatch(r"among\.[0-9]+|run|overdue", id)}
    assert shown == {id_of(id) for id in found}, shown ^ {id_of(id) for id in found}
    edges = {edge["id"]: edge for edge in table["edges"]}
    parents = {child: parent for parent in root.iter() for child in parent}
    leaving = {}
    for transition in all_of(root, "transition"):
        logs = [one for one in transition.iter(SCXML + "log") if one.get("label") in ("take", "lapse")]
        if not logs:
            continue
        edge, state = edges[logs[0].get("expr").strip("'")], parents[transition]
        assert transition.get("target") == (id_of(edge["to"]) if "to" in edge else None), edge["id"]
        does(transition, edge)
        conds = pieces(transition.get("cond"))
        if logs[0].get("label") == "take":
            assert transition.get("event") == re.sub("[~= .]", "_", edge["label"])
            assert conds[-1].startswith("may({") and sorted(conds[:-1]) == wanted(edge), (conds, wanted(edge))
            places = [state] if not state.get("id").startswith("among.") else [one for one in state if one.tag == SCXML + "state"]
            for place in places:
                leaving.setdefault(place.get("id"), []).append(edge["id"])
        else:
            assert "event" not in transition.keys() and set(wanted(edge)) <= set(conds)
    for place in found:
        own = sorted(edge["id"] for edge in leads.get(place, []) if edge["by"] != "time")
        assert sorted(leaving.get(id_of(place), [])) == own, place
    return 0


sys.exit(main())
