#!/usr/bin/env python3
"""Writes the moulds of the examples: cover.obj, tray.stl, bowl.ply, each in the way its format is usual.

Lengths are millimetres. Heights are rounded to a micrometre before they are written, so that every
machine writes the same bytes.
"""

import struct
import sys
from math import cos, pi, radians, sin, tan
from pathlib import Path


def rings(middle, rows):
    """Points and faces of closed rows around a middle, seen counter-clockwise from above; the faces by row."""
    n = len(rows[0])
    points = [middle] + [p for row in rows for p in row]
    at = lambda row, k: 1 + row * n + k % n
    faces = [[(0, at(0, k), at(0, k + 1)) for k in range(n)]]
    for row in range(1, len(rows)):
        inner = row - 1
        faces.append([(at(inner, k), at(row, k), at(row, k + 1), at(inner, k + 1)) for k in range(n)])
    return [tuple(round(v, 3) + 0.0 for v in p) for p in points], faces


def cover():
    """The mould of a mirror's cover: an egg that rises by 40 mm, and a margin of mould around it."""
    n, inner, margin = 48, 14, 2

    def place(share, turn):
        x, y = cos(turn), sin(turn)
        return share * (125 if x > 0 else 95) * x, share * 70 * y, 40 * (1 - share * share)

    shares = [(k + 1) / inner for k in range(inner)] + [1 + 0.07 * (k + 1) for k in range(margin)]
    points, faces = rings((0, 0, 40), [[place(s, 2 * pi * k / n) for k in range(n)] for s in shares])
    text = ["# mould of a mirror's cover, mm"] + ["v {:g} {:g} {:g}".format(*p) for p in points]
    for name, rows in (("cover", faces[:inner]), ("margin", faces[inner:])):
        text.append(f"g {name}")
        text += ["f " + " ".join(str(k + 1) for k in face) for row in rows for face in row]
    return "\n".join(text).encode() + b"\n"


def tray():
    """A tray of 260 x 180 mm at its floor, 32 mm deep, its walls sloped by 60 degrees; a flange around it."""
    wall, corner, fillet, steps, deep = radians(60), 24, 6, 4, 32
    bent = [radians(60) * k / steps for k in range(steps + 1)]
    # How far out from the edge of the floor, and how high.
    low = [(fillet * sin(a), fillet * (1 - cos(a))) for a in bent]
    rise = deep - 2 * low[-1][1]
    high = low[-1][0] + rise / tan(wall) + low[-1][0]
    rows = low + [(high - out, deep - up) for out, up in reversed(low)] + [(high + 20, deep)]

    def row(out, up):
        edge = []
        for (sx, sy), first in (((1, 1), 0), ((-1, 1), 90), ((-1, -1), 180), ((1, -1), 270)):
            for k in range(7):
                turn = radians(first + 15 * k)
                r = corner + out
                edge.append((sx * (130 - corner) + r * cos(turn), sy * (90 - corner) + r * sin(turn), up))
        return edge

    points, faces = rings((0, 0, 0), [row(*r) for r in rows])
    triangles = [(f[0], f[k], f[k + 1]) for rows in faces for f in rows for k in range(1, len(f) - 1)]
    data = b"mould of a tray, mm".ljust(80) + struct.pack("<I", len(triangles))
    for triangle in triangles:
        data += struct.pack("<12fH", 0, 0, 0, *(v for k in triangle for v in points[k]), 0)
    return data


def bowl():
    """A bowl of a ball of 140 mm, 73 mm deep, and a rim in another colour."""
    n, ball, step, last = 64, 140, 4, 60

    def row(out, up):
        return [(out * cos(2 * pi * k / n), out * sin(2 * pi * k / n), up) for k in range(n)]

    turns = [radians(step * (k + 1)) for k in range(last // step)]
    profile = [(ball * sin(a), ball * (1 - cos(a))) for a in turns]
    edge, top = profile[-1]
    points, faces = rings((0, 0, 0), [row(*p) for p in profile + [(edge + 30, top)]])
    n_faces = sum(len(row) for row in faces)
    head = (
        "ply\nformat binary_little_endian 1.0\ncomment mould of a bowl, mm\n"
        f"element vertex {len(points)}\nproperty float x\nproperty float y\nproperty float z\n"
        f"element face {n_faces}\nproperty list uchar int vertex_indices\n"
        "property uchar red\nproperty uchar green\nproperty uchar blue\nend_header\n"
    )
    data = head.encode() + b"".join(struct.pack("<3f", *p) for p in points)
    for k, row in enumerate(faces):
        colour = (60, 90, 150) if k == len(faces) - 1 else (225, 220, 205)
        for face in row:
            data += struct.pack(f"<B{len(face)}i3B", len(face), *face, *colour)
    return data


MOULDS = {"cover.obj": cover, "tray.stl": tray, "bowl.ply": bowl}

if __name__ == "__main__":
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parents[1]
    for name, make in MOULDS.items():
        (folder / name).write_bytes(make())
