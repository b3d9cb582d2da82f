"""What cures, what is mixed and what is bagged, worked out again from the job and from textbooks.

The stiffness of the demo's plies is built up here with numpy from the constants in plan.json; the
same routine is first held against worked examples of textbooks, all digits that they print.
"""

import json
import math
import re

import numpy as np
from harness import REPO, Skip, check
from plan_rules import OZ_PER_YD2, length, pieces, plies_of_job

INHG_PA = 3386.389  # NIST SP 811
DENSITY = {"carbon": 1.78, "e-glass": 2.54, "aramid": 1.45}  # g/cm3, typical

# A. K. Kaw, Mechanics of Composite Materials, 2nd ed. 2006: graphite/epoxy, GPa.
GRAPHITE = (181.0, 10.3, 7.17, 0.28)


def reduced(e1, e2, g12, nu12):
    rest = 1 - nu12**2 * e2 / e1
    return np.array([[e1 / rest, nu12 * e2 / rest, 0], [nu12 * e2 / rest, e2 / rest, 0], [0, 0, g12]])


def turned(q, degrees):
    """Q-bar by the transformation matrices, not by the powers of sine and cosine."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    t = np.array([[c * c, s * s, 2 * s * c], [s * s, c * c, -2 * s * c], [-s * c, s * c, c * c - s * s]])
    r = np.diag([1.0, 1.0, 2.0])
    return np.linalg.inv(t) @ q @ r @ t @ np.linalg.inv(r)


def plate(layers):
    """A, B, D of (Q-bar, thickness), first at -h/2."""
    h = sum(t for _, t in layers)
    a, b, d = (np.zeros((3, 3)) for _ in range(3))
    z = -h / 2
    for q, t in layers:
        a += q * t
        b += q * ((z + t) ** 2 - z**2) / 2
        d += q * ((z + t) ** 3 - z**3) / 3
        z += t
    return a, b, d, h


def in_plane(a, h):
    c = np.linalg.inv(a) * h
    return 1 / c[0, 0], 1 / c[1, 1], 1 / c[2, 2], -c[0, 1] / c[0, 0]


def printed(found, text):
    """Whether `found`, rounded or cut off to the digits of `text`, is what the source prints."""
    value = float(text)
    digits = text.lower().split("e")[0].lstrip("-").replace(".", "").lstrip("0")
    unit = 10.0 ** (math.floor(math.log10(abs(value))) - len(digits) + 1)
    assert abs(found - value) < unit, f"{found} is not the {text} that is printed"


def close(found, expected, what, relative=1e-4):
    assert abs(found - expected) <= relative * max(abs(expected), 1e-12), f"{what}: {found}, not {expected}"


@check("worked examples of lamination theory", "Kaw 2006 ch. 2 and 4, as printed; Tsai and Hahn 1980 tables 4.7, 4.9")
def textbook(context):
    q = reduced(*GRAPHITE)
    for found, text in zip([q[0, 0], q[0, 1], q[1, 1], q[2, 2]], ["181.8", "2.897", "10.35", "7.17"]):
        printed(found, text)
    q60 = turned(q, 60)
    for (i, j), text in {
        (0, 0): "23.65", (0, 1): "32.46", (1, 1): "109.4", (0, 2): "20.05", (1, 2): "54.19", (2, 2): "36.74",
    }.items():
        printed(q60[i, j], text)
    a, b, d, h = plate([(turned(q, angle), 5.0) for angle in (0, 90, 0)])
    ex, ey, _, nu = in_plane(a, h)
    for found, text in [
        (a[0, 0], "1.870e3"), (a[0, 1], "43.45"), (a[1, 1], "1013"), (a[2, 2], "107.6"), (d[0, 0], "4.935e4"),
        (d[0, 1], "814.8"), (d[1, 1], "4696"), (d[2, 2], "2.017e3"), (ex, "124.5"), (ey, "67.43"), (nu, "0.04292"),
    ]:
        printed(found, text)
    a, b, d, h = plate([(turned(q, angle), 5.0) for angle in (0, 30, -45)])
    for found, text in [
        (a[0, 0], "1739"), (a[0, 1], "388.4"), (a[0, 2], "56.63"), (a[1, 1], "453.3"), (a[1, 2], "-114.1"),
        (b[0, 0], "-3129"), (b[0, 1], "985.5"), (b[0, 2], "-1.072e3"), (b[1, 1], "1158"),
        (d[0, 0], "3.343e4"), (d[0, 1], "6461"), (d[0, 2], "-5.240e3"), (d[1, 1], "9.320e3"), (d[1, 2], "-5596"), (d[2, 2], "7663"),
    ]:
        printed(found, text)
    a, _, _, h = plate([(turned(q, angle), 0.125) for angle in (0, 0, 90, 90, 0, 0)])
    printed(a[0, 0] / h, "124.65")
    return "37 printed figures"


def motion(piece):
    """The rigid motion, in space, that takes a piece from the cutting table to the mould, both seen from
    above: x along the warp, y across, z upwards."""
    over = np.diag([1.0, -1.0, -1.0]) if piece["turned_over"] else np.eye(3)
    c, s = math.cos(math.radians(piece["turn"])), math.sin(math.radians(piece["turn"]))
    return np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]]) @ over


# A face-up biaxial on the table: a mark at each height along the fibres of its layer.
MARKS = [((0, 0, 0), 45), ((0, 0, 1), -45)]


def layers_on_mould(piece, zero):
    """Fibre directions of a biaxial piece from the mould up, against the part's 0 deg."""
    move, carried = motion(piece), []
    for at, along in MARKS:
        height = (move @ np.array(at))[2]
        x, y, _ = move @ np.array([math.cos(math.radians(along)), math.sin(math.radians(along)), 0])
        carried.append((height, math.degrees(math.atan2(y, x)) - zero))
    return [direction for _, direction in sorted(carried)]


