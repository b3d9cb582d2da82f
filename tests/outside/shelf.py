"""Ten jobs one after another, each cut from what the last one left before cloth is bought.

Everything is measured with shapely from plan.json and the remnant files: pieces lie on their
remnant and off its flaws, what is kept was cloth and is no piece, and no cloth is lost.
"""

import json
import random

from harness import check
from jobs import svg
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

ROLL_MM = 1270.0
GAP_MM = 4.0
SELVEDGE_MM = 10.0
MARGIN_MM = 10.0
FLAW = box(220, 140, 290, 200)
FLAW_MARGIN_MM = 8.0
OFFCUT = [(0, 0), (1100, 0), (900, 620), (380, 700), (0, 500)]
NEAR_MM = 0.02
N_JOBS = 10


def shape(random_):
    """A plate of four to six corners, 150 to 800 mm."""
    length, width = random_.uniform(250, 800), random_.uniform(150, 500)
    taper = random_.uniform(0.5, 1.0)
    points = [(0, 0), (length, 0), (length * random_.uniform(0.8, 1), width * taper)]
    if random_.random() < 0.5:
        points.append((length * 0.4, width))
    return [(x + 50, y + 50) for x, y in [*points, (0, width)]]


def write_job(folder, n, stock):
    random_ = random.Random(n)
    (folder / f"plate{n}.svg").write_text(svg(shape(random_)), encoding="utf-8")
    layup = random_.choice(["[0/90]", "[0/45]", "[0/45]s", "[0/90/0]"])
    lines = [
        f'[cutting]\ntrim = "15 mm"\ngap = "{GAP_MM} mm"\nend_margin = "{MARGIN_MM} mm"',
        '[cloth.glass]\nweave = "plain"\nareal_weight = "200 g/m2"',
        f'roll_width = "{ROLL_MM} mm"\nselvedge = "{SELVEDGE_MM} mm"\nsold_by = "1 yd"',
        'price = "12 EUR/m"',
        stock,
        f'[[part]]\nname = "P{n}"\npattern = "plate{n}.svg"\ncloth = "glass"',
        f'sets = {random_.randint(1, 3)}\nlayup = "{layup}"',
    ]
    path = folder / f"job{n}.toml"
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


def first_stock(folder):
    """An odd offcut with a flaw, drawn in SVG."""
    (folder / "offcut.svg").write_text(svg(OFFCUT), encoding="utf-8")
    x0, y0, x1, y1 = FLAW.bounds
    return (
        '[[cloth.glass.stock]]\nname = "offcut"\nfile = "offcut.svg"\n'
        f'[[cloth.glass.stock.flaw]]\nfrom = "{x0} mm"\nlength = "{x1 - x0} mm"\n'
        f'across = "{y0} mm"\nwidth = "{y1 - y0} mm"\nmargin = "{FLAW_MARGIN_MM} mm"'
    )


def area_of(told):
    return Polygon(told["outer"], told["openings"])


def remnants(out):
    """Name -> remnant file."""
    found = (out / "stock").glob("*.json") if (out / "stock").exists() else []
    files = [json.loads(path.read_text(encoding="utf-8")) for path in found]
    return {file["name"]: file for file in files}


def check_layout(layout, whole, shelf):
    """Pieces and what is kept on one roll; returns the area of each."""
    pieces = [area_of(p["cut"]) for p in layout["pieces"]]
    kept = [area_of(k["outline"]) for k in layout.get("kept", [])]
    margin = 0 if "stock" not in layout else min(MARGIN_MM, SELVEDGE_MM)
    inner = whole.buffer(NEAR_MM - margin, join_style="mitre")
    for piece in pieces:
        assert inner.contains(piece), f"a piece leaves {layout['roll']}"
    for i, one in enumerate(pieces):
        for other in pieces[i + 1 :]:
            assert one.distance(other) > GAP_MM - NEAR_MM, layout["roll"]
    if "stock" in layout:
        for flaw in shelf.get(layout["stock"], {}).get("flaws", []):
            for piece in pieces:
                far = piece.distance(Polygon(flaw["outer"]))
                assert far > flaw["margin"] - NEAR_MM, f"{far} mm from a flaw"
    for i, remnant in enumerate(kept):
        assert whole.buffer(NEAR_MM).contains(remnant), f"kept cloth is not of {layout['roll']}"
        for other in [*pieces, *kept[i + 1 :]]:
            shared = remnant.intersection(other).area
            assert shared < 0.5, f"{shared} mm2 of {layout['roll']} are there twice"
    return sum(p.area for p in pieces), sum(k.area for k in kept)


