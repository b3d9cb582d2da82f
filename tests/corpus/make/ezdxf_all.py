#!/usr/bin/env python3
"""Writes ezdxf-<version>[-binary].dxf: the same shapes in every version of DXF that ezdxf writes.

    python3 ezdxf_all.py [FOLDER]        needs ezdxf

Each layer holds one outline in one way of drawing: plain and bulged polylines, loose lines and arcs,
circle, ellipse, splines, blocks (arrayed, mirrored), extrusion downwards. HATCH and MTEXT where the
version has them.
"""

import sys
from math import cos, pi, sin, tan
from pathlib import Path

import ezdxf
from ezdxf import units

ezdxf.options.write_fixed_meta_data_for_testing = True  # no dates, no new GUIDs

QUARTER = tan(pi / 8)
VERSIONS = ["R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018"]


def polyline(msp, points, layer, close=True, **more):
    """LWPOLYLINE, in R12 POLYLINE."""
    attributes = {"layer": layer, **more}
    if msp.doc.dxfversion == "AC1009":
        msp.add_polyline2d(points, format="xyb", close=close, dxfattribs=attributes)
    else:
        msp.add_lwpolyline(points, format="xyb", close=close, dxfattribs=attributes)


def rounded(x, y, w, h, r, b):
    return [
        (x + r, y, 0), (x + w - r, y, b), (x + w, y + r, 0), (x + w, y + h - r, b),
        (x + w - r, y + h, 0), (x + r, y + h, b), (x, y + h - r, 0), (x, y + r, b),
    ]


def loose(msp, layer):
    """A slot of two lines and two arcs, an opening of four lines."""
    on = {"layer": layer}
    msp.add_line((20, 0), (80, 0), dxfattribs=on)
    msp.add_arc((80, 20), 20, -90, 90, dxfattribs=on)
    msp.add_line((20, 40), (80, 40), dxfattribs=on)
    msp.add_arc((20, 20), 20, 90, 270, dxfattribs=on)
    for a, b in [((40, 15), (60, 15)), ((60, 25), (60, 15)), ((60, 25), (40, 25)), ((40, 25), (40, 15))]:
        msp.add_line(a, b, dxfattribs=on)


