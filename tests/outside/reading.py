"""Pattern and cut files read without warpwise: ezdxf for DXF, svgelements for SVG path data.

Everything comes out in millimetres, x right, y up. Curves become chords whose sagitta is far below
the tolerances of the checks: points lie on the curve, so areas and boxes are true.
"""

import re
import xml.etree.ElementTree as ElementTree
from dataclasses import dataclass, field
from math import hypot

import ezdxf
import numpy as np
import svgelements
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

SAGITTA_MM = 1e-4
JOIN_MM = 0.02
CURVE_POINTS = 3000

# Autodesk DXF reference, $INSUNITS.
INSUNITS_MM = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0}

SVG = "{http://www.w3.org/2000/svg}"
INKSCAPE = "{http://www.inkscape.org/namespaces/inkscape}"


@dataclass
class Outline:
    """A closed outline with openings."""

    layer: str
    polygon: Polygon

    @property
    def perimeter(self):
        return self.polygon.exterior.length

    @property
    def bbox(self):
        return self.polygon.bounds


@dataclass
class Drawing:
    """What a pattern file holds."""

    outlines: list = field(default_factory=list)
    lines: dict = field(default_factory=dict)  # layer -> list of open lines
    texts: list = field(default_factory=list)  # (text, x, y)

    def on_layer(self, layer):
        found = [o for o in self.outlines if o.layer == layer]
        assert len(found) == 1, f"{len(found)} outlines on layer {layer}"
        return found[0]

    def direction(self, layer):
        """Direction of the only open line on `layer`, degrees."""
        (line,) = self.lines[layer]
        (x0, y0), (x1, y1) = line[0], line[-1]
        return float(np.degrees(np.arctan2(y1 - y0, x1 - x0)))


def read(path):
    return read_dxf(path) if str(path).endswith(".dxf") else read_svg(path)


# ---- DXF


def read_dxf(path):
    document = ezdxf.readfile(path)
    scale = INSUNITS_MM[document.header["$INSUNITS"]]
    drawing = Drawing()
    by_layer = {}
    for entity, layer in flat_entities(document.modelspace()):
        kind = entity.dxftype()
        if kind in ("TEXT", "MTEXT"):
            at = entity.dxf.insert
            text = entity.dxf.text if kind == "TEXT" else entity.text
            drawing.texts.append((text, at.x * scale, at.y * scale))
            continue
        for line in curves(entity, SAGITTA_MM / scale):
            by_layer.setdefault(layer, []).append(np.array(line) * scale)
    for layer, lines in by_layer.items():
        rings, loose = chain(lines)
        if loose:
            drawing.lines[layer] = loose
        drawing.outlines += nest(layer, rings)
    return drawing


def flat_entities(container, layer=None):
    """Entities with blocks resolved; layer 0 inside a block is the layer of its insertion."""
    for entity in container:
        own = entity.dxf.layer
        if layer is not None and own == "0":
            own = layer
        if entity.dxftype() == "INSERT":
            yield from flat_entities(entity.virtual_entities(), own)
        else:
            yield entity, own


def curves(entity, sagitta):
    """The entity as lists of points that lie on it."""
    kind = entity.dxftype()
    if kind == "LINE":
        yield [entity.dxf.start.vec2, entity.dxf.end.vec2]
    elif kind in ("ARC", "CIRCLE", "ELLIPSE", "SPLINE"):
        # The entities' own flattening: ezdxf's path tools turn arcs into cubic curves first,
        # which would be 0.02 mm off here.
        yield [p.vec2 for p in entity.flattening(sagitta)]
    elif kind in ("LWPOLYLINE", "POLYLINE"):
        points = []
        for part in entity.virtual_entities():
            (piece,) = curves(part, sagitta)
            # An arc of a clockwise bulge is stored counter-clockwise.
            if points and points[-1].distance(piece[0]) > points[-1].distance(piece[-1]):
                piece = piece[::-1]
            elif not points and kind == "LWPOLYLINE":
                first = ezdxf.math.Vec2(entity[0][:2])
                if first.distance(piece[0]) > first.distance(piece[-1]):
                    piece = piece[::-1]
            points += piece if not points else piece[1:]
        yield points
    else:
        raise AssertionError(f"unexpected entity {kind}")


