"""A part on a mould: physical marks carried from the mould to every paper.

On the mould there are points and directions alone: where the cloth is put down, which way its fibres run there, the edge
of the part. On a cylinder cloth does not shear, so all of it can be unrolled by hand and is known exactly; the edge has no
symmetry, so wherever its flat piece is found again it tells how that was turned and whether it was turned over. On a ball,
where cloth shears, the same mould seen in a mirror, turned in space or cut into other triangles must give the same piece.
Nothing here takes an angle, a turn or a flat outline from the program but the points of pieces and marks.
"""

import json
import re
import struct

import ezdxf
import numpy as np
from harness import check
from shapely.geometry import LineString, Point, Polygon

RADIUS = 150.0
# The edge of the part, unrolled: no symmetry, no two corners alike.
EDGE = np.array([(-95, -60), (70, -70), (110, -15), (40, 12), (52, 66), (-30, 80), (-70, 30)], dtype=float)
START = np.array((-8.0, 5.0))
# The part's 0 deg at the start, on the unrolled mould.
ZERO_DEG = 25.0
ANGLES = (0, 30, -45)


def turned(points, degrees):
    s, c = np.sin(np.radians(degrees)), np.cos(np.radians(degrees))
    return np.asarray(points, dtype=float) @ np.array(((c, s), (-s, c)))


def on_cylinder(unrolled):
    """Round the x axis, seen from outside with x to the right."""
    x, arc = np.asarray(unrolled, dtype=float).T
    return np.stack((x, RADIUS * np.sin(arc / RADIUS), RADIUS * np.cos(arc / RADIUS)), axis=-1)


def in_space(points):
    """Somewhere else and askew, so that no axis is the file's."""
    a, b = np.radians(33), np.radians(-21)
    rx = np.array(((1, 0, 0), (0, np.cos(a), -np.sin(a)), (0, np.sin(a), np.cos(a))))
    rz = np.array(((np.cos(b), -np.sin(b), 0), (np.sin(b), np.cos(b), 0), (0, 0, 1)))
    return points @ (rz @ rx).T + np.array((410.0, -75.0, 220.0))


def write_stl(path, corners):
    with open(path, "wb") as file:
        file.write(b" " * 80 + struct.pack("<I", len(corners)))
        for triangle in corners:
            file.write(struct.pack("<12f", 0, 0, 0, *np.asarray(triangle, dtype=np.float32).ravel()) + b"\0\0")


def grid(nx, ny, box, crossed):
    """Triangles over a box of the plane, counter-clockwise."""
    xs, ys = np.linspace(box[0], box[2], nx + 1), np.linspace(box[1], box[3], ny + 1)
    for i in range(nx):
        for j in range(ny):
            a, b, c, d = (xs[i], ys[j]), (xs[i + 1], ys[j]), (xs[i + 1], ys[j + 1]), (xs[i], ys[j + 1])
            if crossed and (i + j) % 2:
                yield from (((a, b, d)), ((b, c, d)))
            else:
                yield from (((a, b, c)), ((a, c, d)))


def inside_triangles(edge):
    """Triangles of an ear-cut polygon, small enough to follow the cylinder; its edge is the edge of the mould."""
    ring = [tuple(p) for p in edge]
    ears = []
    while len(ring) > 3:
        for k in range(len(ring)):
            a, b, c = ring[k - 1], ring[k], ring[(k + 1) % len(ring)]
            tri = Polygon((a, b, c))
            left = (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]) > 0
            if left and not any(tri.intersects(Point(p)) for p in ring if p not in (a, b, c)):
                ears.append((a, b, c))
                ring.pop(k)
                break
    ears.append(tuple(ring))
    # Every side is halved alike on both of its triangles.
    for _ in range(6):
        ears = [
            t
            for a, b, c in ears
            for ab, bc, ca in [((np.add(a, b)) / 2, (np.add(b, c)) / 2, (np.add(c, a)) / 2)]
            for t in ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))
        ]
    return ears


def job(path, mould, start, zero, layup, area=""):
    triple = lambda values, unit="": ", ".join(f'"{v:.6f}{unit}"' for v in values)
    path.write_text(
        '[cutting]\ntrim = "0 mm"\n\n[cloth.twill]\nweave = "twill"\nareal_weight = "200 g/m2"\nroll_width = "1 m"\n'
        f'turns = "half"\nturn_over = false\n\n[[part]]\nname = "COVER"\ncloth = "twill"\nlayup = "{layup}"\n'
        f'mould = "{mould}"\nunits = "mm"\n{area}[part.lay]\nstart = [{triple(start, " mm")}]\n'
        f'zero = [{triple(zero)}]\nsmooth = "straight"\nnet = "2 mm"\n',
        encoding="utf-8",
    )


