"""Layouts of the nesting engine, checked with shapely, and what they save.

Runs `cargo run --release --example nest_bench`, on a small instance of our own always, on public
instances if their folder is given.
"""

import json
import subprocess
from pathlib import Path

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
# Share of the strip's width by which a piece may stick out: the same.
OUT = 1e-9


def bench(context, files, seconds=None):
    """Runs the bench; returns its lines and the folder with its layouts."""
    out = context.work / f"layouts-{files[0].stem}"
    limit = ["--seconds", str(seconds)] if seconds else []
    done = subprocess.run(
        ["cargo", "run", "--release", "--quiet", "--example", "nest_bench", "--", "--json",
         "--threads", "2", "--seed", "1", *limit, "--layouts", str(out), *map(str, files)],
        capture_output=True, text=True, cwd=REPO, timeout=3600,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return [json.loads(line) for line in done.stdout.splitlines()], out


def verify(file, told, out):
    """The layout of one instance against the instance itself; returns its density in percent."""
    instance = json.loads(file.read_text(encoding="utf-8"))
    layout = json.loads((out / f"{instance['name']}.json").read_text(encoding="utf-8"))
    width, items = instance["strip_width"], instance["items"]
    placed = layout["placed"]

    counts = np.bincount([p["item"] for p in placed], minlength=len(items))
    assert list(counts) == [item["demand"] for item in items], "not every demanded piece is there"

    shapes = []
    for piece in placed:
        item = items[piece["item"]]
        source = Polygon(item["outline"], item.get("openings", []))
        shape = Polygon(piece["outer"], piece["openings"])
        assert any(
            abs((piece["turn_deg"] - r + 180) % 360 - 180) < 1e-6
            for r in item["allowed_rotations_deg"]
        ), f"a turn of {piece['turn_deg']}"
        turned = affinity.rotate(source, piece["turn_deg"], origin=(0, 0))
        shift = np.array(shape.bounds[:2]) - turned.bounds[:2]
        turned = affinity.translate(turned, *shift)
        size = max(turned.bounds[2] - turned.bounds[0], turned.bounds[3] - turned.bounds[1])
        assert turned.hausdorff_distance(shape) < 1e-6 * size, "a piece has another shape"
        shapes.append(shape)

    boxes = np.array([s.bounds for s in shapes])
    slack = OUT * width
    assert boxes[:, :2].min() >= -slack and boxes[:, 3].max() <= width + slack, "out of the strip"
    assert boxes[:, 2].max() <= layout["length"] + slack, "longer than stated"
    tree = STRtree(shapes)
    for i, shape in enumerate(shapes):
        for j in tree.query(shape):
            if j > i:
                area = shapely.intersection(shape, shapes[j]).area
                least = min(shape.area, shapes[j].area)
                assert area <= OVERLAP * least, f"pieces {i} and {j} overlap by {area / least:.1e}"

    total = sum(Polygon(i["outline"], i.get("openings", [])).area * i["demand"] for i in items)
    density = 100 * total / (width * boxes[:, 2].max())
    assert abs(told["density_percent"] - density) < 1e-3, (told, density)
    assert abs(told["length"] - layout["length"]) < 1e-6 and told["valid"] is True
    return density


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


@check("own instance: valid, dense", "shapely; instances/README.md")
def own_instance(context):
    told = []
    files = sorted(OWN.glob("*.json"))
    lines, out = bench(context, files)
    for file, line in zip(files, lines, strict=True):
        density = verify(file, line, out)
        instance = json.loads(file.read_text(encoding="utf-8"))
        assert density >= instance["least_density_percent"], f"{file.name}: {density:.2f} %"
        told.append(f"{instance['name']} {density:.2f} %")
    return ", ".join(told)


@check("public instances: valid layouts", "shapely; instances of the ESICUP data sets")
def public_instances(context):
    if context.instances is None:
        raise Skip("no folder given with --instances")
    files = sorted(Path(context.instances).glob("*.json"))
    assert files, f"no instances in {context.instances}"
    lines, out = bench(context, files, seconds=5)
    told = [
        f"{line['name']} {verify(file, line, out):.2f} %"
        for file, line in zip(files, lines, strict=True)
    ]
    return ", ".join(told)
