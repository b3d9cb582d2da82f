"""`open` as a person uses it: the page in Chromium, beside an editor on the same file."""

import json
import signal
import subprocess
import time
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
        assert time.monotonic() < end, what
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
        browser.wait("(document.querySelector('.problem pre')?.innerText ?? '').includes('roll_width')", "the problem")
        browser.value(typed("[data-at='[\"cloth\",\"glass\",\"roll_width\"]']", "0.9 m"))
        until(lambda: 'roll_width = "0.9 m"' in text(), "the width was not written")
        browser.wait(f"!document.querySelector('#head .problem') && {DONE}", "the mended job")

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


@check("axe finds nothing on the page of a job, light and dark, phone and desktop", "axe-core, Chromium")
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
        browser.value("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        browser.value(ENGINE.read_text(encoding="utf-8") + ";0")
        for scheme in ("light", "dark"):
            browser.tell("Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": scheme}])
            for width in (390, 1440, 2560):
                browser.tell("Emulation.setDeviceMetricsOverride", width=width, height=900, deviceScaleFactor=1, mobile=width < 500)
                told = browser.tell("Runtime.evaluate", awaitPromise=True, returnByValue=True, expression=
                    "axe.run(document, {resultTypes: ['violations']}).then((found) => ({passes: found.passes.length, faults: "
                    "found.violations.map((rule) => [rule.id, rule.impact, rule.nodes.slice(0, 3).map((node) => node.html.slice(0, 160))])}))")
                told = told["result"]["value"]
                assert told["passes"] >= 15, f"only {told['passes']} rules had anything to look at"
                faults += [(scheme, width, *rule) for rule in told["faults"]]
                wide = browser.value("document.documentElement.scrollWidth")
                assert wide <= width, f"the page is {wide} px wide on {width} px"
    finally:
        program.process.kill()
        program.process.communicate()
        browser.close()
    assert faults == [], faults
    return "light and dark at 390, 1440 and 2560 px"
