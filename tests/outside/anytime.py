"""Stopping a search early, and what a person sees while it runs."""

import json
import os
import re
import select
import signal
import subprocess
import time

from harness import REPO, Skip, check
from shapely.geometry import Polygon
from shapely.strtree import STRtree


def start(context, out, effort, **streams):
    return subprocess.Popen(
        [context.binary, "plan", context.demo_job_file, "--out", out, "--effort", effort],
        stdout=subprocess.PIPE, text=True, **streams,
    )


@check("Ctrl-C writes a valid plan of all pieces", "own contract; shapely")
def interrupted(context):
    out = context.work / "interrupted"
    process = start(context, out, "600s", stderr=subprocess.PIPE)
    # Long enough to be in the search of the first cloth; the others have not begun.
    time.sleep(3)
    process.send_signal(signal.SIGINT)
    before = time.monotonic()
    _, said = process.communicate(timeout=60)
    took = time.monotonic() - before
    assert process.returncode == 0, said
    assert "stopped early" in said and "best plan found so far" in said, said
    plan = json.loads((out / "plan.json").read_text(encoding="utf-8"))

    def ids(of):
        return sorted(piece["id"] for layout in of["layouts"] for piece in layout["pieces"])

    assert ids(plan) == ids(context.demo)
    for layout in plan["layouts"]:
        cuts = [Polygon(p["cut"]["outer"], p["cut"]["openings"]) for p in layout["pieces"]]
        tree = STRtree(cuts)
        for i, cut in enumerate(cuts):
            near = tree.query(cut, predicate="dwithin", distance=0.999 * layout["gap"])
            assert list(near) == [i], f"{layout['pieces'][i]['id']} is too near to another"
    # Far from the ten minutes asked for, on a busy machine too.
    assert took < 30, f"{took:.1f} s from Ctrl-C to the end"
    return f"{took:.2f} s from Ctrl-C to the end"


@check("a second Ctrl-C ends the program with 130 and writes nothing", "own contract; 128 + SIGINT")
def interrupted_twice(context):
    out = context.work / "interrupted-twice"
    process = start(context, out, "600s", stderr=subprocess.PIPE)
    time.sleep(3)
    # Both at once: between two looks of the search at whether it is to go on.
    process.send_signal(signal.SIGINT)
    time.sleep(0.02)
    process.send_signal(signal.SIGINT)
    process.communicate(timeout=60)
    if process.returncode == 0:
        raise Skip("the first plan was written before the second signal came")
    assert process.returncode == 130, process.returncode
    assert not out.exists() and not list(out.parent.glob(".interrupted-twice*"))


def all_shown(master, seconds):
    """What a terminal shows until its program ends, or until nothing comes for some seconds."""
    seen = b""
    while select.select([master], [], [], seconds)[0]:
        try:
            seen += os.read(master, 65536)
        except OSError:  # the other side is closed
            break
    os.close(master)
    return seen


def on_terminal(context, *arguments, **environment):
    """What a person sees of a run on a terminal, as it comes."""
    master, slave = os.openpty()
    process = subprocess.Popen(
        [context.binary, *map(str, arguments)], stdout=subprocess.DEVNULL, stderr=slave,
        env={**os.environ, "TERM": "xterm", **environment},
    )
    os.close(slave)
    seen = all_shown(master, 60)
    process.wait(timeout=60)
    return process.returncode, seen.decode()


COLOUR = re.compile(r"\x1b\[[0-9;]*m")


@check("colours on a terminal, none where NO_COLOR asks for it", "no-color.org; own contract")
def colours(context):
    if not hasattr(os, "openpty"):
        raise Skip("no terminals here")
    job = context.work / "wrong.toml"
    job.write_text("titel = 1\n", encoding="utf-8")
    code, seen = on_terminal(context, "check", job)
    assert code == 1 and COLOUR.search(seen), repr(seen)
    code, seen = on_terminal(context, "check", job, NO_COLOR="1")
    assert code == 1 and "titel" in seen and not COLOUR.search(seen), repr(seen)
    assert not COLOUR.search(context.run("check", job, expect=1).stderr)


@check("comparing and pricing sets show how far they are", "own contract")
def bars(context):
    if not hasattr(os, "openpty"):
        raise Skip("no terminals here")
    code, seen = on_terminal(context, "compare", REPO / "examples" / "first-job.toml", "--quiet", NO_COLOR="1")
    assert code == 0 and not re.search(r"\d s left", seen), "quiet means quiet"
    for arguments in (
        ("compare", context.demo_job_file),
        ("plan", context.demo_job_file, "--out", context.work / "sets", "--effort", "quick", "--cost-per-set", "2"),
    ):
        code, seen = on_terminal(context, *arguments, NO_COLOR="1")
        assert code == 0 and re.search(r"\[=*>? *\] .*\d s left", seen), seen[-500:]
        assert not COLOUR.search(seen)
    assert "cost per set" in seen, seen[-500:]


@check("progress on a terminal, silence in a pipe", "own contract")
def progress(context):
    process = start(context, context.work / "piped", "1s", stderr=subprocess.PIPE)
    _, said = process.communicate(timeout=60)
    assert process.returncode == 0 and "s left" not in said and "\r" not in said, said
    assert all(line.startswith(("warning:", "note:", "  ")) for line in said.splitlines() if line), said
    if not hasattr(os, "openpty"):
        raise Skip("no terminals here")
    master, slave = os.openpty()
    process = start(
        context, context.work / "watched", "2s", stderr=slave, env={**os.environ, "TERM": "xterm"}
    )
    os.close(slave)
    seen = all_shown(master, 30)
    process.communicate(timeout=60)
    assert process.returncode == 0
    # As it comes: colours and cursor movements taken out.
    text = re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", seen.decode())
    told = re.findall(
        r"(\w+) \(\d of 3\) .*?(\d\.\d\d m \(.*? yd\), \d+\.\d % used, \d+ s left)", text
    )
    assert {cloth for cloth, _ in told} == {"twill", "ud", "biax"}, text[-500:]
    return " ".join(told[len(told) // 2])
