"""Completions in real shells, man pages through a real formatter."""

import shutil
import subprocess

from harness import Skip, check

COMMANDS = {"new", "plan", "check", "compare", "inspect", "schema", "completions", "man", "again", "cut", "shelf", "shop", "board", "open", "made"}


def need(program):
    if shutil.which(program) is None:
        raise Skip(f"there is no {program} here")


def output(*command, **more):
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, **more)
    assert done.returncode == 0, f"{command}: {done.stdout}{done.stderr}"
    assert done.stderr == "", f"{command}: {done.stderr}"
    return done.stdout


@check("completions work in bash", "bash: the function it names, called as the tab key does")
def bash(context):
    need("bash")
    script = context.work / "warpwise.bash"
    script.write_text(context.run("completions", "bash").stdout)
    output("bash", "-n", script)

    def offered(*words):
        ask = f"""
source {script}
COMP_WORDS=({' '.join(repr(word) for word in words)}); COMP_CWORD={len(words) - 1}
function=$(complete -p warpwise | sed 's/.*-F \\([^ ]*\\).*/\\1/')
$function warpwise {words[-1]!r} {words[-2]!r}
printf '%s\\n' "${{COMPREPLY[@]}}"
"""
        return set(output("bash", "--norc", "-c", ask).split())

    assert COMMANDS <= offered("warpwise", ""), offered("warpwise", "")
    assert offered("warpwise", "com") == {"compare", "completions"}
    assert {"--watch", "--port"} <= offered("warpwise", "plan", "--"), offered("warpwise", "plan", "--")
    assert offered("warpwise", "plan", "--wat") == {"--watch"}
    shells = offered("warpwise", "completions", "")
    assert {"bash", "zsh", "fish", "powershell"} <= shells, shells
    return f"{len(offered('warpwise', 'plan', '--'))} options of plan"


@check("completions load in zsh", "zsh: compinit finds them; its own syntax check")
def zsh(context):
    need("zsh")
    folder = context.work / "zsh"
    folder.mkdir()
    (folder / "_warpwise").write_text(context.run("completions", "zsh").stdout)
    output("zsh", "-n", folder / "_warpwise")
    # Loads the function as the tab key would, with what it hands over caught.
    ask = f"""
fpath=({folder} $fpath); autoload -Uz compinit; compinit -u -d {folder}/dump
print -r -- "handler: $_comps[warpwise]"
_arguments() {{ print -rl -- "$@" }}
_describe() {{ print -rl -- "${{(@P)4}}" }}
words=(warpwise ''); CURRENT=2; curcontext=::: ; autoload -Uz +X _warpwise
_warpwise 2>&1
_warpwise_commands 2>&1
"""
    said = output("zsh", "-f", "-c", ask)
    assert "handler: _warpwise" in said, said[:500]
    missing = {name for name in COMMANDS if f"{name}:" not in said}
    assert not missing, f"{missing} of {said[-1500:]}"


@check("man pages format without a warning", "groff -man -ww")
def man(context):
    need("groff")
    folder = context.work / "man"
    context.run("man", folder)
    pages = sorted(folder.iterdir())
    assert {page.name for page in pages} == {"warpwise.1"} | {f"warpwise-{c}.1" for c in COMMANDS}
    for page in pages:
        # Warnings go to standard error, where `output` wants nothing.
        text = output("groff", "-man", "-ww", "-Tutf8", "-P-cbou", page)
        for section in ("NAME", "SYNOPSIS", "OPTIONS", "EXIT STATUS"):
            assert section in text, f"{page.name} has no {section}"
        if page.stem != "warpwise":
            assert "EXAMPLES" in text and "warpwise " in text, page.name
    return f"{len(pages)} pages"
