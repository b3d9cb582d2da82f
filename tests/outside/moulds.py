"""A part on a mould: physical marks carried from the mould to every paper.

On the mould there are points and directions alone: where the cloth is put down, which way its fibres run there, the edge
of the part. On a cylinder cloth does not shear, so all of it can be unrolled by hand and is known exactly; the edge has no
symmetry, so wherever its flat piece is found again it tells how that was turned and whether it was turned over. On a ball,
where cloth shears, the same mould seen in a mirror, turned in space or cut into other triangles must give the same piece.
Nothing here takes an angle, a turn or a flat outline from the program but the points of pieces and marks.
"""

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