def same_fibre(a, b, tolerance=1e-3):
    return abs((a - b + 90) % 180 - 90) < tolerance


@check("layers of biaxial pieces of the demo", "marks on both layers, moved in space from the table to the mould")
def biaxial_layers(context):
    import plan_rules
    from shapely.geometry import Polygon

    plies, exchanged, n = plan_rules.by_id(context), 0, 0
    biaxial = {c["name"] for c in context.demo["cloths"] if c["weave"] == "biaxial"}
    rows = (context.demo_out / "pieces.csv").read_text(encoding="utf-8").splitlines()
    column = rows[0].split(",").index("against_mould_deg")
    lower = {row.split(",")[0]: row.split(",")[column] for row in rows[1:]}
    for layout, piece in pieces(context.demo):
        if layout["cloth"] not in biaxial:
            assert "layers_deg" not in piece and lower[piece["id"]] == "", piece["id"]
            continue
        ply = plies[piece["id"]]
        _, zero, angle = plan_rules.from_bag_side(ply)
        # It is the motion that lays the piece where the drawing has it.
        move = motion(piece)[:2, :2]
        laid = Polygon((np.array(piece["net"]["outer"]) @ move.T).tolist())
        drawn = Polygon(plan_rules.net_line(ply).exterior)
        off = plan_rules.laid_over(laid, drawn).symmetric_difference(drawn).area
        assert off < 1e-3 * drawn.area, f"{piece['id']} lies otherwise: {off} mm2"
        found = layers_on_mould(piece, zero)
        for one, told in zip(found, piece["layers_deg"], strict=True):
            assert same_fibre(one, told), f"{piece['id']}: {found}, not {piece['layers_deg']}"
        assert float(lower[piece["id"]]) == piece["layers_deg"][0]
        exchanged += not same_fibre(found[0], angle, 5)
        n += 1
    assert n, "the demo has no biaxial"
    return f"{n} pieces, {exchanged} with the layers exchanged"


