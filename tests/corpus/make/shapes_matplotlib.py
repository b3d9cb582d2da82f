#!/usr/bin/env python3
"""Writes matplotlib.svg: patches as matplotlib's SVG backend draws them, sizes in pt.

    python3 shapes_matplotlib.py [FOLDER]        needs matplotlib
"""

import sys
from pathlib import Path

import matplotlib

matplotlib.use("svg")
matplotlib.rcParams["svg.hashsalt"] = "warpwise"  # the same ids every time
matplotlib.rcParams["svg.fonttype"] = "none"  # texts stay texts
import matplotlib.pyplot as plt
from matplotlib.patches import Circle, Ellipse, FancyBboxPatch, PathPatch, Polygon, Wedge
from matplotlib.path import Path as Curve


def figure():
    # Data coordinates are millimetres on paper.
    fig = plt.figure(figsize=(300 / 25.4, 200 / 25.4))
    fig.patch.set_visible(False)  # else the sheet itself is an outline
    ax = fig.add_axes([0, 0, 1, 1])
    ax.set_xlim(0, 300)
    ax.set_ylim(0, 200)
    ax.axis("off")
    line = {"fill": False, "linewidth": 0.5}
    patches = {
        "circle": Circle((40, 40), 25, **line),
        "ellipse": Ellipse((120, 40), 80, 40, angle=20, **line),
        "polygon": Polygon([(180, 20), (280, 30), (250, 80), (190, 70)], closed=True, **line),
        "wedge": Wedge((60, 120), 40, 30, 200, width=15, **line),
        "box": FancyBboxPatch((130, 100), 60, 40, boxstyle="round,pad=0,rounding_size=8", **line),
        "curve": PathPatch(
            Curve(
                [(210, 100), (290, 100), (290, 150), (250, 150), (210, 190), (230, 130), (210, 100)],
                [1, 4, 4, 4, 3, 3, 79],
            ),
            **line,
        ),
    }
    for name, patch in patches.items():
        patch.set_gid(name)
        ax.add_patch(patch)
    ax.text(150, 120, "BOX QTY 2")
    return fig


if __name__ == "__main__":
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent.parent
    figure().savefig(folder / "matplotlib.svg", metadata={"Date": None})
