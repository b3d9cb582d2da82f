"""Two and three runs at once into one folder, some of them killed: one plan lies there, whole."""

import json
import random
import signal
import subprocess
import time
from collections import Counter

from faults import Bench
from harness import check

REFUSED = "at work on this folder"


def start(bench, title, *more):
    effort = ("--effort", "quick", "--threads", "1")
    return subprocess.Popen(
        [bench.binary, "plan", f"{title}.toml", "--out", "out", *effort, *more],
        cwd=bench.folder, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
    )


def one_round(bench, chance, took):
    """Some runs at once; returns what became of each."""
    runs = []
    for _ in range(chance.choice((2, 2, 3))):
        is_watch = chance.random() < 0.15
        run = start(bench, chance.choice(("first", "second")), *(("--watch", "--port", "0") if is_watch else ()))
        # A watch ends by Ctrl-C only.
        ends = chance.choice((signal.SIGKILL, signal.SIGINT)) if is_watch or chance.random() < 0.3 else None
        runs.append((run, ends))
        time.sleep(chance.random() * took * chance.choice((0.02, 0.3)))
    for run, ends in runs:
        if ends:
            time.sleep(chance.random() * took)
            run.send_signal(ends)
    fates = []
    for run, ends in runs:
        said, _ = run.communicate(timeout=120)
        code = run.returncode
        if code == 3:
            assert REFUSED in said, said
        # The first Ctrl-C before the program listens to it ends it at once; without a layout yet the
        # program leaves by itself.
        left = ends == signal.SIGINT and code == 130 and "nothing was written" in said
        assert code in (0, 3) or left or (ends and code == -ends), f"{code}: {said}"
        fates.append({0: "done", 3: "refused"}.get(code, "ended"))
    return fates


@check("two and three runs at once leave one whole plan", "own contract")
def at_once(context):
    bench = Bench(context, "rounds")
    began = time.monotonic()
    bench.begin("first")
    took = time.monotonic() - began
    n_rounds = 500 if context.full else 60
    chance, told = random.Random(1), Counter()
    for number in range(n_rounds):
        fates = one_round(bench, chance, took)
        told.update(fates)
        try:
            # A kill between two renames is mended by the next run.
            assert bench.whole() is not None or "ended" in fates, "no plan is left"
            if "ended" in fates:
                code, said = bench.plan("first")
                assert code == 0 and bench.whole() == "first", f"the next run: {code} {said}"
            assert bench.hidden() == [], bench.hidden()
        except (AssertionError, OSError, json.JSONDecodeError) as why:
            raise AssertionError(f"round {number}, {fates}: {why}") from None
    assert min(told[fate] for fate in ("done", "refused", "ended")) > n_rounds // 20, told
    return f"{n_rounds} rounds: {', '.join(f'{n} {fate}' for fate, n in sorted(told.items()))}"
