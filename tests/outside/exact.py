"""The area two polygons share, in exact rational arithmetic.

For pieces that touch, where rounding decides whether floating point sees an overlap. Coordinates
are taken as the rational numbers that they are in binary, so nothing is rounded anywhere.
"""

from fractions import Fraction


def overlap(a, b):
    """Area of the intersection of two shapely polygons, openings and all, as a Fraction.

    Between two neighbouring heights of vertices and crossings no edges cross, so the width that
    both polygons cover is linear in the height, and its value half-way gives the area exactly.
    """
    low = Fraction(max(a.bounds[1], b.bounds[1]))
    high = Fraction(min(a.bounds[3], b.bounds[3]))
    if low >= high or a.bounds[0] >= b.bounds[2] or b.bounds[0] >= a.bounds[2]:
        return Fraction(0)
    edges_a, edges_b = edges(a, low, high), edges(b, low, high)
    heights = {low, high}
    for _, y0, _, y1 in edges_a + edges_b:
        heights.update(y for y in (y0, y1) if low < y < high)
    for first in edges_a:
        for second in edges_b:
            y = crossing(first, second)
            if y is not None and low < y < high:
                heights.add(y)
    heights = sorted(heights)
    area = Fraction(0)
    for y0, y1 in zip(heights, heights[1:]):
        middle = (y0 + y1) / 2
        spans_a = spans(edges_a, middle)
        if spans_a:
            area += (y1 - y0) * shared(spans_a, spans(edges_b, middle))
    return area


def edges(polygon, low, high):
    """Edges upward as (x0, y0, x1, y1), without level ones and those outside low ... high."""
    found = []
    for ring in (polygon.exterior, *polygon.interiors):
        points = [(Fraction(x), Fraction(y)) for x, y in ring.coords]
        for (x0, y0), (x1, y1) in zip(points, points[1:]):
            if y0 > y1:
                x0, y0, x1, y1 = x1, y1, x0, y0
            if y0 < y1 and y0 < high and y1 > low:
                found.append((x0, y0, x1, y1))
    return found


def crossing(first, second):
    """Height at which two edges meet, or None if they do not or run along each other."""
    ax, ay, bx, by = first
    cx, cy, dx, dy = second
    if by <= cy or dy <= ay or max(ax, bx) < min(cx, dx) or max(cx, dx) < min(ax, bx):
        return None
    turn = (bx - ax) * (dy - cy) - (by - ay) * (dx - cx)
    if turn == 0:
        return None
    y = ay + (by - ay) * ((cx - ax) * (dy - cy) - (cy - ay) * (dx - cx)) / turn
    return y if max(ay, cy) <= y <= min(by, dy) else None


def spans(edges, y):
    """The stretches of the line at height y that lie inside, as (x0, x1) in order."""
    met = sorted(
        x0 + (x1 - x0) * (y - y0) / (y1 - y0) for x0, y0, x1, y1 in edges if y0 < y < y1
    )
    return list(zip(met[::2], met[1::2], strict=True))


def shared(first, second):
    """Length that two rows of stretches have in common."""
    length, i, j = Fraction(0), 0, 0
    while i < len(first) and j < len(second):
        start = max(first[i][0], second[j][0])
        end = min(first[i][1], second[j][1])
        if start < end:
            length += end - start
        if first[i][1] < second[j][1]:
            i += 1
        else:
            j += 1
    return length
