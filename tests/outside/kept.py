"""A shelf that is kept, while its writers are killed or fail: no remnant is lost, none is there twice.

The journal is read here by itself, and areas are measured with shapely.
"""

import json
import random
import shutil
import subprocess
import time
from collections import Counter

from faults import CALLS, KILL, cases, inject, want_strace
from harness import check
from jobs import job
from shapely.geometry import Polygon

BALANCE_MM2 = 1
CLOTH = 'roll_width = "1000 mm"\nsold_by = "1 m"'
PUT = ("shelf", "shelf", "--cloth", "c", "--length", "600 mm", "--width", "300 mm")
CUT = ("cut", "a.toml", "--lot", "c=B 12")
PLAN = ("plan", "a.toml", "--effort", "quick", "--threads", "1")


def entries(field):
    """Name, cloth and area of each entry of a list."""
    _, _, listed = field.partition(":")
    words = [entry.split("lot=")[0].split() for entry in listed.split(";")]
    return [(name, cloth, [float(number) for number in rest]) for name, cloth, *rest in words]


def lines(shelf):
    """The whole lines of the journal."""
    path = shelf / "journal.txt"
    text = path.read_text(encoding="utf-8") if path.exists() else ""
    found = []
    for n, line in enumerate(text[: text.rfind("\n") + 1].splitlines(), 1):
        number, _, deed, title, _, *rest = [field.strip() for field in line.split("|")]
        assert int(number) == n, line
        moved = {field.split(":")[0]: field for field in rest}
        off, on = (entries(moved[word]) if word in moved else [] for word in ("off", "on"))
        sums = [0, 0, 0]
        if "cloth" in moved:
            for entry in moved["cloth"].partition(":")[2].split(";"):
                areas = entry.split("lot=")[0].split()[1:]
                sums = [a + float(b) for a, b in zip(sums, areas)]
        found.append((deed, title, {name: area[0] for name, _, area in off}, {name: area[0] for name, _, area in on}, sums))
    return found


def area(path):
    outline = json.loads(path.read_text(encoding="utf-8"))["outline"]
    return Polygon(outline["outer"], outline["openings"]).area


def sound(folder, finished):
    """Checks journal against files; returns how many remnants there are."""
    shelf, there, ever, balance, waiting = folder / "shelf", {}, set(), 0.0, {}
    told = lines(shelf)
    for n, (deed, title, off, on, (fresh, parts, waste)) in enumerate(told, 1):
        if deed in ("reserved", "released"):
            waiting[title] = (n, on)
            if deed == "released":
                del waiting[title]
            continue
        if deed == "cut":
            del waiting[title]
        for name, was in off.items():
            assert abs(there.pop(name)[1] - was) < 0.01, name
        for name, now in on.items():
            assert name not in ever, f"{name} is a name twice"
            ever.add(name)
            there[name] = (n, now)
        change = sum(on.values()) - sum(off.values())
        if deed == "cut":
            assert abs(fresh - parts - waste - change) < BALANCE_MM2, f"line {n} loses cloth"
        balance += change
    files = {path.name for path in shelf.iterdir()} if shelf.exists() else set()
    for name, (n, written) in there.items():
        found = files & {f"{name}.json", f".{name}.json-{n}"}
        assert len(found) == 1, f"{name}: {found}"
        assert abs(area(shelf / found.pop()) - written) < 0.01, name
    assert abs(sum(now for _, now in there.values()) - balance) < BALANCE_MM2
    if finished:
        left = {f".{name}.json-{n}" for n, on in waiting.values() for name in on}
        assert files == {f"{name}.json" for name in there} | left | {"journal.txt"}, files
    return len(there)


