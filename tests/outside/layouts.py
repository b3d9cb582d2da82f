"""Checks layouts of long runs of the bench, which no check makes itself.

    python3 tests/outside/layouts.py --instances DIR [--tolerance DEGREES] FOLDER...

FOLDER holds what `nest_bench --layouts` wrote, DIR the instances by name. Prints the
density of each; ends with 1 if one is not valid.
"""

import argparse
import json
import sys
from pathlib import Path

from nesting import sound


def instance_of(layout, folder):
    """The instance of a layout; of several seeds, each layout ends in the number of its own."""
    own = folder / layout.name
    return own if own.exists() else folder / f"{layout.stem.rpartition('-')[0]}.json"


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--instances", required=True, type=Path)
    parser.add_argument("--tolerance", default=0.0, type=float)
    parser.add_argument("folders", nargs="+", type=Path, metavar="FOLDER")
    arguments = parser.parse_args()
    n_wrong = 0
    for folder in arguments.folders:
        files = sorted(folder.glob("*.json"))
        assert files, f"no layouts in {folder}"
        for file in files:
            instance, layout = (
                json.loads(path.read_text(encoding="utf-8"))
                for path in (instance_of(file, arguments.instances), file)
            )
            try:
                told = f"{sound(instance, layout, arguments.tolerance):.3f} %"
            except AssertionError as fault:
                told, n_wrong = f"INVALID: {fault}", n_wrong + 1
            print(f"{file}: {told}")
    return 1 if n_wrong else 0


if __name__ == "__main__":
    sys.exit(main())
