"""Small jobs and patterns for checks with known answers."""


def svg(points, holes=(), size=3000):
    """A drawing in millimetres of one closed outline with straight edges; y up."""
    rings = [points, *holes]
    data = " ".join(
        "M " + " L ".join(f"{x:.9f},{size - y:.9f}" for x, y in ring) + " Z" for ring in rings
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{size}mm" height="{size}mm" '
        f'viewBox="0 0 {size} {size}"><path id="shape" d="{data}"/></svg>'
    )


def job(folder, name, points, *, holes=(), cutting="", cloth="", part="", ply=""):
    """Writes NAME.svg and NAME.toml with one part of one ply; returns the job's path.

    Nothing is added around the shape unless `cutting` says so.
    """
    (folder / f"{name}.svg").write_text(svg(points, holes), encoding="utf-8")
    lines = {
        "weave": '"plain"',
        "areal_weight": '"200 g/m2"',
        "roll_width": '"1270 mm"',
        "selvedge": '"0 mm"',
        "gap": '"0 mm"',
        "end_margin": '"0 mm"',
    }
    for line in cloth.splitlines():
        key, _, value = line.partition("=")
        lines[key.strip()] = value.strip()
    if "trim" not in cutting:
        cutting += '\ntrim = "0 mm"'
    written = "\n".join(f"{key} = {value}" for key, value in lines.items())
    path = folder / f"{name}.toml"
    path.write_text(
        f'title = "{name}"\n[cutting]\n{cutting}\n[cloth.c]\n{written}\n'
        f'[[part]]\nname = "P"\npattern = "{name}.svg"\nzero_direction = "0 deg"\n{part}\n'
        f'[[part.ply]]\ncloth = "c"\nangle = "0 deg"\n{ply}\n',
        encoding="utf-8",
    )
    return path
