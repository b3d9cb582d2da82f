"""Divided plies from plan.json alone: pieces carried back to the part with shapely.

Every piece is turned back by its stated turn and shifted so that the pieces of a ply fit each other
again along their joints. Then the ply must be there, whole, with laps as wide as the job says.
"""

from math import cos, hypot, radians, sin

from harness import check
from jobs import job, svg
from shapely import affinity
from shapely.geometry import LineString, Polygon, box
from shapely.ops import unary_union

SAME_MM = 0.02
AREA_MM2 = 1.0

PLATE = [(0, 0), (1500, 0), (1500, 1200), (0, 1200)]
# Concave, slanted, with an opening.
HULL = [(0, 0), (2400, 0), (2700, 900), (2500, 1700), (1500, 1900), (1200, 1300), (700, 1900), (0, 1600)]
WINDOW = [(1500, 500), (1900, 500), (1900, 800), (1500, 800)]


def back(point, piece):
    """From the roll to the part: the inverse of rotating, then mirroring about the warp."""
    x, y = point
    if piece["turned_over"]:
        y = -y
    angle = radians(-piece["turn"])
    return x * cos(angle) - y * sin(angle), x * sin(angle) + y * cos(angle)


def polygon(outline, piece):
    def ring(points):
        return [back(p, piece) for p in points]

    return Polygon(ring(outline["outer"]), [ring(o) for o in outline["openings"]])


def by_ply(plan):
    """The pieces of every ply of the first set, by letter."""
    plies = {}
    for layout in plan["layouts"]:
        for piece in layout["pieces"]:
            if piece["set"] == 1 and "splice" in piece:
                plies.setdefault((piece["part"], piece["ply"]), {})[piece["splice"]["letter"]] = piece
    return plies


def letter_of(mate):
    return mate.split("#")[0].rsplit("-", 1)[1]


def moved(shape, shift):
    return affinity.translate(shape, *shift)


def assemble(pieces, true_net):
    """Where the pieces belong on the ply: their net polygons and the shifts that bring them there.

    The first piece goes where one of its vertices is one of the ply. Where the edge of a neighbour
    comes to lie is drawn on every piece, and the neighbour has an edge with the same two ends; so
    one piece gives the next. Several places may seem right until all pieces lie.
    """
    nets = {k: polygon(p["net"], p) for k, p in pieces.items()}
    cuts = {k: list(polygon(p["cut"], p).exterior.coords)[:-1] for k, p in pieces.items()}
    lines = {
        k: [(letter_of(j["mate"]), [back(e, p) for e in j["line"]]) for j in p["splice"]["joints"]]
        for k, p in pieces.items()
    }
    corners = [c for ring in (true_net.exterior, *true_net.interiors) for c in ring.coords[:-1]]

    def near(a, b):
        return hypot(a[0] - b[0], a[1] - b[1]) < SAME_MM

    def inside(letter, shift):
        return moved(nets[letter], shift).difference(true_net).area < SAME_MM * true_net.length / 4

    def is_whole(shifts):
        placed = {k: moved(nets[k], shift) for k, shift in shifts.items()}
        whole = unary_union(list(placed.values()))
        # Where a slanted edge meets a joint, its end is known to some hundredths of a millimetre.
        if whole.symmetric_difference(true_net).area >= SAME_MM * true_net.length / 2:
            return False
        return all(
            LineString([(x + shifts[k][0], y + shifts[k][1]) for x, y in ends])
            .intersection(true_net).length < 1
            or placed[mate].exterior.distance(
                LineString([(x + shifts[k][0], y + shifts[k][1]) for x, y in ends])
                .intersection(true_net).centroid
            ) < SAME_MM
            for k in pieces
            for mate, ends in lines[k]
        )

    def go_on(shifts):
        if len(shifts) == len(pieces):
            return shifts if is_whole(shifts) else None
        for k in shifts:
            for mate, ends in lines[k]:
                if mate in shifts:
                    continue
                ends = [(x + shifts[k][0], y + shifts[k][1]) for x, y in ends]
                for v in cuts[mate]:
                    shift = (ends[0][0] - v[0], ends[0][1] - v[1])
                    met = any(near((w[0] + shift[0], w[1] + shift[1]), ends[1]) for w in cuts[mate])
                    if met and inside(mate, shift):
                        found = go_on({**shifts, mate: shift})
                        if found:
                            return found
                return None
        return None

    for first, net in nets.items():
        for c in corners:
            for ring in (net.exterior, *net.interiors):
                for v in ring.coords[:-1]:
                    shift = (c[0] - v[0], c[1] - v[1])
                    if inside(first, shift):
                        found = go_on({first: shift})
                        if found:
                            return {k: (moved(nets[k], shift), shift) for k, shift in found.items()}
    raise AssertionError("the pieces do not make the ply, however they are put together")


