"""What the printer gets: templates and labels, measured as printed by an independent renderer."""

import json
import math
import re
import resource
import shutil
import subprocess

import numpy as np
from harness import REPO, Skip, check
from jobs import job
from machines import demo_with, generated
from shapely.geometry import Polygon

TRUE_MM = 0.1  # the issue's own bound
SAME_MM = 0.01
MOST_BYTES = 2_000_000
# What is asked of a release; machines and profiles each differ by more than twice, so only several times as long fails.
ASKED_SECONDS = 1.0
MOST_SECONDS = 10 * ASKED_SECONDS


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
    found = list((out / "templates").glob("templates-*.pdf"))
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
    (trim,) = (context.demo_out / "templates").glob("trim-*.pdf")
    for file in (templates(context.demo_out), trim, context.demo_out / "labels.pdf"):
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
    """Page numbers by the number of the map and the name of the sheet."""
    pages = {}
    for number, text in enumerate(said(tool("pdftotext"), "-layout", file, "-").split("\f"), 1):
        foot = re.search(r" map (\d+) . sheet ([A-Z]+\d+) ", text)
        if foot:
            pages[(foot.group(1), foot.group(2))] = number
    return pages


def cross(page, x, y, px, reach=5):
    """Centre in pixels of the cross that lies within `reach` mm of (x, y) mm from the upper left."""
    reach = reach * px
    box = page[int(y * px - reach) : int(y * px + reach), int(x * px - reach) : int(x * px + reach)]
    dark = np.where(box > 0.35, box, 0)
    column, row = int(dark.sum(axis=0).argmax()), int(dark.sum(axis=1).argmax())
    x0, y0 = int(x * px - reach), int(y * px - reach)
    return (
        x0 + line_centre(dark.sum(axis=0), column, 0.25 * px),
        y0 + line_centre(dark.sum(axis=1), row, 0.25 * px),
    )


def strip(context, file, page, dpi, left, width):
    """A strip of a page `width` mm wide from `left` mm on, as darkness."""
    from PIL import Image

    px = dpi / 25.4
    stem = context.work / f"{file.stem}-{page}-from-{round(left)}"
    said(tool("pdftoppm"), "-gray", "-r", str(dpi), "-f", str(page), "-l", str(page), "-singlefile", "-png",
         "-x", str(round(left * px)), "-y", "0", "-W", str(round(width * px)), "-H", str(round(297 * px)), file, stem)
    Image.MAX_IMAGE_PIXELS = None
    with Image.open(stem.with_suffix(".png")) as image:
        return 1 - np.asarray(image.convert("L"), dtype=float) / 255


def covered_within(mask, other, most):
    """The least radius in pixels, up to `most`, within which each pixel of `mask` finds one of `other`."""
    left = mask.copy()
    reach = range(-most, most + 1)
    last = 0.0
    steps = sorted((math.hypot(i, j), i, j) for i in reach for j in reach)
    high, wide = mask.shape
    for radius, i, j in steps:
        if radius > most:
            break
        if not left[most : high - most, most : wide - most].any():
            return last
        last = radius
        moved = np.zeros_like(other)
        moved[most : high - most, most : wide - most] = other[
            most + i : high - most + i, most + j : wide - most + j
        ]
        left &= ~moved
    return last if not left[most : high - most, most : wide - most].any() else math.inf