def piece(plan, ply):
    for layout in plan["layouts"]:
        for found in layout["pieces"]:
            if found["id"] == f"COVER-{ply}":
                return np.array(found["net"]["outer"])
    raise AssertionError(f"there is no piece of ply {ply}")


def laid_on(own, found):
    """`own` turned by nothing or by half a turn and moved onto `found`: the map, and how far apart the rings are."""
    ways = []
    for half in (0, 180):
        shift = np.array(Polygon(found).centroid.coords[0]) - np.array(Polygon(turned(own, half)).centroid.coords[0])
        moved = turned(own, half) + shift
        ways.append((Polygon(moved).exterior.hausdorff_distance(Polygon(found).exterior), half, shift))
    off, half, shift = min(ways, key=lambda way: way[0])
    return off, lambda points: turned(points, half) + shift


def marks(cut, ring):
    """The middle of the cross, and where the notches are, of the piece inside `ring`."""
    strokes = []
    for line in ezdxf.readfile(cut).modelspace().query('LWPOLYLINE[layer=="NOTCH"]'):
        points = np.array([(x, y) for x, y, *_ in line.get_points()])
        if Polygon(ring).buffer(0.5).intersects(LineString(points)):
            strokes.append(points)
    strokes.sort(key=lambda s: -np.linalg.norm(s[1] - s[0]))
    crosses = [
        (a, b)
        for i, a in enumerate(strokes)
        for b in strokes[i + 1 :]
        if np.linalg.norm(a.mean(axis=0) - b.mean(axis=0)) < 1e-3
    ]
    assert len(crosses) == 1, f"{len(crosses)} crosses on a piece"
    middle = crosses[0][0].mean(axis=0)
    edge = Polygon(ring).exterior
    notches = [s for s in strokes if all(s is not c for c in crosses[0])]
    return middle, [min(s, key=lambda p: edge.distance(Point(p))) for s in notches]


@check("start, start lines and edge of a cylinder, unrolled by hand, on the pieces and in the cut files", "geometry")
def cylinder(context):
    corners = [in_space(on_cylinder(t)) for t in inside_triangles(EDGE)]
    write_stl(context.work / "cover.stl", corners)
    start = in_space(on_cylinder([START]))[0]
    ahead = START + turned([(0.01, 0)], ZERO_DEG)[0]
    zero = in_space(on_cylinder([ahead]))[0] - start
    layup = "[" + "/".join(map(str, ANGLES)) + "]"
    job(context.work / "cover.toml", "cover.stl", start, zero / np.linalg.norm(zero), layup)
    out = context.work / "out"
    plan = context.plan(context.work / "cover.toml", out)
    worst = {"edge": 0.0, "cross": 0.0, "notch": 0.0}
    (cut,) = (out / "cut").glob("*.dxf")
    for ply, angle in enumerate(ANGLES, 1):
        # Along the roll runs the warp; the start is the origin.
        own = turned(EDGE - START, -(ZERO_DEG + angle))
        found = piece(plan, ply)
        off, onto = laid_on(own, found)
        mirrored, _ = laid_on(own * (1, -1), found)
        assert mirrored > 5, f"ply {ply} lies as well in a mirror: the shape tells nothing"
        worst["edge"] = max(worst["edge"], off)
        middle, notches = marks(cut, found)
        worst["cross"] = max(worst["cross"], np.linalg.norm(middle - onto([(0, 0)])[0]))
        edge = Polygon(own).exterior
        leaves = []
        for along in ((400, 0), (-400, 0), (0, 400), (0, -400)):
            met = edge.intersection(LineString([(0, 0), along]))
            points = [met] if met.geom_type == "Point" else list(met.geoms)
            leaves.append(min((p.x, p.y) for p in [min(points, key=lambda p: p.distance(Point(0, 0)))]))
        assert len(notches) == 4, f"ply {ply} has {len(notches)} notches"
        for place in onto(leaves):
            worst["notch"] = max(worst["notch"], min(np.linalg.norm(place - n) for n in notches))
    drapes = plan["parts"][0]["drapes"]
    for drape in drapes:
        assert np.linalg.norm(np.array(drape["start_mm"]) - start) < 0.1, drape["start_mm"]
        assert abs(drape["flat_area_mm2"] / Polygon(EDGE).area - 1) < 5e-4
        assert drape["max_shear_deg"] < 0.2, drape["max_shear_deg"]
    assert worst["edge"] < 0.15 and worst["cross"] < 0.1 and worst["notch"] < 0.4, worst
    sheet = re.sub(r"<[^>]+>", "", (out / "layup" / "COVER.html").read_text(encoding="utf-8"))
    place = "(" + ", ".join(f"{v:.0f}" for v in start) + ") mm"
    assert place in sheet.replace("−", "-"), f"no word of the start {place} on the sheet"
    templates = list((out / "templates").glob("*.pdf"))
    return "furthest off, mm: " + ", ".join(f"{k} {v:.3f}" for k, v in worst.items()) + f"; {len(templates)} templates"


