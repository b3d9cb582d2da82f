"""Layouts of the nesting engine, checked with shapely, and what they save.

Runs `cargo run --example nest_bench`, on small instances of our own and on generated
ones always, on public instances if their folder is given. Pieces that touch are looked at again in
exact rational arithmetic.
"""

import json
import random
import subprocess
from fractions import Fraction
from pathlib import Path

import exact
import numpy as np
import shapely
from harness import REPO, Skip, check
from plan_rules import by_id, cut_line, permitted
from shapely import affinity
from shapely.geometry import Polygon
from shapely.strtree import STRtree

OWN = Path(__file__).resolve().parent / "instances"
# Share of the smaller piece that two pieces may overlap by: rounding of written coordinates.
OVERLAP = 1e-6
# Share of the strip's width by which a piece may stick out or a gap fall short: the same.
OUT = 1e-9
# Share of a piece's size nearer than which two pieces count as touching.
TOUCH = 1e-7
# Largest difference in degrees between a permitted turn and the one taken.
TURN = 1e-6

# Seconds of a run that ends in the closer view of the shapes: those of up to two do not.
LONG = 2.5


def bench(context, name, instances, *options, threads=2):
    """Runs the bench on files or names of generated instances.

    Returns its lines, the instances as the bench read them, and their layouts.
    """
    out = context.work / f"bench-{name}"
    done = subprocess.run(
        ["cargo", "run", "--quiet", "--example", "nest_bench", "--", "--json",
         "--threads", str(threads), "--seed", "1", "--layouts", str(out / "layouts"),
         "--instances", str(out / "instances"), *map(str, options), *map(str, instances)],
        capture_output=True, text=True, cwd=REPO, timeout=3600,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    lines = [json.loads(line) for line in done.stdout.splitlines()]

    def read(folder):
        files = [out / folder / f"{line['name']}.json" for line in lines]
        return [json.loads(file.read_text(encoding="utf-8")) for file in files]

    # A file is checked against itself, not against what the bench made of it.
    told = [
        json.loads(Path(i).read_text(encoding="utf-8")) if Path(i).is_file() else again
        for i, again in zip(instances, read("instances"), strict=True)
    ]
    return list(zip(lines, told, read("layouts"), strict=True))


def verify(told, instance, layout, tolerance=0.0):
    """The layout of one instance against it and what was told; returns its density in percent."""
    density = sound(instance, layout, tolerance)
    assert abs(told["density_percent"] - density) < 1e-3, (told, density)
    assert abs(told["length"] - layout["length"]) < 1e-6 and told["valid"] is True
    return density


def sound(instance, layout, tolerance=0.0):
    """The layout of one instance against the instance; returns its density in percent."""
    width, items = instance["strip_width"], instance["items"]
    placed = layout["placed"]
    counts = np.bincount([p["item"] for p in placed], minlength=len(items))
    assert list(counts) == [item["demand"] for item in items], "not every demanded piece is there"
    shapes = [true_to_shape(piece, items[piece["item"]], tolerance) for piece in placed]

    boxes = np.array([s.bounds for s in shapes])
    slack = OUT * width
    assert boxes[:, :2].min() >= -slack and boxes[:, 3].max() <= width + slack, "out of the strip"
    assert boxes[:, 2].max() <= layout["length"] + slack, "longer than stated"
    assert layout["gap"] == instance.get("gap", 0)
    apart(shapes, layout["gap"], slack)

    total = sum(Polygon(i["outline"], i.get("openings", [])).area * i["demand"] for i in items)
    return 100 * total / (width * boxes[:, 2].max())


def true_to_shape(piece, item, tolerance):
    """The placed piece as a polygon, after a look at its turn and its shape."""
    off = min(
        abs((piece["turn_deg"] - r + 180) % 360 - 180) for r in item["allowed_rotations_deg"]
    )
    assert off <= tolerance + TURN, f"a turn of {piece['turn_deg']}"
    shape = Polygon(piece["outer"], piece["openings"])
    turned = affinity.rotate(
        Polygon(item["outline"], item.get("openings", [])), piece["turn_deg"], origin=(0, 0)
    )
    shift = np.array(shape.bounds[:2]) - turned.bounds[:2]
    turned = affinity.translate(turned, *shift)
    size = max(turned.bounds[2] - turned.bounds[0], turned.bounds[3] - turned.bounds[1])
    assert turned.hausdorff_distance(shape) < 1e-6 * size, "a piece has another shape"
    return shape


def apart(shapes, gap, slack):
    """No two pieces overlap, or are nearer than the gap where there is one."""
    tree = STRtree(shapes)
    for i, shape in enumerate(shapes):
        for j in tree.query(shape, predicate="dwithin", distance=gap + TOUCH * shape.length):
            if j <= i:
                continue
            other = shapes[j]
            if gap > 0:
                distance = shapely.distance(shape, other)
                assert distance >= gap - slack, f"pieces {i} and {j} are {distance} apart"
                continue
            least = min(shape.area, other.area)
            area = shapely.intersection(shape, other).area
            assert area <= OVERLAP * least, f"pieces {i} and {j} overlap by {area / least:.1e}"
            share = exact.overlap(shape, other) / Fraction(least)
            assert share <= OVERLAP, f"pieces {i} and {j} overlap by {float(share):.1e}, exactly"


def shelves(boxes, width, gap):
    """Length of a layout of boxes in shelves across the roll, longest first, first fit.

    `boxes` holds for each piece its (length, width) in every permitted turn. The better of two
    rules counts: each box with its short or its long side along the roll.
    """
    lengths = []
    for shorter in (min, max):
        chosen = [shorter(b for b in turns if b[1] <= width) for turns in boxes]
        rows = []
        for long, wide in sorted(chosen, reverse=True):
            for row in rows:
                if row[1] + gap + wide <= width:
                    row[1] += gap + wide
                    break
            else:
                rows.append([long, wide])
        lengths.append(sum(row[0] for row in rows) + gap * (len(rows) - 1))
    return min(lengths)


@check("the demo against boxes on shelves", "own shelf layout of the same pieces; aim: 15 % shorter")
def against_shelves(context):
    plies = by_id(context)
    told, all_boxes, all_used = [], 0.0, 0.0
    for layout in context.demo["layouts"]:
        low, high = layout["usable_y"]
        boxes = []
        for piece in layout["pieces"]:
            turns, _ = permitted(context.demo_job["cloth"][layout["cloth"]], plies[piece["id"]])
            shape = cut_line(plies[piece["id"]])
            bounds = [affinity.rotate(shape, t, origin=(0, 0)).bounds for t in turns]
            boxes.append([(x1 - x0, y1 - y0) for x0, y0, x1, y1 in bounds])
        boxed = shelves(boxes, high - low, layout["gap"]) + 2 * layout["end_margin"]
        used = layout["used_length"]
        told.append(f"{layout['cloth']} {used:.0f} mm, boxes {boxed:.0f} mm")
        all_boxes, all_used = all_boxes + boxed, all_used + used
    saved = 1 - all_used / all_boxes
    told.append(f"{saved:.1%} shorter")
    assert saved >= 0.15, ", ".join(told)
    return ", ".join(told)


@check("exact overlap area", "squares, and shapely on random triangles")
def exact_area(context):
    square = Polygon([(0, 0), (1, 0), (1, 1), (0, 1)])
    beside = affinity.translate(square, 1.0, 0.25)
    assert exact.overlap(square, beside) == 0
    # Less than what floating-point areas of this size can tell.
    nearer = affinity.translate(square, 1 - 2.0**-52, 0)
    assert exact.overlap(square, nearer) == Fraction(1, 2**52)
    frame = Polygon(square.exterior, [[(0.25, 0.25), (0.75, 0.25), (0.75, 0.75), (0.25, 0.75)]])
    inside = affinity.scale(square, 0.5, 0.5)
    assert exact.overlap(frame, inside) == 0
    assert exact.overlap(frame, square) == Fraction(3, 4)
    draw = random.Random(7)
    for _ in range(200):
        first, second = (
            Polygon([(draw.random(), draw.random()) for _ in range(3)]) for _ in range(2)
        )
        area = first.intersection(second).area
        assert abs(float(exact.overlap(first, second)) - area) < 1e-12
    return None


@check("own instances: valid, dense", "shapely, exact rationals; instances/README.md")
def own_instances(context):
    told = []
    for line, instance, layout in bench(context, "own", sorted(OWN.glob("*.json"))):
        density = verify(line, instance, layout)
        assert density >= instance["least_density_percent"], f"{line['name']}: {density:.2f} %"
        told.append(f"{line['name']} {density:.2f} %")
        for wrong in spoiled(layout):
            try:
                verify(line, instance, wrong)
            except AssertionError:
                continue
            raise AssertionError("a spoiled layout passes")
    return ", ".join(told)


def spoiled(layout):
    """The layout with a piece less, one in a turn that is not permitted, one out of its place."""
    first, *rest = layout["placed"]

    there = Polygon(first["outer"], first["openings"])
    other = Polygon(rest[0]["outer"], rest[0]["openings"]).representative_point()
    inside = there.representative_point()

    def moved(x, y):
        shape = affinity.translate(there, x, y)
        rings = [list(ring.coords)[:-1] for ring in (shape.exterior, *shape.interiors)]
        return first | {"outer": rings[0], "openings": rings[1:]}

    yield layout | {"placed": rest}
    yield layout | {"placed": [first | {"turn_deg": first["turn_deg"] + 1}, *rest]}
    yield layout | {"placed": [moved(-layout["length"], 0), *rest]}
    yield layout | {"placed": [moved(other.x - inside.x, other.y - inside.y), *rest]}


@check("generated instances: valid layouts", "shapely, exact rationals")
def generated_instances(context):
    names = ["curved:40:50", "curved:20:200", "mixed:100", "plies:20", "plies:60", "plies:60:ud"]
    runs = bench(context, "generated", names, "--seconds", LONG)
    return ", ".join(f"{run[0]['name']} {verify(*run):.2f} %" for run in runs)


@check("normal effort: the same layout at 1 and 2 threads", "equality")
def normal_effort(context):
    one, two = (
        bench(context, f"normal-{n}", ["plies:20"], "--effort", "normal", threads=n)
        for n in (1, 2)
    )
    verify(*one[0])
    assert one[0][2] == two[0][2], "another layout with two threads"
    return f"plies-20 {one[0][2]['length']:.3f}"


@check("kept results are not run again; their table", "means computed here")
def kept_results(context):
    kept, best = context.work / "kept.jsonl", context.work / "best.csv"
    best.write_text('name,source,length\nplies-20,"A, B and C",1500\n', encoding="utf-8")

    def run(*options):
        done = subprocess.run(
            ["cargo", "run", "--quiet", "--example", "nest_bench", "--", *options],
            capture_output=True, text=True, cwd=REPO, timeout=600,
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    run("--seconds", "0.3", "--save", kept, "plies:20")
    first = kept.read_text(encoding="utf-8")
    # Two seeds more, after a line that was cut off.
    kept.write_text(first + first[:50], encoding="utf-8")
    run("--seconds", "0.3", "--seeds", "3", "--save", kept, "plies:20")
    lines = kept.read_text(encoding="utf-8").splitlines()
    assert len(lines) == 4 and lines[0] + "\n" == first
    records = [json.loads(line) for line in (lines[0], *lines[2:])]
    assert [r["seed"] for r in records] == [1, 2, 3]
    mean = sum(r["length"] for r in records) / 3
    table = run("--table", kept, "--best", best, "--markdown").splitlines()
    row = next(line for line in table if line.startswith("| plies-20"))
    cells = [cell.strip() for cell in row.strip("|").split("|")]
    expected = [f"{mean:.2f}", f"{100 * (mean / 1500 - 1):.2f}"]
    assert [cells[2], cells[4]] == expected and cells[-1] == "3", (cells, expected)
    return f"above 1500 by {cells[4]} %"


@check("generated instances with an angle tolerance: valid layouts", "shapely, exact rationals")
def tolerant_instances(context):
    options = ["--seconds", LONG, "--tolerance", 2]
    runs = bench(context, "tolerance", ["curved:20:50", "plies:20"], *options)
    return ", ".join(f"{run[0]['name']} {verify(*run, tolerance=2):.2f} %" for run in runs)


@check("public instances: valid layouts", "shapely, exact rationals; the ESICUP data sets")
def public_instances(context):
    if context.instances is None:
        raise Skip("no folder given with --instances")
    files = sorted(Path(context.instances).glob("*.json"))
    assert files, f"no instances in {context.instances}"
    runs = bench(context, "public", files, "--seconds", LONG)
    return ", ".join(f"{run[0]['name']} {verify(*run):.2f} %" for run in runs)
