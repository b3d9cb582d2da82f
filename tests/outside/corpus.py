"""Files of general-purpose writers: outlines by `inspect` against independent readings of them."""

import json
import os
import re
import subprocess
import time

import ezdxf
import ezdxf.path
import numpy as np
import reading
import svgelements
from browser import Page, with_script
from harness import REPO, check
from shapely.geometry import Polygon

CORPUS = REPO / "tests" / "corpus"
LENGTH_MM = 0.01
RELATIVE = 2e-4
PX_MM = 25.4 / 96


def inspect(context, path, *more):
    (told,) = json.loads(context.run("inspect", "--json", path, *more).stdout)["files"]
    return told


def near(ours, theirs, what):
    off = abs(ours - theirs)
    assert off <= max(LENGTH_MM, RELATIVE * abs(ours)), (
        f"{what}: read independently {ours:.5f}, warpwise says {theirs:.5f}"
    )
    return off


def compare(polygons, told, what):
    """Every polygon is one of the outlines told, and the other way round; answers the worst."""
    outlines = list(told["outlines"])
    assert len(polygons) == len(outlines), (
        f"{what}: {len(polygons)} outlines read independently, {len(outlines)} by inspect: "
        f"{sorted(round(p.area, 1) for p in polygons)} and "
        f"{sorted(round(o['area_mm2'], 1) for o in outlines)}"
    )
    worst = 0.0
    for polygon in polygons:
        def off(outline):
            return float(np.abs(np.array(polygon.bounds) - outline["bbox_mm"]).max())

        outline = min(outlines, key=lambda o: (off(o) > 0.1, abs(o["area_mm2"] - polygon.area)))
        outlines.remove(outline)
        name = f"{what} {outline['layer']} {outline['id']}"
        assert len(polygon.interiors) == outline["openings"], name
        for ours, theirs in zip(polygon.bounds, outline["bbox_mm"]):
            near(ours, theirs, f"box of {name}")
        # A boundary that is 0.005 mm off all round makes small shapes differ by more than 0.02 %.
        allowed = max(RELATIVE * polygon.area, 0.005 * polygon.length)
        assert abs(polygon.area - outline["area_mm2"]) <= allowed, (
            f"area of {name}: read independently {polygon.area}, inspect {outline['area_mm2']}"
        )
        near(polygon.exterior.length, outline["perimeter_mm"], f"perimeter of {name}")
        worst = max(worst, abs(polygon.area - outline["area_mm2"]) / polygon.area)
    return worst


# ---- DXF


def entities(container, document, layer=None):
    """What is shown, blocks resolved; layer 0 in a block is that of its insertion."""
    for entity in container:
        own = entity.dxf.layer
        if layer is not None and own == "0":
            own = layer
        known = document.layers.get(own) if own in document.layers else None
        if known is not None and (known.is_off() or known.is_frozen()):
            continue
        if entity.dxftype() == "INSERT":
            copies = entity.multi_insert() if entity.mcount > 1 else [entity]
            for copy in copies:
                yield from entities(copy.virtual_entities(), document, own)
        else:
            yield entity, own


def fitted(entity):
    """The vertices on a fitted polyline, as an LWPOLYLINE's points."""
    on = [v for v in entity.vertices if not v.dxf.flags & 16]
    return [(v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0)) for v in on]


def polygons_of(path, hatches=False):
    document = ezdxf.readfile(path)
    scale = reading.INSUNITS_MM.get(document.header.get("$INSUNITS", 0), 1.0)
    by_layer = {}
    for entity, layer in entities(document.modelspace(), document):
        kind = entity.dxftype()
        lines = []
        if kind == "HATCH":
            if hatches:
                lines = [list(p.flattening(1e-4)) for p in ezdxf.path.from_hatch(entity)]
                lines = [[v.vec2 for v in line] for line in lines]
        elif kind == "POLYLINE" and any(v.dxf.flags & 16 for v in entity.vertices):
            spare = ezdxf.new().modelspace()
            points = fitted(entity)
            lines = reading.curves(spare.add_lwpolyline(points, format="xyb", close=True), 1e-4)
        elif kind in ("LWPOLYLINE", "POLYLINE") and entity.dxf.extrusion.z < 0:
            lines = [[v.vec2 for v in ezdxf.path.make_path(entity).flattening(1e-4)]]
        elif kind in ("LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE"):
            lines = reading.curves(entity, 1e-4 / scale)
        by_layer.setdefault(layer, []).extend(np.array(line) * scale for line in lines)
    found = []
    for layer, lines in by_layer.items():
        rings, loose = reading.chain([line for line in lines if len(line) > 1])
        assert not loose, f"{path.name} {layer}: {len(loose)} loose lines"
        found += [outline.polygon for outline in reading.nest(layer, rings)]
    return found


