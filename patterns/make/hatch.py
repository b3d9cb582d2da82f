#!/usr/bin/env python3
"""Writes hatch.dxf: coaming frame and lid of a dinghy's stowage hatch, in inches.

R2010, $INSUNITS 1. The outlines are loose lines, arcs and splines in no order and running either
way, as a drawing looks after trimming and mirroring; the bolt holes are circles. Needs ezdxf.
"""

import sys
from pathlib import Path

import ezdxf
from ezdxf import units

ezdxf.options.write_fixed_meta_data_for_testing = True  # no dates, no new GUIDs


def frame(msp):
    """A frame of 17 x 14 in with a bowed front edge, and an opening of 12.6 x 9.6 in."""
    on = {"layer": "FRAME"}
    # Front edge (bottom): bowed out by a spline from corner arc to corner arc.
    msp.add_open_spline(
        [(14.5, 0), (12.5, 0), (10.5, -0.55), (8.5, -0.6), (6.5, -0.55), (4.5, 0), (2.5, 0)],
        degree=3,
        dxfattribs=on,
    )
    msp.add_arc((14.5, 2.5), 2.5, 270, 360, dxfattribs=on)
    msp.add_line((17, 11), (17, 2.5), dxfattribs=on)
    msp.add_line((3, 14), (14, 14), dxfattribs=on)
    msp.add_arc((3, 11), 3, 90, 180, dxfattribs=on)
    msp.add_line((0, 11), (0, 2.5), dxfattribs=on)
    msp.add_arc((14, 11), 3, 0, 90, dxfattribs=on)
    msp.add_arc((2.5, 2.5), 2.5, 180, 270, dxfattribs=on)
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
    """A lid of 14 x 11.2 in with bowed sides, and a latch hole of 2.25 in."""
    on = {"layer": "LID"}
    msp.add_arc((x + 2, 2), 2, 180, 270, dxfattribs=on)
    msp.add_line((x + 12, 0), (x + 2, 0), dxfattribs=on)
    side = [(0, 8.4), (0, 7.4), (0.4, 6.2), (0.4, 5.2), (0.4, 4.2), (0, 3), (0, 2)]
    msp.add_open_spline([(x - out, y) for out, y in side], degree=3, dxfattribs=on)
    msp.add_open_spline([(x + 14 + out, y) for out, y in reversed(side)], degree=3, dxfattribs=on)
    msp.add_arc((x + 12, 2), 2, 270, 360, dxfattribs=on)
    msp.add_arc((x + 2.8, 8.4), 2.8, 90, 180, dxfattribs=on)
    msp.add_line((x + 2.8, 11.2), (x + 11.2, 11.2), dxfattribs=on)
    msp.add_arc((x + 11.2, 8.4), 2.8, 0, 90, dxfattribs=on)
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
