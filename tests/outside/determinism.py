"""Same input, same bytes; time and memory; manners on the disk."""

import hashlib
import os
import resource
import shutil
import subprocess
import time

from harness import REPO, Skip, check


def digests(folder):
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@check("same seed, same bytes at 1 and 2 threads", "SHA-256 of every file")
def same_bytes(context):
    runs = {}
    for name, threads in (("one", 1), ("two", 2), ("again", 2)):
        out = context.work / f"same-{name}"
        context.plan(context.demo_job_file, out, "--threads", threads)
        runs[name] = digests(out)
    assert len(runs["one"]) >= 3
    for name in ("two", "again"):
        differing = [f for f in runs["one"] if runs["one"][f] != runs[name].get(f)]
        assert runs["one"].keys() == runs[name].keys() and not differing, differing
    return f"{len(runs['one'])} files, three runs"


def limited(kind, amount):
    return lambda: resource.setrlimit(kind, (amount, amount))


def at_clock(when):
    return lambda command: [shutil.which("faketime"), "-f", when, *command]


# What surrounds a run and must not matter: variables (None takes one away), what is done before it begins, how its
# command is changed, options.
SURROUNDINGS = {
    # A decimal comma; a dotless i; a locale that there is not.
    "German, on the date line, a HOME nobody writes": {"env": {
        "LC_ALL": "de_DE.UTF-8", "LANG": "de_DE.UTF-8", "TZ": "Pacific/Kiritimati",
        "HOME": "/proc", "XDG_CONFIG_HOME": "/proc", "XDG_CACHE_HOME": "/proc", "TMPDIR": "/proc",
    }},
    "Turkish, no time zone, no HOME": {"env": {"LC_ALL": "tr_TR.UTF-8", "LANG": "tr_TR.UTF-8", "TZ": ":/dev/null", "HOME": None}},
    "a locale of nonsense": {"env": {"LC_ALL": "xx_YY.nonsense@nowhere", "LANG": "\udcff"}},
    "no variables at all": {"env": dict.fromkeys(os.environ)},
    "1971, umask 000": {"command": at_clock("@1971-02-03 04:05:06"), "before": lambda: os.umask(0)},
    "2099, umask 077": {"command": at_clock("@2099-12-31 23:59:59"), "before": lambda: os.umask(0o077)},
    "a clock 100 times as fast": {"command": at_clock("+0 x100")},
    "512 MB of memory": {"before": limited(resource.RLIMIT_AS, 512 << 20)},
    "a stack of 1 MB, one thread": {"before": limited(resource.RLIMIT_STACK, 1 << 20), "options": ["--threads", "1"]},
    "nobody at the keyboard, low priority, seven threads": {
        "before": lambda: os.nice(10), "stdin": subprocess.DEVNULL, "options": ["--threads", "7"],
    },
    "another folder, as many threads as there are": {
        "folder": "with spaces, Ünïcode and % in its näme/" + "deep/" * 20, "options": [],
    },
}


@check("same bytes whatever surrounds the run", "SHA-256 of every file; setrlimit(2), faketime(1)")
def surroundings(context):
    def run(folder, env=None, before=None, command=lambda c: c, options=("--threads", "2"), stdin=None):
        """What the run leaves and says in `folder`, which holds a job of the guide and what it reads."""
        shutil.copytree(REPO / "examples" / "guide", folder)
        variables = {name: value for name, value in {**os.environ, **(env or {})}.items() if value is not None}
        arguments = ["plan", "roof.toml", "--out", "out", "--effort", "quick", *options]
        done = subprocess.run(
            command([str(context.binary), *arguments]),
            cwd=folder, env=variables, preexec_fn=before, stdin=stdin, capture_output=True, timeout=300,
        )
        assert done.returncode == 0, (folder, done.stdout + done.stderr)
        return digests(folder / "out") | {"said": done.stdout + done.stderr}

    if shutil.which("faketime") is None:
        raise Skip("there is no faketime here")
    base = context.work / "surroundings"
    usual = run(base / "usual")
    assert len(usual) > 10
    for number, (name, how) in enumerate(SURROUNDINGS.items()):
        how = dict(how)
        folder = base / str(number) / how.pop("folder", "")
        own = run(folder, **how)
        differing = sorted(f for f in usual.keys() | own.keys() if usual.get(f) != own.get(f))
        assert not differing, f"{name}: {differing}"
        shutil.rmtree(base / str(number))
    return f"{len(usual) - 1} files and what is printed, {len(SURROUNDINGS)} surroundings"


def peak_while_running(process):
    """MiB of memory at most, asked of proc(5) while it runs: what wait4 tells counts the parent's
    own memory from before the new program was loaded."""
    peak = 0.0
    while process.returncode is None:
        try:
            with open(f"/proc/{process.pid}/status", encoding="ascii") as lines:
                own = [line for line in lines if line.startswith("VmHWM")]
        except OSError:
            own = []
        if not own:
            # Ended, and waiting to be asked for its exit code.
            return peak
        peak = max(peak, int(own[0].split()[1]) / 1024)
        time.sleep(0.01)
    return peak


@check("time and memory of the quick plan", "own aims: 2 s on 2 cores, 200 MB")
def cost(context):
    """Judged by processor time, which a busy machine does not stretch."""
    before = time.monotonic()
    process = subprocess.Popen(
        [context.binary, "plan", context.demo_job_file, "--out", context.work / "timed",
         "--effort", "quick", "--quiet", "--threads", "2"]
    )
    peak = peak_while_running(process)
    _, status, usage = os.wait4(process.pid, 0)
    wall = time.monotonic() - before
    process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode == 0
    processor = usage.ru_utime + usage.ru_stime
    told = f"{wall:.2f} s, {processor:.2f} s of processor time, {peak:.0f} MiB"
    # Machines differ by more than twice.
    assert processor <= 10 and peak < 200e6 / 2**20, told
    return told


@check("the first job plans, short as it is", "own reading of the job file")
def first_job(context):
    path = REPO / "examples" / "first-job.toml"
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 25
    plan = context.plan(path, context.work / "first")
    angles = [ply["angle_deg"] for ply in plan["parts"][0]["plies"]]
    # "[0/45]s" is the half of a symmetric stack (US Army TM 1-1500-204-23-11).
    assert angles == [0, 45, 45, 0], angles
    return f"{len(plan['layouts'][0]['pieces'])} pieces"


@check("an existing folder of someone else stays untouched", "own contract")
def other_folder(context):
    out = context.work / "someone"
    out.mkdir()
    (out / "note.txt").write_text("mine")
    context.run("plan", context.demo_job_file, "--out", out, "--effort", "quick", expect=3)
    assert [p.name for p in out.iterdir()] == ["note.txt"]
    return None
