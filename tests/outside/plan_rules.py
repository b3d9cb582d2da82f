"""plan.json re-derived from the job file and the patterns, by the rules of the trade.

Directions: a ply angle is that between the warp and the part's 0 deg, counter-clockwise seen on
the mould (US Army TM 1-1500-204-23-11, citing ASTM D6507 and CMH-17). To cut such a ply from cloth
whose warp runs along +x, the outline is turned by the negative (geometry). Half a turn keeps every
fibre direction; a quarter turn needs warp and weft alike (same source).
"""

import math
import re
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import reading
from harness import REPO, check
from shapely import affinity
from shapely.geometry import Polygon, box

UNITS_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8, "yd": 914.4}  # NIST SP 811
OZ_PER_YD2 = 28.349523125 / (0.9144**2)  # g/m2, NIST SP 811

# Curves become chords within 0.005 mm of them, 0.01 mm round a corner.
SHAPE_MM = 0.02
COORDINATE_MM = 0.01
ANGLE_DEG = 0.001

# Weave -> (rotations in the plane, may be turned over, fibres in the roll frame).
WEAVES = {
    "plain": ((0, 90, 180, 270), True, (0, 90)),
    "twill": ((0, 90, 180, 270), True, (0, 90)),
    "basket": ((0, 90, 180, 270), True, (0, 90)),
    "satin": ((0, 180), False, (0, 90)),
    "unidirectional": ((0, 180), False, (0,)),
    "biaxial": ((0, 180), False, (45, -45)),
}
ROTATIONS = {"none": (0,), "half": (0, 180), "quarter": (0, 90, 180, 270)}


def length(text):
    """Millimetres of `1/2 yd`, `12.7 mm`."""
    number, unit = re.fullmatch(r"\s*(-?[0-9./]+)\s*([a-z]+)\s*", text).groups()
    top, _, bottom = number.partition("/")
    return float(top) / float(bottom or 1) * UNITS_MM[unit]


def degrees(value):
    return float(str(value).removesuffix("deg"))


@dataclass
class JobPly:
    """A ply with everything it takes from its part and the cutting settings."""

    part: dict
    n: int
    cloth: str
    angle: float
    outline: str
    step: float
    trim: float
    openings: str
    tolerance: float
    appearance: bool

    def __str__(self):
        return f"{self.part['name']}-{self.n}"


def plies_of_job(job):
    """The plies in the order of the file; only the long form, not the shorthand."""
    cutting = job.get("cutting", {})
    plies = []
    for part in job["part"]:
        n = 0
        for ply in part["ply"]:
            for _ in range(ply.get("layers", 1)):
                n += 1

                def get(key, default=None):
                    return ply.get(key, part.get(key, cutting.get(key, default)))

                plies.append(
                    JobPly(
                        part=part,
                        n=n,
                        cloth=get("cloth"),
                        angle=degrees(ply["angle"]),
                        outline=get("outline"),
                        step=length(ply.get("step", "0 mm")),
                        trim=length(get("trim", "0 mm")),
                        openings=get("openings", "cut"),
                        tolerance=degrees(get("angle_tolerance", 0)),
                        appearance=ply.get("appearance", False),
                    )
                )
    return plies


@lru_cache
def drawing(pattern):
    return reading.read(REPO / "examples" / pattern)


def zero_direction(part):
    """0 deg of the part on its drawing, from +x."""
    if "zero_line" in part:
        return drawing(part["pattern"]).direction(part["zero_line"])
    return degrees(part.get("zero_direction", 0))


def from_bag_side(ply):
    """Outline as drawn, 0 deg and ply angle, all seen from the bag side."""
    shape = drawing(ply.part["pattern"]).on_layer(ply.outline).polygon
    zero = zero_direction(ply.part)
    if ply.part.get("seen_from", "bag") == "tool":
        return affinity.scale(shape, 1, -1, origin=(0, 0)), -zero, -ply.angle
    return shape, zero, ply.angle


def net_line(ply):
    shape, _, _ = from_bag_side(ply)
    return shape.buffer(ply.step, quad_segs=128) if ply.step else shape


