"""One direction on every paper: a line drawn along the fibres is carried from the drawing to all of them.

A part is drawn with its 0 deg as a line, and the fibres are wanted along that line turned counter-clockwise
by the angle in the job, on the drawing. From there on only points count: the outline has no symmetry, so
wherever it is found again it tells how that paper was turned and whether it was turned over, and the arrow
beside it is carried back to the drawing. Nothing here takes an angle, a turn or a sign from plan.json.

A part seen from the bag side is the mirror image of a drawing seen from the mould side; so is the other
hand of a pair (geometry).
"""

import csv
import itertools
import math
import re
import xml.etree.ElementTree as ElementTree
from dataclasses import dataclass, field

import ezdxf
import numpy as np
import reading
from harness import check
from paper import said, templates, tool
from shapely.geometry import Point, Polygon

# No symmetry, and no two corners alike.
SHAPE = np.array([(0, 0), (150, 10), (165, 60), (100, 66), (92, 48), (74, 70), (20, 95)], dtype=float)
ZERO_DEG = 20.0
ANGLES = (0, 30, 45, -60, 90)
# Weave -> more lines of the job; what lies along the cloth's first fibres, degrees from the warp.
WEAVES = {
    "plain": ("", 0.0),
    "twill": ('turns = "half"', 0.0),
    "satin": ("", 0.0),
    "unidirectional": ("turn_over = true", 0.0),
    "biaxial": ("", 45.0),
}
SAME_MM = 0.02
SAME_DEG = 0.05
# Coordinates of the layup sheet are rounded to 0.1 px, a direction is some 60 px long and drawn lying down.
LYING_DEG = 2.5
# The same, drawn flat: 35 px or longer.
FLAT_DEG = 0.4


@dataclass
class Part:
    name: str
    weave: str
    angle: float  # as written in the job
    from_tool: bool
    other_hand: bool
    points: np.ndarray = field(repr=False)  # the drawing

    @property
    def is_mirrored(self):
        """Whether the part seen from the bag side is the mirror image of the drawing."""
        return self.from_tool != self.other_hand

    def on_drawing(self, from_fibres):
        """What lies `from_fibres` counter-clockwise from the fibres, seen from the bag side: on the drawing."""
        sign = -1 if self.is_mirrored else 1
        return ZERO_DEG + self.angle + sign * from_fibres

    @property
    def warp(self):
        return self.on_drawing(-WEAVES[self.weave][1])

    def from_bag(self, on_drawing):
        """An angle on the drawing as one from 0 deg, seen from the bag side."""
        return (on_drawing - ZERO_DEG) * (-1 if self.is_mirrored else 1)


def parts():
    """Every weave, angle, side and hand; each part a little larger, so that its outline names it."""
    kinds = itertools.product(WEAVES, ANGLES, (False, True))
    for k, (weave, angle, from_tool) in enumerate(kinds):
        for other_hand in (False, True):
            scale = 1 + 0.008 * k
            name = f"P{k}{'S' if other_hand else ''}"
            yield Part(name, weave, angle, from_tool, other_hand, SHAPE * scale)


def drawing(points):
    """The outline and, from its first corner, the line along 0 deg."""
    def data(line):
        return "M " + " L ".join(f"{20 + x:.9f},{380 - y:.9f}" for x, y in line)

    end = 40 * np.array([math.cos(math.radians(ZERO_DEG)), math.sin(math.radians(ZERO_DEG))])
    start = points.mean(axis=0)
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="400mm" viewBox="0 0 400 400">'
        f'<path id="shape" d="{data(points)} Z"/><path id="axis" fill="none" d="{data([start, start + end])}"/></svg>'
    )