def dxf_files():
    return sorted(CORPUS.glob("*.dxf"))


@check("DXF of every version, ASCII and binary", "ezdxf curves and blocks, shapely areas")
def dxf(context):
    worst = 0.0
    for path in dxf_files():
        worst = max(worst, compare(polygons_of(path), inspect(context, path), path.name))
    return f"{len(dxf_files())} files, worst area {worst:.1e}"


@check("hatch boundaries where asked for", "ezdxf.path.from_hatch")
def hatches(context):
    files = [p for p in dxf_files() if "R2" in p.name]
    for path in files:
        compare(polygons_of(path, True), inspect(context, path, "--hatches"), path.name)
    return f"{len(files)} files"


@check("versions and forms of DXF agree with each other", "own: the same drawing 14 times")
def same(context):
    def key(path):
        told = inspect(context, path)
        return [
            (o["layer"], round(o["area_mm2"], 3), o["openings"], sorted(o["labels"]))
            for o in told["outlines"]
        ]

    first = key(CORPUS / "ezdxf-R2000.dxf")
    assert any("SKIN QTY 2" in label for *_, labels in first for label in labels), first
    for path in sorted(CORPUS.glob("ezdxf-R2*.dxf")):
        assert key(path) == first, path.name
    # R12 has no ellipses, splines and paragraphs, but the rest is the same.
    old = key(CORPUS / "ezdxf-R12.dxf")
    assert old == key(CORPUS / "ezdxf-R12-binary.dxf")
    without = [o[:3] for o in first if o[0] not in ("ELLIPSE", "SPLINE", "FIT")]
    assert [o[:3] for o in old] == without, (old, without)
    return f"{len(first)} outlines"


# ---- SVG


def svg_polygons(path):
    """Closed shapes by svgelements, in millimetres with y up."""
    svg = svgelements.SVG.parse(path, ppi=96)
    height = svg.height * PX_MM
    rings = []
    for element in svg.elements():
        if not isinstance(element, svgelements.Shape) or element.values.get("visibility") == "hidden":
            continue
        if "defs" in element.values.get("class", ""):
            continue
        for points, closed in reading.path_rings(svgelements.Path(element).d()):
            if closed and len(points) > 3:
                mm = np.array(points) * PX_MM
                rings.append(np.column_stack([mm[:, 0], height - mm[:, 1]]))
    return [outline.polygon for outline in reading.nest("", rings)]


def svg_files():
    return sorted(CORPUS.glob("*.svg"))


@check("SVG of drawing programs and libraries", "svgelements curves, shapely areas")
def svg(context):
    worst = 0.0
    for path in svg_files():
        worst = max(worst, compare(svg_polygons(path), inspect(context, path), path.name))
    return f"{', '.join(p.name for p in svg_files())}, worst area {worst:.1e}"


MEASURE = """
const svg = document.querySelector("svg");
const frame = svg.getBoundingClientRect();
return [...svg.querySelectorAll("path,rect,circle,ellipse,polygon")]
  .filter((e) => !e.closest("defs,clipPath,symbol"))
  .map((e) => {
    const m = e.getScreenCTM(), n = 4000, length = e.getTotalLength(), b = e.getBBox();
    let box = [Infinity, Infinity, -Infinity, -Infinity], total = 0, last = null;
    for (let i = 0; i <= n; i++) {
      const p = e.getPointAtLength(length * i / n).matrixTransform(m);
      const [x, y] = [p.x - frame.x, p.y - frame.y];
      box = [Math.min(box[0], x), Math.min(box[1], y), Math.max(box[2], x), Math.max(box[3], y)];
      if (last) total += Math.hypot(x - last[0], y - last[1]);
      last = [x, y];
    }
    const d = e.getAttribute("d") || "";
    // Points along the line miss its corners; the box does not, but it does not turn either.
    const straight = m.b === 0 && m.c === 0;
    if (straight) {
      const [x0, y0] = [b.x * m.a + m.e - frame.x, b.y * m.d + m.f - frame.y];
      box = [x0, y0, x0 + b.width * m.a, y0 + b.height * m.d];
    }
    return {box, blur: straight ? 0 : total / n, length: length * Math.sqrt(Math.abs(m.a * m.d - m.b * m.c)),
      even: Math.abs(Math.hypot(m.a, m.b) - Math.hypot(m.c, m.d)) < 1e-6,
      total, conic: e.tagName === "ellipse" || e.tagName === "circle",
      one: (d.match(/[Mm]/g) || ["M"]).length === 1, closed: !d || /[Zz]/.test(d)};
  });
"""