def check_plan(plan, before, after):
    """One plan between the shelf `before` and the shelf `after`; returns bought and waste area."""
    bought = sum(p["length_mm"] for p in plan["purchase"]) * ROLL_MM
    cloth = plan["cloths"][0]
    taken = kept_area = 0.0
    for layout in plan["layouts"]:
        if "stock" in layout:
            whole = area_of(layout["whole"])
            was = before[layout["stock"]]
            assert whole.symmetric_difference(Polygon(was["outline"]["outer"])).area < 0.5
            taken += whole.area
        else:
            whole = box(0, 0, plan["purchase"][0]["length_mm"], ROLL_MM)
        _, kept = check_layout(layout, whole, before)
        kept_area += kept
    touched = {layout.get("stock") for layout in plan["layouts"]}
    for name, remnant in before.items():
        if name not in touched:
            assert after[name] | {"largest_rectangle": 0} == remnant | {"largest_rectangle": 0}, name
    fresh = sum(
        Polygon(r["outline"]["outer"]).area for name, r in after.items() if name not in before
    )
    assert abs(fresh - kept_area) < 1, "what is kept is not what is written"
    net = sum(area_of(p["net"]).area for layout in plan["layouts"] for p in layout["pieces"])
    lost = bought + taken - net - cloth["waste"]["total_mm2"] - kept_area
    assert abs(lost) < 1, f"{lost} mm2 are lost"
    return bought, net, cloth["waste"]["total_mm2"]


@check("ten jobs from one shelf", "conservation of area; shapely")
def ten_jobs(context):
    folder = context.work / "shelf"
    folder.mkdir()
    stock = first_stock(folder)
    flaw = {"outer": list(FLAW.exterior.coords), "margin": FLAW_MARGIN_MM}
    shelf = {"offcut": {"outline": {"outer": OFFCUT, "openings": []}, "flaws": [flaw]}}
    at_first = Polygon(OFFCUT).area
    came = went = with_stock = 0.0
    for n in range(1, N_JOBS + 1):
        out = folder / f"with{n}"
        plan = context.plan(write_job(folder, n, stock), out)
        after = remnants(out)
        if n == 1 and "offcut" in after:
            shelf["offcut"] = after["offcut"]
        bought, net, waste = check_plan(plan, shelf, after)
        came, went = came + bought, went + net + waste
        with_stock += bought / ROLL_MM
        shelf = after
        stock = f'[[cloth.glass.stock]]\nfile = "with{n}/stock"' if after else ""
    left = sum(Polygon(r["outline"]["outer"]).area for r in shelf.values())
    lost = at_first + came - went - left
    assert abs(lost) < 1, f"{lost} mm2 are lost over ten jobs"
    without = 0.0
    for n in range(1, N_JOBS + 1):
        plan = context.plan(write_job(folder, n, ""), folder / f"without{n}")
        without += sum(p["length_mm"] for p in plan["purchase"])
    # The offcut that was there at first is no merit of the remnants: it counts as bought.
    with_stock += at_first / ROLL_MM
    saved = 100 * (1 - with_stock / without)
    assert saved >= 10, f"only {saved:.1f} % less is bought"
    return (
        f"{without / 1000:.2f} m bought without stock, {with_stock / 1000:.2f} m with it: "
        f"{saved:.1f} % less; {lost:.3f} mm2 lost"
    )


@check("no piece lies across the end of the table", "by hand")
def frames(context):
    folder = context.work / "frames"
    folder.mkdir()
    path = write_job(folder, 4, "")
    text = path.read_text(encoding="utf-8").replace("[cutting]", '[cutting]\ntable_length = "1 m"')
    path.write_text(text.replace("sets = ", "sets = 1"), encoding="utf-8")
    plan = context.plan(path, folder / "out")
    (layout,) = plan["layouts"]
    borders = layout["frames"]
    # The cloth is as long as the frames: nothing of it lies before the first, beyond the last, or, but for the
    # gap between pieces, outside a table's length.
    gap = GAP_MM + NEAR_MM
    assert 0 <= borders[0][0] <= gap, borders
    assert abs(borders[-1][1] - layout["used_length"]) < NEAR_MM, (borders, layout["used_length"])
    for (_, end), (start, _) in zip(borders, borders[1:]):
        assert end <= start <= end + gap, borders
    assert all(to - start <= 1000 + NEAR_MM for start, to in borders)
    order = [piece["frame"] for piece in layout["pieces"]]
    assert order == sorted(order), "frames are not cut in order"
    for piece in layout["pieces"]:
        x0, _, x1, _ = unary_union([area_of(piece["cut"])]).bounds
        start, to = borders[piece["frame"] - 1]
        assert start - NEAR_MM <= x0 and x1 <= to + NEAR_MM, piece["id"]
    return f"{len(layout['pieces'])} pieces in {len(borders)} frames"
