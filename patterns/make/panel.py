#!/usr/bin/env python3
"""Writes panel.dxf for the guide: the instrument panel of a small boat, in millimetres.

R2000, $INSUNITS 4. The edge and the openings are polylines with arcs and circles on one layer; the
reinforcement behind the throttle lies where it belongs, on a layer of its own. Needs ezdxf.
"""

import sys
from math import tan, pi
from pathlib import Path

import ezdxf
from ezdxf import units

ezdxf.options.write_fixed_meta_data_for_testing = True  # no dates, no new GUIDs

QUARTER = round(tan(pi / 8), 9)  # bulge of a quarter circle


def rounded(x0, y0, x1, y1, r):
    """A rectangle with round corners as points with bulges, counter-clockwise."""
    return [
        (x0 + r, y0, 0), (x1 - r, y0, QUARTER), (x1, y0 + r, 0), (x1, y1 - r, QUARTER),
        (x1 - r, y1, 0), (x0 + r, y1, QUARTER), (x0, y1 - r, 0), (x0, y0 + r, QUARTER),
    ]


def drawing():
    doc = ezdxf.new("R2000", setup=True)
    doc.units = units.MM
    for name, colour in (("PANEL", 7), ("DOUBLER", 5), ("ZERO", 1)):
        doc.layers.add(name, color=colour)
    msp = doc.modelspace()
    on = {"layer": "PANEL"}
    # Narrower at the bottom, where it meets the dashboard's knee.
    msp.add_lwpolyline(
        [(40, 0, 0), (600, 0, QUARTER), (640, 40, 0), (680, 320, 0.38), (640, 360, 0),
         (0, 360, 0.38), (-40, 320, 0), (0, 40, QUARTER)],
        format="xyb", close=True, dxfattribs=on,
    )
    for x in (130, 290):
        msp.add_circle((x, 235), 55, dxfattribs=on)  # instruments
    msp.add_lwpolyline(rounded(400, 90, 590, 270, 20), format="xyb", close=True, dxfattribs=on)
    for x, y in ((15, 330), (320, 340), (625, 330), (45, 25), (595, 25)):
        msp.add_circle((x, y), 2.5, dxfattribs=on)  # screws
    msp.add_lwpolyline(
        rounded(60, 40, 340, 150, 25), format="xyb", close=True, dxfattribs={"layer": "DOUBLER"}
    )
    msp.add_line((100, -40), (300, -40), dxfattribs={"layer": "ZERO"})
    return doc


if __name__ == "__main__":
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else (
        Path(__file__).resolve().parents[2] / "examples" / "guide"
    )
    drawing().saveas(folder / "panel.dxf")