def cut_line(ply):
    """Net line with the openings that are cut, grown by the trim allowance with round joins."""
    net = net_line(ply)

    def is_cut(hole):
        if ply.openings == "after cure":
            return False
        # What the allowance leaves of it: no hole under 10 mm is cut into dry cloth.
        left = Polygon(hole).buffer(-ply.trim)
        least = 10.0 if ply.openings == "cut" else length(ply.openings.removeprefix("from"))
        x0, y0, x1, y1 = left.bounds if not left.is_empty else (0, 0, 0, 0)
        return not left.is_empty and min(x1 - x0, y1 - y0) >= least

    kept = Polygon(net.exterior, [h for h in net.interiors if is_cut(h)])
    return kept.buffer(ply.trim, quad_segs=128)


def ring_polygon(told):
    return Polygon(told["outer"], told["openings"])


def pieces(plan):
    for layout in plan["layouts"]:
        for piece in layout["pieces"]:
            yield layout, piece


def expected_ids(job):
    for ply in plies_of_job(job):
        sets = ply.part.get("sets", 1)
        for set_ in range(1, sets + 1):
            yield (f"{ply}#{set_}" if sets > 1 else str(ply)), ply, set_


def by_id(context):
    return {name: ply for name, ply, _ in expected_ids(context.demo_job)}


def permitted(cloth, ply):
    """Rotations from the pattern to the roll frame, and whether the ply may be turned over."""
    rotations, may_turn_over, _ = WEAVES[cloth["weave"]]
    # A quarter turn of a biaxial exchanges its layers, so the job must say that this does not matter.
    if cloth.get("layer_order") == "any":
        rotations = ROTATIONS["quarter"]
    rotations = ROTATIONS.get(cloth.get("turns"), rotations)
    may_turn_over = cloth.get("turn_over", may_turn_over)
    if ply.appearance:
        rotations, may_turn_over = (0, 180), False
    _, zero, angle = from_bag_side(ply)
    warp = angle - 45 if cloth["weave"] == "biaxial" else angle
    return [-(zero + warp) + r for r in rotations], may_turn_over


def turn_off(turn, base):
    """Smallest signed difference of two rotations."""
    return (turn - base + 180) % 360 - 180


def placed(shape, piece):
    """`shape` of the pattern under the stated turn: rotated, then mirrored about the warp."""
    turned = affinity.rotate(shape, piece["turn"], origin=(0, 0))
    if piece["turned_over"]:
        turned = affinity.scale(turned, 1, -1, origin=(0, 0))
    return turned


def laid_over(shape, target):
    """`shape` shifted so that its centre of area lies on that of `target`."""
    at, to = shape.centroid, target.centroid
    return affinity.translate(shape, to.x - at.x, to.y - at.y)


def farthest(a, b):
    """Largest distance between the boundaries of two shapes, ring by ring."""
    assert len(a.interiors) == len(b.interiors), (
        f"{len(a.interiors)} openings expected, {len(b.interiors)} found"
    )
    rings = [(a.exterior, b.exterior)]
    left = list(b.interiors)
    for ring in a.interiors:
        other = min(left, key=lambda r: r.distance(ring.centroid) + r.centroid.distance(ring.centroid))
        left.remove(other)
        rings.append((ring, other))
    return max(
        max(far(p, q), far(q, p)) for p, q in rings
    )


def far(ring, other):
    """Largest distance of the vertices and edge middles of `ring` from `other`."""
    import shapely

    points = np.array(ring.coords)
    points = np.vstack([points, (points[1:] + points[:-1]) / 2])
    shapely.prepare(other)
    return float(shapely.distance(shapely.points(points), other).max())


@check("every piece once, with its part, ply, set, cloth", "own reading of the job file")
def all_present(context):
    expected = {n: (p.part["name"], p.n, s, p.cloth) for n, p, s in expected_ids(context.demo_job)}
    found = [
        (p["id"], (p["part"], p["ply"], p["set"], layout["cloth"]))
        for layout, p in pieces(context.demo)
    ]
    assert len(found) == len(dict(found)), "an id stands twice"
    assert dict(found) == expected, set(expected.items()) ^ set(found)
    for layout in context.demo["layouts"]:
        sequence = sorted(p["sequence"] for p in layout["pieces"])
        assert sequence == list(range(1, len(sequence) + 1)), "the cutting sequence has gaps"
    return f"{len(found)} pieces"


