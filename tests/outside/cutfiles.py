"""The written cut files, read back by independent readers."""

import xml.etree.ElementTree as ElementTree

import ezdxf
import numpy as np
import reading
from harness import check
from plan_rules import ring_polygon
from shapely.geometry import Point, Polygon
from shapely.strtree import STRtree

SAME_MM = 0.01
LAYERS = {"CUT", "NET", "FIBRE", "LABEL", "CLOTH"}
# Only where there is something of that kind.
PERHAPS = {"NOTCH", "FLAW", "FRAME", "KEEP"}


def files(context, extension):
    """Each layout of plan.json with its cut file."""
    found = sorted((context.demo_out / "cut").glob(f"*.{extension}"))
    layouts = context.demo["layouts"]
    assert [f.stem for f in found] == sorted(w["roll"] for w in layouts), [f.name for f in found]
    by_stem = {f.stem: f for f in found}
    return [(layout, by_stem[layout["roll"]]) for layout in layouts]


def plan_rings(layout, line):
    for piece in layout["pieces"]:
        yield piece["id"], np.array(piece[line]["outer"])
        for opening in piece[line]["openings"]:
            yield piece["id"], np.array(opening)


def same_ring(a, b):
    """Largest distance of the vertices of two rings of equal length, or infinity."""
    if len(a) != len(b):
        return np.inf
    best = np.inf
    for ring in (b, b[::-1]):
        start = int(np.argmin(np.hypot(*(ring - a[0]).T)))
        best = min(best, float(np.hypot(*(np.roll(ring, -start, axis=0) - a).T).max()))
    return best


def match(expected, found, what):
    """Every expected ring is found once, and nothing else is.

    Returns the worst distance and the found rings in the order of the expected ones.
    """
    left, worst, ordered = list(found), 0.0, []
    for name, ring in expected:
        offs = [same_ring(ring, other) for other in left]
        assert offs and min(offs) <= SAME_MM, f"{what}: no ring like one of {name}"
        best = int(np.argmin(offs))
        worst = max(worst, offs[best])
        ordered.append(left.pop(best))
    assert not left, f"{what}: {len(left)} rings that plan.json does not have"
    return worst, ordered


def dxf_rings(document, layer):
    for entity in document.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]'):
        assert entity.closed, f"an open polyline on {layer}"
        assert not entity.has_arc
        yield np.array([p[:2] for p in entity.get_points("xy")])


def shapes_in(layout, document):
    """The pieces of `layout` as the DXF has them, with their openings."""
    _, rings = match(plan_rings(layout, "cut"), dxf_rings(document, "CUT"), layout["roll"])
    rings = iter(rings)
    return [
        Polygon(next(rings), [next(rings) for _ in piece["cut"]["openings"]])
        for piece in layout["pieces"]
    ]


@check("DXF passes ezdxf's strict reader and audit", "ezdxf; Autodesk DXF reference, $INSUNITS 4")
def dxf_audit(context):
    told = []
    for layout, path in files(context, "dxf"):
        document = ezdxf.readfile(path)
        audit = document.audit()
        assert not audit.errors, [e.message for e in audit.errors]
        assert not audit.fixes, [e.message for e in audit.fixes]
        assert document.header["$INSUNITS"] == 4
        assert document.dxfversion >= "AC1015", document.dxfversion
        used = {e.dxf.layer for e in document.modelspace()}
        assert LAYERS <= used <= LAYERS | PERHAPS, used
        for layer in used:
            assert layer in document.layers, f"layer {layer} is not in the table"
        told.append(f"{path.name} {document.dxfversion}")
    return ", ".join(told)


@check("DXF lines equal plan.json", "ezdxf")
def dxf_equal(context):
    worst = 0.0
    for layout, path in files(context, "dxf"):
        document = ezdxf.readfile(path)
        for layer, line in (("CUT", "cut"), ("NET", "net")):
            rings = list(dxf_rings(document, layer))
            worst = max(worst, match(plan_rings(layout, line), rings, f"{path.name} {layer}")[0])
        x0, y0, x1, y1 = Polygon(next(dxf_rings(document, "CLOTH"))).bounds
        assert abs(y1 - y0 - layout["roll_width"]) <= SAME_MM
        assert abs(x1 - x0 - layout["used_length"]) <= SAME_MM
    return f"worst {worst:.5f} mm"


