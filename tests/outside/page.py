"""`open` as a person uses it: the page in Chromium, beside an editor on the same file."""

import base64
import json
import signal
import subprocess
import time
import tomllib
from urllib.parse import urlsplit

from axe import ENGINE
from harness import Skip, check
from watch import Browser


class Opened:
    """A running `open` and the address that it printed."""

    def __init__(self, binary, file, port=0):
        self.process = subprocess.Popen(
            [binary, "open", file, "--no-browser", "--port", str(port)],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )
        self.address = self.process.stdout.readline().strip()
        assert self.address.startswith("http://127.0.0.1:"), self.address
        self.parts = urlsplit(self.address)

    def end(self):
        self.process.send_signal(signal.SIGINT)
        return self.process.communicate(timeout=60)


DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 0 400 300">
<path id="lid" d="M10 10H390V290H10Z"/></svg>"""
JOB = """title = "Locker lid"   # the small one

[cloth.glass]
weave = "plain"
areal_weight = "200 g/m2"
fibre = "e-glass"
roll_width = "1 m"
price = "10 EUR/m"

[[part]]
name = "LID"
pattern = "lid.svg"

# against the mould
[[part.ply]]
cloth = "glass"
angle = 0

[[part.ply]]
cloth = "glass"
angle = 45

[[part.ply]]
cloth = "glass"
angle = 90
"""
# The page's scripts are there, so that what a person does is heard.
READY = "document.readyState === 'complete'"
STANDING = "document.querySelector('.standing')?.textContent ?? ''"
DONE = f"({STANDING}).includes('the layout that')"


def opened_job(context, name):
    folder = context.work / name
    folder.mkdir()
    (folder / "lid.svg").write_text(DRAWING, encoding="utf-8")
    file = folder / "job.toml"
    file.write_text(JOB, encoding="utf-8")
    return file


def typed(field, value):
    """A person types into a field and leaves it."""
    return f"""(() => {{ const field = document.querySelector({json.dumps(field)});
        if (!field) {{ throw new Error("no field " + {json.dumps(field)}); }}
        field.focus(); field.value = {json.dumps(value)};
        field.dispatchEvent(new Event("change", {{bubbles: true}})); }})()"""


def dragged(which, to):
    """A person drags a card by its handle onto another."""
    return f"""(() => {{ const cards = document.querySelectorAll("ol.stack > li");
        const carried = new DataTransfer();
        const tell = (at, kind) => at.dispatchEvent(new DragEvent(kind, {{bubbles: true, cancelable: true, dataTransfer: carried}}));
        tell(cards[{which}].querySelector(".handle"), "dragstart"); tell(cards[{to}], "dragover");
        tell(cards[{to}], "drop"); tell(cards[{which}], "dragend"); }})()"""


def until(condition, what, seconds=60):
    end = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < end, what() if callable(what) else what
        time.sleep(0.05)


@check("the page changes the job file and follows it", "Chromium on the page of open; own contract")
def works(context):
    file = opened_job(context, "page")
    text = lambda: file.read_text(encoding="utf-8")
    browser = Browser(context, "page-profile")
    program = Opened(context.binary, file)
    try:
        browser.tell("Page.navigate", url=program.address)
        browser.wait(DONE, "the first plan")
        assert browser.value("location.search") == "", "the key stays in sight"
        before = browser.value("document.querySelector('#figures').innerText")

        began = time.monotonic()
        browser.value(typed("#f-part-1-name", "COVER"))
        until(lambda: 'name = "COVER"' in text(), "the name was not written")
        browser.wait("document.querySelector('#figures').innerText.includes('COVER')", "the new figures")
        took = time.monotonic() - began
        assert "LID" in before and text() == JOB.replace('"LID"', '"COVER"')

        # The last ply to the mould, its comment and the others stay.
        browser.value(dragged(2, 0))
        until(lambda: text().index("angle = 90") < text().index("angle = 0"), "nothing was moved")
        browser.wait("document.querySelectorAll('ol.stack input')[0].value === '90'", "the moved card")
        for comment in ("# the small one", "# against the mould"):
            assert text().count(comment) == 1, text()

        # By keyboard alone: the undo button is reached and pressed.
        browser.value("document.querySelector('[data-post=\"/-/undo\"]').focus()")
        for kind in ("keyDown", "keyUp"):
            browser.tell("Input.dispatchKeyEvent", type=kind, key="Enter", code="Enter",
                         windowsVirtualKeyCode=13, text="\r" if kind == "keyDown" else "")
        until(lambda: text() == JOB.replace('"LID"', '"COVER"'), "nothing was undone")

        # An editor saves: the page follows, and says what is wrong in it.
        file.write_text(text().replace('"1 m"', "1"), encoding="utf-8")
        browser.wait("(document.querySelector('#problem .problem')?.innerText ?? '').includes('roll_width')", "the problem")
        browser.value(typed("[data-at='[\"cloth\",\"glass\",\"roll_width\"]']", "0.9 m"))
        until(lambda: 'roll_width = "0.9 m"' in text(),
              lambda: "the width was not written: " + browser.value("document.querySelector('#told').innerText"))
        browser.wait(f"!document.querySelector('#problem .problem') && {DONE}", "the mended job")

        # Killed and started again: the page says so, and goes on once it has the new key.
        port = program.parts.port
        program.process.kill()
        program.process.communicate()
        browser.wait("document.querySelector('#told').innerText.includes('has ended')", "that the program has ended")
        program = Opened(context.binary, file, port)
        browser.open_beside(program.address)
        file.write_text(text().replace("Locker lid", "Cockpit lid"), encoding="utf-8")
        browser.wait("document.querySelector('h1').innerText.includes('Cockpit lid')", "the job after the new start")

        assert browser.of("Runtime.exceptionThrown") == [], browser.of("Runtime.exceptionThrown")
        refused = [entry for entry in browser.of("Log.entryAdded") if "Content Security" in entry["entry"]["text"]]
        assert refused == [], refused
        program.end()
        assert program.process.returncode == 0
    finally:
        program.process.kill()
        program.process.communicate()
        browser.close()
    return f"{took:.2f} s from a field to the new figures"


@check("ticks at the mould are kept through a kill", "Chromium; SIGKILL; own contract")
def at_the_mould(context):
    file = opened_job(context, "page-mould")
    file.write_text(JOB + '\n[resin]\nname = "epoxy"\nratio = "100:30"\npot_life = "40 min"\n', encoding="utf-8")
    record = file.with_name("job-record.jsonl")
    browser = Browser(context, "page-mould-profile")
    program = Opened(context.binary, file)
    checked = "[...document.querySelectorAll('.check')].map((box) => box.getAttribute('aria-checked') === 'true')"
    try:
        browser.tell("Page.navigate", url=program.address)
        browser.wait(DONE, "the plan")
        sheet = f"http://{program.parts.netloc}/layup/LID.html"
        browser.tell("Page.navigate", url=sheet)
        browser.wait("document.querySelectorAll('.check').length > 10", "boxes to tick")
        boxes = browser.value("document.querySelectorAll('.check').length")
        browser.value("document.querySelectorAll('.check')[2].click()")
        browser.value("[...document.querySelectorAll('tbody tr .check')].find((box) => box.closest('table')"
                      ".innerText.includes('Work time')).click()")
        browser.wait("document.querySelector('.clock')?.innerText.includes('left')", "the clock of a batch")
        browser.value(typed(".written", "Thursday"))
        until(lambda: record.exists() and record.read_text(encoding="utf-8").count("\n") == 3, "three lines in the record")
        program.process.kill()
        program.process.communicate()
        port = program.parts.port
        program = Opened(context.binary, file, port)
        browser.tell("Page.navigate", url=program.address)
        browser.wait(DONE, "the plan after the kill")
        browser.tell("Page.navigate", url=sheet)
        browser.wait(f"({checked}).filter((is) => is).length === 2", "both ticks after the kill")
        assert browser.value("document.querySelector('.written').value") == "Thursday"
        browser.wait("document.querySelector('.clock')?.innerText.includes('left')", "the clock after the kill")
        # Taken back.
        browser.value("document.querySelectorAll('.check')[2].click()")
        browser.wait(f"({checked}).filter((is) => is).length === 1", "the tick taken back")
        assert browser.of("Runtime.exceptionThrown") == [], browser.of("Runtime.exceptionThrown")
    finally:
        program.process.kill()
        program.process.communicate()
        browser.close()
    return f"{boxes} boxes"


FLANGE = b"""0
SECTION
2
ENTITIES
0
LWPOLYLINE
8
flange
90
4
70
1
10
0
20
0
10
500
20
0
10
500
20
250
10
0
20
250
0
ENDSEC
0
EOF
"""


def dropped(name, data):
    """A person drops a file on the page."""
    return f"""(() => {{ const bytes = Uint8Array.from(atob({json.dumps(base64.b64encode(data).decode())}), (c) => c.charCodeAt(0));
        const carried = new DataTransfer(); carried.items.add(new File([bytes], {json.dumps(name)}));
        document.body.dispatchEvent(new DragEvent("drop", {{bubbles: true, cancelable: true, dataTransfer: carried}})); }})()"""


def stroke(browser, figure, start, end):
    """Draws with the mouse over a drawing, from and to these shares of its box."""
    box = browser.value(f"(() => {{ const svg = document.querySelectorAll('.drawing svg')[{figure}]; svg.scrollIntoView({{block: 'center'}});"
                        " const b = svg.getBoundingClientRect(); return [b.x, b.y, b.width, b.height]; })()")
    at = lambda share: {"x": box[0] + share[0] * box[2], "y": box[1] + share[1] * box[3]}
    mouse = lambda kind, share, **more: browser.tell("Input.dispatchMouseEvent", type=kind, **at(share), **more)
    mouse("mouseMoved", start)
    mouse("mousePressed", start, button="left", buttons=1, clickCount=1)
    mouse("mouseMoved", end, button="left", buttons=1)
    mouse("mouseReleased", end, button="left", clickCount=1)


def drawn_on(browser, figure, places):
    """Presses the mouse at the first of these places of a drawing, in its millimetres, and lets go at the last."""
    at = browser.value(f"(() => {{ const svg = document.querySelectorAll('.drawing svg')[{figure}]; svg.scrollIntoView({{block: 'center'}});"
                       f" return {json.dumps(places)}.map(([x, y]) => {{ const p = new DOMPoint(x, -y).matrixTransform(svg.getScreenCTM()); return [p.x, p.y]; }}); }})()")
    mouse = lambda kind, place, **more: browser.tell("Input.dispatchMouseEvent", type=kind, x=place[0], y=place[1], **more)
    mouse("mouseMoved", at[0])
    mouse("mousePressed", at[0], button="left", buttons=1, clickCount=1)
    if len(at) > 1:
        mouse("mouseMoved", at[-1], button="left", buttons=1)
    mouse("mouseReleased", at[-1], button="left", clickCount=1)


@check("a job is made on the page from dropped drawings, without a word typed", "Chromium; tomllib; own contract")
def from_nothing(context):
    folder = context.work / "page-fresh"
    folder.mkdir()
    file = folder / "job.toml"
    file.write_text("", encoding="utf-8")
    job = lambda: tomllib.loads(file.read_text(encoding="utf-8"))
    told = "document.querySelector('#told').innerText"
    began = time.monotonic()
    browser = Browser(context, "page-fresh-profile")
    program = Opened(context.binary, file)
    try:
        browser.tell("Page.navigate", url=program.address)
        browser.wait(f"{READY} && document.querySelector('#bring-title')?.innerText === 'Begin with a drawing'", "where to begin")
        browser.value(dropped("lid.svg", DRAWING.encode()))
        browser.wait(DONE, "the plan of the first drawing")
        browser.value(dropped("flange.dxf", FLANGE))
        until(lambda: len(job().get("part", [])) == 2, lambda: "no second part: " + browser.value(told))
        # The second file of a name is another one; the same once more is not.
        for data in (DRAWING.replace("390", "380").encode(), DRAWING.encode()):
            before = len(job()["part"])
            browser.value(dropped("lid.svg", data))
            until(lambda: len(job()["part"]) == before + 1, lambda: "no part more: " + browser.value(told))
        assert {p.name for p in folder.glob("lid*.svg")} == {"lid.svg", "lid-2.svg"}
        for name, why in (("job.toml", "none of the files"), ("../x.svg", "cannot be taken"), ("x.svg", "cannot")):
            text = "fetch('/-/bring/' + encodeURIComponent(%s), {method: 'POST', body: 'none'}).then((a) => a.text())" % json.dumps(name)
            answer = browser.tell("Runtime.evaluate", expression=text, awaitPromise=True, returnByValue=True)["result"]["value"]
            assert why in answer or name == "x.svg", (name, answer)
        assert not (folder / "x.svg").exists() and not (context.work / "x.svg").exists()

        # 0° from the lower left to the upper right, and a box without joints, by the pointer.
        browser.wait(f"document.querySelectorAll('.drawing svg').length >= 4 && {DONE}", "the drawings")
        browser.value("document.querySelectorAll('[data-draw=zero]')[0].click()")
        stroke(browser, 0, (0.3, 0.7), (0.6, 0.7))
        until(lambda: job()["part"][0].get("zero_direction") == "0 deg", lambda: f"no 0°: {browser.value(told)} {job()['part'][0]}")
        browser.value("document.querySelectorAll('[data-draw=zero]')[0].click()")
        stroke(browser, 0, (0.5, 0.8), (0.5, 0.3))
        until(lambda: job()["part"][0].get("zero_direction") == "90 deg", lambda: f"no 90°: {browser.value(told)} {job()['part'][0]}")
        browser.wait(DONE, "the plan with the new 0°")
        browser.value("document.querySelectorAll('[data-draw=box]')[0].click()")
        stroke(browser, 0, (0.4, 0.4), (0.6, 0.6))
        until(lambda: len(job()["part"][0].get("keep_out_box", [])) == 1, lambda: f"no box: {browser.value(told)} {job()['part'][0]}")
        area = {key: float(value.split()[0]) for key, value in job()["part"][0]["keep_out_box"][0].items()}
        # The drawing's middle, in its own millimetres.
        middle = (area["x"] + area["width"] / 2, area["y"] + area["height"] / 2)
        assert abs(middle[0] - 200) < 3 and abs(middle[1] - 150) < 3, area

        # An edge of the first drawing gets an overlap, a notch and a dart by the pointer, and the part its other hand.
        browser.wait(DONE, "the plan with the box")
        for kind, places in (("overlap", [(200, 290)]), ("notch", [(390, 150)]), ("dart", [(120, 10), (120, 60)])):
            n = len(job()["part"][0].get("mark", []))
            browser.value(f"document.querySelectorAll('[data-draw={kind}]')[0].click()")
            drawn_on(browser, 0, places)
            until(lambda: len(job()["part"][0].get("mark", [])) == n + 1, lambda: f"no {kind}: {browser.value(told)} {job()['part'][0]}")
            browser.wait(f"document.querySelector('.drawing svg').dataset.marks.endsWith(',{n + 1}]')", f"the drawing with the {kind}")
        overlap, notch, dart = ([[float(v.split()[0]) for v in point] for point in mark["points"]] for mark in job()["part"][0]["mark"])
        assert sorted(overlap) == [[10, 290], [390, 290]] and job()["part"][0]["overlap"] == "25 mm", job()["part"][0]
        assert abs(notch[0][0] - 390) < 0.01 and abs(notch[0][1] - 150) < 2, notch
        assert [point[1] for point in dart][::2] == [10, 10] and abs(dart[1][1] - 60) < 2, dart
        name = job()["part"][0]["name"]
        browser.value("[...document.querySelectorAll('.drawing button')].find((one) => one.innerText.startsWith('Make the other hand')).click()")
        until(lambda: job()["part"][0].get("mirror") == f"{name}-MIRRORED", lambda: f"no other hand: {browser.value(told)}")

        # What is drawn through an outline says which it is; the papers are there to look at.
        browser.wait(f"{DONE} && !document.querySelector('#problem .problem')", "the plan with the pair")
        browser.tell("Page.navigate", url=f"http://{program.parts.netloc}/-/prints")
        browser.wait("document.querySelectorAll('.pages img').length >= 3", "pictures of the papers")
        browser.value("document.querySelectorAll('.pages img').forEach((img) => { img.loading = 'eager'; })")
        browser.wait("[...document.querySelectorAll('.pages img')].every((img) => img.complete && img.naturalWidth > 0)", "each picture")
        assert browser.of("Runtime.exceptionThrown") == [], browser.of("Runtime.exceptionThrown")
    finally:
        program.process.kill()
        program.process.communicate()
        browser.close()
    plan = subprocess.run([context.binary, "plan", file, "--quiet", "--out", folder / "out"], capture_output=True, text=True)
    assert plan.returncode == 0, plan.stderr
    return f"{len(job()['part'])} parts in {time.monotonic() - began:.0f} s"


@check("cloth, resin and bag are told by fields that are there already", "Chromium; tomllib; own contract")
def by_fields(context):
    file = opened_job(context, "page-fields")
    job = lambda: tomllib.loads(file.read_text(encoding="utf-8"))
    browser = Browser(context, "page-fields-profile")
    program = Opened(context.binary, file)
    field = lambda place: f"#f-{place}"
    shows = lambda place, value: browser.wait(f"document.querySelector({json.dumps(field(place))})?.value === {json.dumps(value)}", f"{value} in {place}")
    try:
        browser.tell("Emulation.setDeviceMetricsOverride", width=1280, height=800, deviceScaleFactor=1, mobile=False)
        browser.tell("Page.navigate", url=program.address)
        browser.wait(DONE, "the plan")
        # A name as a person says it; then what a cloth needs, while the page says in sight what is still to be told.
        browser.value("""(() => { const form = [...document.querySelectorAll("form[data-named]")].find((one) => one.innerText.includes("cloth"));
            form.elements.namedItem("name").value = "carbon twill"; form.requestSubmit(); })()""")
        until(lambda: "carbon-twill" in job()["cloth"], lambda: f"no cloth: {job()['cloth']}")
        browser.wait("document.querySelector('#f-cloth-carbon-twill-areal_weight') !== null", "its fields")
        browser.wait("document.querySelector('#problem').innerText.includes('roll width of carbon-twill')", "what it needs")
        seen = browser.value("""(() => { const field = document.querySelector("#f-cloth-carbon-twill-price"); field.scrollIntoView({block: "center"});
            const box = document.querySelector("#problem").getBoundingClientRect(); return box.height > 20 && box.top >= 0 && box.bottom <= innerHeight; })()""")
        assert seen, "the problem is out of sight"
        for key, value in (("areal_weight", "245 g/m2"), ("roll_width", "1 m"), ("price", "48 EUR/m"), ("weave", "twill"), ("fibre", "carbon")):
            browser.value(typed(field(f"cloth-carbon-twill-{key}"), value))
            until(lambda: job()["cloth"]["carbon-twill"].get(key) == value, lambda: f"no {key}: {job()['cloth']}")
            shows(f"cloth-carbon-twill-{key}", value)
        browser.wait(f"{DONE} && document.querySelector('#problem').innerText === ''", "the plan with the cloth")
        # The list that was left shows the choice still when all is drawn anew.
        shows("cloth-carbon-twill-fibre", "carbon")
        browser.value(typed("ol.stack select", "carbon-twill"))
        until(lambda: job()["part"][0]["ply"][0]["cloth"] == "carbon-twill", lambda: f"no ply of it: {job()['part']}")
        browser.wait("document.querySelector('#name-cloth-carbon-twill') !== null", "the name's field")
        browser.value(typed("#name-cloth-carbon-twill", "carbon 2x2"))
        until(lambda: job()["part"][0]["ply"][0]["cloth"] == "carbon-2x2" and "carbon-twill" not in job()["cloth"], lambda: f"not renamed: {job()}")
        for key, value in (("ratio", "100:30"), ("pot_life", "25 min")):
            browser.wait(f"document.querySelector('#f-resin-{key}') !== null", key)
            browser.value(typed(f"#f-resin-{key}", value))
            until(lambda: job().get("resin", {}).get(key) == value, lambda: f"no {key}")
        browser.value("[...document.querySelectorAll('#job button')].find((one) => one.innerText === 'Add the usual bag').click()")
        until(lambda: "peel-ply" in job().get("bag", {}).get("stack", []), "no bag")
        browser.wait(f"{DONE} && document.querySelector('#problem').innerText === ''", "the plan with resin and bag")
        browser.tell("Page.navigate", url=f"http://{program.parts.netloc}/report.html")
        browser.wait("document.querySelector('#shopping, [id^=shopping]') !== null", "the shopping list")
        listed = browser.value("document.body.innerText")
        for what in ("carbon-2x2", "peel ply", "sealant tape", "hardener"):
            assert what in listed, f"{what} is not in the shopping list"
        assert browser.of("Runtime.exceptionThrown") == [], browser.of("Runtime.exceptionThrown")
    finally:
        program.process.kill()
        program.process.communicate()
        browser.close()
    return "a cloth by name, its fields, a ply of it, another name; resin; bag"


@check("another way is compared on the page and taken over", "Chromium; tomllib; own contract")
def taken_over(context):
    file = opened_job(context, "page-ways")
    browser = Browser(context, "page-ways-profile")
    program = Opened(context.binary, file)
    angles = lambda: [ply["angle"] for ply in tomllib.loads(file.read_text(encoding="utf-8"))["part"][0]["ply"]]
    try:
        browser.tell("Page.navigate", url=program.address)
        browser.wait(DONE, "the plan")
        browser.tell("Page.navigate", url=f"http://{program.parts.netloc}/-/ways")
        browser.wait(f"{READY} && document.querySelectorAll('.take button').length >= 3", "ways to take over")
        ways = browser.value("[...document.querySelectorAll('.take button')].map((button) => button.innerText)")
        # A cost stands beside every way that may be taken over.
        rows = browser.value("[...document.querySelectorAll('table')].map((table) => table.innerText).join()")
        assert all(way in rows for way in ways), (ways, rows)
        browser.value("[...document.querySelectorAll('.take button')].find((button) => button.innerText === 'all at 0/90').click()")
        until(lambda: angles() == [0, "0 deg", 90], lambda: f"not taken over: {angles()} {browser.value('document.body.innerText')[-300:]}")
        browser.wait(f"location.pathname === '/' && {DONE}", "the job again")
        browser.value("document.querySelector('[data-post=\"/-/undo\"]').click()")
        until(lambda: file.read_text(encoding="utf-8") == JOB, "it was not undone")
        # All others leave a job that plans.
        for way in ways:
            browser.wait(DONE, "the plan")
            # The page may still show the plan of the way before: then there are no ways yet, and a person looks again.
            for _ in range(20):
                browser.tell("Page.navigate", url=f"http://{program.parts.netloc}/-/ways")
                browser.wait(f"{READY} && location.pathname === '/-/ways'", "the ways")
                if "There is no plan" not in browser.value("document.body.innerText"):
                    break
                time.sleep(0.5)
            name = json.dumps(way)
            browser.wait(f"{READY} && [...document.querySelectorAll('.take button')].some((button) => button.innerText === {name})", way)
            browser.value(f"[...document.querySelectorAll('.take button')].find((button) => button.innerText === {name}).click()")
            until(lambda: file.read_text(encoding="utf-8") != JOB, lambda: f"{way} changed nothing")
            checked = subprocess.run([context.binary, "check", file], capture_output=True, text=True)
            assert checked.returncode == 0, (way, checked.stderr)
            browser.wait(f"location.pathname === '/' && {DONE}", f"the plan of {way}")
            browser.value("document.querySelector('[data-post=\"/-/undo\"]').click()")
            until(lambda: file.read_text(encoding="utf-8") == JOB, "it was not undone")
        assert browser.of("Runtime.exceptionThrown") == [], browser.of("Runtime.exceptionThrown")
    finally:
        program.process.kill()
        program.process.communicate()
        browser.close()
    return ", ".join(ways)


# Each view with the widths at which it is looked at.
VIEWS = {"/": (390, 1440, 2560), "/-/ways": (390, 1440), "/-/prints": (390, 1440), "/report.html": (390, 1440), "/layup/LID.html": (390, 1440)}


def examined(browser, scheme, width):
    """What axe finds in the page that is open, seen so."""
    browser.tell("Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": scheme}])
    browser.tell("Emulation.setDeviceMetricsOverride", width=width, height=900, deviceScaleFactor=1, mobile=width < 500)
    told = browser.tell("Runtime.evaluate", awaitPromise=True, returnByValue=True, expression=
        "axe.run(document, {resultTypes: ['violations']}).then((found) => ({passes: found.passes.length, faults: "
        "found.violations.map((rule) => [rule.id, rule.impact, rule.nodes.slice(0, 3).map((node) => node.html.slice(0, 160))])}))")
    told = told["result"]["value"]
    assert told["passes"] >= 15, f"only {told['passes']} rules had anything to look at"
    return told["faults"]


@check("axe finds nothing on any view of a job, light and dark, phone and desktop", "axe-core, Chromium")
def accessible(context):
    if not ENGINE.exists():
        raise Skip("there is no axe-core in target/axe")
    file = opened_job(context, "page-axe")
    browser = Browser(context, "page-axe-profile")
    program = Opened(context.binary, file)
    faults = []
    try:
        browser.tell("Page.navigate", url=program.address)
        browser.wait(DONE, "the plan")
        for view, widths in VIEWS.items():
            if view != "/":
                browser.tell("Page.navigate", url=f"http://{program.parts.netloc}{view}")
                browser.wait(f"{READY} && location.pathname === {json.dumps(view)} && document.querySelector('h1') !== null", view)
            browser.value("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
            browser.value(ENGINE.read_text(encoding="utf-8") + ";0")
            for scheme in ("light", "dark"):
                for width in widths:
                    faults += [(view, scheme, width, *rule) for rule in examined(browser, scheme, width)]
                    wide = browser.value("document.documentElement.scrollWidth")
                    assert wide <= width, f"{view} is {wide} px wide on {width} px"
    finally:
        program.process.kill()
        program.process.communicate()
        browser.close()
    assert faults == [], faults
    return f"{len(VIEWS)} views, light and dark"
