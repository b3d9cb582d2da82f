"""A small frame for the outside checks: named checks with their sources, one line each."""

import json
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


def check(name, source):
    """Registers a check. It returns what it measured, raises AssertionError or Skip."""

    def register(function):
        CHECKS.append((f"{function.__module__}: {name}", source, function))
        return function

    return register


class Context:
    """What the checks share: the program, a place for files, the demo's plan."""

    def __init__(self, binary, instances):
        self.binary = Path(binary).resolve()
        self.instances = instances
        self.work = Path(tempfile.mkdtemp(prefix="warpwise-outside-"))

    def close(self):
        shutil.rmtree(self.work, ignore_errors=True)

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
        out = self.work / "demo"
        self.plan(self.demo_job_file, out)
        return out

    @cached_property
    def demo(self):
        return json.loads((self.demo_out / "plan.json").read_text(encoding="utf-8"))


def run_all(context, only=None):
    """Runs every check; prints a line for each and the closing line; returns the exit code."""
    passed = failed = 0
    for name, source, function in CHECKS:
        if only and only not in name:
            continue
        try:
            measured = function(context)
        except Skip as why:
            print(f"skip  {name}: {why}", flush=True)
            continue
        except AssertionError as fault:
            failed += 1
            print(f"FAIL  {name} [{source}]: {fault}", flush=True)
        except Exception:
            failed += 1
            print(f"FAIL  {name} [{source}]:\n{traceback.format_exc()}", flush=True)
        else:
            passed += 1
            print(f"ok    {name} [{source}]{f': {measured}' if measured else ''}", flush=True)
    print(f"{passed} passed, {failed} failed", flush=True)
    return 1 if failed or not passed else 0
