"""What the program is built from: licences, duplicates and sources, against `.ci/deny.toml`.

The same as `cargo deny check licenses bans sources`, from `cargo metadata` alone, so that nothing has to be built first.
"""

import operator
import re
import subprocess
import sys
import tomllib
from collections import defaultdict

from harness import REPO, check

sys.path.insert(0, str(REPO / ".ci"))

from packages import metadata, reached  # noqa: E402

RULES = tomllib.loads((REPO / ".ci" / "deny.toml").read_text(encoding="utf-8"))


def permits(expression, allowed):
    """Whether an SPDX expression can be met with licences of `allowed`."""
    tokens = re.findall(r"\(|\)|[^\s()]+", expression.replace("/", " OR "))
    at = 0

    def atom():
        nonlocal at
        token = tokens[at]
        at += 1
        if token == "(":
            met = either()
            assert tokens[at] == ")", expression
            at += 1
            return met
        if tokens[at : at + 1] == ["WITH"]:
            token = f"{token} WITH {tokens[at + 1]}"
            at += 2
        return token in allowed

    def joined(word, part, join):
        nonlocal at
        met = part()
        while tokens[at : at + 1] == [word]:
            at += 1
            met = join(part(), met)
        return met

    def both():
        return joined("AND", atom, operator.and_)

    def either():
        return joined("OR", both, operator.or_)

    met = either()
    assert at == len(tokens), f"cannot read the licence {expression}"
    return met


def faults_of(packages, rules):
    """Everything in `packages` that the rules refuse."""
    allowed = set(rules["licenses"]["allow"])
    versions = defaultdict(list)
    for package in packages:
        versions[package["name"]].append(package["version"])
        licence = package["license"]
        if not licence or not permits(licence, allowed):
            yield f"{package['name']} {package['version']} is licensed {licence}"
        # Our own has none.
        if (package["source"] or "registry+").split("+")[0] != "registry":
            yield f"{package['name']} comes from {package['source']}"
    skipped = {entry["crate"] for entry in rules["bans"]["skip"]}
    for name, found in sorted(versions.items()):
        extra = [version for version in found if f"{name}@{version}" not in skipped]
        if len(found) > 1 and len(extra) > 1:
            yield f"{name} is there as {', '.join(sorted(found))}"
    for entry in skipped:
        name, _, version = entry.partition("@")
        if version not in versions[name] or len(versions[name]) < 2:
            yield f"{entry} need not be skipped any more"


@check("licences are permitted, no crate is there twice, all come from the registry", ".ci/deny.toml")
def supply(_context):
    # What is built into the program or builds it: everything but what only tests need.
    packages = reached(metadata("--all-features"), lambda kind: kind != "dev")
    faults = list(faults_of(packages, RULES))
    assert not faults, "\n".join(faults)
    return f"{len(packages)} packages, {len(RULES['bans']['skip'])} duplicates known"


@check("the licences that are handed out with the program name every crate in it, and its font", "cargo metadata")
def notices(_context):
    target = re.search(r"host: (\S+)", subprocess.run(["rustc", "-vV"], capture_output=True, text=True, check=True).stdout)[1]
    script = REPO / ".ci" / "third-party.py"
    done = subprocess.run([sys.executable, script, target], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    built_in = reached(metadata("--filter-platform", target), lambda kind: kind is None)
    missing = [package["name"] for package in built_in if f"- {package['name']} {package['version']}: " not in done.stdout]
    assert missing == ["warpwise"] and "the font of pictures" in done.stdout, missing
    return f"{len(built_in) - 1} crates"


@check("the supply check would notice", "made-up packages")
def would_notice(_context):
    def package(name, version="1.0.0", licence="MIT", source="registry+x"):
        return {"name": name, "version": version, "license": licence, "source": source}

    known = [package(*entry["crate"].split("@")) for entry in RULES["bans"]["skip"]]
    known += [package(entry["name"], "99.0.0") for entry in known]
    assert list(faults_of(known, RULES)) == []
    for bad in (
        [package("a", licence="GPL-3.0-only")], [package("a", licence=None)],
        [package("a", licence="MIT AND GPL-2.0")], [package("a", source="git+x")],
        [package("a"), package("a", "2.0.0")],
    ):
        assert list(faults_of(known + bad, RULES)), bad
    for good in ("MIT OR GPL-2.0", "Apache-2.0/MIT", "(GPL-2.0 OR MIT) AND Zlib"):
        assert not list(faults_of([*known, package("a", licence=good)], RULES)), good
