"""Cloth that will be seen, and several parts in one bag.

A line is marked on the cloth as it lies on the roll and carried to the part by the corners of the piece alone: where they
lie in the cut file and where the drawing has them. Nothing of how the program counts turns, faces or angles is used.
"""

import itertools
import json
import math
import subprocess

import ezdxf
import numpy
from harness import check
from shapely.affinity import rotate
from shapely.geometry import Polygon, box

# No two edges are alike, so that corners can be told apart whichever way the piece lies.
CORNERS = [(0, 0), (430, 0), (430, 180), (250, 180), (250, 300), (0, 300)]


def svg(corners, name="skin"):
    path = "M" + "L".join(f"{x} {400 - y}" for x, y in corners) + "Z"
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="600mm" height="400mm" viewBox="0 0 600 400">'
        f'<path id="{name}" d="{path}"/></svg>'
    )


def to_roll(corners, cut):
    """The matrix that takes the drawn corners to those of the cut line: a rotation, or a mirror image of one."""
    best = None
    for order in (cut, cut[::-1]):
        for start in range(len(cut)):
            found = numpy.array(order[start:] + order[:start])
            drawn = numpy.array(corners, float)
            a, b = drawn - drawn.mean(axis=0), found - found.mean(axis=0)
            u, _, v = numpy.linalg.svd(a.T @ b)
            matrix = (u @ v).T
            off = numpy.abs(a @ matrix.T - b).max()
            if best is None or off < best[0]:
                best = (off, matrix)
    assert best[0] < 0.1, f"the corners of the cut line are {best[0]:.3f} mm off the drawing"
    return best[1]


def line_on_drawing(matrix, line):
    """Where a line at this angle from the warp, on the upper face of the roll, runs on the drawing; degrees, mod 180."""
    on_roll = numpy.array([math.cos(math.radians(line)), math.sin(math.radians(line))])
    x, y = matrix.T @ on_roll
    return math.degrees(math.atan2(y, x)) % 180


def apart(a, b):
    return abs((a - b + 90) % 180 - 90)


@check("lines of the other hand, and the face that is seen, from the cut file to the part", "corners of DXF and drawing; numpy")
def hands(context):
    """weave x line x hand x face x lines: what is planned is as wanted, what is refused has no turn that does it."""
    planned = refused = 0
    cloths = [("twill", 45, ""), ("twill", -45, "up"), ("twill", 63, ""), ("twill", 63, "down"), ("satin", 72, "up")]
    for n, ((weave, line, good), angle, seen, lines) in enumerate(
        itertools.product(cloths, (0, 45, -30), ("tool", "bag"), ("mirrored", "alike"))
    ):
        folder = context.work / f"seen-{n}"
        folder.mkdir(parents=True)
        (folder / "p.svg").write_text(svg(CORNERS))
        face = f'good_face = "{good}"' if good else ""
        (folder / "job.toml").write_text(f"""
[cutting]
trim = "0 mm"
[output]
files = ["dxf"]
[cloth.c]
weave = "{weave}"
areal_weight = "200 g/m2"
roll_width = "1 m"
line = {line}
{face}
[[part]]
name = "A"
mirror = "B"
pattern = "p.svg"
seen = "{seen}"
lines = "{lines}"
[[part.ply]]
cloth = "c"
angle = {angle}
appearance = true
""")
        plan = [context.binary, "plan", folder / "job.toml", "--out", folder / "out", "--effort", "quick"]
        run = subprocess.run(plan, capture_output=True, text=True, timeout=600)
        # As the part is: the first as drawn, the other its mirror image, seen from the bag side.
        hands = {"A": CORNERS, "B": [(x, -y) for x, y in CORNERS]}
        angles = {"A": angle, "B": -angle}
        if run.returncode:
            assert "with this one cloth" in run.stderr, run.stderr
            assert possible(weave, line, good, angle, lines) is False, (weave, line, good, angle, lines, run.stderr)
            refused += 1
            continue
        assert possible(weave, line, good, angle, lines), (weave, line, good, angle, lines)
        planned += 1
        shown = {}
        for entity in ezdxf.readfile(folder / "out" / "cut" / "c.dxf").modelspace().query('LWPOLYLINE[layer=="CUT"]'):
            cut = [(x, y) for x, y, *_ in entity.get_points()]
            # Of the two, which are mirror images, the plan says which it is.
            name = name_of(folder / "out" / "plan.json", cut)
            matrix = to_roll(hands[name], cut)
            up = numpy.linalg.det(matrix) > 0
            if good:
                # Face up, the upper face of the roll looks to the bag.
                assert ((good == "up") == up) == (seen == "bag"), (name, good, seen, up)
            warp = math.degrees(math.atan2(*(matrix.T @ numpy.array([1, 0]))[::-1]))
            off = apart(warp, angles[name])
            assert off < 0.1 or (weave == "twill" and abs(off - 90) < 0.1), f"{name}: the fibres are {off} deg off"
            shown[name] = line_on_drawing(matrix, line)
        wanted = -shown["A"] if lines == "mirrored" else shown["A"]
        assert apart(shown["B"], wanted) < 0.1, (shown, lines)
    assert planned >= 30 and refused >= 10
    return f"{planned} pairs planned, {refused} refused with reason"


