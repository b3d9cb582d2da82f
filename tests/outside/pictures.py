"""Pictures of rolls: as PNG, measured in pixels."""

import numpy as np
from cutfiles import plan_rings
from harness import check
from machines import demo_with
from PIL import Image, ImageDraw

# A cut line is this dark, and no ground or hatch is.
DARK = 75
HALF_PIXEL = 0.5


def borders(shares, dark):
    """Middles of the runs of rows (or columns) that are dark nearly from end to end."""
    found, run = [], []
    for i, share in enumerate([*shares, 0]):
        if share > 0.8:
            run.append(i)
        elif run:
            weights = dark[run]
            found.append(float(np.dot(run, weights) / weights.sum()) + HALF_PIXEL)
            run = []
    return found


def frame_of(grey):
    """Left, top, right, bottom of the drawn roll, in pixels."""
    dark = 255.0 - grey
    wide = slice(120, grey.shape[1] - 60)
    rows = borders((grey[:, wide] < 190).mean(axis=1), dark[:, wide].mean(axis=1))
    # The last is the line with the length.
    top, bottom = rows[0], rows[-2]
    high = slice(int(top) + 3, int(bottom) - 2)
    columns = borders((grey[high] < 190).mean(axis=0), dark[high].mean(axis=0))
    # The first is the line with the width.
    return columns[1], top, columns[-1], bottom


@check(
    "PNG shows every cut line where plan.json has it, to a pixel, and every piece in its fill",
    "Pillow",
)
def previews(context):
    plan, out = demo_with(context, "png", '[output]\nfiles = ["png"]\n')
    told = []
    for layout in plan["layouts"]:
        image = Image.open(out / "cut" / f"{layout['roll']}.png")
        image.verify()
        image = Image.open(out / "cut" / f"{layout['roll']}.png").convert("RGB")
        grey = np.asarray(image.convert("L"), dtype=float)
        left, top, right, bottom = frame_of(grey)
        across = layout["roll_width"] / (bottom - top)
        along = layout["used_length"] / (right - left)
        assert abs(along / across - 1) < 0.003, f"{layout['roll']}: {along:.4f}, {across:.4f} mm"
        n = missed = 0
        for name, ring in plan_rings(layout, "cut"):
            x, y = left + ring[:, 0] / along, bottom - ring[:, 1] / across
            for px, py in zip(x.astype(int), y.astype(int)):
                n += 1
                missed += grey[py - 1 : py + 2, px - 1 : px + 2].min() > DARK
        assert missed == 0, f"{layout['roll']}: {missed} of {n} points are on no dark line"
        colours = {}
        for piece in layout["pieces"]:
            mask = Image.new("1", image.size)
            draw = ImageDraw.Draw(mask)
            at = lambda ring: [(left + u / along, bottom - v / across) for u, v in ring]
            draw.polygon(at(piece["cut"]["outer"]), fill=1)
            for opening in piece["cut"]["openings"]:
                draw.polygon(at(opening), fill=0)
            inside = np.asarray(image)[np.asarray(mask)]
            fills, counts = np.unique(inside, axis=0, return_counts=True)
            colours.setdefault(piece["part"], set()).add(tuple(fills[counts.argmax()].tolist()))
        assert all(len(fills) == 1 for fills in colours.values()), colours
        assert len(set.union(*colours.values())) == len(colours), colours
        told.append(f"{layout['roll']} {n} points at {across:.2f} mm a pixel")
    return ", ".join(told)