@check("SVG as a browser sees it", "Chromium getTotalLength, getPointAtLength, getScreenCTM")
def chromium(context):
    n = 0
    for path in svg_files():
        text = re.sub(r"^<\?xml.*?\?>|<!DOCTYPE.*?>", "", path.read_text(encoding="utf-8"), flags=re.S)
        page = context.work / f"corpus-{path.stem}.html"
        page.write_text(with_script(text, MEASURE), encoding="utf-8")
        seen = Page(context, page).result()
        told = inspect(context, path)
        height = svgelements.SVG.parse(path, ppi=96).height * PX_MM
        for shape in seen:
            if not (shape["closed"] and shape["one"]):
                continue
            x0, y0, x1, y1 = (v * PX_MM for v in shape["box"])
            box = np.array([x0, height - y1, x1, height - y0])
            match = min(told["outlines"], key=lambda o: np.abs(box - o["bbox_mm"]).max())
            off = np.abs(box - match["bbox_mm"]).max()
            assert off <= LENGTH_MM + shape["blur"] * PX_MM, (path.name, box, match)
            if shape["even"]:
                # getTotalLength is 0.2 % short for ellipses; the points it gives are on them.
                length = shape["total"] if shape["conic"] else shape["length"]
                near(length * PX_MM, match["perimeter_mm"], f"{path.name} {match['id']}")
            n += 1
    return f"{n} shapes"


# ---- Speed


def strewn(n):
    """Rounded rectangles of four LINEs and four ARCs each, strewn over the file."""
    rectangles = n // 8
    columns = int(rectangles**0.5)
    parts = ["0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n"]
    w, h, r = 20.0, 15.0, 3.0
    lines = [(r, 0, w - r, 0), (w, r, w, h - r), (w - r, h, r, h), (0, h - r, 0, r)]
    arcs = [(r, r, 180), (w - r, r, 270), (w - r, h - r, 0), (r, h - r, 90)]
    total = 8 * rectangles
    for i in range(total):
        rectangle, side = divmod(i * 7919 % total, 8)
        x, y = rectangle % columns * 30.0, rectangle // columns * 30.0
        if side < 4:
            a, b, c, d = lines[side]
            parts.append(
                f"0\nLINE\n5\n{i + 256:X}\n8\nCUT\n10\n{x + a}\n20\n{y + b}\n30\n0.0\n"
                f"11\n{x + c}\n21\n{y + d}\n31\n0.0\n"
            )
        else:
            a, b, start = arcs[side - 4]
            parts.append(
                f"0\nARC\n5\n{i + 256:X}\n8\nCUT\n10\n{x + a}\n20\n{y + b}\n30\n0.0\n40\n{r}\n"
                f"50\n{start}\n51\n{start + 90}\n"
            )
    parts.append("0\nENDSEC\n0\nEOF\n")
    return "".join(parts)


def cost(context, path):
    """Processor seconds and MiB of `inspect`."""
    process = subprocess.Popen(
        [context.binary, "inspect", "--json", path], stdout=subprocess.DEVNULL
    )
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode == 0
    return usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024


@check("100 000 entities, read and chained", "ezdxf in the same run: 10 times as long; own aim: 1.5 s")
def speed(context):
    """By processor time, which a busy machine does not stretch; the best of three."""
    path = context.work / "strewn.dxf"
    path.write_text(strewn(100_000), encoding="ascii")
    ours, memory = min(cost(context, path) for _ in range(3))
    begin = time.process_time()
    assert len(ezdxf.readfile(path).modelspace()) == 100_000
    theirs = time.process_time() - begin
    told = f"{ours:.2f} s and {memory:.0f} MiB, ezdxf {theirs:.2f} s: {theirs / ours:.1f} times"
    assert ours < 1.5 and theirs >= 10 * ours, told
    return told