def job(folder):
    lines = [
        'title = "Arrows"', "[cutting]", 'trim = "0 mm"', "[output]",
        'files = ["dxf", "svg", "templates", "labels"]', 'paper = "roll 24 in"',
    ]
    for weave, (more, _) in WEAVES.items():
        lines += [f'[cloth."{weave}"]', f'weave = "{weave}"', 'areal_weight = "200 g/m2"', 'roll_width = "1270 mm"', more]
    for part in parts():
        if part.other_hand:
            continue
        (folder / f"{part.name}.svg").write_text(drawing(part.points), encoding="utf-8")
        lines += [
            "[[part]]", f'name = "{part.name}"', f'mirror = "{part.name}S"', f'pattern = "{part.name}.svg"',
            'outline = "shape"', 'zero_line = "axis"', f'cloth = "{part.weave}"',
            f'seen_from = "{"tool" if part.from_tool else "bag"}"', f'layup = "[{part.angle:g}]"',
        ]
    path = folder / "arrows.toml"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


@dataclass
class Found:
    """An outline of a part somewhere on paper: the linear map from the drawing to it."""

    part: Part
    matrix: np.ndarray
    off: float

    @property
    def is_mirrored(self):
        return np.linalg.det(self.matrix) < 0

    def on_drawing(self, along):
        x, y = np.linalg.solve(self.matrix, np.asarray(along, dtype=float))
        return math.degrees(math.atan2(y, x))


def fit(part, ring, is_affine=False):
    """The best map of the drawing onto `ring` over all first corners and both ways round."""
    best = None
    for way in (ring, ring[::-1]):
        for first in range(len(ring)):
            to = np.roll(way, -first, axis=0)
            a, b = part.points - part.points.mean(axis=0), to - to.mean(axis=0)
            if is_affine:
                matrix = np.linalg.lstsq(a, b, rcond=None)[0].T
            else:
                u, _, v = np.linalg.svd(b.T @ a)
                matrix = u @ v
            off = float(np.abs(a @ matrix.T - b).max())
            if best is None or off < best.off:
                best = Found(part, matrix, off)
    return best


def named(ring, candidates):
    """The part whose true outline `ring` is; None if it is no part's."""
    if len(ring) != len(SHAPE):
        return None
    best = min((fit(part, ring) for part in candidates), key=lambda found: found.off)
    return best if best.off < SAME_MM else None


def off(a, b, period=180):
    return abs((a - b + period / 2) % period - period / 2)


def mm(file, page, folder):
    """Strokes of a page of a PDF in its own millimetres, y up: width, colour, dashed, closed, points."""
    svg = folder / f"{file.stem}-arrows-{page}.svg"
    said(tool("pdftocairo"), "-svg", "-f", str(page), "-l", str(page), file, svg)
    for element in re.findall(r"<path[^>]*>", svg.read_text(encoding="utf-8")):
        def said_of(key):
            told = re.search(rf'{key}[:=]"?([^;"]+)', element)
            return told.group(1) if told else None

        data = re.search(r' d="([^"]*)"', element).group(1)
        if said_of("stroke-width") is None or said_of("stroke") == "none" or "C" in data:
            continue
        for line in re.split(r"(?=M)", data)[1:]:
            points = np.array([float(v) for v in re.findall(r"-?\d+\.?\d*", line)]).reshape(-1, 2)
            is_dashed = said_of("stroke-dasharray") not in (None, "none")
            is_closed = "Z" in line
            # A closed line comes back to its first point.
            points = points[:-1] if len(points) > 1 and np.allclose(points[0], points[-1], atol=1e-3) else points
            yield float(said_of("stroke-width")), said_of("stroke"), is_dashed, is_closed, points


def n_pages(file):
    return int(re.search(r"Pages: +(\d+)", said(tool("pdfinfo"), file)).group(1))


def planned(context):
    out = context.work / "arrows"
    if not out.exists():
        context.plan(job(context.work), out)
    return out


def check_found(part, arrow, where, within=SAME_DEG, has_quarter=True):
    """`arrow`, carried back to the drawing, is the warp; that of a cloth that may be turned by a quarter, or the weft."""
    period = 90 if part.weave == "plain" and has_quarter else 180
    by = off(arrow, part.warp, period)
    assert by <= within, f"{where}: the arrow of {part} is {by:.2f} deg off"
    return by


