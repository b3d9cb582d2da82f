"""DXF opened by a CAD program that shares nothing with ours or with ezdxf, and printed from there."""

import os
import re
import shutil
import subprocess

import numpy as np
import shapely
from cutfiles import plan_rings
from harness import Skip, check
from machines import demo_with
from shapely.geometry import LinearRing, Polygon

MM_PER_POINT = 25.4 / 72
# The program prints on a grid of 1/1200 in, and every line ends on it.
SAME_MM = 0.05
SCALE = 5e-4
FORMS = {
    "R2000, loose": ("R2000", "exploded"),
    "R2000, blocks": ("R2000", "blocks"),
    "R12, loose": ("R12", "exploded"),
    "R12, blocks": ("R12", "blocks"),
}


def printed(path, work):
    """The drawing as LibreCAD prints it in true size: page content as text, and mm in a unit of it."""
    for tool in ("librecad", "qpdf"):
        if shutil.which(tool) is None:
            raise Skip(f"there is no {tool} here")
    work.mkdir(parents=True, exist_ok=True)
    shutil.copy(path, work / path.name)
    # It needs no screen, and a home for its settings that is not the user's.
    hidden = {"QT_QPA_PLATFORM": "offscreen", "HOME": str(work), "XDG_RUNTIME_DIR": str(work)}
    subprocess.run(
        ["librecad", "dxf2pdf", "-c", "-s", "1", "-f", "0,0,0,0", path.name],
        cwd=work, env=os.environ | hidden, check=True, capture_output=True, timeout=120,
    )
    pdf, plain = (work / path.name).with_suffix(".pdf"), work / "plain.pdf"
    assert pdf.exists(), f"LibreCAD printed nothing of {path.name}"
    subprocess.run(["qpdf", "--qdf", pdf, plain], check=True, capture_output=True, timeout=60)
    text = plain.read_bytes().decode("latin-1")
    scale = re.search(r"^(\S+) 0 0 -(\S+) 0 \S+ cm$", text, re.MULTILINE)
    assert scale and scale[1] == scale[2], "no scale in the printed page"
    return text, float(scale[1]) * MM_PER_POINT


def lines_by_colour(text, unit):
    """Lines through points in mm, y up, by the colour they are printed in."""
    found, colour, line = {}, None, []

    def put():
        if len(line) > 1:
            found.setdefault(colour, []).append(np.array(line))

    for words in (row.split() for row in text.splitlines()):
        if words[-1:] == ["SCN"]:
            put()
            line, colour = [], tuple(words[:-1])
        elif words[-1:] in (["m"], ["l"]) and len(words) == 3:
            at = (float(words[0]) * unit, -float(words[1]) * unit)
            if words[2] == "m" and (not line or line[-1] != at):
                put()
                line = [at]
            elif words[2] == "l":
                line.append(at)
                if at == line[0]:
                    put()
                    line = [at]
    put()
    return found


def compare(layout, path, work):
    """The largest distance in mm of a cut line as printed from plan.json; all are there once."""
    text, unit = printed(path, work)
    lines = lines_by_colour(text, unit)
    assert len(lines) > 3, f"{path.name}: colours {list(lines)}"
    # Cut lines have colour 7: black on paper.
    rings = [line for line in lines[("0", "0", "0")] if len(line) > 3 and (line[0] == line[-1]).all()]
    expected = [(name, ring) for name, ring in plan_rings(layout, "cut")]
    assert len(rings) == len(expected), f"{path.name}: {len(rings)} cut lines, not {len(expected)}"
    ours, theirs = np.vstack([ring for _, ring in expected]), np.vstack(rings)
    # It counts whole dots and points to a page, so its millimetre is a little short, the same all over.
    scale = np.ptp(ours, axis=0) / np.ptp(theirs, axis=0)
    assert np.abs(scale - 1).max() < SCALE and np.ptp(scale) < SCALE / 5, f"{path.name}: scale {scale}"
    theirs = theirs * scale
    shift = ours.min(axis=0) - theirs.min(axis=0)
    left, worst = [LinearRing(ring * scale + shift) for ring in rings], 0.0
    for name, ring in expected:
        outline = LinearRing(ring)
        offs = [
            shapely.hausdorff_distance(outline, other)
            if np.abs(np.subtract(outline.bounds, other.bounds)).max() < 1
            else np.inf
            for other in left
        ]
        best = int(np.argmin(offs))
        assert offs[best] <= SAME_MM, f"{path.name}: no cut line like that of {name}"
        worst = max(worst, offs[best])
        area = Polygon(left.pop(best)).area
        assert abs(area - Polygon(ring).area) <= SAME_MM * outline.length, name
    return worst, len(expected)


@check(
    "DXF in every release and form opened by LibreCAD and printed true to size",
    "LibreCAD without a screen, its PDF taken apart by qpdf",
)
def librecad(context):
    told = []
    for name, (release, pieces) in FORMS.items():
        output = f'[output]\nfiles = ["dxf"]\ndxf = "{release}"\npieces = "{pieces}"\n'
        plan, out = demo_with(context, f"cad-{release}-{pieces}", output)
        worst, count = 0.0, 0
        for layout in plan["layouts"]:
            path = out / "cut" / f"{layout['roll']}.dxf"
            off, n = compare(layout, path, context.work / f"cad-{release}-{pieces}-{path.stem}")
            worst, count = max(worst, off), count + n
        told.append(f"{name}: {count} lines, worst {worst:.3f} mm")
    return "; ".join(told)