def chain(lines):
    """Closed rings and what stays open, by joining ends that meet."""
    rings, todo, loose = [], [], []
    for line in lines:
        (rings if gap(line[0], line[-1]) < JOIN_MM and len(line) > 3 else todo).append(line)
    while todo:
        line = todo.pop(0)
        while gap(line[0], line[-1]) >= JOIN_MM:
            for i, other in enumerate(todo):
                if gap(line[-1], other[0]) < JOIN_MM:
                    line = np.vstack([line, other[1:]])
                elif gap(line[-1], other[-1]) < JOIN_MM:
                    line = np.vstack([line, other[::-1][1:]])
                else:
                    continue
                todo.pop(i)
                break
            else:
                break
        (rings if gap(line[0], line[-1]) < JOIN_MM else loose).append(line)
    return rings, loose


def gap(a, b):
    return hypot(a[0] - b[0], a[1] - b[1])


def closed(ring):
    """The ring without a last point that misses the first by the rounding of the file."""
    ring = ring[:-1]
    return ring[:-1] if gap(ring[0], ring[-1]) < 1e-4 else ring


def nest(layer, rings):
    """Outlines with their openings: a ring within an odd number of others is an opening."""
    polygons = sorted((Polygon(closed(r)) for r in rings), key=lambda p: -p.area)
    outlines = []
    for polygon in polygons:
        assert polygon.is_valid, f"a ring on {layer} crosses itself"
        around = [o for o in outlines if o[0].contains(polygon)]
        if around:
            around[-1][1].append(polygon)
        else:
            outlines.append((polygon, []))
    return [
        Outline(layer, orient(Polygon(outer.exterior, [h.exterior for h in holes])))
        for outer, holes in outlines
    ]


# ---- SVG


def svg_frame(root):
    """mm per user unit, and height in mm; width and height must agree."""
    to_mm = {"mm": 1.0, "cm": 10.0, "in": 25.4}
    sizes = []
    for key in ("width", "height"):
        number, unit = re.fullmatch(r"([0-9.]+)(mm|cm|in)", root.get(key)).groups()
        sizes.append(float(number) * to_mm[unit])
    x0, y0, wide, high = map(float, re.split(r"[ ,]+", root.get("viewBox").strip()))
    assert x0 == 0 and y0 == 0
    assert abs(sizes[0] / wide - sizes[1] / high) < 1e-6, "scale differs in x and y"
    return sizes[0] / wide, sizes[1]


def path_rings(data, matrix=None):
    """Each sub-path as (points, closed) in user units."""
    path = svgelements.Path(data)
    if matrix is not None:
        path = path * matrix
        path.reify()
    rings, points, is_closed = [], [], False
    for segment in path:
        if isinstance(segment, svgelements.Move):
            if len(points) > 1:
                rings.append((np.array(points), is_closed))
            points, is_closed = [[segment.end.x, segment.end.y]], False
        elif isinstance(segment, svgelements.Close):
            is_closed = True
            points.append([segment.end.x, segment.end.y])
        elif isinstance(segment, svgelements.Line):
            points.append([segment.end.x, segment.end.y])
        else:
            sampled = segment.npoint(np.linspace(0, 1, CURVE_POINTS))
            points += [list(map(float, p)) for p in sampled[1:]]
    if len(points) > 1:
        rings.append((np.array(points), is_closed))
    return rings


def read_svg(path):
    root = ElementTree.parse(path).getroot()
    scale, height = svg_frame(root)
    drawing = Drawing()
    by_layer = {}

    def up(points):
        return np.column_stack([points[:, 0] * scale, height - points[:, 1] * scale])

    def walk(element, layer, matrix):
        if element.get("transform"):
            matrix = svgelements.Matrix(element.get("transform")) * matrix
        if element.get(INKSCAPE + "groupmode") == "layer":
            layer = element.get(INKSCAPE + "label")
        if element.tag == SVG + "path":
            for points, is_closed in path_rings(element.get("d"), matrix):
                kind = by_layer if is_closed else drawing.lines
                kind.setdefault(layer, []).append(up(points))
        elif element.tag == SVG + "text":
            at = matrix.point_in_matrix_space((float(element.get("x")), float(element.get("y"))))
            drawing.texts.append(("".join(element.itertext()), at.x * scale, height - at.y * scale))
        for child in element:
            walk(child, layer, matrix)

    walk(root, "", svgelements.Matrix())
    for layer, rings in by_layer.items():
        drawing.outlines += nest(layer, rings)
    return drawing
