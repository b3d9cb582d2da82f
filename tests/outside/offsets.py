"""Allowances of shapes with a closed form, through the program: job file in, plan.json out.

Steiner's formula for a convex outline grown by d with round joins: area A + P d + pi d^2, perimeter
P + 2 pi d. Tolerances: 0.01 % with round joins (arcs become chords within 0.01 mm), 5e-6 with
straight ones (coordinates are written to 0.0001 mm).
"""

from math import cos, pi, sin, sqrt

from harness import check
from jobs import job
from plan_rules import ring_polygon

RECTANGLE = [(0, 0), (100, 0), (100, 60), (0, 60)]
TRIANGLE = [(0, 0), (100, 0), (50, 50 * sqrt(3))]
RIGHT_TRIANGLE = [(0, 0), (400, 0), (0, 300)]
HEXAGON = [(50 * cos(k * pi / 3), 50 * sin(k * pi / 3)) for k in range(6)]
L_SHAPE = [(0, 0), (100, 0), (100, 50), (50, 50), (50, 100), (0, 100)]
SQUARE = [(0, 0), (100, 0), (100, 100), (0, 100)]
HOLE = [(40, 40), (60, 40), (60, 60), (40, 60)]

ROUND, STRAIGHT = 1e-4, 5e-6


def moved(points):
    """Away from the edges of the drawing."""
    return [(x + 500, y + 500) for x, y in points]


def planned(context, name, points, holes=(), cutting="", ply=""):
    """The only piece of the planned job."""
    path = job(
        context.work,
        name,
        moved(points),
        holes=[moved(h) for h in holes],
        cutting=cutting,
        ply=ply,
    )
    plan = context.plan(path, context.work / name)
    (piece,) = plan["layouts"][0]["pieces"]
    (ply_told,) = plan["parts"][0]["plies"]
    return piece, ply_told


def grown(context, name, points, d, join, expected, tolerance, holes=(), more=""):
    piece, told = planned(
        context, name, points, holes, cutting=f'trim = "{d} mm"\njoin = "{join}"\n{more}'
    )
    area = ring_polygon(piece["cut"]).area
    for value in (area, told["cut_area_mm2"]):
        # The number in the ply table is rounded to 0.01 mm2.
        assert abs(value - expected) <= tolerance * expected + 0.006, (value, expected)
    return f"{area:.4f} mm2, expected {expected:.4f}"


def shrunk(context, name, points, d, expected, tolerance):
    piece, told = planned(context, name, points, ply=f'step = "-{d} mm"')
    area = ring_polygon(piece["net"]).area
    for value in (area, told["area_mm2"]):
        assert abs(value - expected) <= tolerance * expected + 0.006, (value, expected)
    return f"{area:.4f} mm2, expected {expected:.4f}"


@check("rectangle 100 x 60 grown by 10, round", "Steiner's formula")
def rectangle_round(context):
    told = grown(context, "h01", RECTANGLE, 10, "round", 9514.15926536, ROUND)
    piece, _ = planned(context, "h02", RECTANGLE, cutting='trim = "10 mm"\njoin = "round"')
    perimeter = ring_polygon(piece["cut"]).exterior.length
    assert abs(perimeter - 382.831853072) <= ROUND * 382.8, perimeter
    return f"{told}; perimeter {perimeter:.4f} mm"


@check("rectangle 100 x 60 grown by 10, mitred", "geometry")
def rectangle_mitre(context):
    return grown(context, "h03", RECTANGLE, 10, "mitre", 9600, STRAIGHT)


@check("rectangle 100 x 60 stepped in by 10", "geometry")
def rectangle_inset(context):
    return shrunk(context, "h04", RECTANGLE, 10, 3200, STRAIGHT)


@check("equilateral triangle 100 grown by 5, round", "Steiner's formula")
def triangle_round(context):
    return grown(context, "h05", TRIANGLE, 5, "round", 5908.66683526, ROUND)


@check("equilateral triangle 100 grown by 5, mitred", "geometry: (sqrt 3 / 4)(s + 2 sqrt 3 d)^2")
def triangle_mitre(context):
    # Its corners reach twice the allowance out.
    more = "mitre_limit = 3.0"
    return grown(context, "h06", TRIANGLE, 5, "mitre", 5960.03082949, STRAIGHT, more=more)


@check("regular hexagon 50 grown by 6, round", "Steiner's formula")
def hexagon_round(context):
    return grown(context, "h07", HEXAGON, 6, "round", 8408.28786391, ROUND)


@check("right triangle 300-400 grown by 1/2 in, round", "Steiner's formula")
def right_triangle_round(context):
    return grown(context, "h08", RIGHT_TRIANGLE, 12.7, "round", 75746.7074791, ROUND)


@check("L shape grown by 5, round", "geometry: A + P d + (5/4) pi d^2 - d^2")
def l_round(context):
    return grown(context, "h09", L_SHAPE, 5, "round", 9573.17477042, ROUND)


@check("L shape stepped in by 5, round", "geometry: A - P d + 5 d^2 - (pi/4) d^2")
def l_inset(context):
    return shrunk(context, "h10", L_SHAPE, 5, 5605.36504592, ROUND)


@check("square with a square hole grown by 5, round", "geometry: the hole shrinks")
def hole_round(context):
    return grown(context, "h11", SQUARE, 5, "round", 11978.5398163, ROUND, holes=[HOLE])


@check("square grown by 10, bevelled", "geometry: A + P d + 2 d^2")
def bevel(context):
    return grown(context, "bevel", SQUARE, 10, "bevel", 14200, STRAIGHT)
