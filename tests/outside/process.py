"""Resin, time, cores and uneven cloth of generated jobs, from the numbers of the job alone.

Sources are named beside the formulas; constants of fibre and resin are those that the job reference promises (carbon of 230
GPa, epoxy of 3.4 GPa; Kaw 2006, tables 3.1 and 3.2, from memory).
"""

import json
import math
import random
import re

from harness import REPO, check

RF, RM, EF, ET, GF, NUF, EM, NUM = 1.78, 1.20, 230e3, 22e3, 22e3, 0.30, 3.4e3, 0.30


def near(found, expected, share, what):
    assert abs(found - expected) <= share * abs(expected) + 1e-9, f"{what}: {found} is not {expected}"


def layer(vf):
    """Rule of mixtures and Halpin-Tsai (Kaw 2006, sections 3.3.1 and 3.3.2, from memory): reduced stiffness Q11, Q22, MPa."""

    def halpin_tsai(fibre, resin, xi):
        eta = (fibre / resin - 1) / (fibre / resin + xi)
        return resin * (1 + xi * eta * vf) / (1 - eta * vf)

    e1, e2 = EF * vf + EM * (1 - vf), halpin_tsai(ET, EM, 2)
    nu = NUF * vf + NUM * (1 - vf)
    rest = 1 - nu * nu * e2 / e1
    return e1 / rest, e2 / rest


class Case:
    """A rectangle of woven carbon at 0 and 90 degrees around a foam."""

    def __init__(self, seed):
        dice = random.Random(seed)
        self.length, self.width = dice.randrange(300, 1500), dice.randrange(200, 900)
        self.weight = dice.choice([160, 200, 300, 600])
        self.share = dice.choice([30, 50, 60, 80])
        self.below, self.above = dice.randrange(1, 4), dice.randrange(1, 4)
        self.core, self.density, self.face = dice.choice([5, 10, 25]), dice.choice([60, 80, 200]), dice.choice([0, 200, 350])
        self.vf = dice.choice([35, 40, 50])
        self.batch, self.pot, self.room = dice.choice([150, 300, 900]), dice.choice([25, 45]), dice.choice([15, 25, 32])
        self.people, self.hardener, self.waste = dice.randrange(1, 4), dice.choice([26, 30, 50]), dice.choice([0, 10, 25])
        self.sets = dice.randrange(1, 3)

    @property
    def n(self):
        return self.below + self.above

    @property
    def area(self):
        return self.length * self.width / 1e6

    def plan(self, context, name):
        folder = context.work / name
        folder.mkdir(parents=True)
        (folder / "p.svg").write_text(
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{self.length}mm" height="{self.width}mm" '
            f'viewBox="0 0 {self.length} {self.width}"><path id="p" d="M0 0H{self.length}V{self.width}H0Z"/></svg>'
        )
        (folder / "job.toml").write_text(
            f"""
[cutting]
trim = "0 mm"
[cloth.c]
weave = "plain"
areal_weight = "{self.weight} g/m2"
warp_share = "{self.share} %"
roll_width = "3 m"
fibre = "carbon"
[laminate]
fibre_volume_fraction = "{self.vf} %"
[resin]
ratio = "100:{self.hardener}"
pot_life = "{self.pot} min"
room = "{self.room} °C"
largest_batch = "{self.batch} g"
people = {self.people}
waste = "{self.waste} %"
[[part]]
name = "P"
pattern = "p.svg"
cloth = "c"
sets = {self.sets}
layup = "[0_{self.n}]"
[[part.core]]
name = "foam"
on_ply = {self.below}
thickness = "{self.core} mm"
density = "{self.density} kg/m3"
face_resin = "{self.face} g/m2"
"""
        )
        return context.plan(folder / "job.toml", folder / "out")


def cases(context, name):
    for seed in range(8):
        case = Case(seed)
        yield case, case.plan(context, f"process-{name}-{seed}")


