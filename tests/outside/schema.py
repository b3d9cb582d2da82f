"""The job file's JSON Schema against an independent validator and against the program."""

import json
import tomllib

from harness import REPO, check
from jsonschema import Draft202012Validator

CASES = REPO / "tests" / "cases" / "job"

# Broken in a way that can be seen key by key: the schema must refuse these.
VISIBLE = [
    "angle-minus-90", "angle-plus-minus", "angle-text-without-unit", "cloth-in-double-brackets",
    "cloth-name-no-file-name", "cloth-without-name", "comma-in-number", "count-not-whole", "count-too-large",
    "count-zero", "cutting-is-not-a-table", "empty-part-name", "empty-pattern-path", "empty-quantity",
    "fraction-without-unit", "inf-number", "missing-areal-weight", "missing-part-name", "missing-pattern",
    "missing-roll-width", "missing-weave", "mitre-limit-below-one", "nan-quantity", "no-cloth", "no-part",
    "number-without-unit", "openings-from-nothing", "openings-without-unit", "output-unknown-file",
    "output-unknown-key", "output-unknown-paper", "part-in-single-brackets", "part-list-empty",
    "part-name-no-file-name", "part-name-too-long", "ply-in-single-brackets", "ply-list-of-numbers",
    "price-as-number", "price-without-length", "quantity-without-number", "shift-of-one-length",
    "spare-without-percent", "text-number-without-unit", "title-not-text", "unit-in-capitals", "unknown-join",
    "unknown-key-in-cloth", "unknown-key-in-cutting", "unknown-key-in-job", "unknown-key-in-part",
    "unknown-key-in-ply", "unknown-openings", "unknown-pattern-unit", "unknown-side", "unknown-turns",
    "unknown-unit", "unknown-weave", "weight-in-length", "wrong-type-count-expected", "wrong-type-date",
    "wrong-type-flag-expected", "wrong-type-list", "wrong-type-text-expected",
]


def validator(context):
    schema = json.loads(context.run("schema").stdout)
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


def problems(valid, job):
    return [f"{error.json_path}: {error.message[:120]}" for error in valid.iter_errors(job)]


@check("the schema takes what the program takes", "jsonschema, draft 2020-12")
def takes(context):
    valid = validator(context)
    jobs = sorted(file for file in REPO.glob("examples/**/*.toml") if file.name != "shop.toml")
    n_examples = len(jobs)
    refused = []
    for case in sorted(CASES.iterdir()):
        said = (case / "expected.txt").read_text(encoding="utf-8")
        if not any(line.startswith("error") for line in said.splitlines()):
            jobs.append(case / "job.toml")
        else:
            refused.append(case / "job.toml")
    for file in jobs:
        found = problems(valid, tomllib.loads(file.read_text(encoding="utf-8-sig")))
        assert found == [], f"{file.relative_to(REPO)}: {found}"
    assert n_examples >= 2 and len(jobs) > 30, (n_examples, len(jobs))
    # Of the broken ones, as many as can be.
    seen = unseen = 0
    names = {file.parent.name for file in refused}
    for file in refused:
        try:
            job = tomllib.loads(file.read_text(encoding="utf-8-sig"))
        except tomllib.TOMLDecodeError:
            continue
        found = problems(valid, job)
        seen, unseen = seen + bool(found), unseen + (not found)
        assert found or file.parent.name not in VISIBLE, f"{file.parent.name} is let through"
    assert set(VISIBLE) <= names, set(VISIBLE) - names
    return f"{len(jobs)} jobs taken, {n_examples} of them examples; {seen} broken ones refused, {unseen} not seen"


# Ways to write a quantity: what the program takes the schema must take.
LENGTHS = [
    "12.7 mm", "1/2 in", "1 1/2 in", "1-1/2 in", "1½ in", "½ in", '50"', "50″", "4'", "0", "+3 mm", "1e1 mm", " 5 mm ",
    "5mm", ".5 in", "5. mm", "5 thou", "500 um", "0.1 yd", "5 millimetres", "5", "mm", "5 furlong", "1,5 mm", "1/0 in",
    "nan mm", "5 mm x", "--5 mm", "1 2 mm", "", "5 MM", "5 µm", "1 - 1/2 in",
]
WEIGHTS = ["193 g/m2", "193 g/m²", "193 g/m^2", "193 gsm", "5.7 oz/yd2", "5.7 oz / yd 2", "193", "193 g", "193 g/m3"]
PRICES = ["38.50 USD/yd", "EUR 28/m", "$31.95 / yd", "28/m", "28", "28 USD", "USD/m", "1,000 USD/m", "28 USD/kg"]
OPENINGS = ["cut", "after cure", "after  cure", "from 40 mm", "from 1 1/2 in", "from40 mm", "from", "from 40", "none", " cut"]


@check("quantities are alike to schema and program", "jsonschema; the program itself")
def quantities(context):
    valid = validator(context)
    folder = context.work / "schema"
    folder.mkdir()
    head = "[cutting]\ntrim = {trim}\nopenings = {openings}\n[cloth.c]\nweave = \"plain\"\n"
    rest = (
        "areal_weight = {weight}\nroll_width = \"1 m\"\nprice = {price}\n[[part]]\nname = \"P\"\n"
        "pattern = \"none.svg\"\ncloth = \"c\"\nlayup = \"[0]\"\n"
    )
    usual = {"trim": "5 mm", "weight": "193 g/m2", "price": "1 USD/m", "openings": "cut"}
    n = strict = 0
    for key, texts in (("trim", LENGTHS), ("weight", WEIGHTS), ("price", PRICES), ("openings", OPENINGS)):
        for text in texts:
            values = {k: json.dumps(v, ensure_ascii=False) for k, v in {**usual, key: text}.items()}
            job = folder / "job.toml"
            job.write_text((head + rest).format(**values), encoding="utf-8")
            said = context.run("check", job, expect=1).stderr
            # A job that can be read fails at its pattern, which is not there.
            taken = "the pattern file of part" in said
            found = problems(valid, tomllib.loads(job.read_text(encoding="utf-8")))
            assert not (taken and found), f"{key} = {text!r}: {found}"
            n, strict = n + 1, strict + (bool(found) == (not taken))
    assert strict >= n - 3, f"only {strict} of {n} alike"
    return f"{n} texts, none refused that the program takes, {strict} judged alike"