def layers_of(ply, weave, lower=None):
    """The layers of a cured ply of plan.json as the report says it counts them; `lower` is the direction of
    a biaxial's layer against the mould."""
    e = ply["elastic"]
    q = reduced(e["e1_mpa"], e["e2_mpa"], e["g12_mpa"], e["nu12"])
    t, angle = ply["thickness_mm"], ply["angle_deg"] if lower is None else lower
    if e["of"] == "the cured cloth" or weave == "unidirectional":
        return [(turned(q, angle), t)]
    if weave == "biaxial":
        return [(turned(q, angle), t / 2), (turned(q, angle - 90), t / 2)]
    return [((turned(q, angle) + turned(q, angle + 90)) / 2, t)]


def six(m):
    return [m[0, 0], m[0, 1], m[0, 2], m[1, 1], m[1, 2], m[2, 2]]


def as_designed_or_across(piece):
    """The layer against the mould without what the layout used of an angle tolerance."""
    lower, design = piece["layers_deg"][0], piece["angle_design"]
    return design if same_fibre(lower, design, 5) else design - 90


def stacks(plan):
    """Part, what is told of its stack, and a set number, for every set."""
    for part in plan["parts"]:
        told = part.get("as_cut", [{**part, "sets": range(1, part["sets"] + 1)}])
        assert sorted(s for stack in told for s in stack["sets"]) == list(range(1, part["sets"] + 1)), part["name"]
        assert part["symmetric"] == all(stack["symmetric"] for stack in told), part["name"]
        for stack in told:
            for set_ in stack["sets"]:
                yield part, stack, set_


@check("A, B, D and moduli of the demo", "classical lamination theory, worked out with numpy")
def demo_stiffness(context):
    weaves = {c["name"]: c["weave"] for c in context.demo["cloths"]}
    worst = 0.0
    own = {}
    for _, piece in pieces(context.demo):
        lower = as_designed_or_across(piece) if "layers_deg" in piece else None
        assert own.setdefault((piece["part"], piece["ply"], piece["set"]), lower) == lower, piece["id"]
    for part, stack, set_ in stacks(context.demo):
        layers = [
            layer for ply in part["plies"]
            for layer in layers_of(ply, weaves[ply["cloth"]], own[part["name"], ply["n"], set_])
        ]
        a, b, d, h = plate(layers)
        told = stack["stiffness"]
        for name, matrix in (("a_n_per_mm", a), ("b_n", b), ("d_n_mm", d)):
            scale = np.abs(a).max() * h ** {"a": 0, "b": 1, "d": 2}[name[0]]
            off = max(abs(x - y) for x, y in zip(told[name], six(matrix))) / scale
            assert off < 1e-5, f"{part['name']} {name}: off by {off:.2e} of its size"
            worst = max(worst, off)
        # A stack that mirrors itself does not bend when it is stretched.
        assert not stack["symmetric"] or np.abs(b).max() < 1e-6 * np.abs(a).max() * h, part["name"]
    for part in context.demo["parts"]:
        a, _, _, h = plate([layer for ply in part["plies"] for layer in layers_of(ply, weaves[ply["cloth"]])])
        for key, expected in zip(("ex_mpa", "ey_mpa", "gxy_mpa", "nu_xy"), in_plane(a, h)):
            close(part[key], expected, f"{part['name']} {key}", 1e-4)
        close(part["thickness_mm"], h, f"{part['name']} thickness", 1e-4)
    return f"off by {worst:.1e} at most"


def plies_of_code(code):
    """(cloth, angle) of `twill [0/45]s + ud [0_2]`, from the mould up; codes have no brackets within brackets."""
    plies = []
    for cloth, listed, times, mirror in re.findall(r"(\S+) \[([^\]]*)\](\d*)(s?)", code):
        angles = []
        for item in listed.split("/"):
            angle, _, count = item.partition("_")
            angles += [float(angle)] * int(count or 1)
        angles *= int(times or 1)
        plies += [(cloth, angle) for angle in angles + (angles[::-1] if mirror else [])]
    return plies


