#!/usr/bin/env python3
"""Writes fittings.dxf: thwart knee, knee flange and mast step of a dinghy, in millimetres.

R2000, $INSUNITS 4. Outlines are closed polylines with arcs as bulges; the lightening hole is an
ellipse; the mast step is a block drawn upright on layer 0 and inserted with a turn, so that it
takes the layer of its insertion. Needs ezdxf.
"""

import sys
from math import atan2, cos, pi, sin, tan
from pathlib import Path

import ezdxf
from ezdxf import units

ezdxf.options.write_fixed_meta_data_for_testing = True  # no dates, no new GUIDs

QUARTER = tan(pi / 8)  # bulge of a quarter circle, tan(90 deg / 4)
STEP_TURN = 30  # degrees


def knee(msp):
    """A gusset with legs of 230 and 190 mm, a hollow long side and an elliptic opening."""
    on = {"layer": "KNEE"}
    outline = [
        # x, y, bulge of the edge that starts here
        (0, 12, QUARTER),
        (12, 0, 0),
        (218, 0, 0.6),
        (228, 22, -0.24),
        (24, 184, 0.6),
        (0, 176, 0),
    ]
    msp.add_lwpolyline(outline, format="xyb", close=True, dxfattribs=on)
    turn = 140 * pi / 180
    msp.add_ellipse(
        (62, 54),
        major_axis=(36 * cos(turn), 36 * sin(turn)),
        ratio=24 / 36,
        dxfattribs=on,
    )
    msp.add_text("KNEE", height=12, dxfattribs={"layer": "TEXT", "insert": (20, 100)})


def flange(msp):
    """A banana for the hollow side of the knee: 60 degrees of a ring, its ends half circles."""
    on = {"layer": "FLANGE"}
    centre, inner, outer = (445, -190), 270, 312

    def at(radius, degrees):
        turn = degrees * pi / 180
        return centre[0] + radius * cos(turn), centre[1] + radius * sin(turn)

    bow = tan(pi / 12)  # bulge of 60 degrees
    # Clockwise: along the outer edge to the right, back along the inner one.
    outline = [
        (*at(outer, 120), -bow),
        (*at(outer, 60), -1),
        (*at(inner, 60), bow),
        (*at(inner, 120), -1),
    ]
    msp.add_lwpolyline(outline, format="xyb", close=True, dxfattribs=on)
    msp.add_text("FLANGE", height=12, dxfattribs={"layer": "TEXT", "insert": (412, 94)})


def step(doc):
    """A horseshoe of 300 x 320 mm around the mast's foot, with two bolt slots."""
    block = doc.blocks.new("MAST_STEP")
    lean = atan2(10, 136)  # of the arms' inner sides
    throat = tan((pi - 2 * lean) / 4)  # tangent to both of them
    outline = [
        (0, 60, QUARTER),
        (60, 0, 0),
        (240, 0, QUARTER),
        (300, 60, 0),
        (300, 286, 1),
        (232, 286, 0),
        (222, 150, -throat),
        (78, 150, 0),
        (68, 286, 1),
        (0, 286, 0),
    ]
    block.add_lwpolyline(outline, format="xyb", close=True)
    for x in (34, 266):
        block.add_lwpolyline(
            [(x - 5, 180, 0), (x - 5, 210, -1), (x + 5, 210, 0), (x + 5, 180, -1)],
            format="xyb",
            close=True,
        )
    block.add_text("STEP", height=14, dxfattribs={"layer": "TEXT", "insert": (128, 24)})
    return block.name


def drawing():
    doc = ezdxf.new("R2000", setup=True)
    doc.units = units.MM
    for name, colour in (("KNEE", 7), ("FLANGE", 4), ("STEP", 6), ("ZERO", 1), ("TEXT", 3)):
        doc.layers.add(name, color=colour)
    msp = doc.modelspace()
    knee(msp)
    flange(msp)
    msp.add_blockref(
        step(doc), (420, 260), dxfattribs={"layer": "STEP", "rotation": STEP_TURN}
    )
    # Forward on the mast step: along its arms.
    forward = (STEP_TURN + 90) * pi / 180
    start = (760, 300)
    msp.add_line(
        start,
        (start[0] + 200 * cos(forward), start[1] + 200 * sin(forward)),
        dxfattribs={"layer": "ZERO"},
    )
    return doc


if __name__ == "__main__":
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent.parent
    drawing().saveas(folder / "fittings.dxf")