def check_cut(part, found, face_down, arrow, where):
    """A piece on the roll: its chirality, its fibres along those of the cloth, and its arrow."""
    assert found.is_mirrored == (part.is_mirrored != face_down), f"{where}: {part} lies on the wrong face"
    fibres = found.matrix @ [math.cos(math.radians(part.on_drawing(0))), math.sin(math.radians(part.on_drawing(0)))]
    lies = math.degrees(math.atan2(fibres[1], fibres[0]))
    # The warp runs along x; face down, what is seen from above is the mirror image.
    wanted = WEAVES[part.weave][1] * (-1 if face_down else 1)
    by = off(lies, wanted, 90 if part.weave == "plain" else 180)
    assert by <= SAME_DEG, f"{where}: the fibres of {part} lie at {lies:.2f} deg on the roll"
    return max(by, check_found(part, found.on_drawing(arrow), where))


@check("DXF: fibres and arrow lie as drawn", "a line on the drawing carried by its outline; ezdxf")
def in_dxf(context):
    out, told, worst = planned(context), [], 0.0
    for path in sorted((out / "cut").glob("*.dxf")):
        space = ezdxf.readfile(path).modelspace()
        candidates = [p for p in parts() if p.weave == path.stem]
        shafts = [(np.array(e.dxf.start)[:2], np.array(e.dxf.end)[:2]) for e in space.query('LINE[layer=="FIBRE"]')]
        texts = []
        for e in space.query('TEXT[layer=="LABEL"]'):
            at = e.dxf.align_point if e.dxf.halign or e.dxf.valign else e.dxf.insert
            texts.append((e.dxf.text, Point(at.x, at.y)))
        for e in space.query('LWPOLYLINE[layer=="CUT"]'):
            ring = np.array([p[:2] for p in e.get_points("xy")])
            found, area = named(ring, candidates), Polygon(ring)
            assert found, f"{path.name}: no part has this outline"
            words = " ".join(w for w, at in texts if area.contains(at))
            part = next(p for p in candidates if re.search(rf"\b{p.name}-1\b", words))
            found = fit(part, ring)
            assert found.off < SAME_MM
            # The shaft is the level line; the other is the tick of 0 deg.
            inside = [b - a for a, b in shafts if area.contains(Point((a + b) / 2)) and abs(a[1] - b[1]) < 1e-6]
            assert inside, f"{path.name}: no arrow in {part.name}"
            face_down = "face down" in words
            worst = max(worst, check_cut(part, found, face_down, inside[0], path.name))
            told.append(face_down)
    assert len(told) == len(list(parts()))
    assert any(told), "no piece lies face down"
    return f"{len(told)} pieces, {sum(told)} face down, worst {worst:.3f} deg"


@check("SVG: fibres and arrow lie as drawn", "a line on the drawing carried by its outline; own XML walk")
def in_svg(context):
    out, n, worst = planned(context), 0, 0.0
    by_name = {p.name: p for p in parts()}
    for path in sorted((out / "cut").glob("*.svg")):
        root = ElementTree.parse(path).getroot()
        layers = {g.get("id"): g for g in root.findall(reading.SVG + "g")}
        arrows = {g.get("data-piece") or g.get("id"): g for g in layers["FIBRE"].findall(reading.SVG + "g")}
        labels = {g.get("data-piece") or g.get("id"): g for g in layers["LABEL"].findall(reading.SVG + "g")}
        for group in layers["CUT"].findall(reading.SVG + "g"):
            piece = group.get("data-piece") or group.get("id")
            ring = next(p for e in group.iter(reading.SVG + "path") for p, _ in reading.path_rings(e.get("d")))
            # y runs down in the file.
            ring = ring[: len(SHAPE)] * [1, -1]
            part = by_name[piece.removesuffix("-1")]
            found = fit(part, ring)
            assert found.off < SAME_MM, f"{path.name}: {piece} has not its outline"
            lines = [[float(e.get(k)) for k in ("x1", "y1", "x2", "y2")] for e in arrows[piece].iter(reading.SVG + "line")]
            level = [(x2 - x1, y1 - y2) for x1, y1, x2, y2 in lines if abs(y1 - y2) < 1e-6]
            face_down = "face down" in " ".join(labels[piece].itertext())
            worst = max(worst, check_cut(part, found, face_down, level[0], path.name))
            n += 1
    assert n == len(by_name)
    return f"{n} pieces, worst {worst:.3f} deg"