@check("turns", "design table of weaves; TM 1-1500-204-23-11 on warp and weft interchange")
def turns_permitted(context):
    plies = by_id(context)
    over = 0
    for layout, piece in pieces(context.demo):
        ply = plies[piece["id"]]
        turns, may_turn_over = permitted(context.demo_job["cloth"][layout["cloth"]], ply)
        off = min((turn_off(piece["turn"], turn) for turn in turns), key=abs)
        assert abs(off) <= ply.tolerance + ANGLE_DEG, f"{piece['id']}: turned by {off} deg"
        assert may_turn_over or not piece["turned_over"], f"{piece['id']} is turned over"
        angle = from_bag_side(ply)[2]
        assert abs((piece["angle_design"] - angle + 90) % 180 - 90) < ANGLE_DEG, f"{piece['id']}: {piece['angle_design']}"
        over += piece["turned_over"]
    return f"{over} turned over"


@check("fibres on the part", "geometry: fibre directions carried back from roll to part")
def fibres(context):
    """The set of fibre directions on the part is the designed one, at the angle as cut."""
    plies = by_id(context)
    worst = 0.0
    for layout, piece in pieces(context.demo):
        ply = plies[piece["id"]]
        weave = context.demo_job["cloth"][layout["cloth"]]["weave"]
        directions = WEAVES[weave][2]
        _, zero, designed = from_bag_side(ply)
        # Turned over, cloth and outline are mirrored about the warp together; laid on the mould
        # the right way up, what is left is the rotation.
        on_part = [f - piece["turn"] - zero for f in directions]
        first = directions[0]
        as_cut = [piece["angle_cut"] + f - first for f in directions]
        for angle in as_cut:
            nearest = min(abs((a - angle + 90) % 180 - 90) for a in on_part)
            assert nearest < 0.01, f"{piece['id']}: fibres at {on_part}, stated {as_cut}"
            worst = max(worst, nearest)
        off = abs((piece["angle_cut"] - designed + 90) % 180 - 90)
        assert off <= ply.tolerance + ANGLE_DEG, f"{piece['id']} is {off} deg off its angle"
    return f"worst {worst:.1e} deg"


@check("net lines are the pattern's outlines", "ezdxf, svgelements and shapely")
def net_congruent(context):
    plies = by_id(context)
    worst = 0.0
    for _, piece in pieces(context.demo):
        told = ring_polygon(piece["net"])
        off = farthest(laid_over(placed(net_line(plies[piece["id"]]), piece), told), told)
        assert off <= SHAPE_MM, f"{piece['id']}: the net line is {off:.3f} mm off"
        worst = max(worst, off)
    return f"worst {worst:.4f} mm"


@check("cut lines are the net lines plus trim", "shapely buffer with round joins")
def cut_congruent(context):
    plies = by_id(context)
    worst = 0.0
    for _, piece in pieces(context.demo):
        net, cut = ring_polygon(piece["net"]), ring_polygon(piece["cut"])
        ply = plies[piece["id"]]
        expected = laid_over(placed(cut_line(ply), piece), cut)
        try:
            off = farthest(expected, cut)
        except AssertionError as fault:
            raise AssertionError(f"{piece['id']}: {fault}") from None
        assert off <= SHAPE_MM, f"{piece['id']}: the cut line is {off:.3f} mm off"
        around = net.exterior.distance(cut.exterior)
        assert abs(around - ply.trim) <= SHAPE_MM, f"{piece['id']}: trim {around:.3f} mm"
        worst = max(worst, off)
    return f"worst {worst:.4f} mm"


@check("layouts: used length, margins, utilisation", "geometry; margins from the job")
def layout_numbers(context):
    job, told = context.demo_job, []
    for layout in context.demo["layouts"]:
        cloth = job["cloth"][layout["cloth"]]
        cutting = job["cutting"]
        width = length(cloth["roll_width"])
        selvedge = length(cloth.get("selvedge", "0 mm"))
        margin = length(cloth.get("end_margin", cutting.get("end_margin", "0 mm")))
        gap = length(cloth.get("gap", cutting["gap"]))
        shapes = [ring_polygon(p["cut"]) for p in layout["pieces"]]
        boxes = np.array([s.bounds for s in shapes])
        assert abs(layout["roll_width"] - width) < COORDINATE_MM
        assert np.allclose(layout["usable_y"], [selvedge, width - selvedge], atol=COORDINATE_MM)
        assert abs(layout["gap"] - gap) < 1e-6
        assert boxes[:, 0].min() >= margin - COORDINATE_MM, "a piece in the first end margin"
        assert boxes[:, 1].min() >= selvedge - COORDINATE_MM, "a piece on the lower selvedge"
        assert boxes[:, 3].max() <= width - selvedge + COORDINATE_MM, "a piece on the upper selvedge"
        used = boxes[:, 2].max() + margin
        assert abs(layout["used_length"] - used) < COORDINATE_MM, (layout["used_length"], used)
        share = sum(s.area for s in shapes) / (width * layout["used_length"])
        assert abs(layout["utilisation"] - share) < 1e-5, (layout["utilisation"], share)
        told.append(f"{layout['cloth']} {layout['used_length']:.0f} mm {share:.1%}")
    return ", ".join(told)