@check("neighbouring sheets agree when joined by their crosses", "poppler at 1200 dpi")
def joined(context):
    file = templates(context.demo_out)
    pages = pages_by_sheet(file)
    dpi = 1200
    px = dpi / 25.4
    margin, foot, overlap, width, height = 8.0, 13.0, 10.0, 210.0, 297.0
    tall = height - 2 * margin - foot
    pairs = [(n, s) for n, s in pages if (n, f"{s[:-1]}{int(s[-1]) + 1}") in pages][:8]
    assert pairs, f"no neighbours among {list(pages)[:5]}"
    worst, n = 0.0, 0
    for number, sheet in pairs:
        # Strips about the seam, 16 mm wide.
        seams = (width - margin - overlap / 2, margin + overlap / 2)
        neighbour = f"{sheet[:-1]}{int(sheet[-1]) + 1}"
        strips = [
            strip(context, file, pages[(number, name)], dpi, seam - 8, 16)
            for name, seam in ((sheet, seams[0]), (neighbour, seams[1]))
        ]
        marks = [
            [cross(page, 8, margin + tall * share, px, reach=7) for page in strips] for share in (0.2, 0.8)
        ]
        spans = [np.hypot(*np.subtract(m, o)) for m, o in zip(marks[0], marks[1])]
        assert abs(spans[0] - spans[1]) / px <= TRUE_MM, spans
        # The other sheet, laid so that the upper crosses meet: to a whole pixel.
        shift = np.subtract(marks[0][1], marks[0][0])
        dx, dy = (int(round(v)) for v in shift)
        rest = float(np.hypot(*(shift - (dx, dy))))
        top, bottom = int(marks[0][0][1]), int(marks[1][0][1])
        middle = (top + bottom) // 2
        # Within the overlap, but not where crosses and the neighbours' names stand.
        spans = [(int(margin * px) + 10, top - int(6 * px)), (top + int(6 * px), middle - int(12 * px)),
                 (middle + int(12 * px), bottom - int(6 * px)), (bottom + int(6 * px), int((margin + tall) * px) - 10)]
        x0, half = int(round(marks[0][0][0])), int(4 * px)
        for low, high in spans:
            boxes = []
            for page, (i, j) in zip(strips, ((0, 0), (dx, dy))):
                # The seam itself is grey and dashed, each sheet with dashes of its own.
                box = page[low + j : high + j, x0 - half + i : x0 + half + i] > 0.78
                boxes.append(box)
            most = int(TRUE_MM * px)
            for one, other in (boxes, boxes[::-1]):
                off = (covered_within(one, other, most) + rest) / px
                assert off <= TRUE_MM, f"map {number}, {sheet} to {neighbour}: {off:.3f} mm"
                if one.any():
                    worst = max(worst, off)
                n += int(one.sum())
    assert n > 10_000, "no line crosses a seam"
    return f"{len(pairs)} pairs, {n} pixels, worst {worst:.3f} mm (a pixel is {1 / px:.3f} mm)"


def closed_lines(context, file, page):
    """The closed cut lines of a page, in its own millimetres."""
    svg = context.work / f"{file.parent.parent.name}-{page}.svg"
    said(tool("pdftocairo"), "-svg", "-f", str(page), "-l", str(page), file, svg)
    found = []
    for element in re.findall(r"<path[^>]*>", svg.read_text(encoding="utf-8")):
        width = re.search(r"stroke-width:([\d.]+)", element)
        numbers = re.search(r' d="([^"]*)"', element).group(1)
        if width and abs(float(width.group(1)) - 0.35) < 0.001 and "Z" in numbers:
            points = np.array([float(v) for v in re.findall(r"-?\d+\.?\d*", numbers)])
            found.append(Polygon(points.reshape(-1, 2)))
    return found


