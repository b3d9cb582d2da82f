#!/usr/bin/env python3
"""Writes cairo.svg: paths as cairo's SVG surface writes them, sizes in pt.

    python3 shapes_cairo.py [FOLDER]        needs pycairo 1.18 or later
"""

import sys
from math import pi
from pathlib import Path

import cairo

MM = 72 / 25.4


def draw(file):
    surface = cairo.SVGSurface(str(file), 200 * MM, 150 * MM)
    context = cairo.Context(surface)
    context.scale(MM, MM)
    context.set_line_width(0.2)
    context.arc(40, 40, 30, 0, 2 * pi)
    context.close_path()
    context.stroke()
    context.save()
    context.translate(130, 40)
    context.rotate(0.3)
    context.scale(1, 0.5)
    context.arc(0, 0, 40, 0, 2 * pi)
    context.restore()
    context.close_path()
    context.stroke()
    context.move_to(20, 90)
    context.curve_to(60, 70, 90, 150, 120, 100)
    context.line_to(110, 140)
    context.line_to(20, 140)
    context.close_path()
    context.stroke()
    context.rectangle(140, 90, 40, 50)
    context.stroke()
    surface.finish()


if __name__ == "__main__":
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent.parent
    draw(folder / "cairo.svg")
