"""A thousand random changes on the page of `open`, against the same changes made in the parsed job."""

import copy
import json
import random
import subprocess
import time
import tomllib
from http.client import HTTPConnection

from harness import check
from page import JOB, Opened, opened_job

EDITS = 1000
LOOK_EVERY = 100


class Visitor:
    """A browser's requests without a browser."""

    def __init__(self, program):
        self.host = program.parts.netloc
        _, headers, _ = self.ask("GET", f"{program.parts.path}?{program.parts.query}")
        self.cookie = headers["set-cookie"].split(";")[0]

    def ask(self, method, path, body=None):
        connection = HTTPConnection(self.host, timeout=60)
        headers = {"Origin": f"http://{self.host}"} if method == "POST" else {}
        if hasattr(self, "cookie"):
            headers["Cookie"] = self.cookie
        connection.request(method, path, body, headers)
        answer = connection.getresponse()
        text = answer.read().decode()
        connection.close()
        return answer.status, {key.lower(): value for key, value in answer.getheaders()}, text

    def post(self, path, body=""):
        status, _, text = self.ask("POST", path, body)
        return status, text

    def parts(self):
        return json.loads(self.ask("GET", "/-/parts")[2])


def at(job, place):
    for step in place:
        job = job[step]
    return job


def written(value):
    """How a field's text stands in the job: whole numbers bare, quantities in quotes."""
    return int(value) if value.isdigit() else value


def change(chance, job):
    """A change as the page sends it, and the parsed job after it."""
    after = copy.deepcopy(job)
    part = chance.randrange(len(job["part"]))
    plies = after["part"][part]["ply"]
    ply = chance.randrange(len(plies))
    place = ["part", part, "ply", ply]
    kinds = ["title", "gap", "name", "angle", "sets", "add", "repeat", "move", "part"]
    if len(plies) > 1:
        kinds.append("remove")
    if len(after["part"]) > 1:
        kinds += ["part away"]
    kind = chance.choice(kinds)
    sets = {
        "title": (["title"], f"Lid {chance.randrange(1000)}"),
        "gap": (["cutting", "gap"], f"{chance.randrange(1, 30)} mm"),
        "name": (["part", part, "name"], f"P{chance.randrange(1000)}"),
        "angle": ([*place, "angle"], f"{chance.randrange(-90, 91)} deg"),
        "sets": (["part", part, "sets"], f"{chance.randrange(1, 4)}"),
    }
    if kind in sets:
        where, to = sets[kind]
        inner = after
        for step in where[:-1]:
            inner = inner.setdefault(step, {}) if isinstance(step, str) else inner[step]
        inner[where[-1]] = written(to)
        return {"set": {"at": where, "to": to}}, after
    if kind == "add":
        index = chance.randrange(len(plies) + 1)
        plies.insert(index, {"cloth": "glass", "angle": "30 deg"})
        return {"add": {"at": [*place[:3], index], "keys": [["cloth", "glass"], ["angle", "30 deg"]]}}, after
    if kind == "repeat":
        plies.insert(ply + 1, copy.deepcopy(plies[ply]))
        return {"repeat": {"at": place}}, after
    if kind == "move":
        to = chance.randrange(len(plies))
        plies.insert(to, plies.pop(ply))
        return {"move": {"at": place, "to": to}}, after
    if kind == "remove":
        del plies[ply]
        return {"remove": {"at": place}}, after
    if kind == "part":
        if len(after["part"]) > 4:
            del after["part"][part]
            return {"remove": {"at": ["part", part]}}, after
        after["part"].insert(part + 1, copy.deepcopy(after["part"][part]))
        return {"repeat": {"at": ["part", part]}}, after
    del after["part"][part]
    return {"remove": {"at": ["part", part]}}, after


def agrees(context, file, visitor):
    """What the page says of the job is what `check` and `plan` say of it."""
    end = time.monotonic() + 120
    while True:
        parts = visitor.parts()["parts"]
        if not any(word in parts["head"] for word in ("reading the job", "laying out", "being made")):
            break
        assert time.monotonic() < end, parts["head"]
        time.sleep(0.05)
    has_problem = parts["problem"] != ""
    checked = subprocess.run([context.binary, "check", file, "--quiet"], capture_output=True, text=True)
    assert has_problem == (checked.returncode != 0), (parts["problem"], checked.stderr)
    return not has_problem


@check("a thousand random edits are those of the same job in text, undone and redone", "tomllib; own contract")
def edits(context):
    file = opened_job(context, "page-edits")
    text = lambda: file.read_text(encoding="utf-8")
    program = Opened(context.binary, file)
    chance = random.Random(20)
    jobs, states = [tomllib.loads(JOB)], [JOB]
    good = 0
    try:
        visitor = Visitor(program)
        for n in range(1, EDITS + 1):
            edit, after = change(chance, jobs[-1])
            seen = json.loads(visitor.post("/-/edit", '{"seen": 0, "edits": []}')[1])["state"]
            status, told = visitor.post("/-/edit", json.dumps({"seen": seen, "edits": [edit]}))
            assert status == 200, (n, edit, told)
            assert tomllib.loads(text()) == after, (n, edit, states[-1], text())
            # An edit that changes nothing is no state of its own.
            if text() != states[-1]:
                jobs.append(after)
                states.append(text())
            assert "# the small one" in text()
            if n % LOOK_EVERY == 0:
                good += agrees(context, file, visitor)
        for state in reversed(states[:-1][-900:]):
            assert visitor.post("/-/undo")[0] == 200
            assert text() == state
        for state in states[len(states) - len(states[:-1][-900:]):]:
            assert visitor.post("/-/redo")[0] == 200
            assert text() == state
        agrees(context, file, visitor)
    finally:
        program.process.kill()
        program.process.communicate()
    return f"{len(states) - 1} states, {good} of {EDITS // LOOK_EVERY} looked at could be planned"
