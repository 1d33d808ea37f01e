"""Looks at findings as SARIF from outside: against the schema, against the findings as JSON, and against what no schema says.
usage: sarif.py SCHEMA FILE.sarif FILE.json"""
import json
import re
import sys

import jsonschema

SCHEMA_OF_ERRATA_1 = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
KINDS = {"provedAsWritten": "pass", "neverTested": "open", "notApplicable": "notApplicable", "notDecided": "open"}
LEVELS = {"error": "error", "warning": "warning", "note": "note", "notDecided": "none"}


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        schema = json.load(file)
    with open(sys.argv[2], encoding="utf-8") as file:
        raw = file.read()
    with open(sys.argv[3], encoding="utf-8") as file:
        told = json.load(file)
    log = json.loads(raw)
    validator = jsonschema.Draft4Validator(schema, format_checker=jsonschema.draft4_format_checker)
    for error in list(validator.iter_errors(log))[:5]:
        print(f"against the schema: {error.json_path}: {error.message[:200]}")
        return 1
    assert raw == json.dumps(log, sort_keys=True, separators=(",", ":"), ensure_ascii=False) + "\n", "not canonical"
    assert log["$schema"] == SCHEMA_OF_ERRATA_1 and log["version"] == "2.1.0" and len(log["runs"]) == 1
    run = log["runs"][0]
    rules, results = run["tool"]["driver"]["rules"], run["results"]
    ids = [rule["id"] for rule in rules]
    assert len(set(ids)) == len(ids), "a rule is listed twice"
    assert len(run["properties"]["cautions"]) == 3 and run["properties"]["claim"].startswith("Proved as written means: ")
    for result in results:
        where = result["message"]["text"][:60]
        assert ids[result["ruleIndex"]] == result["ruleId"], where
        assert (result["kind"] == "fail") == (result["level"] != "none"), f"level and kind disagree: {where}"
        for place in result["locations"] + result.get("relatedLocations", []):
            region = place.get("physicalLocation", {}).get("region")
            if region:
                assert (region["startLine"], region["startColumn"]) <= (region["endLine"], region["endColumn"]), where
                uri = place["physicalLocation"]["artifactLocation"]["uri"]
                assert re.fullmatch(r"(?:[A-Za-z0-9._~/-]|%[0-9A-F]{2})+", uri), uri
        for flow in result.get("codeFlows", []):
            assert len(flow["threadFlows"]) == 1
            order = [step["executionOrder"] for step in flow["threadFlows"][0]["locations"]]
            assert order == list(range(1, len(order) + 1)) and order, where
            assert all(step["location"]["message"]["text"].strip() for step in flow["threadFlows"][0]["locations"])
    # every finding in its order, then every rule of every tail
    found = [(f["id"], f["severity"], f["waived"], len(f["path"]) > 0) for f in told["findings"]]
    shown = results[:len(found)]
    for (id, severity, waived, path), result in zip(found, shown):
        assert result["ruleId"] == id and result["level"] == LEVELS[severity], (id, severity, result)
        assert bool(result["suppressions"]) == waived and (not path or "codeFlows" in result), id
    listed = {}
    for result in results[len(found):]:
        key = (result["ruleId"], result["properties"]["tail"], result["properties"].get("engine", ""))
        assert key not in listed, f"{key} is listed twice"
        listed[key] = result["kind"]
    for verdict in told["verdicts"]:
        tail, key = verdict["tail"], (verdict["gate"], verdict["tail"], verdict["engine"])
        if verdict["verdict"] == "broken":
            fails = [r for r in shown if r["ruleId"] == verdict["gate"] and tail in r["properties"]["tail"].split(", ")]
            assert fails or listed.pop(key, None) == "fail", f"{key} is broken, which nothing says"
            assert all("codeFlows" in fail for fail in fails), f"{key} has no path"
        else:
            short = key if key in listed else key[:2] + ("",)
            assert listed.pop(short, None) == KINDS[verdict["verdict"]], f"{key} is {verdict['verdict']}"
    assert not listed, f"nobody asked for {listed}"
    return 0


sys.exit(main())