@check("layers as stiff as a sheet", "E h^3/12 and E h of the sheet (EN 1999-1-1: 70 GPa); the laminate by the inverse of its 6 x 6 stiffness")
def as_stiff(context):
    job = REPO / "examples" / "dinghy.toml"
    wish = ["--as-stiff-as", "1.5 mm aluminium", "--stiff-in", "both"]
    told = json.loads(context.run("compare", job, *wish, "--json", "--threads", "2").stdout)
    close(told["as_stiff_as"]["bending_n_mm"], 70000 * 1.5**3 / 12, "bending of the sheet")
    close(told["as_stiff_as"]["tension_n_per_mm"], 70000 * 1.5, "tension of the sheet")
    weaves = {c["name"]: c["weave"] for c in context.demo["cloths"]}
    like = {ply["cloth"]: ply for part in context.demo["parts"] for ply in part["plies"]}
    stacks = [way["stack"] for way in told["ways"]]
    assert len(stacks) > 3 and not stacks[0]["reaches"]
    for stack in stacks:
        plies = plies_of_code(stack["layup"])
        assert len(plies) == stack["plies"], stack["layup"]
        layers = [
            layer for cloth, angle in plies
            for layer in layers_of({**like[cloth], "angle_deg": angle}, weaves[cloth])
        ]
        a, b, d, h = plate(layers)
        close(stack["thickness_mm"], h, f"{stack['layup']} thickness")
        softness = np.linalg.inv(np.block([[a, b], [b, d]]))
        for along, k in zip(stack["stiffness"], (0, 1), strict=True):
            assert along["angle_deg"] == 90 * k
            close(along["bending"], 1 / softness[3 + k, 3 + k] / (70000 * 1.5**3 / 12), stack["layup"], 2e-4)
            close(along["tension"], 1 / softness[k, k] / (70000 * 1.5), stack["layup"], 2e-4)
        reached = min(min(along["bending"], along["tension"]) for along in stack["stiffness"])
        assert stack["reaches"] == (reached >= 1 - 1e-9), stack["layup"]
        if stack["symmetric"]:
            assert np.abs(b).max() < 1e-6 * np.abs(a).max() * h, stack["layup"]
    return f"{len(stacks)} stacks"


@check("stiffness against a lamination library", "a reference library from PyPI, where it is installed")
def reference_library(context):
    try:
        from composipy import OrthotropicMaterial, LaminateProperty
    except ImportError as why:
        raise Skip("no lamination library is installed") from why
    weaves = {c["name"]: c["weave"] for c in context.demo["cloths"]}
    for part in context.demo["parts"]:
        angles, materials = [], []
        for ply in part["plies"]:
            e = ply["elastic"]
            # A woven ply and a biaxial are two half plies each; A does not know their order.
            two = weaves[ply["cloth"]] != "unidirectional"
            for angle in [ply["angle_deg"], ply["angle_deg"] - 90][: 2 if two else 1]:
                angles.append(angle)
                t = ply["thickness_mm"] / (2 if two else 1)
                materials.append(OrthotropicMaterial(e["e1_mpa"], e["e2_mpa"], e["nu12"], e["g12_mpa"], t))
        a = LaminateProperty(angles, materials).A
        told = part["stiffness"]["a_n_per_mm"]
        assert np.allclose(told, six(a), rtol=1e-5, atol=1e-5 * a[0][0]), part["name"]
    q = reduced(*GRAPHITE)
    library = LaminateProperty([0, 30, -45], OrthotropicMaterial(*(GRAPHITE[i] for i in (0, 1, 3, 2)), 5.0))
    a, b, d, _ = plate([(turned(q, angle), 5.0) for angle in (0, 30, -45)])
    for ours, theirs in ((a, library.A), (b, library.B), (d, library.D)):
        assert np.allclose(ours, theirs, rtol=1e-9, atol=1e-9 * np.abs(ours).max())
    return f"[0/30/-45] and {len(context.demo['parts'])} parts"