class Kept:
    """A folder with a job, a plan of it that waits to be cut, and its shelf."""

    def __init__(self, context, name):
        self.binary, self.folder = context.binary, context.work / name
        self.folder.mkdir()
        path = job(self.folder, "a", [(0, 0), (400, 0), (400, 300), (0, 300)], cloth=CLOTH)
        path.write_text('shelf = "shelf"\n' + path.read_text(encoding="utf-8"), encoding="utf-8")
        for arguments in ((*PUT, "--name", "small"), (*PUT[:-3], "2 m", "--width", "1 m", "--roll"), PLAN):
            self.good(*arguments)
        self.earlier = self.folder.parent / f"{name}-earlier"
        shutil.copytree(self.folder, self.earlier)

    def begin(self):
        shutil.rmtree(self.folder)
        shutil.copytree(self.earlier, self.folder)

    def run(self, *arguments, strace=()):
        command = [self.binary, *map(str, arguments)]
        if strace:
            command = ["strace", "-f", "-qq", *map(str, strace), *command]
        done = subprocess.run(command, cwd=self.folder, capture_output=True, text=True, errors="replace", timeout=120)
        return done.returncode, done.stdout + done.stderr

    def good(self, *arguments):
        code, said = self.run(*arguments)
        assert code == 0, f"{arguments}: {code} {said}"

    def calls(self, *arguments):
        """The calls to the system from the first to the last that has to do with the shelf."""
        log = self.folder.parent / "kept-calls"
        options = ("-o", log, "-s", 300, "-e", f"trace={','.join(CALLS)}")
        code, said = self.run(*arguments, strace=options)
        assert code == 0, said
        counted, seen = Counter(), []
        written = [line.split(None, 1) for line in log.read_text(errors="replace").splitlines()]
        for process, line in written:
            kind = line.split("(")[0]
            if process == written[0][0] and kind in CALLS:
                counted[kind] += 1
                seen.append((kind, counted[kind], line))
        # The lock of the shelf is the first thing that a writer makes.
        marked = [k for k, (_, _, line) in enumerate(seen) if "shelf.warpwise-lock" in line]
        return seen[marked[0] : marked[-1] + 1]


@check("a fault at any call while a shelf is written loses no remnant and doubles none", "strace(1), inject; shapely")
def any_call(context):
    want_strace()
    kept, told = Kept(context, "kept"), Counter()
    for arguments in (PUT, CUT, PLAN):
        kept.begin()
        calls = kept.calls(*arguments)
        assert len(calls) > 15, calls
        kept.begin()
        before = len(lines(kept.folder / "shelf"))
        for kind, n, error in cases(calls, context.full):
            kept.begin()
            code, said = kept.run(*arguments, strace=inject(kind, n, error))
            at = f"{error} at {kind} {n} of {arguments[0]}: {code} {said}"
            try:
                assert code in ((-9, 137) if error == KILL else (0, 1, 3)), "another exit code"
                sound(kept.folder, finished=False)
                booked = len(lines(kept.folder / "shelf")) - before
                assert code != 0 or booked == 1, "done, and not booked"
                # Readers see it whole; the next writer finishes it.
                kept.good("shelf", "shelf", "--json")
                kept.good(*PUT)
                sound(kept.folder, finished=True)
                hidden = [path.name for path in kept.folder.iterdir() if "shelf.warpwise" in path.name]
                assert hidden == [], hidden
            except AssertionError as why:
                raise AssertionError(f"{why}: {at}") from None
            told["booked" if booked else "not booked"] += 1
    assert min(told.values()) > 5, told
    return f"{sum(told.values())} faults: {', '.join(f'{n} {word}' for word, n in sorted(told.items()))}"


@check("kills at random moments lose no remnant and double none", "conservation of area; shapely")
def at_random(context):
    kept, chance, told = Kept(context, "kept-random"), random.Random(1), Counter()
    took = {}
    for arguments in (PUT, PLAN, CUT):
        began = time.monotonic()
        kept.good(*arguments)
        took[arguments] = time.monotonic() - began
    n_kills = 100 if context.full else 24
    for number in range(n_kills):
        arguments = chance.choice((PUT, PUT, CUT, PLAN))
        if arguments == CUT:
            kept.good(*PLAN)
        before = len(lines(kept.folder / "shelf"))
        share = 0.7 + 0.4 * chance.random() if arguments == PLAN else 1.3 * chance.random()
        run = subprocess.Popen(
            [kept.binary, *arguments], cwd=kept.folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        time.sleep(took[arguments] * share)
        run.kill()
        run.wait()
        try:
            sound(kept.folder, finished=False)
            told["booked" if len(lines(kept.folder / "shelf")) > before else "not booked"] += 1
            kept.good(*PUT)
            sound(kept.folder, finished=True)
        except AssertionError as why:
            raise AssertionError(f"kill {number} of {arguments[0]}: {why}") from None
    return f"{n_kills} kills: {', '.join(f'{n} {word}' for word, n in sorted(told.items()))}"
