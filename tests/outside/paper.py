"""What the printer gets: templates and labels, measured as printed by an independent renderer."""

import json
import re
import resource
import shutil
import subprocess

import numpy as np
from harness import Skip, check
from jobs import job
from machines import demo_with, generated
from shapely.geometry import Polygon

TRUE_MM = 0.1  # the issue's own bound
SAME_MM = 0.01
MOST_BYTES = 2_000_000
MOST_SECONDS = 1.0


def tool(name):
    path = shutil.which(name)
    if path is None:
        raise Skip(f"there is no {name} here")
    return path


def said(*command):
    done = subprocess.run(command, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, f"{command}: {done.stdout}{done.stderr}"
    return done.stdout


def templates(out):
    found = list((out / "templates").glob("*.pdf"))
    assert len(found) == 1, found
    return found[0]


def picture(context, file, page, dpi):
    """A page as darkness, 0 for white to 1 for black; row 0 at the top."""
    from PIL import Image

    stem = context.work / f"{file.stem}-{page}-{dpi}"
    said(tool("pdftoppm"), "-gray", "-r", str(dpi), "-f", str(page), "-l", str(page),
         "-singlefile", "-png", file, stem)
    with Image.open(stem.with_suffix(".png")) as image:
        return 1 - np.asarray(image.convert("L"), dtype=float) / 255


@check("the PDF files are clean", "qpdf --check, pdfinfo, pdffonts; ISO 32000-1")
def clean(context):
    told = []
    for file in (templates(context.demo_out), context.demo_out / "labels.pdf"):
        assert "No syntax or stream encoding errors" in said(tool("qpdf"), "--check", file)
        info = said(tool("pdfinfo"), file)
        assert "595.276 x 841.89" in info, info
        fonts = said(tool("pdffonts"), file).splitlines()[2:]
        assert fonts, "no font"
        for font in fonts:
            # … emb sub uni object ID
            assert font.split()[-5] == "yes" and font.split()[-3] == "yes", font
        n_pages = re.search(r"Pages: +(\d+)", info).group(1)
        told.append(f"{file.name} {n_pages} pages")
        assert file.stat().st_size < MOST_BYTES
    return ", ".join(told)


def line_centre(darkness, around, reach):
    """Centre of a line in a profile of darkness, within `reach` of `around`; in pixels."""
    low = int(around - reach)
    window = darkness[low : int(around + reach) + 1]
    return low + 0.5 + float((np.arange(len(window)) * window).sum() / window.sum())


@check("the squares on the first page are true", "poppler at 300 dpi, centres of lines")
def squares(context):
    page = picture(context, templates(context.demo_out), 1, 300)
    px = 300 / 25.4
    found = []
    for side in (100.0, 101.6):
        # Long straight runs of dark pixels are the sides; text and legend have none.
        rows = np.flatnonzero((page > 0.5).sum(axis=1) > 95 * px)
        groups = np.split(rows, np.flatnonzero(np.diff(rows) > 3) + 1)
        tops = [g.mean() for g in groups]
        pairs = [(a, b) for a in tops for b in tops if abs((b - a) / px - side) < 1]
        assert len(pairs) == 1, (side, tops)
        (top, bottom) = pairs[0]
        middle = slice(int(top + 10 * px), int(bottom - 10 * px))
        columns = page[middle].mean(axis=0)
        edges = np.flatnonzero(columns > 0.5)
        left = line_centre(columns, edges[0], 3)
        right = line_centre(columns, left + side * px, 6)
        across = page[:, int(left + 10 * px) : int(left + 90 * px)].mean(axis=1)
        height = line_centre(across, bottom, 4) - line_centre(across, top, 4)
        for name, size in (("width", (right - left) / px), ("height", height / px)):
            assert abs(size - side) <= TRUE_MM, f"{name} {size:.3f} mm, not {side}"
            found.append(f"{size:.3f}")
    return f"{', '.join(found)} mm"


def pages_by_sheet(file):
    """Page numbers by the name of the template and of the sheet."""
    pages = {}
    for number, text in enumerate(said(tool("pdftotext"), "-layout", file, "-").split("\f"), 1):
        foot = re.search(r"^ *(\d+) +(\S+) .* sheet ([A-Z]+\d+) ", text, re.M)
        if foot:
            pages[(foot.group(1), foot.group(3))] = number
    return pages


def cross(page, x, y, px):
    """Centre in pixels of the cross that lies within 2 mm of (x, y) mm from the upper left."""
    reach = 5 * px
    box = page[int(y * px - reach) : int(y * px + reach), int(x * px - reach) : int(x * px + reach)]
    dark = np.where(box > 0.35, box, 0)
    column, row = int(dark.sum(axis=0).argmax()), int(dark.sum(axis=1).argmax())
    x0, y0 = int(x * px - reach), int(y * px - reach)
    return (
        x0 + line_centre(dark.sum(axis=0), column, 3),
        y0 + line_centre(dark.sum(axis=1), row, 3),
    )


@check("neighbouring sheets agree when joined by their crosses", "poppler at 300 dpi")
def joined(context):
    file = templates(context.demo_out)
    pages = pages_by_sheet(file)
    px = 300 / 25.4
    margin, foot, overlap, width, height = 8.0, 13.0, 10.0, 210.0, 297.0
    tall = height - 2 * margin - foot
    pairs = [(n, s) for n, s in pages if (n, f"{s[:-1]}{int(s[-1]) + 1}") in pages][:6]
    assert pairs, f"no neighbours among {list(pages)[:5]}"
    worst, n = 0.0, 0
    for number, sheet in pairs:
        left = picture(context, file, pages[(number, sheet)], 300)
        right = picture(context, file, pages[(number, f"{sheet[:-1]}{int(sheet[-1]) + 1}")], 300)
        marks = []
        for share in (0.2, 0.8):
            y = margin + tall * share
            a = cross(left, width - margin - overlap / 2, y, px)
            b = cross(right, margin + overlap / 2, y, px)
            marks.append((a, b))
        spans = [np.hypot(*np.subtract(m, o)) for m, o in zip(marks[0], marks[1])]
        assert abs(spans[0] - spans[1]) / px <= TRUE_MM, spans
        strips = []
        for side, page in ((0, left), (1, right)):
            (x, y) = marks[0][side]
            rows, columns = np.nonzero(page > 0.78)
            dx, dy = columns + 0.5 - x, rows + 0.5 - y
            # Within the overlap, but not where the neighbours' names and the crosses stand.
            middle = (marks[0][side][1] + marks[1][side][1]) / 2 - y
            keep = (abs(dx) < 4 * px) & (abs(dy - middle) > 12 * px)
            keep &= (dy > -45 * px) & (dy < (tall * 0.8 - 8) * px)
            strips.append(np.column_stack([dx[keep], dy[keep]]))
        for one, other in (strips, strips[::-1]):
            for point in one:
                off = np.sqrt(((other - point) ** 2).sum(axis=1).min()) / px
                worst = max(worst, float(off))
                n += 1
    # A pixel is 0.085 mm; a line may fall on either side of its edge.
    assert worst <= TRUE_MM + 0.085, f"{worst:.3f} mm"
    return f"{len(pairs)} pairs, {n} pixels, worst {worst:.3f} mm (a pixel is 0.085 mm)"


@check("every template measures like plan.json", "pdftocairo paths, shapely; a wide paper roll")
def measured(context):
    plan, out = demo_with(context, "roll", '[output]\nfiles = ["templates"]\npaper = "roll 50 in"\n')
    file = templates(out)
    n_pages = int(re.search(r"Pages: +(\d+)", said(tool("pdfinfo"), file)).group(1))
    rings = []
    for page in range(1, n_pages + 1):
        svg = context.work / f"roll-{page}.svg"
        said(tool("pdftocairo"), "-svg", "-f", str(page), "-l", str(page), file, svg)
        for element in re.findall(r"<path[^>]*>", svg.read_text(encoding="utf-8")):
            width = re.search(r"stroke-width:([\d.]+)", element)
            if not width or abs(float(width.group(1)) - 0.35) > 0.001:
                continue
            numbers = re.search(r' d="([^"]*)"', element).group(1)
            if "Z" in numbers:
                # Coordinates before the page's own transform: millimetres.
                points = np.array([float(v) for v in re.findall(r"-?\d+\.?\d*", numbers)])
                rings.append(Polygon(points.reshape(-1, 2)))
    # The sample line of the legend is open, so every closed one is a boundary.
    wanted = {}
    for layout in plan["layouts"]:
        for piece in layout["pieces"]:
            for ring in (piece["cut"]["outer"], *piece["cut"]["openings"]):
                shape = Polygon(ring)
                wanted.setdefault(piece["id"].split("#")[0], []).append(shape)
    worst = 0.0
    for name, shapes in wanted.items():
        for shape in shapes:
            off = min(abs(shape.area - ring.area) / shape.length for ring in rings)
            assert off <= SAME_MM, f"{name}: no template of its area, {off} mm off"
            worst = max(worst, off)
    return f"{len(rings)} boundaries, worst {worst:.4f} mm"


@check("templates of spliced plies show the mate's edge", "pdftocairo paths, pdftotext; plan.json")
def spliced(context):
    path = job(
        context.work, "spliced-templates", [(0, 0), (600, 0), (600, 400), (0, 400)],
        cloth='roll_width = "300 mm"',
        cutting='splice = "lap"\nlap = "20 mm"\nsplice_lines = "along"',
    )
    path.write_text(
        path.read_text(encoding="utf-8") + '\n[output]\nfiles = ["templates"]\npaper = "roll 50 in"\n', encoding="utf-8"
    )
    out = context.work / "spliced-templates"
    plan = context.plan(path, out)
    file = templates(out)
    words = " ".join(said(tool("pdftotext"), file, "-").split())
    joints = [(j["mate"], j) for p in plan["layouts"][0]["pieces"] for j in p["splice"]["joints"]]
    assert joints
    for mate, joint in joints:
        lies = {"under": "over", "over": "under"}[joint["lies"]]
        assert f"{mate} {lies}, lap 20 mm" in words, (mate, words)
    lengths = []
    n_pages = int(re.search(r"Pages: +(\d+)", said(tool("pdfinfo"), file)).group(1))
    for page in range(2, n_pages + 1):
        svg = context.work / f"spliced-{page}.svg"
        said(tool("pdftocairo"), "-svg", "-f", str(page), "-l", str(page), file, svg)
        for element in re.findall(r"<path[^>]*>", svg.read_text(encoding="utf-8")):
            colour = re.search(r"stroke:rgb\(([\d.]+)%,([\d.]+)%,([\d.]+)%\)", element)
            # The green of the splice lines.
            if not colour or not np.allclose([float(c) for c in colour.groups()], (0.0, 23.9, 23.5), atol=0.1):
                continue
            points = [float(v) for v in re.findall(r"-?\d+\.?\d*", re.search(r' d="([^"]*)"', element).group(1))]
            lengths.append(np.hypot(points[2] - points[0], points[3] - points[1]))
    wanted = [np.hypot(*np.subtract(*j["line"])) for _, j in joints]
    assert np.allclose(sorted(lengths), sorted(wanted), atol=SAME_MM), (lengths, wanted)
    return f"{len(joints)} lines of {wanted[0]:.1f} mm"


@check("every label is there, its code reads as its id", "zbarimg, pdftotext")
def labels(context):
    file = context.demo_out / "labels.pdf"
    ids = {piece["id"] for layout in context.demo["layouts"] for piece in layout["pieces"]}
    text = said(tool("pdftotext"), file, "-")
    assert not [name for name in ids if name not in text]
    # The reader finds one code in a picture more surely than thirty: label by label.
    from PIL import Image

    said(tool("pdftoppm"), "-r", "200", "-gray", "-png", file, context.work / "labels")
    cells = []
    for page in sorted(context.work.glob("labels-*.png")):
        with Image.open(page) as image:
            wide, high = (image.width - 2 * 63) / 3, (image.height - 2 * 63) / 9
            for k in range(27):
                x, y = 63 + k % 3 * wide, 63 + k // 3 * high
                cells.append(context.work / f"{page.stem}-cell-{k}.png")
                image.crop((int(x), int(y), int(x + wide), int(y + high))).save(cells[-1])
    done = subprocess.run(
        [tool("zbarimg"), "--nodbus", "-q", "--raw", *cells], capture_output=True, text=True, timeout=120
    )
    read = set(done.stdout.split())
    assert read == ids, (ids - read, read - ids)
    names = said(tool("pdftotext"), templates(context.demo_out), "-")
    assert not [name for name in ids if name.split("#")[0] not in names]
    return f"{len(read)} codes"


@check("200 pieces are written in less than a second", "own; examples/output_bench")
def fast(context):
    bench = context.binary.parent / "examples" / "output_bench"
    if not bench.exists():
        raise Skip("output_bench is not built")
    job = generated(context.work, "blobs200", 5, 200)
    before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
    told = json.loads(said(bench, job))
    # On a busy machine the clock says little: all work of the bench, shared among its five rounds.
    spent = (resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - before) / 5
    seconds = min(told["seconds"], spent)
    assert told["pieces"] == 200
    largest = max(size for path, size in told["files"].items() if path.endswith(".pdf"))
    assert largest < MOST_BYTES, largest
    assert seconds < MOST_SECONDS, told["seconds"]
    return f"{seconds:.2f} s, largest PDF {largest / 1e6:.2f} MB"
