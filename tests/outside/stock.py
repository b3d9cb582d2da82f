"""Layouts on remnants, sheets and flawed rolls, checked with shapely.

Runs `cargo run --example stock_bench`, whose files hold each case and its layouts.
"""

import json
import subprocess

import numpy as np
import shapely
from harness import REPO, check
from nesting import OUT, OVERLAP
from shapely import affinity
from shapely.geometry import Polygon, box
from shapely.strtree import STRtree

# Share of a gap or a margin by which two outlines may be nearer: rounding of written coordinates.
NEAR = 1e-6
# Least share of each fixed container that the quick effort must cover, in percent: what was reached,
# less a few. The best for the jigsaw is 100.
LEAST = {"jigsaw": [88], "more-than-fits": [78], "sieve": [68]}


def polygon(rings):
    return Polygon(rings[0], rings[1:])


def placed_shape(problem, placed):
    """The shape where it lies; checks that it is the shape asked for, in a permitted turn."""
    shape = problem["shapes"][placed["shape"]]
    turn = placed["turn"]
    assert any(
        abs((turn["degrees"] - t["degrees"] + 180) % 360 - 180) < 1e-6
        and turn["face_down"] == t["face_down"]
        for t in shape["turns"]
    ), f"a turn of {turn}"
    at = polygon(placed["at"])
    turned = affinity.rotate(polygon(shape["shape"]), turn["degrees"], origin=(0, 0))
    if turn["face_down"]:
        turned = affinity.scale(turned, yfact=-1, origin=(0, 0))
    turned = affinity.translate(turned, *(np.array(at.bounds[:2]) - turned.bounds[:2]))
    size = max(at.bounds[2] - at.bounds[0], at.bounds[3] - at.bounds[1])
    assert turned.hausdorff_distance(at) < 1e-6 * size, "a piece has another shape"
    return at


def cloth(container, length):
    """The container as an area; a strip as far as it is used."""
    extent = container["extent"]
    if "outline" in extent:
        return polygon(extent["outline"])
    return box(0, 0, extent.get("length", length), extent["width"])


def verify_container(container, layout, shapes, gap):
    """One layout against its container; returns the percentage of it that is covered."""
    whole = cloth(container, layout["length"])
    slack = OUT * max(whole.bounds[2:])
    forbidden = [(polygon(f["area"]), f["margin"]) for f in container["forbidden"]]
    for n, shape in enumerate(shapes):
        assert shape.bounds[0] >= whole.bounds[0] - slack, f"piece {n} is out"
        assert shape.bounds[1] >= whole.bounds[1] - slack, f"piece {n} is out"
        assert shape.bounds[2] <= whole.bounds[2] + slack, f"piece {n} is out"
        assert shape.bounds[3] <= whole.bounds[3] + slack, f"piece {n} is out"
        assert shape.bounds[2] <= whole.bounds[0] + layout["length"] + slack, "longer than stated"
        outside = shapely.difference(shape, whole).area
        assert outside <= OVERLAP * shape.area, f"piece {n}: {outside} mm2 off the cloth"
        for area, margin in forbidden:
            covered = shapely.intersection(shape, area).area
            assert covered <= OVERLAP * min(shape.area, area.area), f"piece {n} is on a flaw"
            assert shape.distance(area) >= margin * (1 - NEAR), f"piece {n} is near a flaw"
    tree = STRtree(shapes)
    for i, shape in enumerate(shapes):
        for j in tree.query(shape.buffer(gap)):
            if j > i:
                area = shapely.intersection(shape, shapes[j]).area
                assert area <= OVERLAP * min(shape.area, shapes[j].area), f"{i} and {j} overlap"
                assert shape.distance(shapes[j]) >= gap * (1 - NEAR), f"{i} and {j} are too near"
    return 100 * sum(s.area for s in shapes) / whole.area if shapes else 0.0


def verify(problem):
    """A case with its layouts; returns the percentage covered of each container."""
    counts = np.array(problem["left"])
    used = []
    for container, layout in zip(problem["containers"], problem["layouts"], strict=True):
        shapes = [placed_shape(problem, placed) for placed in layout["placed"]]
        np.add.at(counts, [placed["shape"] for placed in layout["placed"]], 1)
        used.append(verify_container(container, layout, shapes, problem["gap"]))
    demand = [shape["demand"] for shape in problem["shapes"]]
    assert list(counts) == demand, "not every piece is placed once or left"
    endless = ["length" not in c["extent"] and "outline" not in c["extent"]
               for c in problem["containers"]]
    assert not any(endless) or not any(problem["left"]), "pieces left in spite of an endless roll"
    return used


@check("remnants, sheets and flawed rolls: valid, well filled", "shapely; examples/stock")
def stock(context):
    out = context.work / "stock"
    done = subprocess.run(
        ["cargo", "run", "--quiet", "--example", "stock_bench", "--", "--json",
         "--threads", "2", "--layouts", str(out)],
        capture_output=True, text=True, cwd=REPO, timeout=3600,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    told = []
    for line in map(json.loads, done.stdout.splitlines()):
        problem = json.loads((out / f"{line['name']}.json").read_text(encoding="utf-8"))
        used = verify(problem)
        np.testing.assert_allclose(used, line["used_percent"], atol=1e-3)
        assert line["valid"] is True
        for percent, least in zip(used, LEAST.get(line["name"], [])):
            assert percent >= least, f"{line['name']}: {percent:.2f} %"
        told.append(f"{line['name']} {'/'.join(f'{u:.0f}' for u in used)} %")
    assert told, "no cases"
    return ", ".join(told)
