"""The scripts of the served pages, checked by the types in their comments."""

import shutil
import subprocess

from harness import REPO, Skip, check

CHECKER = REPO / "target" / "tsc" / "lib" / "tsc.js"
RULES = ["--noEmit", "--allowJs", "--checkJs", "--strict", "--noUnusedLocals", "--moduleDetection", "force",
         "--target", "es2022", "--lib", "es2023,dom,dom.iterable"]


def told(*files):
    return subprocess.run(["node", CHECKER, *RULES, *files], capture_output=True, text=True)


@check("the scripts of the pages are typed", "TypeScript's checker on the JSDoc comments")
def typed(context):
    if not CHECKER.exists() or shutil.which("node") is None:
        raise Skip("there is no type checker in target/tsc")
    scripts = sorted((REPO / "src" / "cli").glob("*/*.js"))
    assert len(scripts) >= 6, scripts
    result = told(*scripts)
    assert result.returncode == 0, result.stdout
    wrong = context.work / "wrong.js"
    wrong.write_text(scripts[0].read_text(encoding="utf-8").replace("file.name", "file.nome"), encoding="utf-8")
    assert told(wrong).returncode != 0, "the checker overlooks a wrong name"
    return f"{len(scripts)} files"
