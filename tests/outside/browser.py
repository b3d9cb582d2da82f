"""What a real browser makes of the cut SVG and the report: Chromium without a window."""

import json
import re
import shutil
import subprocess
from urllib.parse import urlsplit

import numpy as np
from harness import Skip, check
from plan_rules import ring_polygon

PX_PER_MM = 96 / 25.4  # CSS Values and Units 3, absolute lengths: 1 in = 96 px = 25.4 mm
CSS = "CSS Values and Units 3: 1 in = 96 px"
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
    "--host-resolver-rules=MAP * ~NOTFOUND",
    "--enable-logging=stderr",
]


class Page:
    """A page as it stood after loading: its text, what it wrote to the console, what it fetched."""

    def __init__(self, context, file, *flags):
        program = shutil.which("chromium") or shutil.which("chromium-browser")
        if program is None:
            raise Skip("there is no Chromium here")
        profile = context.work / f"profile-{len(list(context.work.glob('profile-*')))}"
        net_log = profile.with_suffix(".net.json")
        done = subprocess.run(
            [program, *FLAGS, *flags, f"--user-data-dir={profile}", f"--log-net-log={net_log}",
             "--virtual-time-budget=3000", "--dump-dom", file.resolve().as_uri()],
            capture_output=True, text=True, timeout=180,
        )
        assert done.returncode == 0, done.stderr[-2000:]
        self.html = done.stdout
        # Uncaught errors are written to the console too.
        self.console = re.findall(r":CONSOLE:?[^\]]*\] (.*)", done.stderr)
        self.requests = self._requests(json.loads(net_log.read_text(encoding="utf-8")))

    @staticmethod
    def _requests(log):
        """Addresses the page asked for; the browser's own errands have no origin."""
        kinds = {number: name for name, number in log["constants"]["logEventTypes"].items()}
        found = []
        for event in log["events"]:
            told = event.get("params", {})
            if kinds[event["type"]] == "URL_REQUEST_START_JOB" and (
                told.get("initiator", "not an origin") != "not an origin"
            ):
                if urlsplit(told["url"]).scheme not in ("file", "data", "blob"):
                    found.append(told["url"])
        return found

    def result(self):
        """The JSON that `measured` left in the page."""
        text = re.search(r'<pre id="measured">(.*?)</pre>', self.html, re.S)
        assert text, f"the page's script did not finish: {self.console}"
        return json.loads(text.group(1).replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&"))


def with_script(body, script):
    """A page that shows `body` and writes what `script` returns into itself."""
    return f"""<!doctype html><meta charset="utf-8"><style>body{{margin:0}}svg{{display:block}}</style>
<body>{body}<script>
const measured = (() => {{ {script} }})();
const pre = document.createElement("pre");
pre.id = "measured"; pre.textContent = JSON.stringify(measured);
document.body.append(pre);
</script>"""


MEASURE_SVG = """
const svg = document.querySelector("svg");
const frame = svg.getBoundingClientRect();
const square = document.createElementNS(svg.namespaceURI, "rect");
square.setAttribute("width", 100); square.setAttribute("height", 100);
svg.append(square);
const side = square.getBoundingClientRect();
const paths = [...svg.querySelectorAll("#CUT path")].map((path) => {
  const box = path.getBBox();
  const shown = path.getBoundingClientRect();
  return {
    id: path.parentNode.id, length: path.getTotalLength(),
    box: [box.x, box.y, box.width, box.height],
    shown: [shown.x - frame.x, shown.y - frame.y, shown.width, shown.height],
  };
});
return {frame: [frame.width, frame.height], side: [side.width, side.height], paths};
"""


def measure(context, layout):
    svg = (context.demo_out / "cut" / f"{layout['roll']}.svg").read_text(encoding="utf-8")
    svg = re.sub(r"^<\?xml.*?\?>", "", svg)
    page = context.work / f"measure-{layout['roll']}.html"
    page.write_text(with_script(svg, MEASURE_SVG), encoding="utf-8")
    return Page(context, page).result()


@check("the cut SVG shows true size", f"Chromium; {CSS}: a 100 mm square is 377.95 px")
def true_size(context):
    sides = []
    for layout in context.demo["layouts"]:
        told = measure(context, layout)
        # Chromium lays boxes out on a grid of 1/64 px.
        expected = np.array([layout["used_length"], layout["roll_width"]]) * PX_PER_MM
        assert np.allclose(told["frame"], expected, atol=1 / 32), (told["frame"], expected)
        assert np.allclose(told["side"], 100 * PX_PER_MM, atol=1 / 32), told["side"]
        sides.append(told["side"][0])
    return f"100 mm square {', '.join(f'{s:.3f}' for s in sides)} px"


@check("cut lines as drawn measure like plan.json", "Chromium getBBox and getTotalLength")
def drawn_lines(context):
    n, worst_box, worst_length = 0, 0.0, 0.0
    for layout in context.demo["layouts"]:
        told = {path["id"]: path for path in measure(context, layout)["paths"]}
        assert len(told) == len(layout["pieces"])
        for piece in layout["pieces"]:
            shape = ring_polygon(piece["cut"])
            x0, y0, x1, y1 = shape.bounds
            box = np.array([x0, layout["roll_width"] - y1, x1 - x0, y1 - y0])
            off = float(np.abs(np.array(told[piece["id"]]["box"]) - box).max())
            assert off <= 0.01, f"{piece['id']}: box {told[piece['id']]['box']}, plan {box}"
            length = shape.length
            share = abs(told[piece["id"]]["length"] - length) / length
            assert share <= 1e-4, f"{piece['id']}: {told[piece['id']]['length']} mm, plan {length}"
            worst_box, worst_length = max(worst_box, off), max(worst_length, share)
            n += 1
    return f"{n} pieces, worst box {worst_box:.4f} mm, length {worst_length:.1e}"


@check("the report loads in silence and by itself", "Chromium console and network log")
def report(context):
    file = context.demo_out / "report.html"
    for flags in ([], ["--window-size=390,844"]):
        page = Page(context, file, *flags)
        assert page.console == [], page.console
        assert page.requests == [], page.requests
    text = re.sub(r"<[^>]+>", " ", page.html)
    for layout in context.demo["layouts"]:
        for piece in layout["pieces"]:
            assert piece["id"] in text, f"{piece['id']} is not in the report"
    return f"{len(page.html) // 1024} KiB"


@check("the browser checks would notice", "a page with a known fault and request")
def would_notice(context):
    page = context.work / "fault.html"
    page.write_text(
        "<!doctype html><script>new Image().src = 'http://example.org/a.png'; nothing();</script>"
    )
    seen = Page(context, page)
    assert any("nothing is not defined" in line for line in seen.console), seen.console
    assert seen.requests == ["http://example.org/a.png"], seen.requests


@check("the report fits a phone", "Chromium, a frame 390 px wide")
def narrow(context):
    # A window cannot be made that narrow, a frame can.
    html = (context.demo_out / "report.html").read_text(encoding="utf-8")
    inner = context.work / "narrow-inner.html"
    tell = """<script>addEventListener("load", () => parent.postMessage(
{wide: document.documentElement.scrollWidth, view: innerWidth}, "*"));</script>"""
    inner.write_text(html + tell, encoding="utf-8")
    outer = context.work / "narrow.html"
    outer.write_text(
        f"""<!doctype html><script>addEventListener("message", (told) => {{
const pre = document.createElement("pre"); pre.id = "measured";
pre.textContent = JSON.stringify(told.data); document.body.append(pre); }});</script>
<iframe src="{inner.name}" style="width:390px;height:844px;border:0"></iframe>""",
        encoding="utf-8",
    )
    told = Page(context, outer).result()
    assert told["view"] == 390
    assert told["wide"] <= told["view"], f"the page is {told['wide']} px wide on {told['view']} px"
    return f"{told['wide']} px on {told['view']} px"


# Does what a person does, by the events a browser sends, and tells what came of it.
USE_REPORT = """
const over = (element, kind) => element.dispatchEvent(
  new PointerEvent(kind, {pointerType: "mouse", bubbles: true}));
const lit = () => [...document.querySelectorAll(".lit")].map((e) => `${e.tagName} ${e.dataset.piece}`);
const card = () => document.querySelector(".card");
const rows = [...document.querySelectorAll("tr[data-piece]")];
const listed = new Set(rows.map((row) => row.dataset.piece));
const everyShape = [...document.querySelectorAll("g[data-piece]")];
// What is cut for the bag is drawn, but has no row.
const shapes = everyShape.filter((s) => listed.has(s.dataset.piece));
for (const s of everyShape) { over(s, "pointerenter"); over(s, "pointerleave"); }
const told = {shapes: new Set(shapes.map((s) => s.dataset.piece)).size, rows: rows.length};
const third = shapes[2];
told.id = third.dataset.piece;
over(third, "pointerenter"); told.hover = lit(); told.card = card().textContent;
over(third, "pointerleave"); told.left = lit().length; told.hidden = card().hidden;
third.dispatchEvent(new MouseEvent("click", {bubbles: true})); over(third, "pointerleave");
told.clicked = lit();
document.dispatchEvent(new KeyboardEvent("keydown", {key: "Escape"})); told.escaped = lit().length;
over(rows[0], "pointerenter"); told.fromRow = lit(); over(rows[0], "pointerleave");
// One stop of the tab key in a roll; arrows go on from there.
const roll = document.querySelector("svg.roll");
const stops = () => [...roll.querySelectorAll("g[tabindex='0']")];
told.stops = stops().length;
const first = stops()[0]; first.focus();
first.dispatchEvent(new KeyboardEvent("keydown", {key: "ArrowRight", bubbles: true}));
told.next = document.activeElement !== first && document.activeElement.dataset.piece === lit()[0].split(" ")[1];
document.activeElement.dispatchEvent(new KeyboardEvent("keydown", {key: "Enter", bubbles: true}));
told.atRow = document.activeElement.closest("tr")?.dataset.piece === shapes[1].dataset.piece;
// Larger, moved, whole again.
const box = () => roll.getAttribute("viewBox").split(" ").map(Number);
const whole = box();
const [plus, minus, all] = roll.closest("figure").querySelectorAll(".tools button");
plus.click(); const larger = box(); told.zoom = whole[2] / larger[2];
const r = roll.getBoundingClientRect();
const at = (kind, x) => roll.dispatchEvent(new PointerEvent(kind,
  {pointerId: 1, bubbles: true, clientX: r.left + x, clientY: r.top + 20}));
at("pointerdown", 100); at("pointermove", 70); at("pointerup", 70);
told.moved = (box()[0] - larger[0]) / larger[2] * r.width;
all.click(); told.wholeAgain = box().join() === whole.join();
// One cloth only.
const select = [...document.querySelectorAll(".filter select")].find((s) => s.parentElement.textContent.startsWith("Cloth"));
select.value = select.options[1].value; select.dispatchEvent(new Event("change"));
told.cloth = select.value;
told.shown = rows.filter((row) => !row.hidden).map((row) => row.dataset.cloth);
told.dim = new Set(shapes.filter((s) => s.classList.contains("dim")).map((s) => s.dataset.piece)).size;
told.said = document.querySelector(".filter output").textContent;
return told;
"""


@check("the report answers to pointer, keyboard and filter", "Chromium; own contract")
def used(context):
    html = (context.demo_out / "report.html").read_text(encoding="utf-8")
    page = context.work / "used.html"
    page.write_text(html.replace("</body>", f"""<script>
const measured = (() => {{ {USE_REPORT} }})();
const pre = document.createElement("pre");
pre.id = "measured"; pre.textContent = JSON.stringify(measured);
document.body.append(pre);
</script></body>"""), encoding="utf-8")
    page = Page(context, page)
    assert page.console == [], page.console
    told = page.result()
    n = sum(len(layout["pieces"]) for layout in context.demo["layouts"])
    assert told["shapes"] == told["rows"] == n, told
    both = {f"g {told['id']}", f"TR {told['id']}"}
    assert set(told["hover"]) == set(told["clicked"]) == both, told
    assert told["id"] in told["card"] and "°" in told["card"], told["card"]
    assert told["left"] == told["escaped"] == 0 and told["hidden"], told
    assert len({piece.split()[1] for piece in told["fromRow"]}) == 1, told
    assert {piece.split()[0] for piece in told["fromRow"]} == {"g", "TR"}, told
    assert told["stops"] == 1 and told["next"] and told["atRow"], told
    assert abs(told["zoom"] - 1.5) < 1e-6 and told["wholeAgain"], told
    assert abs(told["moved"] - 30) < 0.5, told["moved"]
    own = sum(len(l["pieces"]) for l in context.demo["layouts"] if l["cloth"] == told["cloth"])
    assert told["shown"] == [told["cloth"]] * own and told["dim"] == n - own, told
    assert told["said"] == f"{own} of {n} pieces", told["said"]
    return f"{n} pieces"