def areal(text):
    number, unit = text.split()
    return float(number) * {"g/m2": 1.0, "oz/yd2": OZ_PER_YD2}[unit]


@check("thickness and fractions of the demo", "ASTM D3171 Method II (from memory); rule of mixtures")
def fractions(context):
    cloths = context.demo_job["cloth"]
    resin = float(context.demo_job["laminate"]["resin_density"].split()[0])
    n = 0
    for part in context.demo["parts"]:
        for ply in part["plies"]:
            cloth = cloths[ply["cloth"]]
            fibre = DENSITY[cloth["fibre"]]
            weight = areal(cloth["areal_weight"])
            vf = 0.45
            if "fibre_weight_fraction" in cloth:
                wf = float(cloth["fibre_weight_fraction"].split()[0]) / 100
                vf = (wf / fibre) / (wf / fibre + (1 - wf) / resin)
            wf = vf * fibre / (vf * fibre + (1 - vf) * resin)
            close(ply["fibre_volume_fraction"], vf, "volume fraction", 1e-5)
            close(ply["fibre_weight_fraction"], wf, "weight fraction", 1e-5)
            close(ply["thickness_mm"], weight / (1000 * fibre * vf), "thickness", 1e-5)
            close(ply["cloth_mass_g"], weight * ply["area_mm2"] * 1e-6, "cloth", 1e-3)
            close(ply["resin_mass_g"], ply["cloth_mass_g"] * (1 - wf) / wf, "resin", 1e-3)
            n += 1
    return f"{n} plies"


@check("mass balance of the demo", "cloth + resin = parts + trim + taken up + left over")
def mass_balance(context):
    plan, resin = context.demo, context.demo["resin"]
    cut_cloth = sum(
        c["cut_area_mm2"] * c["areal_weight_g_m2"] * 1e-6 for c in plan["cloths"]
    )
    in_parts = sum(p["sets"] * p["mass_g"] for p in plan["parts"])
    trim_cloth = sum(
        p["sets"] * (ply["cut_area_mm2"] - ply["area_mm2"]) * ply["areal_weight_g_m2"] * 1e-6
        for p in plan["parts"] for ply in p["plies"]
    )
    into = cut_cloth + resin["mixed_g"]
    out = in_parts + trim_cloth + resin["in_trim_g"] + resin["take_up_g"] + resin["left_over_g"]
    assert abs(into - out) < 0.05, f"{into:.3f} g go in, {out:.3f} g come out"
    waste = float(context.demo_job["resin"]["waste"].split()[0]) / 100
    needed = resin["in_parts_g"] + resin["in_trim_g"] + resin["take_up_g"]
    close(resin["left_over_g"], needed * waste, "left over", 1e-4)
    return f"{into:.1f} g"


@check("batches of the demo", "ratio by weight; pot life, laying speed and largest batch of the job")
def batches(context):
    plan, resin, job = context.demo, context.demo["resin"], context.demo_job["resin"]
    a, b = (float(x) for x in job["ratio"].split(":"))
    largest = float(job["largest_batch"].split()[0])
    minutes = float(job["pot_life"].split()[0]) * 0.8
    served = []
    for batch in resin["batches"]:
        close(batch["part_a_g"], batch["mixed_g"] * a / (a + b), "part A", 1e-3)
        close(batch["part_a_g"] + batch["part_b_g"], batch["mixed_g"], "A + B", 1e-3)
        assert batch["mixed_g"] <= largest + 1e-3 and batch["minutes"] <= minutes + 1e-2
        assert len({ply.split("-")[0] for ply in batch["plies"]}) == 1, "a batch serves two parts"
        served += batch["plies"]
    ids = {piece["id"] for _, piece in pieces(plan)}
    assert set(served) == ids and len(served) == len(ids), "a ply is served twice or not at all"
    order = []
    for part in context.demo_job["part"]:
        numbers = [ply.n for ply in plies_of_job(context.demo_job) if ply.part is part]
        sets = part.get("sets", 1)
        order += [
            f"{part['name']}-{n}#{s}" if sets > 1 else f"{part['name']}-{n}"
            for s in range(1, sets + 1) for n in numbers
        ]
    assert served == order, "not in the order of laying"
    close(sum(x["mixed_g"] for x in resin["batches"]), resin["mixed_g"], "all batches", 1e-4)
    return f"{len(resin['batches'])} batches"


