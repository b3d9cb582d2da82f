"""Photographs of templates, rendered here from the printed board itself: the PDF is made pixels by poppler, the template painted on it,
and the camera is numpy's. Outlines are compared with shapely, lens and pose with OpenCV. All pictures are rendered, none is taken.
"""

import json
import math
import re
import shutil
import subprocess

import cv2
import numpy as np
from PIL import Image
from shapely.affinity import translate
from shapely.geometry import Point, Polygon

import reading
from harness import Skip, check

BOARD = (680.0, 520.0)
PER_MM = 150 / 25.4
SIZE = (2000, 1500)
# Orange, blue, green, red: light reflected, as in all that is painted here.
COLOURS = [(0.75, 0.25, 0.08), (0.05, 0.22, 0.55), (0.08, 0.35, 0.12), (0.45, 0.05, 0.06)]
EDGE = [(190, 110), (350, 110), (362, 132), (374, 110), (520, 110), (520, 280), (430, 360), (190, 360)]
LINE = [(230, 180), (400, 220)]
SHAPES = [
    ([EDGE], "notched plate"),
    ([[(150, 100), (500, 130), (480, 240), (330, 250), (320, 380), (170, 370)]], "L"),
    ([[(320 + (150 + 18 * math.cos(3 * a)) * math.cos(a), 240 + (130 + 12 * math.cos(3 * a)) * math.sin(a)) for a in np.linspace(0, 2 * math.pi, 721)[:-1]]], "round"),
    ([EDGE, [(280 + 40 * math.cos(a), 240 + 40 * math.sin(a)) for a in np.linspace(0, 2 * math.pi, 361)[:-1]]], "plate with an opening"),
]


def board(context):
    """The board in one piece as grey pixels, row 0 at the top."""
    if shutil.which("pdftoppm") is None:
        return None
    pdf = context.work / "photo-board.pdf"
    context.run("board", pdf, "--paper", "one", "--width", f"{BOARD[0]} mm", "--height", f"{BOARD[1]} mm", "--replace")
    subprocess.run(["pdftoppm", "-r", "150", "-gray", pdf, context.work / "photo-board"], check=True)
    (page,) = sorted(context.work.glob("photo-board*.pgm"))
    return np.array(Image.open(page))


def pixels_of(points, height):
    """Places in millimetres (y up) in pixels of the flat board."""
    points = np.asarray(points, float)
    return np.column_stack([points[:, 0] * PER_MM, height - points[:, 1] * PER_MM])


def painted(page, rings, colour, line):
    # Ink covers paper in part where poppler's grey is between.
    flat = np.repeat((0.03 + 0.82 * (page.astype(np.float32) / 255) ** 2.2)[:, :, None], 3, axis=2)
    # Four by four to a pixel, rows in bands; OpenCV fills the pixels that a line touches too, an eighth of a pixel then.
    fine = 4
    mask = np.zeros((page.shape[0] * fine, page.shape[1] * fine), np.uint8)
    whole = [np.round((pixels_of(ring, page.shape[0]) * fine - 0.5) * 16).astype(np.int32) for ring in rings]
    cv2.fillPoly(mask, whole, 255, shift=4)
    mask = cv2.resize(mask, page.shape[::-1], interpolation=cv2.INTER_AREA)
    part = mask[:, :, None].astype(np.float32) / 255
    flat = flat * (1 - part) + np.array(colour, np.float32) * part
    if line:
        ends = np.round((pixels_of(line, page.shape[0]) - 0.5) * 16).astype(np.int32)
        ink = np.zeros(page.shape, np.uint8)
        cv2.line(ink, ends[0].tolist(), ends[1].tolist(), 255, 12, cv2.LINE_AA, 4)
        part = ink[:, :, None].astype(np.float32) / 255
        flat = flat * (1 - part) + 0.03 * part
    return flat