def assert_whole(plan, key, pieces, true_net, lap, kind):
    """The laws of a division; returns its joints on the part: a line along each, and its lap."""
    placed = assemble(pieces, true_net)
    nets = {letter: net for letter, (net, _) in placed.items()}
    twice = sum(n.area for n in nets.values()) - true_net.area
    (told,) = [
        ply
        for part in plan["parts"]
        if part["name"] == key[0]
        for ply in part["plies"]
        if ply["n"] == key[1]
    ]
    assert abs(told["area_mm2"] - true_net.area) < AREA_MM2, (key, told["area_mm2"], true_net.area)
    assert abs(told["lap_area_mm2"] - twice) < AREA_MM2, (key, told["lap_area_mm2"], twice)
    assert told["pieces"] == sorted(pieces), told
    middles = []
    for letter, piece in pieces.items():
        dx, dy = placed[letter][1]
        for joint in piece["splice"]["joints"]:
            assert joint["kind"] == kind and abs(joint["lap_mm"] - lap) < 1e-6, joint
            mate = nets[letter_of(joint["mate"])]
            line = LineString([(x + dx, y + dy) for x, y in (back(p, piece) for p in joint["line"])])
            # The line shows where the edge of the mate comes to lie on this piece.
            inside = line.intersection(true_net)
            for part in getattr(inside, "geoms", [inside]):
                if part.length > 1:
                    off = mate.exterior.distance(part.centroid)
                    assert off < SAME_MM, f"{key}-{letter}: the mate's edge is {off} mm from its line"
            shared = nets[letter].intersection(mate)
            if kind == "lap":
                assert shared.area > 0.5 * lap * inside.length, f"{key}-{letter}: no lap"
                # As wide as it should be: shrunk by half of that, nothing is left of it.
                assert shared.buffer(-lap / 2 - SAME_MM).is_empty, f"{key}-{letter}: a lap too wide"
                assert not shared.buffer(-lap / 2 + 0.5).is_empty, f"{key}-{letter}: a lap too narrow"
            else:
                assert shared.area < SAME_MM * inside.length, f"{key}-{letter}: a butt joint overlaps"
            lies = {"under": -1, "over": 1, "beside": 0}[joint["lies"]]
            first = letter < letter_of(joint["mate"])
            assert lies == (0 if kind == "butt" else -1 if first else 1), joint
            if first:
                middles.append((inside, shared if kind == "lap" else inside))
    return middles


def direction(line):
    (x0, y0), (x1, y1) = line.coords[0], line.coords[-1]
    length = hypot(x1 - x0, y1 - y0)
    return (x1 - x0) / length, (y1 - y0) / length


def plan_of(context, name, points, **more):
    path = job(context.work, name, points, **more)
    return context.plan(path, context.work / name)


