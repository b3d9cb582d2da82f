"""Same input, same bytes; time and memory; manners on the disk."""

import hashlib
import os
import subprocess
import time

from harness import REPO, check


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
    assert processor <= 4 and peak < 200e6 / 2**20, told
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