def draw(version):
    doc = ezdxf.new(version, setup=False)
    old = version == "R12"
    if not old:
        doc.units = units.MM
    for i, name in enumerate(
        ["LOOSE", "BULGE", "CIRCLE", "ELLIPSE", "SPLINE", "FIT", "BLOCK", "DOWN", "CURVED", "TEXTS", "Flügel"]
    ):
        doc.layers.add(name, color=i % 6 + 1)
    doc.layers.add("OFF", color=3).off()
    doc.layers.add("ICE", color=4).freeze()
    msp = doc.modelspace()
    loose(msp, "LOOSE")
    polyline(msp, rounded(0, 60, 100, 50, 8, QUARTER), "BULGE")
    msp.add_circle((150, 20), 20, dxfattribs={"layer": "CIRCLE"})
    if not old:
        msp.add_ellipse((160, 85), (40 * cos(0.4), 40 * sin(0.4)), 0.5, dxfattribs={"layer": "ELLIPSE"})
        # An open half ellipse, closed by a line.
        half = msp.add_ellipse((160, 150), (35, 10), 0.6, 0, pi, dxfattribs={"layer": "ELLIPSE"})
        msp.add_line(half.start_point, half.end_point, dxfattribs={"layer": "ELLIPSE"})
        msp.add_rational_spline(
            [(220, 0, 0), (280, 0, 0), (290, 40, 0), (250, 60, 0), (210, 40, 0), (220, 0, 0)],
            [1, 2, 1, 0.5, 1, 1], dxfattribs={"layer": "SPLINE"},
        )
        msp.add_spline(
            [(0, 130, 0), (30, 160, 0), (60, 135, 0), (90, 150, 0), (100, 130, 0)],
            dxfattribs={"layer": "FIT"},
        )
        for a, b in [((0, 130), (0, 115)), ((0, 115), (100, 115)), ((100, 115), (100, 130))]:
            msp.add_line(a, b, dxfattribs={"layer": "FIT"})
    block = doc.blocks.new("FLAG", base_point=(5, 5))
    polyline(block, [(5, 5, 0), (35, 5, 0.3), (35, 25, 0)], "0")
    msp.add_blockref("FLAG", (320, 10), dxfattribs={
        "layer": "BLOCK", "column_count": 2, "row_count": 2, "column_spacing": 50, "row_spacing": 40,
        "rotation": 15,
    })
    msp.add_blockref("FLAG", (420, 120), dxfattribs={
        "layer": "BLOCK", "xscale": -1, "yscale": 1.5, "rotation": 30,
    })
    outer = doc.blocks.new("PAIR")
    outer.add_blockref("FLAG", (0, 0))
    outer.add_blockref("FLAG", (0, 40), dxfattribs={"xscale": 0.5, "yscale": 0.5})
    msp.add_blockref("PAIR", (330, 120), dxfattribs={"layer": "BLOCK"})
    # Seen from below: object coordinates are mirrored in x.
    polyline(msp, [(-300, 80, 0.5), (-240, 80, 0), (-240, 110, 0)], "DOWN", extrusion=(0, 0, -1))
    msp.add_arc((-270, 140), 20, 0, 180, dxfattribs={"layer": "DOWN", "extrusion": (0, 0, -1)})
    msp.add_line((250, 140), (290, 140), dxfattribs={"layer": "DOWN"})
    # A polyline that a CAD program has curve-fitted: the extra vertices carry flag 1, arcs as bulges.
    fit = msp.add_polyline2d(
        [(0, 180, 0, 0, 0.2), (40, 200, 0, 0, 0.2), (80, 180, 0, 0, 0.1), (40, 170, 0, 0, 0.1)],
        format="xyseb", close=True, dxfattribs={"layer": "CURVED", "flags": 3},
    )
    fit.vertices[1].dxf.flags = 1
    # And one that it has spline-fitted: frame vertices (16) are not on the curve (8).
    frame = [(120, 180), (160, 240), (200, 180)]
    on = [(120 + t * 80 / 12, 180 + 60 * 2 * (t / 12) * (1 - t / 12)) for t in range(13)]
    bow = msp.add_polyline2d([*frame, *on], close=True, dxfattribs={"layer": "CURVED", "flags": 5})
    for i, vertex in enumerate(bow.vertices):
        vertex.dxf.flags = 16 if i < len(frame) else 8
    polyline(msp, [(220, 180, 0), (260, 180, 0), (260, 210, 0), (220, 210, 0)], "Flügel")
    msp.add_text("Rippe Ø3 %%d", height=5, dxfattribs={"layer": "TEXTS"}).set_placement((240, 195))
    polyline(msp, [(300, 180, 0), (340, 180, 0), (340, 210, 0)], "OFF")
    polyline(msp, [(300, 180, 0), (340, 180, 0), (340, 210, 0)], "ICE")
    if not old:
        msp.add_mtext("SKIN\\PQTY 2", dxfattribs={"layer": "TEXTS", "insert": (50, 100)})
        hatch = msp.add_hatch(color=2, dxfattribs={"layer": "HATCH"})
        edge = hatch.paths.add_edge_path()
        edge.add_line((380, 180), (420, 180))
        edge.add_arc((420, 195), 15, -90, 90)
        edge.add_line((420, 210), (380, 210))
        edge.add_ellipse((380, 195), (0, 15), 0.5, 0, 180)
        hatch.paths.add_polyline_path([(390, 190, 0.4), (410, 190, 0), (410, 200, 0)], is_closed=True)
        layout = doc.layout("Layout1")
        layout.add_lwpolyline([(0, 0), (10, 0), (10, 10)], close=True)
    return doc


if __name__ == "__main__":
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent.parent
    for version in VERSIONS:
        doc = draw(version)
        doc.saveas(folder / f"ezdxf-{version}.dxf")
        doc.saveas(folder / f"ezdxf-{version}-binary.dxf", fmt="bin")
