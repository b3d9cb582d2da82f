"""Pages measured by axe-core, the accessibility engine, in Chromium: light and dark."""

from browser import Page
from harness import REPO, Skip, check

ENGINE = REPO / "target" / "axe" / "axe.min.js"
GRAVE = ("serious", "critical")
# Blink's numbers of the colour schemes.
SCHEMES = {"light": "--blink-settings=preferredColorScheme=1", "dark": "--blink-settings=preferredColorScheme=0"}

RUN = """
axe.run(document, {resultTypes: ["violations", "incomplete"]}).then((found) => {
  const tell = (list) => list.map((rule) => ({
    rule: rule.id, impact: rule.impact, help: rule.help,
    nodes: rule.nodes.map((node) => [node.target.join(" "), node.failureSummary]),
  }));
  const pre = document.createElement("pre");
  pre.id = "measured";
  pre.textContent = JSON.stringify({
    dark: matchMedia("(prefers-color-scheme: dark)").matches, passes: found.passes.length,
    violations: tell(found.violations), unsure: found.incomplete.length,
  });
  document.body.append(pre);
});
"""


def examined(context, file, scheme):
    """What axe finds in a page after its own scripts have run."""
    if not ENGINE.exists():
        raise Skip("there is no axe-core in target/axe")
    page = context.work / f"axe-{scheme}-{file.name}"
    engine = ENGINE.read_text(encoding="utf-8").replace("</script", "<\\/script")
    html = file.read_text(encoding="utf-8")
    assert "</body>" in html
    html = html.replace("</body>", f"<script>{engine}</script><script>{RUN}</script></body>")
    page.write_text(html, encoding="utf-8")
    told = Page(context, page, SCHEMES[scheme]).result()
    assert told["dark"] == (scheme == "dark"), f"{file.name} was shown in the other scheme"
    assert told["passes"] >= 5, f"{file.name}: only {told['passes']} rules had anything to look at"
    return told


def grave(told):
    return [violation for violation in told["violations"] if violation["impact"] in GRAVE]


def pages(context):
    ways = context.work / "axe-ways.html"
    context.run("compare", context.demo_job_file, "--html", ways, "--quiet")
    return [context.demo_out / "report.html", ways, *sorted((context.demo_out / "layup").glob("*.html"))]


@check("axe finds nothing serious in report, comparison and sheets", "axe-core, Chromium")
def accessible(context):
    if not ENGINE.exists():
        raise Skip("there is no axe-core in target/axe")
    faults, lesser, n = [], set(), 0
    for file in pages(context):
        for scheme in SCHEMES:
            told = examined(context, file, scheme)
            n += 1
            for violation in grave(told):
                where = "; ".join(" ".join(node).replace("\n", " ") for node in violation["nodes"][:3])
                faults.append(
                    f"{file.name} ({scheme}): {violation['impact']} {violation['rule']}, "
                    f"{len(violation['nodes'])} times, e.g. {where}"
                )
            lesser |= {violation["rule"] for violation in told["violations"]}
    assert not faults, "\n".join(faults)
    return f"{n} pages; lesser findings: {', '.join(sorted(lesser)) or 'none'}"


@check("axe would notice", "a page with known faults")
def would_notice(context):
    page = context.work / "faulty.html"
    page.write_text(
        "<!doctype html><html><head><title>x</title></head><body><main><h1>x</h1>"
        "<p style='color:#999;background:#fff'>pale</p><button></button><input>"
        "<img src='data:,'></main></body></html>",
        encoding="utf-8",
    )
    found = {violation["rule"] for violation in grave(examined(context, page, "light"))}
    wanted = {"color-contrast", "button-name", "html-has-lang", "label", "image-alt"}
    assert wanted <= found, f"missed {wanted - found}"
    return ", ".join(sorted(found))