@check("laps along and across the warp, by hand", "geometry: 1500 x 1200 mm from 1000 mm of width, trim 10, lap 20")
def laps_by_hand(context):
    for lines, cloth, corners in (
        ("along", 'roll_width = "1000 mm"\nturns = "half"', {"A": (0, 0, 1500, 230), "B": (0, 210, 1500, 1200)}),
        ("across", 'roll_width = "1000 mm"', {"A": (0, 0, 530, 1200), "B": (510, 0, 1500, 1200)}),
    ):
        plan = plan_of(
            context, f"lap-{lines}", PLATE, cloth=cloth,
            cutting=f'trim = "10 mm"\nsplice = "lap"\nlap = "20 mm"\nsplice_lines = "{lines}"',
        )
        ((key, pieces),) = by_ply(plan).items()
        assert_whole(plan, key, pieces, Polygon(PLATE), 20, "lap")
        for letter, expected in corners.items():
            net = polygon(pieces[letter]["net"], pieces[letter])
            x0, y0, _, _ = net.bounds
            there = moved(net, (expected[0] - x0, expected[1] - y0))
            off = there.symmetric_difference(box(*expected)).area
            assert off < AREA_MM2, (lines, letter, off)
    return "A 230, B 990 mm; A 530, B 990 mm"


@check("butt joint along the fibres, by hand", "MIL-HDBK-17-3F rules A-29 to A-32: no splice across the load, butts along it, gap at most 2 mm")
def butt_by_hand(context):
    plate = [(0, 0), (900, 0), (900, 600), (0, 600)]
    path = job(
        context.work, "butt", plate, cloth='weave = "unidirectional"\nroll_width = "500 mm"',
        cutting='trim = "10 mm"\nsplice = "butt"',
    )
    path.write_text(path.read_text(encoding="utf-8").replace('angle = "0 deg"', 'angle = "90 deg"'), encoding="utf-8")
    plan = context.plan(path, context.work / "butt")
    ((key, pieces),) = by_ply(plan).items()
    middles = assert_whole(plan, key, pieces, Polygon(plate), 0, "butt")
    for line, _ in middles:
        assert abs(direction(line)[0]) < 1e-6, "the joint does not run along the fibres (y)"
    widths = sorted(round(polygon(p["net"], p).bounds[2] - polygon(p["net"], p).bounds[0], 3) for p in pieces.values())
    assert widths == [410, 490], widths
    return f"pieces {widths} mm wide, joint along y"


@check("divided hulls are whole", "conservation of area; shapely union, intersection and buffer")
def hulls(context):
    told = []
    for name, kind, lap, cloth in (
        ("plain", "lap", 25, 'roll_width = "1270 mm"'),
        ("satin", "lap", 40, 'weave = "satin"\nroll_width = "1000 mm"'),
        ("ud", "butt", 0, 'weave = "unidirectional"\nroll_width = "610 mm"'),
        ("biax", "lap", 25, 'weave = "biaxial"\nroll_width = "1270 mm"'),
    ):
        extra = f'lap = "{lap} mm"' if lap else ""
        path = job(
            context.work, f"hull-{name}", HULL, holes=[WINDOW], cloth=cloth,
            cutting=f'trim = "15 mm"\nsplice = "{kind}"\nstagger = "30 mm"\n{extra}',
        )
        text = path.read_text(encoding="utf-8")
        more = "".join(f'[[part.ply]]\ncloth = "c"\nangle = "{a} deg"\n' for a in (45, 90, -30, 0))
        path.write_text(text + more, encoding="utf-8")
        plan = context.plan(path, context.work / f"hull-{name}")
        plies = by_ply(plan)
        assert len(plies) == 5, sorted(plies)
        true_net = Polygon(HULL, [WINDOW])
        joints = {}
        for key, pieces in plies.items():
            joints[key[1]] = assert_whole(plan, key, pieces, true_net, lap, kind)
        least = stagger(joints, 30)
        told.append(f"{name} {[len(p) for p in plies.values()]}, {least:.0f} mm apart")
    return "; ".join(told)


def stagger(joints, wanted):
    """Least clear distance of joints alongside each other with fewer than four plies between.

    MIL-HDBK-17-3F rule A-30: at least four plies between splices that coincide; A-31: nearer ones
    at least 15 mm apart.
    """
    least = float("inf")
    for n, lines in joints.items():
        for m, others in joints.items():
            if not n < m <= n + 4:
                continue
            for a, lap_a in lines:
                for b, lap_b in others:
                    (ax, ay), (bx, by) = direction(a), direction(b)
                    # Less than 30 deg between them; others cross in any case.
                    if abs(ax * by - ay * bx) < 0.499:
                        least = min(least, lap_a.distance(lap_b))
    assert least >= max(wanted, 15) - SAME_MM, f"joints {least:.2f} mm apart"
    return least


