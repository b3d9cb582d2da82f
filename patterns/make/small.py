#!/usr/bin/env python3
"""Writes small.svg: small parts of a dinghy (a hatch, a paddle blade, a keel strip of 3.1 m, a plate with holes).

Millimetres, every part on a layer of its own. Needs nothing but Python.
"""

import sys
from pathlib import Path

HATCH = "M 60 40 H 300 A 40 40 0 0 1 340 80 V 240 A 40 40 0 0 1 300 280 H 60 A 40 40 0 0 1 20 240 V 80 A 40 40 0 0 1 60 40 Z"
BLADE = (
    "M 400 130 C 440 70 560 48 700 58 C 790 64 846 104 850 160 C 846 216 790 256 700 262 "
    "C 560 272 440 250 400 190 C 392 172 392 148 400 130 Z"
)
KEEL = "M 20 360 L 3060 352 C 3090 352 3120 366 3120 380 C 3120 394 3090 408 3060 408 L 20 400 Z"


def hole(x, y, radius):
    return f"M {x - radius} {y} a {radius} {radius} 0 1 0 {2 * radius} 0 a {radius} {radius} 0 1 0 {-2 * radius} 0 Z"


PLATE = "M 920 40 H 1160 L 1190 70 V 250 L 1160 280 H 920 L 890 250 V 70 Z " + " ".join(
    hole(x, y, 4) for x in (920, 1160) for y in (70, 250)
) + " " + hole(1040, 160, 55)


def drawing():
    layers = {"hatch": HATCH, "blade": BLADE, "keel": KEEL, "plate": PLATE}
    groups = "".join(
        f'  <g id="{name}" fill="none" stroke="#1a1a1a" stroke-width="0.3"><path d="{path}"/></g>\n'
        for name, path in layers.items()
    )
    return f"""<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" width="3140mm" height="440mm" viewBox="0 0 3140 440">
  <title>Small parts</title>
{groups}</svg>
"""


if __name__ == "__main__":
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent.parent
    (folder / "small.svg").write_text(drawing(), encoding="utf-8", newline="\n")
