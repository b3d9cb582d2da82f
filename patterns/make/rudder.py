#!/usr/bin/env python3
"""Writes rudder.svg: skin, spar strip and nose doubler of a dinghy's rudder blade.

The file has the habits of a vector drawing program: pixel user units at 96 to the inch under a
size in millimetres, layers as labelled groups, transforms on groups within groups, relative
curves, arcs, styles and numbered ids. Needs nothing but Python.
"""

import sys
from pathlib import Path

PX = 96 / 25.4  # user units per millimetre

WIDTH_MM, HEIGHT_MM = 520, 960
STYLE = "fill:none;stroke:#1a1a1a;stroke-width:0.75;stroke-linejoin:round;stroke-opacity:1"
GUIDE = "fill:none;stroke:#c83737;stroke-width:0.75;stroke-dasharray:6, 3;stroke-dashoffset:0"
FONT = "font-style:normal;font-size:45.354331px;font-family:sans-serif;fill:#1a1a1a"


def number(value):
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("", "-0") else text


def d(*commands):
    """Path data from (letter, numbers in mm); the flags and the turn of an arc stay unscaled."""
    out = []
    for letter, *values in commands:
        out.append(letter)
        if letter in "Aa":
            rx, ry, turn, large, sweep, x, y = values
            out.append(f"{number(rx * PX)},{number(ry * PX)} {turn} {large} {sweep}")
            out.append(f"{number(x * PX)},{number(y * PX)}")
        elif letter in "HhVv":
            out.append(number(values[0] * PX))
        else:
            scaled = [number(v * PX) for v in values]
            out.extend(f"{x},{y}" for x, y in zip(scaled[::2], scaled[1::2]))
    return " ".join(out)


# The blade hangs head up, leading edge to the left. All numbers in mm, y down.
SKIN = d(
    ("m", 92, 30),
    ("h", 104),
    ("a", 18, 18, 0, 0, 1, 18, 18),
    ("V", 205),
    ("C", 214, 262, 256, 262, 262, 330),
    ("S", 262, 640, 238, 752),
    ("C", 222, 826, 190, 884, 150, 890),
    ("c", -44, 6, -80, -34, -94, -104),
    ("S", 28, 470, 34, 330),
    ("C", 38, 262, 74, 258, 74, 205),
    ("V", 48),
    ("A", 18, 18, 0, 0, 1, 92, 30),
    ("z",),
    # the pivot, 44 mm across, as a second loop of the same path
    ("M", 122, 96),
    ("a", 22, 22, 0, 1, 0, 44, 0),
    ("a", 22, 22, 0, 1, 0, -44, 0),
    ("z",),
)

# A hand slot of 92 x 32 mm with round ends.
SLOT = d(
    ("M", 118, 300),
    ("h", 60),
    ("c", 8.836556, 0, 16, 7.163444, 16, 16),
    ("s", -7.163444, 16, -16, 16),
    ("h", -60),
    ("c", -8.836556, 0, -16, -7.163444, -16, -16),
    ("s", 7.163444, -16, 16, -16),
    ("z",),
)

# Drawn lying down; its group stands it up. 768 mm long, 62 mm wide at the head, 22 mm at the tip.
SPAR = d(
    ("m", 8, -31),
    ("c", 210, 0, 520, 8, 749, 20),
    ("a", 11, 11, 0, 0, 1, 0, 22),
    ("C", 528, 23, 218, 31, 8, 31),
    ("a", 8, 8, 0, 0, 1, -8, -8),
    ("v", -46),
    ("A", 8, 8, 0, 0, 1, 8, -31),
    ("z",),
)

# Drawn from below; its group turns it over. A crescent of 612 mm.
NOSE = d(
    ("M", 44, 6),
    ("C", -16, 190, -18, 420, 40, 604),
    ("a", 12, 12, 0, 0, 0, 23, -6.5),
    ("C", 16, 424, 22, 196, 66, 16),
    ("A", 12, 12, 0, 0, 0, 44, 6),
    ("z",),
)

ZERO = d(("M", 494, 900), ("V", 120))


def layer(number_, label, transform, body):
    at = f'\n     transform="{transform}"' if transform else ""
    return f"""  <g
     inkscape:groupmode="layer"
     id="layer{number_}"
     inkscape:label="{label}"
     style="display:inline"{at}>
{body}  </g>
"""


def path(number_, data, indent=4, style=STYLE, label=None):
    pad = " " * indent
    named = f'\n{pad}   inkscape:label="{label}"' if label else ""
    return f"""{pad}<path
{pad}   style="{style}"
{pad}   d="{data}"
{pad}   id="path{number_}"{named} />
"""


def text(number_, x, y, words, indent=4, turn=None):
    pad = " " * indent
    x, y = number(x * PX), number(y * PX)
    at = f'\n{pad}   transform="{turn}"' if turn else ""
    return f"""{pad}<text
{pad}   xml:space="preserve"
{pad}   style="{FONT}"
{pad}   x="{x}"
{pad}   y="{y}"
{pad}   id="text{number_}"{at}><tspan
{pad}     id="tspan{number_}"
{pad}     x="{x}"
{pad}     y="{y}">{words}</tspan></text>
"""


def group(number_, transform, body):
    return f"""    <g
       id="g{number_}"
       transform="{transform}">
{body}    </g>
"""


def shift(x, y):
    return f"translate({number(x * PX)},{number(y * PX)})"


def drawing():
    skin = path(1042, SKIN) + path(1046, SLOT, label="hand slot") + text(1051, 112, 520, "SKIN")
    spar = group(
        1068, "rotate(90)", path(1060, SPAR, 6) + text(1063, 60, 5, "SPAR", 6)
    )
    # The text is turned over once more within its group, so that it reads.
    nose = group(
        1081,
        f"matrix(1,0,0,-1,0,{number(640 * PX)})",
        path(1074, NOSE, 6) + text(1078, 290, 7, "NOSE", 6, "scale(1,-1) rotate(-90)"),
    )
    zero = path(1090, ZERO, style=GUIDE)
    size = f"{number(WIDTH_MM * PX)} {number(HEIGHT_MM * PX)}"
    return f"""<?xml version="1.0" encoding="UTF-8" standalone="no"?>
<!-- Rudder blade of a small sailing dinghy. Own drawing, see patterns/README.md -->
<svg
   width="{WIDTH_MM}mm"
   height="{HEIGHT_MM}mm"
   viewBox="0 0 {size}"
   version="1.1"
   id="svg5"
   xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"
   xmlns="http://www.w3.org/2000/svg"
   xmlns:svg="http://www.w3.org/2000/svg">
  <title
     id="title980">Rudder blade</title>
  <defs
     id="defs2" />
""" + "".join(
        (
            layer(1, "skin", "", skin),
            layer(2, "spar", shift(330, 60), spar),
            layer(3, "nose", f"{shift(296, 620)} {shift(100, -360)}", nose),
            layer(4, "0 deg", "", zero),
        )
    ) + "</svg>\n"


if __name__ == "__main__":
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent.parent
    (folder / "rudder.svg").write_text(drawing(), encoding="utf-8")