def ball(nx, crossed, box=(-100, -100, 100, 100)):
    def at(p):
        x, y = p
        return (x, y, np.sqrt(RADIUS**2 - x * x - y * y))

    return np.array([[at(p) for p in t] for t in grid(nx, nx, box, crossed)])


AREA = (
    "[part.area]\ninside = ["
    + ", ".join(f'["{x} mm", "{y} mm"]' for x, y in ((-70, -60), (80, -50), (60, 20), (20, 25), (30, 80), (-50, 60)))
    + "]\n"
)


@check("one piece from a ball, turned in space, cut into other triangles and in a mirror", "geometry")
def ball_in_all_ways(context):
    def pieces(name, corners, start, zero, layup, area):
        folder = context.work / name
        folder.mkdir()
        write_stl(folder / "ball.stl", corners)
        job(folder / "ball.toml", "ball.stl", start, zero, layup, area)
        plan = context.plan(folder / "ball.toml", folder / "out")
        return [piece(plan, ply) for ply in (1, 2)]

    start, zero = (5.0, -4.0, np.sqrt(RADIUS**2 - 41.0)), (0.8, 0.6, 0.0)
    own = pieces("own", ball(60, False), start, zero, "[0/30]", AREA)
    others = {
        "other triangles": pieces("fine", ball(83, True, (-99, -101, 102, 98)), start, zero, "[0/30]", AREA),
    }
    # A quarter turn about z, then the same edge told by turned corners.
    quarter = np.array(((0, -1, 0), (1, 0, 0), (0, 0, 1)))
    swap = lambda match: f'["{-float(match[2]):g} mm", "{float(match[1]):g} mm"]'
    area = re.sub(r'\["(-?\d+) mm", "(-?\d+) mm"\]', swap, AREA)
    others["turned"] = pieces(
        "turned", ball(60, False) @ quarter.T, quarter @ start, quarter @ zero, "[0/30]", area
    )
    mirror = np.array((-1, 1, 1))
    area = re.sub(r'\["(-?\d+) mm"', lambda match: f'["{-float(match[1]):g} mm"', AREA)
    seen = pieces(
        "mirror", (ball(60, False) * mirror)[:, ::-1], start * mirror, zero * mirror, "[0/-30]", area
    )
    # In the mirror the part's 0 deg runs on as it did, and what lay to its left lies to its right.
    others["mirror"] = [ring * (1, -1) for ring in seen]
    told = []
    for name, found in others.items():
        off = max(laid_on(a, b)[0] for a, b in zip(own, found))
        assert off < 0.1, f"{name}: {off:.3f} mm apart"
        told.append(f"{name} {off:.3f}")
    wrong = laid_on(own[1], others["mirror"][1] * (1, -1))[0]
    assert wrong > 1, "the piece is its own mirror image: it tells nothing"
    return "furthest off, mm: " + ", ".join(told)


def net_on_ball(pitch, polar):
    """Crossings (i, j) of a net of equal cells on the ball, from the pole on, a quarter of it, as far as `polar` and further.

    Two sides of a cell from one crossing are as long as the two to the opposite one, so that is its mirror image in the plane
    through the middle of the ball and the other two.
    """
    n = int(RADIUS * polar / pitch) + 12
    turn = 2 * np.arcsin(pitch / 2 / RADIUS)
    net = np.full((n, n, 3), np.nan)
    steps = turn * np.arange(n)
    net[:, 0] = RADIUS * np.stack((np.sin(steps), 0 * steps, np.cos(steps)), axis=-1)
    net[0, :] = RADIUS * np.stack((0 * steps, np.sin(steps), np.cos(steps)), axis=-1)
    for i in range(n - 1):
        for j in range(n - 1):
            mirror = np.cross(net[i + 1, j], net[i, j + 1])
            mirror /= np.linalg.norm(mirror)
            net[i + 1, j + 1] = net[i, j] - 2 * (net[i, j] @ mirror) * mirror
    return net