# Coordinates of the report are rounded to 0.1 mm, and a side of the outline is some 100 mm long.
REPORT_MM, REPORT_DEG = 0.15, 0.15


@check("report: the hatch lies as the fibres lie on the roll", "a line on the drawing carried by its outline; own regex walk")
def in_rolls(context):
    page, by_name, worst = (planned(context) / "report.html").read_text(encoding="utf-8"), {p.name: p for p in parts()}, 0.0
    n_marked = 0
    # y runs down in the file.
    patterns = {
        name: -float(turn)
        for name, turn in re.findall(r'<pattern id="(hatch-[^"]*)"[^>]*rotate\(([^)]*)\)', page)
    }
    for piece, drawn in re.findall(r'<g class="piece[^"]*" data-piece="([^"]*)">(.*?)</g>', page, re.S):
        part = by_name.pop(piece.removesuffix("-1"))

        def points(look):
            data = re.search(rf'<path class="{look}[^"]*" d="([^"]*)"', drawn).group(1)
            return np.array([float(v) for v in re.findall(r"-?\d+\.?\d*", data)]).reshape(-1, 2) * [1, -1]

        found = fit(part, points("cut")[: len(SHAPE)])
        assert found.off < REPORT_MM, f"{piece} has not its outline"
        # Where there is room for no more than the number, that is all that is written.
        is_marked = '<path class="arrow' in drawn
        n_marked += is_marked
        if is_marked:
            arrow = np.diff(points("arrow")[:2], axis=0)[0]
            from_arrow = math.degrees(math.atan2(arrow[1], arrow[0]))
        directions = [patterns[name] for name in re.findall(r"url\(#(hatch-[^)]*)\)", drawn)]
        axes = (0, 90) if part.weave == "biaxial" else (0,)
        assert len(directions) == len(axes), f"{piece} is hatched in {directions}"
        for direction in directions:
            radians = math.radians(direction)
            seen = found.on_drawing((math.cos(radians), math.sin(radians)))
            # A plain weave may be turned by a quarter: then its warp lies where its weft was drawn.
            period = 90 if part.weave == "plain" else 180
            by = min(off(seen, part.on_drawing(axis), period) for axis in axes)
            assert by <= REPORT_DEG, f"the hatch of {part} is {by:.2f} deg off its fibres"
            if is_marked:
                beside = min(off(direction, from_arrow + sign * WEAVES[part.weave][1]) for sign in (1, -1))
                assert beside <= REPORT_DEG, f"the hatch of {part} is {beside:.2f} deg off its arrow"
            worst = max(worst, by)
        # Two layers, two directions.
        assert len({round(d % 180) for d in directions}) == len(axes)
    assert not by_name, f"{sorted(by_name)} are not drawn"
    assert n_marked >= 0.95 * len(list(parts())), f"only {n_marked} pieces have an arrow"
    return f"{len(list(parts()))} pieces, {n_marked} with an arrow, worst {worst:.3f} deg"


@check("templates: the arrow lies as drawn", "a line on the drawing carried by its outline; pdftocairo")
def in_templates(context):
    file, worst = templates(planned(context)), 0.0
    left = {p.name: p for p in parts()}
    for page in range(1, n_pages(file) + 1):
        strokes = list(mm(file, page, context.work))
        lines = [(c, p[1] - p[0], Point(p.mean(axis=0))) for w, c, dashed, closed, p in strokes
                 if abs(w - 0.3) < 1e-3 and not dashed and not closed and len(p) == 2]
        for width, _, _, closed, ring in strokes:
            if not closed or len(ring) != len(SHAPE) or abs(width - 0.35) > 1e-3:
                continue
            hands = [p for p in left.values() if abs(Polygon(p.points).area - Polygon(ring).area) < 0.5]
            # A template shows the piece as it lies on the mould.
            fits = [f for f in (fit(p, ring) for p in hands) if f.off < SAME_MM and f.is_mirrored == f.part.is_mirrored]
            assert len(fits) == 1, f"page {page}: {len(fits)} parts have this outline"
            found, area = fits[0], Polygon(ring)
            inside = [along for _, along, at in lines if area.contains(at)]
            assert inside, f"page {page}: no arrow in {found.part.name}"
            for along in inside:
                by = check_found(found.part, found.on_drawing(along), f"page {page}", has_quarter=False)
                worst = max(worst, by)
            del left[found.part.name]
    assert not left, f"no template of {sorted(left)}"
    return f"{len(list(parts()))} templates, worst {worst:.3f} deg"