def shelf(shapes, width, across):
    """Length of a roll on which the boxes of shapes lie in rows, their long side along it or across."""
    boxes = []
    for shape in shapes:
        x0, y0, x1, y1 = shape.bounds
        long, short = max(x1 - x0, y1 - y0), min(x1 - x0, y1 - y0)
        boxes.append((short, long) if across and long <= width else (long, short))
    gap, margin = 3, 10
    used, left = 2 * margin - gap, -1
    for along, high in sorted(boxes, reverse=True):
        if high > left:
            used, left = used + along + gap, width
        left -= high + gap
    return used


@check("bags of the demo", "shapely; NIST SP 811: 25 inHg = 84.66 kPa; pleats add twice their height")
def bags(context):
    import plan_rules
    from shapely.geometry import Polygon

    plan, bag = context.demo, context.demo["bagging"]
    assert abs(bag["vacuum_kpa"] - 84.66) < 0.005 and abs(bag["vacuum_mbar"] - 846.6) < 0.05
    largest = {}
    for ply in plies_of_job(context.demo_job):
        net = plan_rules.net_line(ply)
        name = ply.part["name"]
        if name not in largest or net.area > largest[name].area:
            largest[name] = net
    margins = {"peel-ply": 25.4, "release-film": 50.8, "breather": 76.2}
    for layer in bag["layers"]:
        shapes = [plan_rules.ring_polygon(piece["cut"]) for piece in layer["layout"]["pieces"]]
        assert len(shapes) == sum(part["sets"] for part in plan["parts"])
        for i, one in enumerate(shapes):
            for other in shapes[i + 1 :]:
                assert one.distance(other) >= layer["layout"]["gap"] - 0.01
        low, high = layer["layout"]["usable_y"]
        for piece, shape in zip(layer["layout"]["pieces"], shapes):
            assert low - 0.01 <= shape.bounds[1] and shape.bounds[3] <= high + 0.01
            if layer["name"] in margins:
                least = Polygon(largest[piece["part"]].exterior).buffer(margins[layer["name"]]).area
                assert least * 0.999 <= shape.area <= least * 1.05 + 4000, (piece["id"], least, shape.area)
        rows = min(shelf(shapes, high - low, turned) for turned in (False, True))
        assert layer["used_mm"] <= rows + 0.1, (layer["name"], layer["used_mm"], rows)
    # Rows, each sheet where it first finds room, took 4.81 m; sheets that share the width take less.
    film = next(layer for layer in bag["layers"] if layer["name"] == "bag-film")
    assert film["used_mm"] < 4600, film["used_mm"]
    pleats = 2 * context.demo_job["bag"]["pleats"] * length(context.demo_job["bag"]["pleat_height"])
    total = 0
    for part, told in zip(plan["parts"], bag["parts"]):
        (l, w), (fl, fw) = told["tape_line_mm"], told["film_mm"]
        close(told["tape_mm"], 2 * (l + w) + pleats, "tape")
        # The film's edge inside its margin is as long as the tape.
        close(2 * (fl + fw) - 8 * 25, told["tape_mm"], "film edge")
        close(told["force_n"], 25 * INHG_PA * told["area_mm2"] * 1e-6, "force")
        total += told["tape_mm"] * part["sets"]
    close(bag["tape_mm"], total * 1.1, "tape of the order")
    return f"{len(bag['layers'])} layers"


