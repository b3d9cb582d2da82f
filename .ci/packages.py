"""What cargo knows of the packages that the program is made of."""

import json
import subprocess
from pathlib import Path

REPO = Path(__file__).resolve().parent.parent


def metadata(*options):
    command = ["cargo", "metadata", "--format-version", "1", "--locked", *options]
    return json.loads(subprocess.run(command, cwd=REPO, capture_output=True, check=True).stdout)


def reached(told, counts):
    """The program's package and all that it needs, by dependencies whose kind `counts`.

    A kind is None for what is built in, else "build" or "dev".
    """
    nodes = {node["id"]: node for node in told["resolve"]["nodes"]}
    met, todo = set(), [told["resolve"]["root"]]
    while todo:
        one = todo.pop()
        if one not in met:
            met.add(one)
            for dep in nodes[one]["deps"]:
                if any(counts(kind["kind"]) for kind in dep["dep_kinds"]):
                    todo.append(dep["pkg"])
    return [package for package in told["packages"] if package["id"] in met]