@check("purchase and cost", "own arithmetic in NIST SP 811 units")
def purchase(context):
    told = []
    for bought in context.demo["purchase"]:
        cloth = context.demo_job["cloth"][bought["cloth"]]
        used = sum(
            w["used_length"] for w in context.demo["layouts"] if w["cloth"] == bought["cloth"]
        )
        spare = float(cloth.get("spare", "0 %").removesuffix("%")) / 100
        wanted = max(used * (1 + spare), length(cloth.get("least_sold", "0 mm")))
        step = length(cloth["sold_by"])
        expected = math.ceil((wanted - 0.01) / step) * step
        assert abs(bought["length_mm"] - expected) < COORDINATE_MM, (bought, expected)
        amount, per = re.fullmatch(r"([0-9.]+) USD/([a-z]+)", cloth["price"]).groups()
        cost = float(amount) * expected / UNITS_MM[per]
        assert abs(bought["cost"] - cost) <= 0.0051, (bought, cost)
        told.append(f"{bought['cloth']} {expected:.1f} mm {cost:.2f}")
    assert len(told) == len(context.demo_job["cloth"])
    return ", ".join(told)


@check("areas add up", "conservation of area: bought + stock = net + waste + kept")
def conservation(context):
    for cloth in context.demo["cloths"]:
        waste = cloth["waste"]
        kinds = sum(waste[k] for k in ("selvedge_mm2", "between_mm2", "trim_mm2", "end_mm2"))
        assert abs(kinds - waste["total_mm2"]) < 1, cloth["name"]
        came = cloth["bought_area_mm2"] + cloth["stock_area_mm2"]
        went = cloth["net_area_mm2"] + kinds + cloth["kept_area_mm2"]
        assert abs(came - went) < 1, cloth["name"]
        shapes = [
            (ring_polygon(p["cut"]).area, ring_polygon(p["net"]).area)
            for layout, p in pieces(context.demo)
            if layout["cloth"] == cloth["name"]
        ]
        cut, net = (sum(s) for s in zip(*shapes))
        assert abs(cut - cloth["cut_area_mm2"]) < 1e-5 * cut, (cut, cloth["cut_area_mm2"])
        assert abs(net - cloth["net_area_mm2"]) < 1e-5 * net, (net, cloth["net_area_mm2"])
    return f"{len(context.demo['cloths'])} cloths, to 1 mm2"


@check("cloth mass of the plies", "NIST SP 811: 5.7 oz/yd2 is 193.26 g/m2")
def ply_masses(context):
    weights = {}
    for name, cloth in context.demo_job["cloth"].items():
        value, unit = cloth["areal_weight"].split()
        weights[name] = float(value) * {"oz/yd2": OZ_PER_YD2, "g/m2": 1.0}[unit]
    for part in context.demo["parts"]:
        for ply in part["plies"]:
            mass = weights[ply["cloth"]] * ply["area_mm2"] * 1e-6
            assert abs(ply["cloth_mass_g"] - mass) < 0.002, (part["name"], ply, mass)
            assert abs(ply["areal_weight_g_m2"] - weights[ply["cloth"]]) < 0.001
    return None


@check("labels lie inside their pieces", "shapely")
def labels_inside(context):
    smallest = math.inf
    for _, piece in pieces(context.demo):
        label = piece["label"]
        x, y = label["centre"]
        wide, high = label["width"] / 2, label["height"] / 2
        area = affinity.rotate(box(x - wide, y - high, x + wide, y + high), label["angle"], (x, y))
        cut = ring_polygon(piece["cut"])
        assert cut.buffer(COORDINATE_MM).contains(area), f"{piece['id']}: label crosses the cut line"
        smallest = min(smallest, label["height"])
    return f"smallest {smallest:.1f} mm high"