@check("masses, batches and time of a sandwich follow from the job", "mass balance; Kaw 2006, ch. 3, from memory")
def masses(context):
    for case, plan in cases(context, "resin"):
        part, resin = plan["parts"][0], plan["resin"]
        cloth = case.n * case.weight * case.area
        in_plies = cloth / RF * (1 - case.vf / 100) / (case.vf / 100) * RM
        core, faces = case.core * case.density * case.area, 2 * case.face * case.area
        near(part["cloth_mass_g"], cloth, 1e-4, "cloth")
        near(part["core_mass_g"], core, 1e-4, "core")
        near(part["mass_g"], cloth + in_plies + core + faces, 1e-4, "part")
        mixed = case.sets * (in_plies + faces) * (1 + case.waste / 100)
        near(resin["mixed_g"], mixed, 1e-4, "mixed")
        near(resin["part_b_g"], mixed * case.hardener / (100 + case.hardener), 1e-4, "hardener")
        batches = resin["batches"]
        near(sum(b["mixed_g"] for b in batches), mixed, 1e-4, "batches")
        assert all(b["mixed_g"] <= case.batch + 0.01 for b in batches)
        assert len(batches) >= math.ceil(mixed / case.batch - 1e-6)
        # Half the pot life for every 10 degrees (common practice, no source), less a fifth in reserve.
        pot = case.pot * 2 ** ((25 - case.room) / 10)
        assert all(b["minutes"] <= 0.8 * pot + 0.01 for b in batches)
        laying = (case.n + 1) * case.area / 1.5 / case.people * 60
        timeline = resin["parts"][0]["timeline"]
        near(timeline["last_ply_min"], laying + 3 * len(timeline["batches"]), 1e-3, "last ply")
        near(timeline["first_batch_gels_min"], 3 + 2 * pot, 1e-3, "gel")
    return "8 jobs"


@check("stiffness of a sandwich of uneven cloth", "parallel axes: H. G. Allen, Structural Sandwich Panels, 1969, from memory")
def stiffness(context):
    for case, plan in cases(context, "stiff"):
        q1, q2 = layer(case.vf / 100)
        share = case.share / 100
        ply = case.weight / (1000 * RF * case.vf / 100)
        below, above = case.below * ply, case.above * ply
        whole = below + case.core + above
        part = plan["parts"][0]
        near(part["thickness_mm"], whole, 1e-4, "thickness")
        assert part["symmetric"] == (case.below == case.above)
        found = part["stiffness"]
        for at, q in ((0, share * q1 + (1 - share) * q2), (3, share * q2 + (1 - share) * q1)):
            near(found["a_n_per_mm"][at], q * (below + above), 1e-3, "A")
            # Each face about its own middle, and moved to that of the whole.
            arms = ((below, (below - whole) / 2), (above, (whole - above) / 2))
            near(found["d_n_mm"][at], q * sum(t**3 / 12 + t * z * z for t, z in arms), 1e-3, "D")
            coupling = q * sum(t * z for t, z in arms)
            assert abs(found["b_n"][at] - coupling) <= 1e-3 * q * whole * (below + above), "B"
    return "8 jobs"


