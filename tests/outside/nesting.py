"""Layouts of the nesting engine, checked with shapely.

Runs `cargo run --release --example nest_bench`, on a small instance of our own always, on public
instances if their folder is given.
"""

import json
import subprocess
from pathlib import Path

import numpy as np
import shapely
from harness import REPO, Skip, check
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
