"""Runs a state chart in an engine that shares nothing with ours (Qt's), script by script, all at the same time, with all delays divided: what it
logs must be what the table's own readers say, and each must end at the same place. Whoever was late himself tries again, slower.
usage: scxml_run.py CHART.scxml SCRIPTS.json DIVIDED-BY MARGIN"""
import json
import re
import sys
import time

from PySide2.QtCore import QCoreApplication
from PySide2.QtScxml import QScxmlStateMachine

APART = 0.2  # seconds from the beginning of one script to the next


class Script:
    def __init__(self, chart, script, slower):
        self.machine = QScxmlStateMachine.fromFile(chart)
        errors = [error.toString() for error in self.machine.parseErrors()]
        assert not errors and self.machine.init(), errors[:5]
        self.script, self.slower, self.logs, self.next, self.begin = script, slower, [], 0, None
        self.machine.log.connect(lambda label, text: self.logs.append(f"{label} {text}".strip()))

    def due(self):
        return self.begin + self.script["steps"][self.next]["at"] * self.slower / 1000

    def step(self, app):
        """How late it was."""
        late = time.monotonic() - self.due()
        one = self.script["steps"][self.next]
        self.next += 1
        if one["event"]:
            self.machine.submitEvent(one["event"], one["data"])
        app.processEvents()
        return late

    def done(self):
        return self.next == len(self.script["steps"])

    def wrong(self):
        places = [name for name in self.machine.activeStateNames() if not name.startswith("among.")]
        if self.logs != self.script["logs"]:
            n = next((i for i, (a, b) in enumerate(zip(self.logs, self.script["logs"])) if a != b), min(len(self.logs), len(self.script["logs"])))
            return f"log {n}: {self.logs[max(0, n - 1):n + 2]}, wanted {self.script['logs'][max(0, n - 1):n + 2]}"
        return None if places == [self.script["place"]] else f"stands at {places}, wanted {self.script['place']}"


def run(app, chart, scripts, slower):
    """What went wrong, and how late a step was at most, in seconds."""
    todo = [(n, Script(chart, script, slower)) for n, script in enumerate(scripts)]
    late, wrong, now = 0.0, [], time.monotonic()
    for n, one in todo:  # one after the other, so that not all act at the same time
        one.begin = now + 0.05 + n * APART
    while todo:
        n, one = min(todo, key=lambda pair: pair[1].due())
        while time.monotonic() < one.due():
            time.sleep(max(0, min(0.002, one.due() - time.monotonic())))
            app.processEvents()
        if not one.next:
            one.machine.start()
            app.processEvents()
        late = max(late, one.step(app))
        if one.done():
            for _ in range(5):
                app.processEvents()
            todo.remove((n, one))
            wrong += [f"script {n}: {one.wrong()}"] if one.wrong() else []
            one.machine.stop()
    return wrong, late


def main():
    divided, margin = float(sys.argv[3]), int(sys.argv[4])
    app = QCoreApplication(sys.argv)
    with open(sys.argv[2], encoding="utf-8") as file:
        scripts = json.load(file)
    with open(sys.argv[1], encoding="utf-8") as file:
        text = file.read()
    chart = sys.argv[1] + ".divided.scxml"
    for slower in (1 / divided, 2 / divided, 5 / divided):
        with open(chart, "w", encoding="utf-8") as file:
            file.write(re.sub(r' delay="(\d+)ms"', lambda found: f' delay="{round(int(found[1]) * slower)}ms"', text))
        wrong, late = run(app, chart, scripts, slower)
        if not wrong:
            print(f"{len(scripts)} scripts, {sum(len(one['steps']) for one in scripts)} steps, {sum(len(one['logs']) for one in scripts)} logs")
            return 0
        if late < margin * slower / 1000 / 3:
            break
    print(*wrong[:5], f"late by {late * 1000:.0f} ms at most", sep="\n")
    return 1


sys.exit(main())
