"""The write phase under faults: one call to the system after another fails, or the program is killed there.

strace(1) makes the n-th call of a kind fail. Which calls there are is first seen in a run without faults; taken are
all from the first that concerns the folder for the results to the last. Whatever fails, what lies there afterwards is
the earlier plan whole or the new one whole, the exit code says which, nothing stays hidden, and the next run works.
"""

import json
import re
import shutil
import subprocess
from collections import Counter

from harness import Skip, check
from jobs import job

CALLS = [
    "openat", "mkdir", "write", "fsync", "flock", "rename", "renameat2", "unlink", "unlinkat", "rmdir", "getdents64", "statx",
]
# What each kind of call may well answer; all of them may be the last.
ERRORS = {
    "openat": ["ENOSPC", "EMFILE"], "mkdir": ["ENOSPC"], "write": ["ENOSPC", "EIO"], "fsync": ["EIO", "ENOSPC"],
    "flock": ["EIO", "ENOLCK"], "rename": ["EIO"], "renameat2": ["EIO", "EINVAL"], "unlink": ["EIO"], "unlinkat": ["EACCES"],
    "rmdir": ["EIO"], "getdents64": ["EIO"], "statx": ["EIO"],
}
KILL = "KILL"
# As on a system that cannot exchange two folders.
NO_EXCHANGE = ("-e", "inject=renameat2:error=EINVAL")


def want_strace():
    if shutil.which("strace") is None:
        raise Skip("there is no strace here")
    tried = subprocess.run(["strace", "-f", "-o", "/dev/null", "true"], capture_output=True, text=True)
    if tried.returncode != 0:
        raise Skip(f"strace may not trace here: {tried.stderr}")


class Bench:
    """A folder with two jobs, and the program on it under strace."""

    def __init__(self, context, name):
        self.binary, self.folder = context.binary, context.work / name
        self.folder.mkdir()
        for title, width in (("first", 300), ("second", 310)):
            job(self.folder, title, [(0, 0), (width, 0), (width, 200), (0, 200)])
        self.own = {path.name for path in self.folder.iterdir()} | {"out", "seen.svg"}
        code, said = self.plan("first")
        assert code == 0, said
        self.earlier = self.folder.parent / f"{name}-earlier"
        (self.folder / "out").rename(self.earlier)

    def run(self, *arguments, strace=()):
        command = [self.binary, *map(str, arguments)]
        if strace:
            command = ["strace", "-f", "-qq", *map(str, strace), *command]
        done = subprocess.run(command, cwd=self.folder, capture_output=True, text=True, errors="replace", timeout=120)
        return done.returncode, done.stdout + done.stderr

    def plan(self, title, **how):
        return self.run("plan", f"{title}.toml", "--out", "out", "--effort", "quick", "--threads", 1, **how)

    def begin(self, title):
        """The folder with the plan of `first`, or without any."""
        for name in {path.name for path in self.folder.iterdir()} - self.own | {"out"}:
            path = self.folder / name
            shutil.rmtree(path) if path.is_dir() else path.unlink(missing_ok=True)
        if title:
            shutil.copytree(self.earlier, self.folder / "out")

    def hidden(self):
        return sorted({path.name for path in self.folder.iterdir()} - self.own)

    def whole(self):
        """The title of the plan that lies there, which must be whole; none if there is none."""
        out = self.folder / "out"
        if not out.exists():
            return None
        listed = (out / ".warpwise").read_text(encoding="utf-8").splitlines()
        found = {str(path.relative_to(out)) for path in out.rglob("*") if path.is_file()}
        assert found == {*listed, ".warpwise"}, f"not whole: {found ^ {*listed, '.warpwise'}}"
        title = json.loads((out / "plan.json").read_text(encoding="utf-8"))["title"]
        assert f"<title>{title}" in (out / "report.html").read_text(encoding="utf-8"), "of two jobs"
        return title

    def calls(self, run, marks, *more, after=0):
        """The calls of `run` from the first to the last that names one of `marks`, and some after: kind, number, line."""
        log = self.folder.parent / "calls"
        code, said = run(strace=("-o", log, "-s", 300, "-e", f"trace={','.join(CALLS)}", *more))
        assert code == 0, said
        lines = [line.split(None, 1) for line in log.read_text(errors="replace").splitlines()]
        counted, seen = Counter(), []
        for process, line in lines:
            kind = re.match(r"\w+", line)
            # Counted when a call begins, as strace does, for each thread; the first is the program's own.
            if process == lines[0][0] and kind and kind[0] in CALLS:
                counted[kind[0]] += 1
                seen.append((kind[0], counted[kind[0]], line))
        marked = [k for k, (_, _, line) in enumerate(seen) if any(mark in line for mark in marks)]
        return seen[marked[0] : marked[-1] + 1 + after]