@check("trim templates: finished parts in true size, seen from the bag side", "the drawing's outline; pdftocairo")
def in_trim(context):
    (file,) = (planned(context) / "templates").glob("trim-*.pdf")
    left, worst = {p.name: p for p in parts()}, 0.0
    for page in range(1, n_pages(file) + 1):
        for width, _, dashed, closed, ring in mm(file, page, context.work):
            if not closed or dashed or len(ring) != len(SHAPE) or abs(width - 0.35) > 1e-3:
                continue
            fits = [f for f in (fit(p, ring) for p in left.values()) if f.off < SAME_MM and f.is_mirrored == f.part.is_mirrored]
            assert fits, f"page {page}: no part has this outline"
            worst = max(worst, fits[0].off)
            del left[fits[0].part.name]
    assert not left, f"no template of {sorted(left)}"
    return f"{len(list(parts()))} parts, worst {worst:.3f} mm"


def lines_on_ply(part, ring, lines, where):
    """Of a ply that is drawn lying down: its arrow (the widest line) is the warp, its 0 deg is dashed or named."""
    found = fit(part, ring, is_affine=True)
    assert found.off < 0.02 * np.ptp(ring[:, 0]), f"{where}: {part.name} is not drawn"
    # Seen from the bag side, so the right way round.
    assert found.is_mirrored == part.is_mirrored, f"{where}: {part.name} is drawn from the wrong side"
    return {kind: [found.on_drawing(along) for along in some] for kind, some in lines.items()}


def check_ply(part, seen, where):
    assert len(seen["warp"]) == 1, f"{where}: {len(seen['warp'])} arrows on {part}"
    worst = check_found(part, seen["warp"][0], where, LYING_DEG, has_quarter=False)
    (zero,) = seen["zero"]
    assert off(zero, ZERO_DEG) <= LYING_DEG, f"{where}: 0 deg of {part} lies at {zero:.1f} on the drawing"
    if part.weave == "biaxial":
        wanted = [part.on_drawing(0), part.on_drawing(90)]
        for axis in wanted:
            assert min(off(axis, f) for f in seen["fibres"]) <= LYING_DEG, f"{where}: fibres of {part}"
        assert len(seen["fibres"]) == 2
    return worst


@check("layup sheets: arrow and fibres lie as drawn", "a line on the drawing carried by its outline; HTML")
def in_layup(context):
    out, worst, flat = planned(context), 0.0, 0.0
    for part in parts():
        page = (out / "layup" / f"{part.name}.html").read_text(encoding="utf-8")
        stack, plan = (re.search(rf'<svg class="{k}".*?</svg>', page, re.S).group(0) for k in ("stack", "plan"))

        def paths(kind, drawing=stack):
            # y runs down.
            for data in re.findall(rf'<path class="{kind}" d="([^"]*)"', drawing):
                yield np.array([float(v) for v in re.findall(r"-?\d+\.?\d*", data)]).reshape(-1, 2) * [1, -1]

        (ring,) = paths("ply")
        lines = {kind: [p[1] - p[0] for p in paths(kind)] for kind in ("warp", "zero", "fibres")}
        seen = lines_on_ply(part, ring, lines, part.name)
        worst = max(worst, check_ply(part, seen, f"{part.name}.html"))
        flat = max(flat, on_flat_plan(part, lambda kind: list(paths(kind, plan))))
        # What is named is the angle from 0 deg, seen from the bag side.
        names = re.findall(r'class="of-fibres"[^>]*>([^<]*)°<', stack)
        axes = [part.from_bag(part.on_drawing(d)) for d in (0, 90)] if part.weave == "biaxial" else []
        told = [float(name.replace("−", "-")) for name in names]
        assert len(told) == len(axes), (part, told)
        assert all(min(off(a, t) for t in told) < SAME_DEG for a in axes), (part, told)
        # The table of plies has the angle of the first fibres.
        assert told_angle(part, page) is None, told_angle(part, page)
        assert page.count("mould side") == (1 if part.from_tool else 0), f"{part}: the view of the drawing"
    return f"{len(list(parts()))} sheets, worst {worst:.2f} deg, on the flat plan {flat:.2f} deg"