def flat_circle(net, pitch, polar):
    """The circle of latitude on the flat cloth: how far out in each direction, between the crossings."""
    height = np.arccos(np.clip(net[..., 2] / RADIUS, -1, 1))

    def at(x, y):
        i, j = min(int(x), len(net) - 2), min(int(y), len(net) - 2)
        s, t = x - i, y - j
        low = height[i, j] * (1 - s) + height[i + 1, j] * s
        return low * (1 - t) + (height[i, j + 1] * (1 - s) + height[i + 1, j + 1] * s) * t

    quarter = []
    for direction in np.radians(np.arange(0, 90, 0.5)):
        c, s = np.cos(direction), np.sin(direction)
        low, high = 0.0, (len(net) - 2) / max(c, s)
        # A net that has come round the ball comes back: the first crossing is meant.
        while at(high * c / 2, high * s / 2) > polar:
            high /= 2
        for _ in range(40):
            middle = (low + high) / 2
            low, high = (middle, high) if at(middle * c, middle * s) < polar else (low, middle)
        quarter.append((low * c * pitch, low * s * pitch))
    return np.concatenate([turned(quarter, degrees) for degrees in (0, 90, 180, 270)])


@check("trim and lap on a ball, and how cloth shears there, by a net of mirror images", "geometry")
def net_of_mirror_images(context):
    limit, wide = 105.0, 15.0
    corners = np.array(
        [
            [(x, y, np.sqrt(RADIUS**2 - x * x - y * y)) for x, y in t]
            for t in grid(110, 110, (-126, -126, 126, 126), False)
            if max(np.hypot(*p) for p in t) < 126
        ]
    )
    write_stl(context.work / "ball.stl", corners)
    start, zero = (0.0, 0.0, RADIUS), (1.0, 0.0, 0.0)
    pitch, polar = 1.0, np.arccos(limit / RADIUS)
    net = net_on_ball(pitch, polar + wide / RADIUS)
    rings = {"part": flat_circle(net, pitch, polar), "beyond": flat_circle(net, pitch, polar + wide / RADIUS)}
    area = f'[part.area]\nabove = {{ z = "{limit} mm" }}\n'
    told = []

    def off(found, ring):
        ring = ring - np.array(Polygon(ring).centroid.coords[0])
        found = found - np.array(Polygon(found).centroid.coords[0])
        return Polygon(found).exterior.hausdorff_distance(Polygon(ring).exterior)

    def planned(name, area, trim):
        path = context.work / f"{name}.toml"
        job(path, "ball.stl", start, zero, "[0]", area)
        path.write_text(path.read_text(encoding="utf-8").replace('"0 mm"', f'"{trim} mm"', 1), encoding="utf-8")
        plan = context.plan(path, context.work / name)
        (found,) = [p for layout in plan["layouts"] for p in layout["pieces"]]
        return plan, np.array(found["net"]["outer"]), np.array(found["cut"]["outer"])

    _, own, cut = planned("trim", area, wide)
    laps = area + f'lap = {{ z = "{wide} mm" }}\n'
    plan, lapped, _ = planned("lap", laps, 0)
    for name, found, ring in (("edge", own, "part"), ("trim", cut, "beyond"), ("lap", lapped, "beyond")):
        told.append(f"{name} {off(found, rings[ring]):.3f}")
        assert off(found, rings[ring]) < 0.2, f"{name}: {off(found, rings[ring]):.3f} mm"
    # Trim that were added flat is not this.
    flat = np.array(Polygon(own).buffer(wide, quad_segs=64).exterior.coords)
    assert off(flat, rings["beyond"]) > 1, "the ball hardly shears the cloth: trim on it tells nothing"
    on_mould = plan["parts"][0]["drapes"][0]["mould_area_mm2"]
    exact = 2 * np.pi * RADIUS**2 * (1 - np.cos(polar + wide / RADIUS))
    assert abs(on_mould / exact - 1) < 1e-3, f"{on_mould} mm² with its lap, {exact:.0f} on the ball"
    trials = json.loads(context.run("check", context.work / "trim.toml", "--json").stdout)["trials"]
    inside = np.arccos(np.clip(net[..., 2] / RADIUS, -1, 1)) <= polar
    first, second = net[1:, :-1] - net[:-1, :-1], net[:-1, 1:] - net[:-1, :-1]
    between = np.arccos(np.sum(first * second, axis=-1) / np.linalg.norm(first, axis=-1) / np.linalg.norm(second, axis=-1))
    most = np.degrees(np.max(np.abs(np.pi / 2 - between)[inside[:-1, :-1]]))
    from_pole = [t for t in trials if np.linalg.norm(np.array(t["start_mm"]) - start) < 1]
    assert len(from_pole) >= 6, f"{len(from_pole)} directions from the start"
    worst = max(abs(t["max_shear_deg"] - most) for t in from_pole)
    assert worst < 0.7, f"trials are off {most:.2f} deg by {worst:.2f}"
    elsewhere = [t["max_shear_deg"] for t in trials if t not in from_pole]
    assert min(elsewhere) > most, "a start off the pole shears less"
    return "furthest off, mm: " + ", ".join(told) + f"; trials within {worst:.2f} deg of {most:.2f}"
