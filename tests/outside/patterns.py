"""Demo outlines, read independently, against `inspect --json` and the net areas in plan.json."""

import json
import subprocess
import sys

import reading
from harness import REPO, check

FILES = ["rudder.svg", "hatch.dxf", "fittings.dxf"]
MOULDS = ["cover.obj", "tray.stl", "bowl.ply"]
LENGTH_MM = 0.01
RELATIVE = 1e-4


def agrees(ours, theirs, what):
    """Relative difference; within 0.01 mm or 0.01 %."""
    off = abs(ours - theirs)
    assert off <= max(LENGTH_MM, RELATIVE * abs(ours)), (
        f"{what}: read independently {ours:.4f}, warpwise says {theirs:.4f}, off by {off:.4f}"
    )
    return off / abs(ours)


def counterpart(outline, listed):
    """The outline of inspect with this layer and the nearest area."""
    same = [o for o in listed if o["layer"] == outline.layer]
    assert same, f"inspect lists no outline on layer {outline.layer}"
    return min(same, key=lambda o: abs(o["area_mm2"] - outline.polygon.area))


def compare(context, file):
    path = REPO / "patterns" / file
    (told,) = json.loads(context.run("inspect", "--json", path).stdout)["files"]
    assert told["faults"] == [], told["faults"]
    drawing = reading.read(path)
    assert len(told["outlines"]) == len(drawing.outlines), (
        f"{file} holds {len(drawing.outlines)} outlines, inspect lists {len(told['outlines'])}"
    )
    worst_area = worst_perimeter = worst_box = 0.0
    for outline in drawing.outlines:
        listed = counterpart(outline, told["outlines"])
        what = f"{file} {outline.layer}"
        openings = listed["openings"]
        n_openings = len(openings) if isinstance(openings, list) else openings
        assert n_openings == len(outline.polygon.interiors), (
            f"{what}: {len(outline.polygon.interiors)} openings, inspect says {n_openings}"
        )
        area = agrees(outline.polygon.area, listed["area_mm2"], f"area of {what}")
        perimeter = agrees(outline.perimeter, listed["perimeter_mm"], f"perimeter of {what}")
        for ours, theirs in zip(outline.bbox, listed["bbox_mm"]):
            off = abs(ours - theirs)
            assert off <= LENGTH_MM, f"box of {what}: {outline.bbox} and {listed['bbox_mm']}"
            worst_box = max(worst_box, off)
        worst_area, worst_perimeter = max(worst_area, area), max(worst_perimeter, perimeter)
    return (
        f"{len(drawing.outlines)} outlines, worst area {worst_area:.2e}, "
        f"perimeter {worst_perimeter:.2e}, box {worst_box:.4f} mm"
    )


@check("rudder.svg", "svgelements curves, shapely areas; SVG 1.1 chapters 7 and 8")
def svg_outlines(context):
    return compare(context, "rudder.svg")


@check("hatch.dxf in inches", "ezdxf curves, shapely areas; Autodesk DXF reference")
def inch_outlines(context):
    return compare(context, "hatch.dxf")


@check("fittings.dxf in millimetres", "ezdxf curves, shapely areas; Autodesk DXF reference")
def millimetre_outlines(context):
    return compare(context, "fittings.dxf")


@check("files are as their makers write them", "own generators")
def reproducible(context):
    """SVG and moulds byte for byte; DXF entity for entity, as its header follows the version of ezdxf."""
    for file in FILES:
        maker = REPO / "patterns" / "make" / f"{file.split('.')[0]}.py"
        subprocess.run([sys.executable, maker, context.work], check=True)
        made, kept = context.work / file, REPO / "patterns" / file
        if made.read_bytes() == kept.read_bytes():
            continue
        assert file.endswith(".dxf"), f"{maker.name} writes another {file}"
        made, kept = reading.read(made), reading.read(kept)
        assert made.texts == kept.texts and made.lines.keys() == kept.lines.keys()
        for a, b in zip(made.outlines, kept.outlines, strict=True):
            assert a.layer == b.layer and a.polygon.equals_exact(b.polygon, 1e-6), (
                f"{maker.name} writes another {a.layer}"
            )
    subprocess.run([sys.executable, REPO / "patterns/make/moulds.py", context.work], check=True)
    for file in MOULDS:
        made, kept = context.work / file, REPO / "patterns" / file
        assert made.read_bytes() == kept.read_bytes(), f"moulds.py writes another {file}"
    return ", ".join(FILES + MOULDS)


@check("net areas in plan.json", "ezdxf, svgelements and shapely")
def net_areas(context):
    """Every ply that is not stepped has the area of its pattern outline."""
    from plan_rules import plies_of_job

    parts = {part["name"]: part for part in context.demo["parts"]}
    worst = n = 0
    for ply in plies_of_job(context.demo_job):
        if ply.step:
            continue
        drawing = reading.read(REPO / "examples" / ply.part["pattern"])
        area = drawing.on_layer(ply.outline).polygon.area
        (told,) = [p for p in parts[ply.part["name"]]["plies"] if p["n"] == ply.n]
        worst = max(worst, agrees(area, told["area_mm2"], f"net area of {ply}"))
        n += 1
    return f"{n} plies, worst {worst:.2e}"