def on_flat_plan(part, paths):
    """The ply drawn flat: true to shape, its hatch along the fibres, its arrow along the warp."""
    (ring,) = paths("ply")
    found = fit(part, ring, is_affine=True)
    stretch = np.linalg.svd(found.matrix)[1]
    assert stretch[0] / stretch[1] < 1.005, f"{part.name} is not drawn true to shape"
    assert found.is_mirrored == part.is_mirrored, f"{part.name} is drawn from the wrong side"
    (warp,) = paths("warp")
    worst = check_found(part, found.on_drawing(warp[1] - warp[0]), part.name, FLAT_DEG, has_quarter=False)
    axes = (0, 90) if part.weave == "biaxial" else (0,)
    # A run of lines is one path, each line two points.
    ends = [line for run in paths("hatch") for line in run.reshape(-1, 2, 2)]
    long = [b - a for a, b in ends if np.hypot(*(b - a)) > 60]
    assert long, f"{part.name} has no hatch"
    seen = {axis: 0 for axis in axes}
    for along in long:
        by = {axis: off(found.on_drawing(along), part.on_drawing(axis)) for axis in axes}
        axis = min(by, key=by.get)
        assert by[axis] <= FLAT_DEG, f"the hatch of {part} is {by[axis]:.2f} deg off its fibres"
        seen[axis] += 1
        worst = max(worst, by[axis])
    assert all(seen.values()), f"a layer of {part} has no hatch"
    return worst


def told_angle(part, page):
    """Complains if the angles in the rows of `page` are not the physical one."""
    rows = re.findall(r"<tr[^>]*>(.*?)</tr>", page, re.S)
    own = [re.sub(r"<[^>]*>", " ", row) for row in rows if f"{part.name}-1" in row]
    # Where a piece is marked out by hand, no angle is told.
    own = [row for row in own if "°" in row]
    wanted = part.from_bag(part.on_drawing(0))
    for row in own:
        angles = [float(a.replace("−", "-")) for a in re.findall(r"([−-]?[\d.]+)°", row)]
        if not angles or off(angles[0], wanted) > SAME_DEG:
            return f"{part}: {' '.join(row.split())}, not {wanted}"
    return None if own else f"{part} has no row"


@check("sheets.pdf: the arrow lies as drawn", "a line on the drawing carried by its outline; pdftocairo")
def in_sheets(context):
    file, worst, left = planned(context) / "layup" / "sheets.pdf", 0.0, {p.name: p for p in parts()}
    for page, text in enumerate(said(tool("pdftotext"), file, "-").split("\f")[:-1], 1):
        names = [n for n in re.findall(r"\bP\d+S?\b", text) if n in left]
        strokes = list(mm(file, page, context.work))
        rings = [p for _, _, _, closed, p in strokes if closed and len(p) == len(SHAPE)]
        if not names or not rings:
            continue
        part = left.pop(names[0])
        box = Polygon(rings[0]).envelope
        short = [(w, dashed, p) for w, _, dashed, closed, p in strokes if not closed and len(p) == 2]
        inside = [(w, dashed, p) for w, dashed, p in short if box.contains(Point(p.mean(axis=0)))]
        # All directions go through the middle of the ply, that of 0 deg with dashes.
        middle = next(p.mean(axis=0) for _, dashed, p in inside if dashed)
        lines = [line for line in inside if np.abs(line[2].mean(axis=0) - middle).max() < 0.1]
        most = max(w for w, dashed, _ in lines if not dashed)
        of = {
            "warp": [p[1] - p[0] for w, dashed, p in lines if w == most],
            "zero": [p[1] - p[0] for _, dashed, p in lines if dashed],
            "fibres": [p[1] - p[0] for w, dashed, p in lines if w < most and not dashed],
        }
        worst = max(worst, check_ply(part, lines_on_ply(part, rings[0], of, f"page {page}"), f"sheets.pdf, {part.name}"))
    assert not left, f"no sheet of {sorted(left)}"
    return f"{len(list(parts()))} sheets, worst {worst:.2f} deg"