class Camera:
    """A pinhole whose lens is told from pixel to ray, the other way round than the one that is fitted."""

    def __init__(self, tilt, towards, turn=0.0, distance=600.0, view=66.0, lens=(0.04, 0.01)):
        tilt, towards, turn = map(math.radians, (tilt, towards, turn))
        ahead = np.array([math.sin(tilt) * math.cos(towards), math.sin(tilt) * math.sin(towards), -math.cos(tilt)])
        along = np.array([math.cos(turn), math.sin(turn), 0.0])
        right = along - ahead * along.dot(ahead)
        right /= np.linalg.norm(right)
        self.axes = right, np.cross(ahead, right), ahead
        self.eye = np.array([BOARD[0] / 2, BOARD[1] / 2, 0.0]) - ahead * distance
        self.focal = SIZE[0] / 2 / math.tan(math.radians(view) / 2)
        self.lens = lens

    def places(self, pixels):
        """Where on the board pixels look, mm."""
        off = (pixels - np.array(SIZE) / 2 - np.array([6.0, -9.0])) / self.focal
        rr = (off**2).sum(axis=-1, keepdims=True)
        off = off * (1 + rr * (self.lens[0] + rr * self.lens[1]))
        right, down, ahead = self.axes
        rays = ahead + off[..., :1] * right + off[..., 1:] * down
        way = -self.eye[2] / rays[..., 2:]
        return (self.eye + way * rays)[..., :2]

    def takes(self, flat, seed):
        """The picture: 3 × 3 rays for each pixel, blur, a slope of the light, noise."""
        n = 3
        xs = (np.arange(SIZE[0] * n) + 0.5) / n
        rows = []
        for y in range(0, SIZE[1] * n, 300):
            ys = (np.arange(y, min(y + 300, SIZE[1] * n)) + 0.5) / n
            at = self.places(np.stack(np.meshgrid(xs, ys), axis=-1)) * PER_MM
            u, v = at[..., 0] - 0.5, flat.shape[0] - at[..., 1] - 0.5
            seen = cv2.remap(flat, u.astype(np.float32), v.astype(np.float32), cv2.INTER_LINEAR, borderValue=(0.35, 0.22, 0.12))
            rows.append(cv2.resize(seen, (SIZE[0], len(ys) // n), interpolation=cv2.INTER_AREA))
        picture = cv2.GaussianBlur(np.concatenate(rows), (0, 0), 0.8)
        picture *= np.linspace(1.0, 0.8, SIZE[0], dtype=np.float32)[None, :, None]
        # IEC 61966-2-1, sRGB.
        picture = np.where(picture > 0.0031308, 1.055 * np.maximum(picture, 1e-6) ** (1 / 2.4) - 0.055, 12.92 * picture)
        picture = 255 * picture + np.random.default_rng(seed).normal(0, 2.0, picture.shape)
        return Image.fromarray(np.clip(np.round(picture), 0, 255).astype(np.uint8))


def inspected(context, path):
    told = json.loads(context.run("inspect", "--json", path).stdout)["files"][0]
    svg = path.with_suffix(".svg")
    context.run("inspect", path, "--quiet", "--outline", svg, "--replace")
    (outline,) = reading.read(svg).outlines
    return told["outlines"][0], outline.polygon


def on(polygon, other):
    """`polygon` shifted onto the middle of `other`: where on the board a template lies is of no matter."""
    shift = np.array(other.centroid.coords[0]) - np.array(polygon.centroid.coords[0])
    return translate(polygon, *shift)


def apart(a, b):
    """Hausdorff distance of the edges and openings, mm, at places half a millimetre apart."""
    return a.boundary.segmentize(0.5).hausdorff_distance(b.boundary.segmentize(0.5))


@check("outlines of photographs", "shapely areas and Hausdorff distances; renderer of our own from the printed board")
def outlines(context):
    page = board(context)
    if page is None:
        raise Skip("pdftoppm is missing")
    worst_area = worst_edge = worst = 0.0
    for k, (rings, name) in enumerate(SHAPES):
        camera = Camera(tilt=4 + 4 * k, towards=70 * k, turn=5 * k)
        taken = camera.takes(painted(page, rings, COLOURS[k], None), k)
        # In full colour, and as most cameras keep it: colour in half as many pixels each way, by which corners look rounder.
        for halved in (0, 2):
            path = context.work / f"photo-{k}.jpg"
            taken.save(path, quality=90, subsampling=halved)
            told, polygon = inspected(context, path)
            said = float(re.search(r"edges to about ([0-9.]+) mm", context.run("inspect", path).stderr)[1])
            truth = Polygon(rings[0], rings[1:])
            area = abs(told["area_mm2"] / truth.area - 1)
            edge = apart(on(polygon, truth), truth)
            assert area < 2e-3, f"{name}: area off by {area:.2e}"
            assert said <= 0.6 and edge < 1.5 * said, f"{name}: an edge is off by {edge:.2f} mm, {said} mm are told"
            worst_area, worst_edge, worst = max(worst_area, area), max(worst_edge, edge), max(worst, edge / said)
    return f"{len(SHAPES)} shapes, area to {worst_area:.1e}, edges to {worst_edge:.2f} mm, {worst:.1f} times what is told (rendered pictures)"


@check("lens and pose of a photograph", "OpenCV calibrateCamera on the dots of the printed board")
def lens(context):
    page = board(context)
    if page is None:
        raise Skip("pdftoppm is missing")
    camera = Camera(tilt=14, towards=120, turn=8, view=74, lens=(0.08, 0.02))
    rings, _ = SHAPES[0]
    path = context.work / "photo-lens.jpg"
    camera.takes(painted(page, rings, COLOURS[0], None), 9).save(path, quality=92)
    # The dots of the print, by OpenCV.
    _, labels, stats, middles = cv2.connectedComponentsWithStats((page < 128).astype(np.uint8))
    wanted = math.pi * 3**2 * PER_MM**2
    round_ones = [i for i in range(1, len(stats)) if abs(stats[i, cv2.CC_STAT_AREA] / wanted - 1) < 0.1]
    dots = (middles[round_ones] + 0.5) / PER_MM
    dots[:, 1] = page.shape[0] / PER_MM - dots[:, 1]
    truth = Polygon(rings[0])
    dots = np.array([d for d in dots if truth.distance(Point(d)) > 6])
    # The dots of the photograph: the dark blobs, each given to the nearest printed one by the true camera.
    grey = cv2.cvtColor(cv2.imread(str(path)), cv2.COLOR_BGR2GRAY)
    dark = cv2.adaptiveThreshold(grey, 1, cv2.ADAPTIVE_THRESH_MEAN_C, cv2.THRESH_BINARY_INV, 51, 30)
    _, _, stats, blobs = cv2.connectedComponentsWithStats(dark)
    blobs = blobs[(stats[:, cv2.CC_STAT_AREA] > 60) & (stats[:, cv2.CC_STAT_AREA] < 600)]
    seen, flat = [], []
    for blob, at in zip(blobs, camera.places(blobs + 0.5)):
        k = np.argmin(((dots - at) ** 2).sum(axis=1))
        if np.linalg.norm(dots[k] - at) > 1.5:
            continue
        x, y = np.round(blob).astype(int)
        window = 255.0 - grey[y - 12 : y + 13, x - 12 : x + 13]
        if window.shape != (25, 25):
            continue
        ink = np.clip(window - np.percentile(window, 40) - 25, 0, None)
        rows, columns = np.mgrid[-12:13, -12:13]
        seen.append((x + (ink * columns).sum() / ink.sum(), y + (ink * rows).sum() / ink.sum()))
        flat.append((*dots[k], 0.0))
    seen, flat = np.array(seen, np.float32), np.array(flat, np.float32)
    # OpenCV's board has y down.
    flat[:, 1] = BOARD[1] - flat[:, 1]
    guess = np.array([[camera.focal, 0, SIZE[0] / 2], [0, camera.focal, SIZE[1] / 2], [0, 0, 1]])
    rms, matrix, bend, turns, shifts = cv2.calibrateCamera([flat], [seen], SIZE, guess, None, flags=cv2.CALIB_USE_INTRINSIC_GUESS | cv2.CALIB_FIX_ASPECT_RATIO)
    assert rms < 0.3, f"OpenCV leaves {rms:.2f} pixels"
    # The template by its colour in OpenCV's flat view, half-way up the step.
    fine = 6
    grid = np.stack(np.meshgrid((np.arange(int(BOARD[0] * fine)) + 0.5) / fine, (np.arange(int(BOARD[1] * fine)) + 0.5) / fine), axis=-1)
    places = np.concatenate([grid.reshape(-1, 2), np.zeros((grid.shape[0] * grid.shape[1], 1))], axis=1)
    at, _ = cv2.projectPoints(places, turns[0], shifts[0], matrix, bend)
    at = at.reshape(*grid.shape[:2], 2).astype(np.float32)
    view = cv2.remap(cv2.imread(str(path)).astype(np.float32), at[..., 0], at[..., 1], cv2.INTER_LINEAR)
    # Red less blue of the light itself: what is half template has half of it, whether paper or ink is the other half.
    light = (view / 255) ** 2.2
    chroma = cv2.GaussianBlur(light[..., 2] - light[..., 0], (0, 0), 1.5)
    # Paper shows how the light falls: a plane is enough.
    rows, columns = np.nonzero((np.abs(chroma) < 0.05) & (light[..., 1] > 0.45))
    terms = np.column_stack([np.ones(len(rows)), columns, rows])[::97]
    plane, *_ = np.linalg.lstsq(terms, light[rows, columns, 1][::97], rcond=None)
    down, across = np.indices(chroma.shape)
    chroma /= plane[0] + plane[1] * across + plane[2] * down
    level = np.median(chroma[chroma > np.percentile(chroma, 85) / 2]) / 2
    contours, _ = cv2.findContours((chroma > level).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    outline = max(contours, key=cv2.contourArea).reshape(-1, 2)
    theirs = Polygon(np.column_stack([(outline[:, 0] + 0.5) / fine, BOARD[1] - (outline[:, 1] + 0.5) / fine])).buffer(0.5 / fine)
    ours = on(inspected(context, path)[1], theirs)
    area, edge = abs(ours.area / theirs.area - 1), apart(ours, theirs)
    # Their corners, the notch's point above all, are as round as blur makes them.
    assert area < 2e-3 and edge < 1.3, f"area {area:.1e}, edge {edge:.2f} mm"
    share = apart_share(ours, theirs)
    assert share < 0.4, f"the usual distance is {share:.2f} mm"
    return f"{len(seen)} dots, OpenCV leaves {rms:.2f} px; area {area:.1e}, edges {share:.2f} mm (most, at corners, {edge:.2f})"


def apart_share(a, b):
    """What nine in ten places of the edge of `a` keep within from that of `b`, mm."""
    places = [a.exterior.interpolate(t, True) for t in np.linspace(0, 1, 800, False)]
    return float(np.percentile([b.exterior.distance(p) for p in places], 90))


JOB = """[cloth.glass]
weave = "plain"
areal_weight = "200 g/m2"
roll_width = "1 m"
[[part]]
name = "LID"
pattern = "%s"
cloth = "glass"
layup = "[0]"
"""
# EXIF 2.32, tag 274: what a viewer has to do with the stored rows.
STORED = {
    1: None,
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}


@check("a line drawn on a template reaches the cut file", "EXIF 2.32 orientations by pillow; ezdxf, numpy")
def carried(context):
    page = board(context)
    if page is None:
        raise Skip("pdftoppm is missing")
    taken = Camera(tilt=9, towards=200, turn=-6).takes(painted(page, [EDGE], COLOURS[0], LINE), 3)
    truth = Polygon(EDGE)
    slope = math.atan2(LINE[1][1] - LINE[0][1], LINE[1][0] - LINE[0][0])
    folder = context.work / "photo-carried"
    folder.mkdir(exist_ok=True)
    (folder / "job.toml").write_text(JOB % "lid.jpg")
    worst, first = 0.0, None
    for orientation, stored in STORED.items():
        exif = Image.Exif()
        exif[274] = orientation
        picture = taken if stored is None else taken.transpose(stored)
        picture.save(folder / "lid.jpg", quality=90, exif=exif)
        told = json.loads(context.run("inspect", "--json", folder / "lid.jpg").stdout)["files"][0]["outlines"][0]
        first = first or told
        off = max(abs(a - b) for a, b in zip(told["bbox_mm"], first["bbox_mm"], strict=True))
        assert off < 0.3, f"orientation {orientation}: another box by {off:.2f} mm"
        # As it is stored, turned, and turned and mirrored.
        if orientation not in (1, 6, 7):
            continue
        out = folder / f"plan-{orientation}"
        (piece,) = context.plan(folder / "job.toml", out)["layouts"][0]["pieces"]
        (drawn,) = [o.polygon for o in reading_of(out) if o.layer == "NET"]
        for net in (Polygon(piece["net"]["outer"]), drawn):
            # By turning and shifting alone the true template lies on it: it is not mirrored.
            edge = min(apart(on_roll(truth, slope, turn, net), net) for turn in range(0, 360, 90))
            assert edge < 0.6, f"orientation {orientation}: off by {edge:.2f} mm"
            worst = max(worst, edge)
    taken.transpose(Image.Transpose.FLIP_LEFT_RIGHT).save(folder / "mirrored.jpg", quality=90)
    refused = context.run("inspect", folder / "mirrored.jpg", expect=1)
    assert "no marks of the board" in refused.stderr, refused.stderr
    return f"8 orientations, net lines of plan and cut file to {worst:.2f} mm; a mirrored picture is refused"


def on_roll(truth, slope, turn, net):
    """The template with its drawn line along the roll, turned on by `turn` degrees, on the middle of `net`."""
    angle = math.radians(turn) - slope
    matrix = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    laid = np.array(truth.exterior.coords) @ matrix.T
    shift = np.array(net.centroid.coords[0]) - np.array(Polygon(laid).centroid.coords[0])
    return Polygon(laid + shift)


def reading_of(out):
    (file,) = sorted((out / "cut").glob("*.dxf"))
    return reading.read(file).outlines
