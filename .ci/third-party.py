#!/usr/bin/env python3
"""Prints the licences of all crates that are built into the program for a target, and that of its font.

    python3 .ci/third-party.py x86_64-unknown-linux-musl
"""

import sys
from pathlib import Path

from packages import metadata, reached

LICENCE_NAMES = ("licen", "copying", "notice", "copyright", "unlicense")


def built_in(target):
    """Packages in the program besides its own: neither tests nor what only builds it."""
    told = metadata("--filter-platform", target)
    packages = reached(told, lambda kind: kind is None)
    return sorted(
        (package for package in packages if package["id"] != told["resolve"]["root"]),
        key=lambda package: (package["name"], package["version"]),
    )


def main():
    sys.stdout.reconfigure(encoding="utf-8", newline="\n")
    print("warpwise contains the work of others, under these licences.\n")
    packages = built_in(sys.argv[1])
    for package in packages:
        print(f"- {package['name']} {package['version']}: {package['license']}")
    # One text for all that share it.
    texts = {}
    for package in packages:
        folder = Path(package["manifest_path"]).parent
        for path in sorted(folder.iterdir()):
            if path.is_file() and path.name.lower().startswith(LICENCE_NAMES):
                text = path.read_text(encoding="utf-8", errors="replace").replace("\r\n", "\n").strip()
                texts.setdefault(text, []).append(f"{package['name']} {package['version']}")
    font = Path(__file__).resolve().parent.parent / "src" / "output" / "drawing" / "face" / "README.md"
    texts[font.read_text(encoding="utf-8").strip()] = ["the font of pictures and PDFs"]
    for text, whose in texts.items():
        print(f"\n{'-' * 100}\n{', '.join(whose)}:\n\n{text}")


main()
