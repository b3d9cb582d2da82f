#!/usr/bin/env python3
"""Writes the small nesting instances of this folder, in the form the public ones have."""

import json
from math import cos, pi, sin
from pathlib import Path

HERE = Path(__file__).resolve().parent


def write(name, width, least_density, items):
    for number, item in enumerate(items):
        item["id"] = number
    instance = {
        "name": name,
        "source": "own, instances/make.py",
        "strip_width": width,
        "least_density_percent": least_density,
        "items": items,
    }
    (HERE / f"{name}.json").write_text(json.dumps(instance) + "\n", encoding="utf-8")


def item(demand, rotations, outline, openings=()):
    def rounded(ring):
        return [[round(x, 4), round(y, 4)] for x, y in ring]

    return {
        "demand": demand,
        "allowed_rotations_deg": rotations,
        "outline": rounded(outline),
        "openings": [rounded(o) for o in openings],
    }


def rectangle(x, y, wide, high):
    return [(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)]


def arc(radius, start, end, n, centre=(0, 0)):
    turns = [(start + (end - start) * k / n) * pi / 180 for k in range(n + 1)]
    return [(centre[0] + radius * cos(t), centre[1] + radius * sin(t)) for t in turns]


def main():
    # Two frames fill the strip; the strips fit only into their openings, or behind the frames.
    # With the openings used the length is 100 and 92.9 % of the strip is covered, without 67 %.
    frame = item(2, [0], rectangle(0, 0, 50, 60), [rectangle(10, 10, 30, 40)])
    write("frames", 60, 92.5, [frame, item(4, [0, 180], rectangle(0, 0, 13, 38))])

    # Bananas lie in one another; a packer of boxes on shelves stays below 40 %.
    banana = arc(40, 20, 160, 40) + arc(28, 160, 20, 40)
    gusset = [(0, 0), (45, 0)] + arc(60, 250, 200, 24, centre=(62, 57)) + [(0, 45)]
    write("curved", 120, 58, [item(10, [0, 180], banana), item(6, [0, 90, 180, 270], gusset)])


if __name__ == "__main__":
    main()