def cases(calls, full):
    """Each call with what may come of it; in full or every few of them, so that every kind comes."""
    all_of = [(kind, n, error) for kind, n, _ in calls for error in (*ERRORS[kind], KILL)]
    return all_of if full else all_of[:: max(1, len(all_of) // 24)]


def inject(kind, n, error):
    fault = f"signal={error}" if error == KILL else f"error={error}"
    return ("-o", "/dev/null", "-e", f"trace={kind},renameat2", "-e", f"inject={kind}:{fault}:when={n}")


@check("a fault at any call of the write phase leaves the earlier plan or the new one", "strace(1), inject")
def any_call(context):
    want_strace()
    bench = Bench(context, "faults")
    told = Counter()
    for before, more in ((None, ()), ("first", ()), ("first", NO_EXCHANGE)):
        bench.begin(before)
        calls = bench.calls(lambda **how: bench.plan("second", **how), ("warpwise-", '"out'), *more)
        assert len(calls) > 40 and bench.whole() == "second", calls
        for kind, n, error in cases(calls, context.full):
            if more and kind == "renameat2":
                continue
            bench.begin(before)
            code, said = bench.plan("second", strace=(*inject(kind, n, error), *more))
            at = f"{error} at {kind} {n}, {before} before{', no exchange' if more else ''}: {code} {said}"
            try:
                judge(bench, before, code, said, error)
            except (AssertionError, OSError) as why:
                raise AssertionError(f"{why}: {at}") from None
            told["killed" if error == KILL else f"exit {code}"] += 1
    return f"{sum(told.values())} faults: {', '.join(f'{n} {word}' for word, n in sorted(told.items()))}"


def judge(bench, before, code, said, error):
    if error == KILL:
        # Between two renames the earlier plan has no place: the next run puts it back.
        assert code in (-9, 137), "not killed"
        lies_there = bench.whole()
        was_put_back = lies_there is None and before is not None
        assert lies_there in (before, "second", None)
    else:
        assert code in (0, 3), "another exit code"
        assert (code == 0) == (bench.whole() == "second") or "standard output" in said, "another plan than it says"
        assert bench.whole() in (before, "second")
        assert code == 0 or "error: " in said, "not told"
        # What cannot be removed now: the next run does it.
        left = [name for name in bench.hidden() if not re.search("warpwise-(try|lock)", name)]
        assert all(name in said for name in left), f"{left} stay hidden"
    code, said = bench.plan("first")
    assert code == 0, f"the next run: {code} {said}"
    if error == KILL and was_put_back:
        assert "was put back" in said, f"the next run says nothing: {said}"
    assert bench.whole() == "first" and bench.hidden() == [], f"after the next run: {bench.hidden()}"


@check("a fault at any call while one file is written leaves the earlier file or the new one", "strace(1), inject")
def one_file(context):
    want_strace()
    bench = Bench(context, "one-file")
    seen = bench.folder / "seen.svg"

    def inspect(title, **how):
        return bench.run("inspect", f"{title}.svg", "--quiet", "--svg", "seen.svg", **how)

    assert inspect("second")[0] == 0
    new = seen.read_bytes()
    calls = bench.calls(lambda **how: inspect("second", **how), ("seen.svg",), after=2)
    # The last brings its name to the disk.
    assert calls[-1][0] == "fsync", calls
    n_all = 0
    for kind, n, error in cases(calls, context.full):
        bench.begin(None)
        assert inspect("first")[0] == 0
        old = seen.read_bytes()
        code, said = inspect("second", strace=inject(kind, n, error))
        at = f"{error} at {kind} {n}: {code} {said}"
        assert code in ((-9, 137) if error == KILL else (0, 3)), at
        now = seen.read_bytes()
        assert now in (old, new), at
        if error != KILL:
            # Written, though its name may not have come to the disk.
            is_new = "is there" in said and "is there already" not in said
            assert (now == new) == (code == 0 or is_new), at
            assert bench.hidden() == [], f"{bench.hidden()}: {at}"
        n_all += 1
    return f"{n_all} faults"