@check("DXF labels name their pieces", "ezdxf, shapely")
def dxf_labels(context):
    """Each piece's id is written within its cut line."""
    for layout, path in files(context, "dxf"):
        texts = []
        for entity in ezdxf.readfile(path).modelspace().query('TEXT MTEXT[layer=="LABEL"]'):
            at = entity.dxf.insert
            if entity.dxftype() == "TEXT" and (entity.dxf.halign or entity.dxf.valign):
                at = entity.dxf.align_point
            words = entity.dxf.text if entity.dxftype() == "TEXT" else entity.plain_text()
            texts.append((words, at.x, at.y))
        for piece in layout["pieces"]:
            outer = Polygon(piece["cut"]["outer"])
            inside = [w for w, x, y in texts if outer.covers(Point(x, y))]
            assert any(piece["id"] in w for w in inside), f"{path.name}: no label in {piece['id']}"
    return None


@check("pieces keep the gap and stay on the cloth", "shapely distance on polygons read from the DXF")
def gaps(context):
    told = []
    for layout, path in files(context, "dxf"):
        shapes = shapes_in(layout, ezdxf.readfile(path))
        tree = STRtree(shapes)
        least = np.inf
        for i, shape in enumerate(shapes):
            for j in tree.query(shape.buffer(layout["gap"] + 1)):
                if j > i:
                    distance = shape.distance(shapes[j])
                    assert distance >= layout["gap"] - SAME_MM, (
                        f"{layout['pieces'][i]['id']} and {layout['pieces'][j]['id']}: "
                        f"{distance:.3f} mm apart, the gap is {layout['gap']}"
                    )
                    least = min(least, distance)
        low, high = layout["usable_y"]
        for piece, shape in zip(layout["pieces"], shapes):
            x0, y0, x1, y1 = shape.bounds
            assert y0 >= low - SAME_MM and y1 <= high + SAME_MM, f"{piece['id']} on the selvedge"
            margin = layout["end_margin"]
            assert x0 >= margin - SAME_MM, f"{piece['id']} in the end margin"
            assert x1 <= layout["used_length"] - margin + SAME_MM, f"{piece['id']} past the end"
        told.append(f"{layout['cloth']} least {least:.3f} of {layout['gap']:g} mm")
    return ", ".join(told)


@check("SVG lines equal plan.json", "own XML walk, svgelements; SVG 1.1 section 7.7")
def svg_equal(context):
    worst = 0.0
    for layout, path in files(context, "svg"):
        root = ElementTree.parse(path).getroot()
        scale, height = reading.svg_frame(root)
        assert abs(height - layout["roll_width"]) <= SAME_MM
        layers = {g.get("id"): g for g in root.findall(reading.SVG + "g")}
        assert LAYERS <= layers.keys(), layers.keys()
        for layer, line in (("CUT", "cut"), ("NET", "net")):
            assert layers[layer].get("transform") is None
            rings = []
            for element in layers[layer].iter(reading.SVG + "path"):
                assert element.get("transform") is None
                for points, is_closed in reading.path_rings(element.get("d")):
                    assert is_closed
                    points = points[:-1]
                    rings.append(
                        np.column_stack([points[:, 0] * scale, height - points[:, 1] * scale])
                    )
            worst = max(worst, match(plan_rings(layout, line), rings, f"{path.name} {layer}")[0])
        groups = {g.get("id") for g in layers["CUT"].findall(reading.SVG + "g")}
        assert groups == {p["id"] for p in layout["pieces"]}, "a piece without its group"
    return f"worst {worst:.5f} mm"


@check("pieces.csv lists the same pieces", "Python csv, shapely")
def csv_rows(context):
    import csv

    with open(context.demo_out / "pieces.csv", encoding="utf-8", newline="") as file:
        rows = {row["id"]: row for row in csv.DictReader(file)}
    n = 0
    for layout in context.demo["layouts"]:
        for piece in layout["pieces"]:
            row = rows[piece["id"]]
            assert row["cloth"] == layout["cloth"]
            assert abs(float(row["cut_area_mm2"]) - ring_polygon(piece["cut"]).area) < 1
            n += 1
    assert n == len(rows)
    return f"{n} rows"
