"""Stopping a search early, and what a person sees while it runs."""

import json
import os
import re
import select
import signal
import subprocess
import time

from harness import Skip, check
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


@check("progress on a terminal, silence in a pipe", "own contract")
def progress(context):
    process = start(context, context.work / "piped", "1s", stderr=subprocess.PIPE)
    _, said = process.communicate(timeout=60)
    assert process.returncode == 0 and said == "", said
    if not hasattr(os, "openpty"):
        raise Skip("no terminals here")
    master, slave = os.openpty()
    process = start(
        context, context.work / "watched", "2s", stderr=slave, env={**os.environ, "TERM": "xterm"}
    )
    os.close(slave)
    seen = b""
    while select.select([master], [], [], 30)[0]:
        try:
            seen += os.read(master, 65536)
        except OSError:  # the other side is closed
            break
    os.close(master)
    process.communicate(timeout=60)
    assert process.returncode == 0
    # As it comes: colours and cursor movements taken out.
    text = re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", seen.decode())
    told = re.findall(
        r"(\w+) \(\d of 3\) .*?(\d\.\d\d m \(.*? yd\), \d+\.\d % used, \d+ s left)", text
    )
    assert {cloth for cloth, _ in told} == {"twill", "ud", "biax"}, text[-500:]
    return " ".join(told[len(told) // 2])