@check("labels: the arrow is the warp from 0 deg", "the physical angle seen from the bag side; pdftocairo, pdftotext")
def in_labels(context):
    file, worst, left = planned(context) / "labels.pdf", 0.0, {f"{p.name}-1": p for p in parts()}
    words = ElementTree.fromstring(said(tool("pdftotext"), "-bbox", file, "-"))
    space = "{http://www.w3.org/1999/xhtml}"
    for page, told in enumerate(words.iter(f"{space}page"), 1):
        high = float(told.get("height"))
        strokes = list(mm(file, page, context.work))
        cells = [Polygon(p) for _, _, _, closed, p in strokes if closed and len(p) == 4]
        arrows = [p for w, _, dashed, closed, p in strokes if abs(w - 0.3) < 1e-3 and not dashed and not closed and len(p) == 2]
        for word in told.iter(f"{space}word"):
            part = left.get(word.text)
            if part is None:
                continue
            x, y = (float(word.get(k)) * 25.4 / 72 for k in ("xMin", "yMax"))
            (cell,) = [c for c in cells if c.contains(Point(x + 0.2, high * 25.4 / 72 - y + 0.5))]
            inside = [p for p in arrows if cell.contains(Point(p.mean(axis=0)))]
            assert len(inside) == 1, f"{word.text}: {len(inside)} arrows on its label"
            dx, dy = inside[0][1] - inside[0][0]
            by = off(math.degrees(math.atan2(dy, dx)), part.from_bag(part.warp))
            assert by <= SAME_DEG, f"the arrow on the label of {part} is {by:.2f} deg off"
            worst = max(worst, by)
            del left[word.text]
    assert not left, f"no label of {sorted(left)}"
    return f"{len(list(parts()))} labels, worst {worst:.3f} deg"


@check("tables tell the angle seen from the bag side", "the physical angle; Python csv, json, HTML")
def in_tables(context):
    import json

    out = planned(context)
    by_name = {p.name: p for p in parts()}
    wanted = {name: p.from_bag(p.on_drawing(0)) for name, p in by_name.items()}
    with open(out / "pieces.csv", encoding="utf-8", newline="") as file:
        rows = {row["id"].removesuffix("-1"): row for row in csv.DictReader(file)}
    assert rows.keys() == wanted.keys()
    plan = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    pieces = {p["part"]: p for layout in plan["layouts"] for p in layout["pieces"]}
    plies = {p["name"]: p["plies"][0] for p in plan["parts"]}
    kit = (out / "layup" / "kit-list.html").read_text(encoding="utf-8")
    for name, angle in wanted.items():
        told = {
            "pieces.csv": float(rows[name]["angle_design_deg"]),
            "plan.json, pieces": pieces[name]["angle_design"],
            "plan.json, parts": plies[name]["angle_deg"],
        }
        for where, value in told.items():
            assert off(value, angle) <= SAME_DEG, f"{where}: {by_name[name]} at {value}, not {angle}"
        period = 90 if by_name[name].weave == "plain" else 180
        for value in (float(rows[name]["angle_cut_deg"]), pieces[name]["angle_cut"]):
            assert off(value, angle, period) <= SAME_DEG, f"{by_name[name]} cut at {value}, not {angle}"
        assert told_angle(by_name[name], kit) is None, told_angle(by_name[name], kit)
    return f"{len(wanted)} parts"
