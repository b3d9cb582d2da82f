"""The first thing a new user sees: what the README shows is what its first command prints."""

import subprocess

from harness import REPO, check


@check("the README shows what its first command prints", "README.md")
def first_command(context):
    readme = (REPO / "README.md").read_text(encoding="utf-8")
    command = readme.split("```sh\n", 1)[1].split("\n", 1)[0]
    shown = readme.split("```text\n", 1)[1].split("```", 1)[0]
    before, arguments = command.split(" -- ")
    assert before == "cargo run --release", command
    words = [str(REPO / word) if word.startswith("examples/") else word for word in arguments.split()]
    folder = context.work / "readme"
    folder.mkdir()
    done = subprocess.run(
        [context.binary, *words], cwd=folder, capture_output=True, text=True, timeout=600, check=True
    )
    assert done.stdout == shown, f"printed:\n{done.stdout}\nshown:\n{shown}"
    return f"{len(shown.splitlines())} lines"
