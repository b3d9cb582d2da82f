"""The layup sheets as PDF, read back with tools that share no code with the program; plan.json is the witness."""

import re
from xml.etree import ElementTree

import numpy as np
from harness import check
from jobs import job
from paper import said, tool
from shapely.geometry import LineString, Polygon
from splices import assemble, back, by_ply

MM = 72 / 25.4
PLATE = [(0, 0), (600, 0), (600, 400), (0, 400)]


def sheets(out):
    return out / "layup" / "sheets.pdf"


def pages(file, *how):
    return said(tool("pdftotext"), *how, file, "-").split("\f")[:-1]


def ids_of(plan, part):
    """Ids of a part in the order of laying: set by set, ply by ply, letter by letter."""
    found = [p for layout in plan["layouts"] for p in layout["pieces"] if p["part"] == part]
    return [p["id"] for p in sorted(found, key=lambda p: (p["set"], p["ply"], p["id"]))]


def batches_by_piece(plan):
    numbers = {}
    for batch in plan["resin"]["batches"]:
        for name in batch["plies"]:
            numbers.setdefault(name, []).append(batch["n"])
    return {name: str(n[0]) if len(n) == 1 else f"{n[0]} to {n[-1]}" for name, n in numbers.items()}


@check("the PDF is clean, its text on the paper", "qpdf --check, pdfinfo, pdffonts, pdftotext -bbox; ISO 32000-1")
def clean(context):
    file = sheets(context.demo_out)
    assert "No syntax or stream encoding errors" in said(tool("qpdf"), "--check", file)
    info = said(tool("pdfinfo"), file)
    assert "595.276 x 841.89" in info, info
    n_pages = int(re.search(r"Pages: +(\d+)", info).group(1))
    for font in said(tool("pdffonts"), file).splitlines()[2:]:
        # … emb sub uni object ID
        assert font.split()[-5] == "yes" and font.split()[-3] == "yes", font
    words = 0
    space = "{http://www.w3.org/1999/xhtml}"
    for page in ElementTree.fromstring(said(tool("pdftotext"), "-bbox", file, "-")).iter(f"{space}page"):
        width, height = float(page.get("width")), float(page.get("height"))
        for word in page.iter(f"{space}word"):
            x0, y0, x1, y1 = (float(word.get(k)) for k in ("xMin", "yMin", "xMax", "yMax"))
            # Boxes are as high as the face; letters themselves are well inside.
            inside = 11 * MM < x0 and x1 < width - 11 * MM and 10 * MM < y0 and y1 < height - 9 * MM
            assert inside, (word.text, x0 / MM, y0 / MM, x1 / MM, y1 / MM)
            words += 1
    return f"{n_pages} pages, {words} words"


@check("every page says whose it is and which", "pdftotext; counted")
def feet(context):
    texts = pages(sheets(context.demo_out), "-layout")
    titles = [part["name"] for part in context.demo["parts"]] + ["Cutting and kit lists"]
    seen = []
    for n, text in enumerate(texts, 1):
        foot = text.rstrip().splitlines()[-1]
        told = re.match(r" *(.+), page (\d+) of (\d+) .* · (\d+) / (\d+)$", foot)
        assert told, foot
        assert (int(told[4]), int(told[5])) == (n, len(texts)), foot
        seen.append((told[1], int(told[2]), int(told[3])))
    expected = [
        (title, n + 1, sum(1 for s in seen if s[0] == title))
        for title in titles
        for n in range(sum(1 for s in seen if s[0] == title))
    ]
    assert seen == expected, seen
    return f"{len(texts)} pages, {len(titles)} sheets"


@check("pieces in the order of laying with their batches", "pdftotext; plan.json")
def order(context):
    plan = context.demo
    batches = batches_by_piece(plan)
    kit = "\n".join(t for t in pages(sheets(context.demo_out), "-layout") if "Cutting and kit lists, page" in t)
    raw = pages(sheets(context.demo_out), "-raw")
    n = 0
    for part in plan["parts"]:
        name = part["name"]
        wanted = ids_of(plan, name)
        rows = re.findall(rf"^ *(\d+) +(\d+) +({re.escape(name)}-\S+) +(\S+) +(\S+(?:, warp \S+)?) +(up|down) +(\d+(?: to \d+)?) *$", kit, re.M)
        assert [row[2] for row in rows] == wanted, (name, rows)
        down = {p["id"] for layout in plan["layouts"] for p in layout["pieces"] if p["turned_over"]}
        for row in rows:
            assert row[5] == ("down" if row[2] in down else "up"), row
            assert row[6] == batches[row[2]], (row, batches[row[2]])
        own = "\n".join(t for t in raw if f"{name}, page" in t)
        table = own[own.index("Lay and tick") : own.index("Bag it, from")]
        found = list(dict.fromkeys(re.findall(rf"{re.escape(name)}-\d+(?:-[A-Z])?(?:#\d+)?", table)))
        # On the sheet all sets of a ply stand together.
        by_ply = sorted(wanted, key=lambda i: int(re.search(r"-(\d+)", i[len(name):])[1]))
        assert found == by_ply, (name, found, by_ply)
        for batch in plan["resin"]["batches"]:
            if batch["plies"][0] in wanted:
                weights = re.findall(r"(\d+\.\d+) g", own)
                near = [w for w in weights if abs(float(w) - batch["part_a_g"]) < 0.051]
                assert near, (name, batch)
        n += len(wanted)
    return f"{n} pieces, {len(plan['resin']['batches'])} batches"


