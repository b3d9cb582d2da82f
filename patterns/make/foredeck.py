#!/usr/bin/env python3
"""Writes foredeck.dxf: a dinghy's foredeck, wider than most cloth, and the stiffener under it; millimetres.

R2000, $INSUNITS 4. The edge is one polyline with arcs; the stiffener lies beside it. Needs ezdxf.
"""

import sys
from pathlib import Path

import ezdxf
from ezdxf import units

ezdxf.options.write_fixed_meta_data_for_testing = True  # no dates, no new GUIDs


def drawing():
    doc = ezdxf.new("R2000", setup=True)
    doc.units = units.MM
    for name, colour in (("DECK", 7), ("STRIP", 5), ("ZERO", 1)):
        doc.layers.add(name, color=colour)
    msp = doc.modelspace()
    # The bow points right; bulges make the sheer a curve on both sides.
    msp.add_lwpolyline(
        [(0, -640, 0), (620, -560, 0.08), (1085, -150, 0.24), (1085, 150, 0.08), (620, 560, 0),
         (0, 640, -0.05)],
        format="xyb", close=True, dxfattribs={"layer": "DECK"},
    )
    msp.add_circle((380, 0), 62, dxfattribs={"layer": "DECK"})  # mast
    msp.add_lwpolyline(
        [(40, 760, 0), (1000, 760, 0.4142135623), (1045, 805, 0.4142135623), (1000, 850, 0), (40, 850, 0)],
        format="xyb", close=True, dxfattribs={"layer": "STRIP"},
    )
    msp.add_line((100, 700), (900, 700), dxfattribs={"layer": "ZERO"})
    return doc


if __name__ == "__main__":
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent.parent
    drawing().saveas(folder / "foredeck.dxf")