@check("regions of the demo", "areas of the plies, laid one upon the other; lamination theory with numpy")
def regions(context):
    n = 0
    weaves = {c["name"]: c["weave"] for c in context.demo["cloths"]}
    for part in context.demo["parts"]:
        told = part["regions"]
        assert told is not None
        thickness = {ply["n"]: ply["thickness_mm"] for ply in part["plies"]}
        for region in told["regions"]:
            close(region["thickness_mm"], sum(thickness[i] for i in region["plies"]), "thickness")
            # Its own stack alone, by lamination theory.
            stack = [ply for ply in part["plies"] if ply["n"] in region["plies"]]
            a, _, _, h = plate([layer for ply in stack for layer in layers_of(ply, weaves[ply["cloth"]])])
            for key, expected in zip(("ex_mpa", "ey_mpa", "gxy_mpa", "nu_xy"), in_plane(a, h)):
                close(region[key], expected, f"{part['name']} {region['plies']} {key}", 1e-4)
            n += 1
        # Each ply's own area is that of the regions it lies in, but for what lies over an opening.
        for ply in part["plies"]:
            if ply["n"] in told["apart"]:
                continue
            area = sum(r["area_mm2"] for r in told["regions"] if ply["n"] in r["plies"])
            assert area <= ply["area_mm2"] * 1.0001 and area >= ply["area_mm2"] * 0.8, (part["name"], ply["n"])
    return f"{n} regions"


@check("costs and shopping list of the demo", "sums of the job's prices")
def shopping(context):
    plan, job = context.demo, context.demo_job
    items = {item["name"]: item for item in plan["shopping"]}
    for name in ("twill", "ud", "biax"):
        bought = next(p for p in plan["purchase"] if p["cloth"] == name)
        assert items[name]["buy"] == bought["length_mm"] and items[name]["cost"] == bought["cost"]
    resin = items[job["resin"]["name"]]
    missing = plan["resin"]["mixed_g"] - float(job["resin"]["on_hand"].split()[0])
    packs = math.ceil(missing / 1300)
    assert resin["packs"] == packs and resin["cost"] == packs * 42
    tape = items["sealant tape"]
    assert tape["packs"] == math.ceil((plan["bagging"]["tape_mm"] - 7620) / 7620)
    costs = plan["costs"]
    for key in ("cloth", "resin", "bag", "mould", "total"):
        summed = sum(s[key] * p["sets"] for s, p in zip(costs["sets"], plan["parts"]))
        assert abs(summed - costs["order"][key]) < 0.01 * sum(p["sets"] for p in plan["parts"]), key
    close(costs["order"]["cloth"], sum(p["cost"] for p in plan["purchase"]), "cloth", 1e-4)
    return f"order {costs['order']['total']:.2f} {costs['currency']}"


@check("thickness and fractions measured", "ASTM D3171 Method II (from memory): 300 g/m2 of E-glass at 0.2953 mm is 40 %")
def measured(context):
    folder = context.work / "measured"
    folder.mkdir()
    (folder / "plate.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" viewBox="0 0 200 100">'
        '<path id="skin" d="M0 0H200V100H0Z"/></svg>'
    )
    (folder / "job.toml").write_text(
        '[cloth.glass]\nweave = "plain"\nareal_weight = "300 g/m2"\nroll_width = "1 m"\nfibre = "e-glass"\n'
        'ply_thickness = "0.295275591 mm"\n[[part]]\nname = "P"\npattern = "plate.svg"\ncloth = "glass"\nlayup = "[0/90]s"\n'
    )
    plan = context.plan(folder / "job.toml", folder / "out")
    ply = plan["parts"][0]["plies"][0]
    close(ply["fibre_volume_fraction"], 0.40, "fraction", 1e-6)
    assert json.dumps(plan["resin"]) == "null"
    return None