def strokes(file, page, folder):
    """Stroked paths of a page: width, whether dashed, whether closed, points in mm."""
    svg = folder / f"sheet-{page}.svg"
    said(tool("pdftocairo"), "-svg", "-f", str(page), "-l", str(page), file, svg)
    for element in re.findall(r"<path[^>]*>", svg.read_text(encoding="utf-8")):
        width = re.search(r"stroke-width:([\d.]+)", element) or re.search(r'stroke-width="([\d.]+)"', element)
        if not width:
            continue
        data = re.search(r' d="([^"]*)"', element).group(1)
        points = np.array([float(v) for v in re.findall(r"-?\d+\.?\d*", data)])
        if len(points) % 2:
            continue
        yield float(width.group(1)), "dasharray:" in element or "dasharray=" in element, "Z" in data, points.reshape(-1, 2)


@check("joints are drawn where plan.json has them", "pdftocairo paths; pieces carried back to the part with shapely")
def joints(context):
    path = job(
        context.work, "joined-sheets", PLATE, cloth='roll_width = "300 mm"',
        cutting='splice = "lap"\nlap = "20 mm"\nsplice_lines = "along"',
    )
    out = context.work / "joined-sheets"
    plan = context.plan(path, out)
    ((_, pieces),) = by_ply(plan).items()
    placed = assemble(pieces, Polygon(PLATE))
    wanted = {"under": [], "over": []}
    for letter, piece in pieces.items():
        dx, dy = placed[letter][1]
        for joint in piece["splice"]["joints"]:
            ends = [(x + dx, y + dy) for x, y in (back(p, piece) for p in joint["line"])]
            line = LineString(ends).intersection(Polygon(PLATE))
            wanted[joint["lies"]].append(sorted(line.coords))
    texts = pages(sheets(out))
    page = next(n for n, text in enumerate(texts, 1) if "Where plies are joined" in text)
    # What is said of a drawing follows it, at the latest on the next page.
    said_of_it = " ".join("".join(texts[page - 1 : page + 1]).split())
    for piece in pieces.values():
        for joint in piece["splice"]["joints"]:
            assert joint["mate"] in texts[page - 1], (joint["mate"], texts[page - 1])
            if joint["lies"] == "under":
                assert f"{joint['mate']} over {piece['id']}, lap 20 mm" in said_of_it
    drawn = list(strokes(sheets(out), page, context.work))
    # The plate drawn flat: half again as wide as high, and true to the axes.
    flat = [p for _, _, closed, p in drawn if closed and is_flat(p)]
    assert flat, "the ply is not drawn flat"
    low, high = flat[0].min(axis=0), flat[0].max(axis=0)
    scale = (high[0] - low[0]) / 600
    found = {"under": [], "over": []}
    for _, dashed, closed, p in drawn:
        if not closed and len(p) == 2 and (p >= low - 0.05).all() and (p <= high + 0.05).all():
            if abs(p[0][1] - p[1][1]) < 0.01 and np.ptp(p[:, 0]) > 0.9 * (high[0] - low[0]):
                ends = sorted(tuple((q - low) / scale) for q in p)
                found["over" if dashed else "under"].append(ends)
    for lies, lines in wanted.items():
        assert lines and len(found[lies]) == len(lines), (lies, found, wanted)
        for a, b in zip(sorted(found[lies], key=lambda e: e[0][1]), sorted(lines, key=lambda e: e[0][1])):
            # A thousandth of a millimetre on paper is some hundredths on the ply; drawn to 0.5 mm.
            assert np.abs(np.subtract(a, b)).max() < 0.6, (lies, a, b)
    return f"{len(wanted['under'])} edges on top, {len(wanted['over'])} beneath"


def is_flat(points):
    size = np.ptp(points, axis=0)
    return size[0] > 40 and abs(size[0] / size[1] - 1.5) < 0.01 and (
        abs(Polygon(points).area - size[0] * size[1]) < 0.01 * size[0] * size[1]
    )