def name_of(path, cut):
    for layout in json.loads(path.read_text())["layouts"]:
        for piece in layout["pieces"]:
            if Polygon(piece["cut"]["outer"]).symmetric_difference(Polygon(cut)).area < 1:
                return piece["part"]
    raise AssertionError("a cut line of no piece")


def possible(weave, line, good, angle, lines):
    """Whether some turn of the sheet, by halves (and quarters of what is balanced), this face up or the other, does it.
    First hand: warp at `angle`, line at angle + f*line, f = -1 face down. Other hand: warp at -angle."""
    first_up = 1
    quarters = (0, 90) if weave == "twill" else (0,)
    faces = (1, -1) if not good and weave == "twill" else (1,)
    # With a good face both hands have the same face up; which one changes signs alike.
    first = angle + first_up * line
    wanted = -first if lines == "mirrored" else first
    return any(apart(-angle + face * line + quarter, wanted) < 0.4 for face in faces for quarter in quarters)


@check("parts that share a bag: apart, inside the tape, film and tape of the whole", "shapely; margins of the job reference")
def shared(context):
    release, breather, tape, film = 50.8, 76.2, 25, 25
    for n, (sizes, tool) in enumerate(
        [([(400, 250), (400, 250)], ""), ([(700, 120), (300, 200), (250, 250)], ""), ([(350, 200)] * 2, '["1400 mm", "900 mm"]')]
    ):
        folder = context.work / f"bag-{n}"
        folder.mkdir(parents=True)
        parts = ""
        for i, (length, width) in enumerate(sizes):
            (folder / f"{i}.svg").write_text(svg([(0, 0), (length, 0), (length, width), (width / 3, width * 1.2), (0, width)]))
            parts += f"""
[[part]]
name = "P{i}"
pattern = "{i}.svg"
cloth = "c"
layup = "[0/90]"
bag = "one"
{f"tool = {tool}" if tool else ""}
"""
        (folder / "job.toml").write_text(
            f"""
[bag]
[resin]
ratio = "100:30"
pot_life = "4 h"
[cloth.c]
weave = "plain"
areal_weight = "200 g/m2"
fibre = "carbon"
roll_width = "1 m"
{parts}"""
        )
        plan = context.plan(folder / "job.toml", folder / "out")
        bag, told = plan["bagging"]["shared"][0], plan["bagging"]["parts"]
        lying = [Polygon(outline["outer"]) for outline in bag["lying"]]
        drawn = [
            Polygon([(0, 0), (length, 0), (length, width), (width / 3, width * 1.2), (0, width)]) for length, width in sizes
        ]
        long, short = told[0]["tape_line_mm"]
        room = box(0, 0, long, short).buffer(-(breather + tape) + 0.5, join_style=2)
        for i, (one, as_drawn, zero) in enumerate(zip(lying, drawn, bag["zeros_deg"])):
            # In true size and as it was drawn, turned by its 0 deg and never mirrored.
            turned = rotate(as_drawn, zero, origin=(0, 0))
            moved = [a - b for a, b in zip(one.centroid.coords[0], turned.centroid.coords[0])]
            turned = Polygon([(x + moved[0], y + moved[1]) for x, y in turned.exterior.coords])
            assert one.symmetric_difference(turned).area < 0.02 * one.area, (i, one.symmetric_difference(turned).area)
            assert room.contains(one), (i, one.bounds, room.bounds)
            for other in lying[i + 1 :]:
                assert one.distance(other) >= 2 * release - 0.5, one.distance(other)
        run = 2 * (long + short) + 8 * 76.2
        assert abs(plan["bagging"]["tape_mm"] - 1.1 * run) < 0.1
        layers = {layer["name"]: layer["layout"]["pieces"] for layer in plan["bagging"]["layers"]}
        assert [p["id"] for p in layers["bag-film"]] == ["one-bag-film"]
        assert [p["id"] for p in layers["breather"]] == ["one-breather"]
        assert len(layers["peel-ply"]) == len(layers["release-film"]) == len(sizes)
        x0, y0, x1, y1 = Polygon(layers["bag-film"][0]["cut"]["outer"]).bounds
        wanted = sorted((side + 2 * 76.2 + 2 * film for side in (long, short)))
        assert all(abs(a - b) < 0.1 for a, b in zip(sorted((x1 - x0, y1 - y0)), wanted))
        x0, y0, x1, y1 = Polygon(layers["breather"][0]["cut"]["outer"]).bounds
        sheet = sorted((x1 - x0, y1 - y0))
        lx0, ly0, lx1, ly1 = (f(p.bounds[i] for p in lying) for i, f in enumerate((min, min, max, max)))
        least = sorted((lx1 - lx0 + 2 * breather, ly1 - ly0 + 2 * breather))
        assert all(-0.1 <= a - b < 30 for a, b in zip(sheet, least)), (sheet, least)
        pascals = plan["bagging"]["vacuum_kpa"] * 1000
        for part, one in zip(told, drawn):
            assert abs(part["force_n"] - pascals * one.area / 1e6) < 0.002 * part["force_n"]
            assert abs(part["mould_force_n"] - pascals * long * short / 1e6) < 0.5
        times = [part["timeline"] for part in plan["resin"]["parts"]]
        assert all(time == times[0] for time in times)
        assert len(times[0]["batches"]) == len(plan["resin"]["batches"])
    return "3 bags"
