#!/usr/bin/env python3
"""Writes covers.svg: the cover of the port side tank of a dinghy; the other hand is its mirror image.

Millimetres, one path of Bézier curves for the edge and one circle for the inspection port, on layers named by
what they hold. Needs nothing but Python.
"""

import sys
from pathlib import Path

EDGE = (
    "M 30 60 C 120 22 330 14 520 40 C 574 48 604 78 610 126 L 622 268 "
    "C 626 322 600 352 552 358 C 400 376 220 392 96 404 C 52 408 26 386 24 346 L 14 108 C 12 84 16 68 30 60 Z"
)
PORT = "M 388 206 a 66 66 0 1 0 132 0 a 66 66 0 1 0 -132 0 Z"


def drawing():
    return f"""<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" width="640mm" height="460mm" viewBox="0 0 640 460">
  <title>Cover of a side tank, port</title>
  <g id="cover" fill="none" stroke="#1a1a1a" stroke-width="0.3">
    <path id="port-cover" d="{EDGE} {PORT}"/>
  </g>
  <g id="zero" fill="none" stroke="#c83737" stroke-width="0.3">
    <path id="forward" d="M 40 440 H 600"/>
  </g>
</svg>
"""


if __name__ == "__main__":
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent.parent
    (folder / "covers.svg").write_text(drawing(), encoding="utf-8", newline="\n")