@check("keep-out areas hold no joint", "geometry: a box of the job and an area of the drawing")
def kept_out(context):
    cutting = 'trim = "10 mm"\nsplice = "lap"\nlap = "20 mm"\nsplice_lines = "along"'
    cloth = 'roll_width = "1000 mm"\nturns = "half"'
    path = job(context.work, "kept-out", PLATE, cloth=cloth, cutting=cutting)
    drawing = path.with_suffix(".svg")
    # y down: from 150 to 350 mm above the lower edge, and a box from 900 mm up.
    area = '<g id="keep-out"><path id="load" d="M 500 2650 H 700 V 2850 H 500 Z"/></g>'
    drawing.write_text(svg(PLATE).replace("</svg>", f"{area}</svg>"), encoding="utf-8")
    text = path.read_text(encoding="utf-8").replace(
        "[[part.ply]]",
        '[[part.keep_out_box]]\nx = "1 m"\ny = "900 mm"\nwidth = "200 mm"\nheight = "200 mm"\n[[part.ply]]',
    )
    path.write_text(text, encoding="utf-8")
    plan = context.plan(path, context.work / "kept-out")
    ((key, pieces),) = by_ply(plan).items()
    placed = assemble(pieces, Polygon(PLATE))
    shared = placed["A"][0].intersection(placed["B"][0])
    for area in (box(500, 150, 700, 350), box(1000, 900, 1200, 1100)):
        assert shared.intersection(area).area < 1e-6, shared.bounds
    return f"lap from y = {shared.bounds[1]:.1f} to {shared.bounds[3]:.1f} mm"


@check("least cloth", "own: the free choice takes no more cloth than either direction alone")
def least_cloth(context):
    used = {}
    for lines in ("along", "across", "either"):
        plan = plan_of(
            context, f"least-{lines}", [(0, 0), (2000, 0), (2000, 1500), (0, 1500)], cloth='roll_width = "1270 mm"',
            cutting=f'trim = "20 mm"\nsplice = "lap"\nsplice_lines = "{lines}"',
        )
        used[lines] = sum(w["used_length"] for w in plan["layouts"])
    assert used["either"] <= min(used["along"], used["across"]) + 1, used
    return ", ".join(f"{k} {v:.0f} mm" for k, v in used.items())


@check("overlap along a marked edge", "shapely: single-sided buffer of the edge joined to the common one")
def overlap(context):
    cutting = 'trim = "12 mm"\noverlap = "38 mm"'
    path = job(context.work, "overlap", HULL, cloth='roll_width = "3000 mm"', cutting=cutting)
    edge = HULL[1:4]
    data = " L ".join(f"{x},{3000 - y}" for x, y in edge)
    path.with_suffix(".svg").write_text(
        svg(HULL).replace("</svg>", f'<g id="overlap"><path d="M {data}"/></g></svg>'), encoding="utf-8"
    )
    plan = context.plan(path, context.work / "overlap")
    (piece,) = plan["layouts"][0]["pieces"]
    net, cut = polygon(piece["net"], piece), polygon(piece["cut"], piece)
    dx, dy = net.bounds[0], net.bounds[1]
    net, cut = (affinity.translate(p, -dx, -dy) for p in (net, cut))
    assert net.symmetric_difference(Polygon(HULL)).area < AREA_MM2
    # Outwards is to the right of a counter-clockwise edge.
    strip = LineString(edge).buffer(-50, single_sided=True, quad_segs=256, cap_style="flat")
    expected = Polygon(HULL).buffer(12, quad_segs=256).union(strip)
    # Shapely's own corner of a single-sided buffer is a mitre; the ply's is round.
    round_corner = LineString(edge).buffer(50, quad_segs=256, cap_style="flat").union(Polygon(HULL).buffer(12, quad_segs=256))
    expected = expected.intersection(round_corner)
    off = cut.symmetric_difference(expected).area
    assert off < 20, f"{off:.2f} mm2 off"
    return f"{off:.2f} mm2 off in {cut.area:.0f}"