@check("templates that share sheets lie apart and whole", "pdftocairo paths, shapely; 40 blobs on A4")
def shared(context):
    path = generated(context.work, "blobs-paper", 11, 40)
    text = path.read_text(encoding="utf-8").replace("files = []", 'files = ["templates"]')
    path.write_text(text, encoding="utf-8")
    out = context.work / "blobs-paper-out"
    plan = context.plan(path, out)
    file = templates(out)
    n_pages = int(re.search(r"Pages: +(\d+)", said(tool("pdfinfo"), file)).group(1))
    sheets = set(pages_by_sheet(file).values())
    nearest, n_whole, n_guests = math.inf, 0, 0
    for page in range(2, n_pages + 1):
        lines = closed_lines(context, file, page)
        outer = [p for p in lines if not any(q is not p and q.contains(p) for q in lines)]
        for i, one in enumerate(outer):
            x0, y0, x1, y1 = one.bounds
            # On the sheets of a large one its line may go on beyond the edge.
            whole = min(x0, y0 - 13) >= 8 - SAME_MM and x1 <= 202 + SAME_MM and y1 <= 289 + SAME_MM
            assert whole or page in sheets, one.bounds
            n_whole += whole
            n_guests += whole and page in sheets
            for other in outer[i + 1 :]:
                nearest = min(nearest, one.distance(other))
    assert nearest >= 1, f"two templates are {nearest:.2f} mm apart"
    assert n_guests > 0, "nothing lies beside a large template"
    n = len(plan["layouts"][0]["pieces"])
    return f"{n} pieces on {n_pages} pages, {n_whole} of them whole, {n_guests} beside larger ones; {nearest:.1f} mm apart"


@check("plies that differ only in cloth or warp share a template", "shapely; pdftotext; plan.json of the demo")
def lays(context):
    alike = {}
    for layout in context.demo["layouts"]:
        for piece in layout["pieces"]:
            cut, net = (Polygon(piece[k]["outer"], piece[k]["openings"]) for k in ("cut", "net"))
            key = (piece["part"], *(round(v, 1) for v in (cut.area, cut.length, net.area, net.length)))
            words = f"{layout['cloth']} {piece['angle_design']:g}°"
            alike.setdefault(key, set()).add((words, piece["id"].split("#")[0]))
    text = " ".join(said(tool("pdftotext"), templates(context.demo_out), "-").split())
    n, n_arrows = 0, 0
    for plies in alike.values():
        if len({words for words, _ in plies}) < 2:
            continue
        n += 1
        for words, ply in plies:
            # The line of the label with the plies, and the words at the arrow; oblique ones come out in pieces.
            cloth, angle = words.split()
            line = rf"\b[A-Z] {cloth} · {re.escape(angle)} · cut \d+ [^A-Z]*[A-Z0-9, -]*{ply}"
            assert re.search(line, text), (words, ply)
            n_arrows += bool(re.search(rf"\b[A-Z] {re.escape(words)}", text))
    assert n_arrows > n, f"{n_arrows} arrows of {n} templates"
    assert n > 0
    return f"{n} templates for several cloths or directions of the warp"


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


@check("every label is there, its code reads as job and id, remnants too", "zbarimg, pdftotext")
def labels(context):
    file = context.demo_out / "labels.pdf"
    ids = {piece["id"] for layout in context.demo["layouts"] for piece in layout["pieces"]}
    kept = {left["name"] for left in context.demo["stock_left"]}
    text = said(tool("pdftotext"), file, "-")
    assert kept
    assert not [name for name in kept if name not in text]
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
    job = context.demo.get("job_number") or context.demo["title"]
    read, wanted = set(done.stdout.splitlines()), {f"{job}/{name}" for name in ids | kept}
    assert read == wanted, (wanted - read, read - wanted)
    names = said(tool("pdftotext"), templates(context.demo_out), "-")
    assert not [name for name in ids if name.split("#")[0] not in names]
    return f"{len(read)} codes"


@check("200 pieces are written in about a second", "own; examples/output_bench", alone=True)
def fast(context):
    # Linked anew it costs minutes in the profile of a release: where nobody asked for that, as the tests are built.
    profiles = [context.binary.parent, REPO / "target" / "debug"]
    benches = [profile / "examples" / "output_bench" for profile in profiles]
    bench = next((bench for bench in benches if bench.exists()), None)
    if bench is None:
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
    return f"{seconds:.2f} s as `{bench.parent.parent.name}` (asked {ASKED_SECONDS:.0f} as `release`), largest PDF {largest / 1e6:.2f} MB"
