"""What the program is built from: licences, duplicates and sources, against `.ci/deny.toml`.

The same as `cargo deny check licenses bans sources`, from `cargo metadata` alone, so that nothing has to be built first.
"""

import json
import re
import subprocess
import tomllib
from collections import defaultdict

from harness import REPO, check

RULES = tomllib.loads((REPO / ".ci" / "deny.toml").read_text(encoding="utf-8"))


def metadata():
    done = subprocess.run(
        ["cargo", "metadata", "--format-version", "1", "--locked", "--all-features"],
        cwd=REPO, capture_output=True, text=True, check=True,
    )
    return json.loads(done.stdout)


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

    def both():
        nonlocal at
        met = atom()
        while tokens[at : at + 1] == ["AND"]:
            at += 1
            met = atom() and met
        return met

    def either():
        nonlocal at
        met = both()
        while tokens[at : at + 1] == ["OR"]:
            at += 1
            met = both() or met
        return met

    met = either()
    assert at == len(tokens), f"cannot read the licence {expression}"
    return met


def in_the_program(told):
    """Packages that are built into the program or build it: everything but what only tests need."""
    nodes = {node["id"]: node for node in told["resolve"]["nodes"]}
    reached, todo = set(), [told["resolve"]["root"]]
    while todo:
        one = todo.pop()
        if one in reached:
            continue
        reached.add(one)
        for dep in nodes[one]["deps"]:
            if any(kind["kind"] != "dev" for kind in dep["dep_kinds"]):
                todo.append(dep["pkg"])
    return [package for package in told["packages"] if package["id"] in reached]


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
    packages = in_the_program(metadata())
    faults = list(faults_of(packages, RULES))
    assert not faults, "\n".join(faults)
    return f"{len(packages)} packages, {len(RULES['bans']['skip'])} duplicates known"


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