@check(
    "length of every bag layer, tape and peel ply of stages",
    "margins: US Army TM 55-1520-240-23-4 p. 5-397, TM 1-1500-204-23-1 p. 182, FAA AC 43.13-1B p. 3-7; sums from the job alone",
)
def layers(context):
    """Rectangles so long that one lies across its roll at a time: the lengths add up."""
    beyond = {"peel-ply": 25.4, "release-film": 50.8, "breather": 76.2}
    shears, gap, end = 4, 3, 10
    for seed in range(6):
        dice = random.Random(1000 + seed)
        width = dice.randrange(400, 700)
        length = int(2.5 * width) + dice.randrange(0, 200)
        stages, sets = dice.choice([[1, 1], [2], [1, 2, 1]]), dice.randrange(1, 4)
        n_plies, bags = sum(stages), len(stages) * sets
        roll = width + 360
        folder = context.work / f"process-layers-{seed}"
        folder.mkdir(parents=True)
        (folder / "p.svg").write_text(
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{length}mm" height="{width}mm" '
            f'viewBox="0 0 {length} {width}"><path id="p" d="M0 0H{length}V{width}H0Z"/></svg>'
        )
        rolls = "".join(f'[bag.layer.{name}]\nroll_width = "{roll} mm"\n' for name in [*beyond, "bag-film"])
        (folder / "job.toml").write_text(
            f"""
[bag]
pleat_height = "0 mm"
{rolls}
[cloth.c]
weave = "plain"
areal_weight = "200 g/m2"
roll_width = "3 m"
[[part]]
name = "P"
pattern = "p.svg"
cloth = "c"
sets = {sets}
layup = "[0_{n_plies}]"
stages = {stages}
"""
        )
        bagging = context.plan(folder / "job.toml", folder / "out")["bagging"]
        line = [side + 2 * (76.2 + 25) for side in (length, width)]
        for found, side in zip(bagging["parts"][0]["tape_line_mm"], line):
            assert -0.01 <= found - side <= shears, f"tape line {found}, not {side}"
        run = 2 * sum(bagging["parts"][0]["tape_line_mm"])
        near(bagging["tape_mm"], bags * run * 1.1, 1e-6, "tape")
        for layer in bagging["layers"]:
            name = layer["name"]
            side = length + 2 * beyond[name] if name in beyond else line[0] + 50
            least = bags * side + (bags - 1) * gap + 2 * end
            found = layer["used_mm"]
            assert least - 0.1 <= found <= least + bags * shears, f"{name}: {found}, not {least}"
            ids = {piece["id"] for piece in layer["layout"]["pieces"]}
            assert len(ids) == bags, f"{name}: {sorted(ids)}"
    return "6 jobs"


@check("forces, scale, vacuum and thickness of the examples", "p = F/A; NIST SP 811: 1 inHg = 3386.389 Pa; DA20-C1 maintenance manual 51-00-00: 0.5 %")
def numbers(context):
    told = []
    for job in ("dinghy.toml", "guide/panel.toml"):
        out = context.work / f"process-numbers-{job.replace('/', '-')}"
        plan = context.plan(REPO / "examples" / job, out)
        for part in plan["parts"]:
            plies = sum(ply["thickness_mm"] for ply in part["plies"])
            cores = part["thickness_mm"] - plies
            assert cores > -1e-3, f"{part['name']}: thinner than its plies"
        bagging, resin = plan["bagging"], plan["resin"]
        near(bagging["vacuum_kpa"] * 1000, bagging["vacuum_inhg"] * 3386.389, 1e-4, "vacuum")
        for bag in bagging["parts"]:
            pascals = bagging["vacuum_kpa"] * 1000
            near(bag["force_n"], pascals * bag["area_mm2"] / 1e6, 1e-4, "on the part")
            near(bag["mould_force_n"], pascals * math.prod(bag["tape_line_mm"]) / 1e6, 1e-4, "on the mould")
            assert bag["mould_force_n"] > bag["force_n"]
        least = min(min(b["part_a_g"], b["part_b_g"]) for b in resin["batches"])
        for page in sorted((out / "layup").glob("*.html")):
            for step in re.findall(r"scale that shows[^0-9]*([0-9.]+)", page.read_text(encoding="utf-8")):
                assert float(step) <= max(0.005 * least, 0.001) + 1e-9, f"{page.name}: {step} g for {least} g"
                told.append(float(step))
    return f"scales {sorted(set(told))} g"


