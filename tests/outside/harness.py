"""A small frame for the outside checks: named checks with their sources, one line each."""

import json
import multiprocessing
import queue
import resource
import shutil
import subprocess
import tempfile
import tomllib
import traceback
from functools import cached_property
from pathlib import Path

REPO = Path(__file__).resolve().parent.parent.parent
CHECKS = []


class Skip(Exception):
    """A check that cannot run here; says why."""


# Checks that measure time: they run when the others are done, so that they measure the program alone.
ALONE = set()


def check(name, source, alone=False):
    """Registers a check. It returns what it measured, raises AssertionError or Skip."""

    def register(function):
        CHECKS.append((f"{function.__module__}: {name}", source, function))
        if alone:
            ALONE.add(CHECKS[-1][0])
        return function

    return register


class Context:
    """What the checks share: the program, a place for files, the demo's plan."""

    def __init__(self, binary, instances, full=False):
        self.binary = Path(binary).resolve()
        self.instances = instances
        # Whether checks that take only some of their cases take them all.
        self.full = full
        self.root = self.work = Path(tempfile.mkdtemp(prefix="warpwise-outside-"))

    def work_apart(self, name):
        """Files go into a folder of their own from now on."""
        self.work = self.root / name
        self.work.mkdir()

    def close(self):
        shutil.rmtree(self.root, ignore_errors=True)

    def run(self, *arguments, expect=0):
        done = subprocess.run(
            [self.binary, *map(str, arguments)], capture_output=True, text=True, timeout=600
        )
        assert done.returncode == expect, (
            f"`warpwise {' '.join(map(str, arguments))}` ended with {done.returncode}, "
            f"not {expect}:\n{done.stdout}{done.stderr}"
        )
        return done

    def plan(self, job, out, *more):
        """Plans `job` into `out` and returns plan.json."""
        self.run("plan", job, "--out", out, "--effort", "quick", "--seed", 1, "--quiet", *more)
        return json.loads((out / "plan.json").read_text(encoding="utf-8"))

    @cached_property
    def demo_job_file(self):
        return REPO / "examples" / "dinghy.toml"

    @cached_property
    def demo_job(self):
        return tomllib.loads(self.demo_job_file.read_text(encoding="utf-8"))

    @cached_property
    def demo_out(self):
        out = self.root / "demo"
        self.plan(self.demo_job_file, out)
        return out

    @cached_property
    def demo(self):
        return json.loads((self.demo_out / "plan.json").read_text(encoding="utf-8"))


def run_all(context, only, at_once, times):
    """Runs every check; prints a line for each and the closing line; returns the exit code.

    The checks of one file run one after another in one process, those of different files `at_once`
    at a time. The report has the order of the list whatever ends first; those that run alone stand last.
    """
    chosen = {k: check for k, check in enumerate(CHECKS) if not only or only in check[0]}
    # Made once, for all processes.
    assert not chosen or context.demo_out.exists()
    together = {k: check for k, check in chosen.items() if check[0] not in ALONE}
    words = run_some(context, together, "worker", at_once, times)
    words += run_some(context, {k: chosen[k] for k in chosen.keys() - together.keys()}, "alone", 1, times)
    passed, failed = words.count("ok"), words.count("FAIL")
    print(f"{passed} passed, {failed} failed", flush=True)
    return 1 if failed or not passed else 0


def run_some(context, chosen, name, at_once, times):
    """Runs the `chosen` checks, prints a line for each, and returns their verdicts in a word."""
    context_of = multiprocessing.get_context("fork")
    waiting, done = context_of.Queue(), context_of.Queue()
    for module in longest_first({check[2].__module__ for check in chosen.values()}):
        waiting.put(module)
    workers = [
        context_of.Process(target=work, args=(context, f"{name}-{n}", chosen, waiting, done), daemon=True)
        for n in range(at_once)
    ]
    for _ in workers:
        waiting.put(None)
    for worker in workers:
        worker.start()
    verdicts, words = {}, []
    for k in sorted(chosen):
        while k not in verdicts:
            try:
                number, *verdict = done.get(timeout=5)
            except queue.Empty:
                if not any(worker.is_alive() for worker in workers):
                    number, verdict = k, ("FAIL", "its process has ended", 0.0)
                else:
                    continue
            verdicts[number] = verdict
        word, line, seconds = verdicts[k]
        words.append(word)
        print(f"{word:<5} {f'{seconds:6.1f} s  ' if times else ''}{line}", flush=True)
    return words


# Files whose checks take longest: begun last, they would keep everybody waiting.
LONG = ["page", "nesting", "machines", "anytime", "axe", "cad", "paper", "browser", "edits", "photographs", "corpus", "stock", "faults", "determinism", "watch", "rounds"]


def longest_first(names):
    return sorted(names, key=lambda name: (LONG.index(name) if name in LONG else len(LONG), name))


def work(context, name, chosen, waiting, done):
    """Runs the checks of one waiting file after another, in a folder of their own."""
    context.work_apart(name)
    while (module := waiting.get()) is not None:
        for k, check in chosen.items():
            if check[2].__module__ == module:
                before = processor_seconds()
                word, line = verdict(context, *check)
                done.put((k, word, line, processor_seconds() - before))


def processor_seconds():
    """Of this process and of the programs it has run."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(usage.ru_utime + usage.ru_stime for usage in used)


def verdict(context, name, source, function):
    """How a check went, in a word and a line."""
    try:
        measured = function(context)
    except Skip as why:
        return "skip", f"{name}: {why}"
    except AssertionError as fault:
        return "FAIL", f"{name} [{source}]: {fault}"
    except Exception:
        return "FAIL", f"{name} [{source}]:\n{traceback.format_exc()}"
    return "ok", f"{name} [{source}]{f': {measured}' if measured else ''}"
