#!/usr/bin/env python3
"""Writes hatch.dxf: coaming frame and lid of a dinghy's stowage hatch, in inches.

R2010, $INSUNITS 1. The outlines are loose lines, arcs and splines in no order and running either
way, as a drawing looks after trimming and mirroring; the bolt holes are circles. Needs ezdxf.
"""

import sys
from math import cos, pi, sin
from pathlib import Path

import ezdxf
from ezdxf import units

ezdxf.options.write_fixed_meta_data_for_testing = True  # no dates, no new GUIDs


def along(degrees, length):
    turn = degrees * pi / 180
    # Rounded, so that every machine writes the same digits.
    return round(length * cos(turn), 9), round(length * sin(turn), 9)


def on_arc(centre, radius, degrees):
    dx, dy = along(degrees, radius)
    return round(centre[0] + dx, 9), round(centre[1] + dy, 9)


def camber(start, leaving, end, arriving, reach):
    """Control points of one cubic span between two points with given directions."""
    out, back = along(leaving, reach), along(arriving, reach)
    return [
        start,
        (start[0] + out[0], start[1] + out[1]),
        (end[0] - back[0], end[1] - back[1]),
        end,
    ]


def frame(msp):
    """A frame of 17 x 14 in with a cambered front edge, and an opening of 12.6 x 9.6 in."""
    on = {"layer": "FRAME"}
    # Front edge (bottom): a camber from corner arc to corner arc.
    msp.add_open_spline(
        camber(on_arc((2.5, 2.5), 2.5, 264), 354, on_arc((14.5, 2.5), 2.5, 276), 6, 4.2),
        degree=3,
        dxfattribs=on,
    )
    msp.add_arc((14.5, 2.5), 2.5, 276, 360, dxfattribs=on)
    msp.add_line((17, 11), (17, 2.5), dxfattribs=on)
    msp.add_line((3, 14), (14, 14), dxfattribs=on)
    msp.add_arc((3, 11), 3, 90, 180, dxfattribs=on)
    msp.add_line((0, 11), (0, 2.5), dxfattribs=on)
    msp.add_arc((14, 11), 3, 0, 90, dxfattribs=on)
    msp.add_arc((2.5, 2.5), 2.5, 180, 264, dxfattribs=on)
    # The opening, drawn the other way round.
    msp.add_line((2.2, 4.2), (2.2, 9.8), dxfattribs=on)
    msp.add_arc((12.8, 9.8), 2, 0, 90, dxfattribs=on)
    msp.add_line((4.2, 11.8), (12.8, 11.8), dxfattribs=on)
    msp.add_arc((4.2, 9.8), 2, 90, 180, dxfattribs=on)
    msp.add_open_spline(
        [(2.2, 4.2), (2.2, 2.9), (3.1, 2.2), (4.2, 2.1), (8.5, 1.7), (12.8, 2.1), (13.9, 2.2),
         (14.8, 2.9), (14.8, 4.2)],
        degree=3,
        knots=[0, 0, 0, 0, 1, 2, 3, 4, 5, 6, 6, 6, 6],
        dxfattribs=on,
    )
    msp.add_line((14.8, 9.8), (14.8, 4.2), dxfattribs=on)
    for x, y in ((1.1, 4), (1.1, 10), (15.9, 4), (15.9, 10), (5, 12.9), (12, 12.9), (5, 0.75),
                 (12, 0.75)):
        msp.add_circle((x, y), 0.125, dxfattribs=on)
    msp.add_text("FRAME", height=0.6, dxfattribs={"layer": "TEXT", "insert": (7.3, 12.6)})


def lid(msp, x):
    """A lid of 14 x 11.2 in with cambered sides, and a latch hole of 2.25 in."""
    on = {"layer": "LID"}
    msp.add_arc((x + 2, 2), 2, 186, 270, dxfattribs=on)
    msp.add_line((x + 12, 0), (x + 2, 0), dxfattribs=on)
    top, low = on_arc((x + 2.8, 8.4), 2.8, 174), on_arc((x + 2, 2), 2, 186)
    msp.add_open_spline(camber(top, 264, low, 276, 2.4), degree=3, dxfattribs=on)
    top, low = on_arc((x + 11.2, 8.4), 2.8, 6), on_arc((x + 12, 2), 2, 354)
    msp.add_open_spline(camber(low, 84, top, 96, 2.4), degree=3, dxfattribs=on)
    msp.add_arc((x + 12, 2), 2, 270, 354, dxfattribs=on)
    msp.add_arc((x + 2.8, 8.4), 2.8, 90, 174, dxfattribs=on)
    msp.add_line((x + 2.8, 11.2), (x + 11.2, 11.2), dxfattribs=on)
    msp.add_arc((x + 11.2, 8.4), 2.8, 6, 90, dxfattribs=on)
    msp.add_circle((x + 7, 1.75), 1.125, dxfattribs=on)
    for dx in (3, 11):
        msp.add_circle((x + dx, 10.2), 0.125, dxfattribs=on)
    msp.add_text("LID", height=0.6, dxfattribs={"layer": "TEXT", "insert": (x + 6.2, 6)})


def drawing():
    doc = ezdxf.new("R2010", setup=True)
    doc.units = units.IN
    for name, colour in (("FRAME", 7), ("LID", 5), ("ZERO", 1), ("TEXT", 3)):
        doc.layers.add(name, color=colour)
    msp = doc.modelspace()
    frame(msp)
    lid(msp, 20)
    msp.add_line((2, -3), (14, -3), dxfattribs={"layer": "ZERO"})
    return doc


if __name__ == "__main__":
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent.parent
    drawing().saveas(folder / "hatch.dxf")