@check("price of a part and what was made of it follow from job and record", "sums from the job alone")
def price(context):
    """Hours by step, overheads on material and labour, the margin a share of the price; then a day at the mould."""
    for seed in range(6):
        case, dice = Case(seed), random.Random(2000 + seed)
        rate, mould, cutting, finishing = (dice.randrange(20, 90), *(dice.randrange(1, 60) for _ in range(3)))
        overheads, margin = dice.choice([0, 12, 40]), dice.choice([0, 20, 35])
        case.plan(context, f"process-price-{seed}")
        folder = context.work / f"process-price-{seed}"
        job = folder / "job.toml"
        job.write_text(
            job.read_text(encoding="utf-8").replace("[cloth.c]", '[cloth.c]\nprice = "20 EUR/m"')
            + f"""
[labour]
hourly_rate = "{rate} EUR"
mould_time = "{mould} min"
cutting_time = "{cutting} min"
finishing_time = "{finishing} min"
overheads = "{overheads} %"
margin = "{margin} %"
""",
            encoding="utf-8",
        )
        plan = context.plan(job, folder / "priced")
        of_set, batches = plan["prices"]["sets"][0], plan["resin"]["parts"][0]["timeline"]["batches"]
        laying = (case.n + 1) * case.area / 1.5 * 60
        wanted = {
            "mould": mould, "cutting": case.n * cutting, "laying_up": laying + 3 * len(batches), "finishing": finishing,
        }
        assert set(of_set["minutes"]) == set(wanted), of_set
        for step, minutes in wanted.items():
            near(of_set["minutes"][step], minutes, 1e-3, step)
        labour = round(sum(wanted.values()) / 60 * rate, 2)
        material = plan["purchase"][0]["cost"] / case.sets
        near(of_set["labour"], labour, 1e-3, "labour")
        assert abs(of_set["material"] - material) <= 0.011, f"{of_set['material']}, not {material}"
        price = (material + labour) * (1 + overheads / 100) / (1 - margin / 100)
        assert abs(of_set["price"] - price) <= 0.06, f"{of_set['price']}, not {price}"
        near(plan["prices"]["order"], case.sets * of_set["price"], 1e-9, "order")
        # Each batch is ticked, and its pieces half as fast again as planned.
        slower, lines, now = 1.5, [], 0.0
        for batch in plan["resin"]["batches"]:
            lines.append((f"1 {batch['n']}", now))
            now += batch["minutes"] * slower
            lines += [(f"2 {piece}", now) for piece in batch["plies"]]
        stamp = lambda m: f"2027-02-28T{int(m // 60) % 24:02}:{int(m) % 60:02}:{60 * (m % 1):06.3f}Z"
        record = [{"time": "", "sheet": "layup/P.html", "what": what, "is": stamp(m)} for what, m in lines if m < 1380]
        (folder / "job-record.jsonl").write_text("".join(json.dumps(line) + "\n" for line in record), encoding="utf-8")
        done = context.run("made", job, "--out", folder / "priced", "--json")
        whole = [batch for batch in plan["resin"]["batches"] if "share_of_ply" not in batch]
        made = json.loads(done.stdout)
        keys = {key["line"].split(" = ")[0]: key["line"].split('"')[1] for key in made["keys"]}
        assert ("laying_speed" in keys) == bool(whole), keys
        if whole:
            near(float(keys["laying_speed"].split()[0]), 1.5 / slower, 0.01, f"speed of {len(whole)} batches")
    return "6 jobs"


@check("no quantity is minus zero", "own")
def minus_zero(context):
    out = context.work / "process-minus-zero"
    plan = context.plan(REPO / "examples" / "first-job.toml", out)
    assert all(cloth["waste"][key] >= 0 for cloth in plan["cloths"] for key in cloth["waste"] if key.endswith("_mm2"))
    pages = sorted(out.rglob("*.html"))
    for page in pages:
        found = re.search(r">[^<>]{0,20}[-\u2212]0(\.0+)?[\s\u00a0][^<]*<", page.read_text(encoding="utf-8"))
        assert not found, f"{page.name}: {found[0]}"
    return f"{len(pages)} pages"
