"""Laying by hand on the page of `open`: pieces dragged, turned, pinned and cut again, flaws drawn, what is refused."""

import json
import subprocess
import tomllib

from harness import check
from page import DONE, READY, Opened, opened_job, until
from watch import Browser


def box_of(browser, piece):
    """Where a piece is drawn, in pixels: its box."""
    return browser.value(f"(() => {{ const piece = document.querySelector('g.piece[data-piece=\"{piece}\"] path'); piece.ownerSVGElement.scrollIntoView({{block: 'center'}});"
                         " const b = piece.getBoundingClientRect(); return [b.left, b.top, b.right, b.bottom]; })()")


def drawn_in(browser, piece):
    """Where the outline of a piece is, in millimetres of its roll: its box, y down."""
    return browser.value(f"(() => {{ const piece = document.querySelector('g.piece[data-piece=\"{piece}\"]'); const box = piece.querySelector('path').getBBox();"
                         " const by = piece.transform.baseVal.consolidate()?.matrix; return [box.x + (by?.e ?? 0), box.y + (by?.f ?? 0)]; })()")


def pulled(browser, piece, by, release=True, begun=None, steps=10):
    """A person drags a piece by so many pixels, from its middle or on from where it was `begun`."""
    box = box_of(browser, piece) if begun is None else None
    start = begun or ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    mouse = lambda kind, at, **more: browser.tell("Input.dispatchMouseEvent", type=kind, x=at[0], y=at[1], **more)
    if begun is None:
        mouse("mouseMoved", start)
        mouse("mousePressed", start, button="left", buttons=1, clickCount=1)
        browser.wait("!!document.querySelector('.chosen:not([hidden])')", "the piece in hand")
    at = start
    for step in range(1, steps + 1):
        at = (start[0] + by[0] * step / steps, start[1] + by[1] * step / steps)
        mouse("mouseMoved", at, button="left", buttons=1)
        browser.tell("Runtime.evaluate", expression="new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)))", awaitPromise=True)
    if release:
        mouse("mouseReleased", at, button="left", clickCount=1)
    return at


def pressed_key(browser, key, times=1, **more):
    for _ in range(times):
        for kind in ("keyDown", "keyUp"):
            browser.tell("Input.dispatchKeyEvent", type=kind, key=key, code=key, **more)


@check("pieces are laid by hand: dragged, slid, turned, pinned, cut again; plan does the same", "Chromium, real pointer events; tomllib; plan.json")
def by_hand(context):
    file = opened_job(context, "page-hand")
    text = lambda: file.read_text(encoding="utf-8")
    pins = lambda: {pin["piece"]: pin for pin in tomllib.loads(text()).get("pin", [])}
    mm = lambda pin: [float(pin[key].split()[0]) for key in ("along", "across")]
    told = "document.querySelector('#told').innerText + (document.querySelector('#problem .problem')?.innerText ?? '')"

    def planned(*more):
        out = file.parent / "job-plan"
        done = subprocess.run([context.binary, "plan", file, "--quiet", "--effort", "quick", "--out", out], capture_output=True, text=True)
        assert done.returncode == 0, done.stderr
        layouts = json.loads((out / "plan.json").read_text(encoding="utf-8"))["layouts"]
        return {piece["id"]: piece for layout in layouts for piece in layout["pieces"]}

    def low(piece):
        return [min(point[axis] for point in piece["cut"]["outer"]) for axis in (0, 1)]

    browser = Browser(context, "page-hand-profile")
    program = Opened(context.binary, file)
    try:
        browser.tell("Emulation.setDeviceMetricsOverride", width=1440, height=1000, deviceScaleFactor=1, mobile=False)
        browser.tell("Page.navigate", url=program.address)
        browser.wait(f"{READY} && {DONE} && document.querySelectorAll('g.piece').length === 3", "the pieces")
        scale = browser.value("document.querySelector('figure.roll svg').getScreenCTM().a")

        # Far to the right, where nothing lies.
        right = browser.value("Math.max(...[...document.querySelectorAll('g.piece path')].map((p) => p.getBoundingClientRect().right))")
        first = box_of(browser, "LID-1")
        pulled(browser, "LID-1", (right - first[0] + 110, 0))
        until(lambda: "LID-1" in pins(), lambda: "not pinned: " + browser.value(told))
        browser.wait(f"{DONE} && !!document.querySelector('g.piece.pinned[data-piece=LID-1]')", "the pinned piece")
        at = planned()
        assert all(abs(a - b) < 0.006 for a, b in zip(low(at["LID-1"]), mm(pins()["LID-1"]))), (low(at["LID-1"]), pins())

        # Another against it: it comes to rest in contact, a gap away, though the pointer went on.
        box, other = box_of(browser, "LID-3"), box_of(browser, "LID-1")
        pulled(browser, "LID-3", (other[0] - box[2] + 25, other[1] - box[1]))
        until(lambda: "LID-3" in pins(), lambda: "not pinned: " + browser.value(told))
        browser.wait(DONE, "the plan with two pins")
        at = planned()
        ends = max(x for x, _ in at["LID-3"]["cut"]["outer"])
        apart = low(at["LID-1"])[0] - ends
        gap = json.loads((file.parent / "job-plan" / "plan.json").read_text(encoding="utf-8"))["layouts"][0]["gap"]
        assert gap - 0.01 < apart < gap + 0.1, apart

        # Over it: shown, and not accepted.
        before = text()
        box, other = box_of(browser, "LID-3"), box_of(browser, "LID-1")
        mouse = pulled(browser, "LID-3", (other[0] - box[0], 0), release=False)
        assert browser.value("!!document.querySelector('g.piece.held.over[data-piece=LID-3]') && !!document.querySelector('g.piece.hit[data-piece=LID-1]')"), "nothing shows the overlap"
        browser.tell("Input.dispatchMouseEvent", type="mouseReleased", x=mouse[0], y=mouse[1], button="left", clickCount=1)
        browser.wait("document.querySelector('#told').innerText.includes('over its neighbours')", "why it was not accepted")
        assert text() == before, "an overlap was accepted"

        # By keyboard alone: a half turn, ten millimetres back, pinned.
        browser.value("document.querySelector('g.piece[data-piece=LID-3]').focus()")
        browser.wait("!!document.querySelector('.chosen:not([hidden])')", "what can be done with it")
        along, turn = mm(pins()["LID-3"])[0], pins()["LID-3"]["turn"]
        pressed_key(browser, "ArrowLeft", modifiers=8)
        browser.wait("!!document.querySelector('g.piece.held')", "the piece in hand")
        pressed_key(browser, "r", text="r")
        pressed_key(browser, "r", text="r")
        pressed_key(browser, "Enter")
        until(lambda: pins()["LID-3"]["turn"] != turn, lambda: f"not turned: {pins()} {browser.value(told)}")
        assert abs(mm(pins()["LID-3"])[0] - along + 10) < 0.02, (along, pins())
        browser.wait(DONE, "the plan of the turned piece")
        browser.value("document.querySelector('[data-post=\"/-/undo\"]').click()")
        until(lambda: text() == before, "it was not undone")
        browser.wait(DONE, "the plan before")

        # A flaw by its numbers, at the beginning of the roll: nothing lies on it any more.
        browser.value("(() => { const form = document.querySelector('form[data-flaw]'); const set = {from: 0, length: 120, across: 0, width: 1000};"
                      " for (const [key, value] of Object.entries(set)) { form.elements.namedItem(key).value = value; } form.requestSubmit(); })()")
        until(lambda: "[[cloth.glass.flaw]]" in text(), lambda: "no flaw: " + browser.value(told))
        browser.wait(DONE, "the plan around the flaw")
        at = planned()
        assert min(low(piece)[0] for piece in at.values()) >= 120 - 0.01, {name: low(piece) for name, piece in at.items()}

        # One is lost to a bad cut: by the command as on the page, the others stay.
        asked = subprocess.run([context.binary, "again", file, "LID-2", "--out", file.parent / "job-plan"], capture_output=True, text=True)
        assert asked.returncode == 0 and "LID-2" not in pins() and {"LID-1", "LID-3"} == set(pins()), (asked.stderr, text())
        again = planned()
        for name in ("LID-1", "LID-3"):
            assert all(abs(a - b) < 0.001 for a, b in zip(low(again[name]), low(at[name]))), name
        assert max(abs(a - b) for a, b in zip(low(again["LID-2"]), low(at["LID-2"]))) > 50, "it lies on the spoilt cloth"
        browser.wait(f"{DONE} && document.querySelectorAll('path.flaw').length === 2", "the spoilt cloth")
        frames = browser.value("handFrames")
        assert browser.of("Runtime.exceptionThrown") == [], browser.of("Runtime.exceptionThrown")
    finally:
        program.process.kill()
        program.process.communicate()
        browser.close()
    return f"{len(frames)} frames, {sorted(frames)[int(0.95 * len(frames))]:.1f} ms at the 95th percentile; scale {scale:.2f}"


@check("a flaw is drawn by the pointer, a piece lost to a bad cut is cut again by a click", "Chromium, real pointer events; tomllib; plan.json")
def flawed(context):
    file = opened_job(context, "page-flaw")
    job = lambda: tomllib.loads(file.read_text(encoding="utf-8"))
    told = "document.querySelector('#told').innerText + (document.querySelector('#problem .problem')?.innerText ?? '')"
    browser = Browser(context, "page-flaw-profile")
    program = Opened(context.binary, file)
    try:
        browser.tell("Emulation.setDeviceMetricsOverride", width=1440, height=1000, deviceScaleFactor=1, mobile=False)
        browser.tell("Page.navigate", url=program.address)
        browser.wait(f"{READY} && {DONE} && document.querySelectorAll('g.piece').length === 3", "the pieces")
        # A stroke over a corner of the first piece, from (40, 30) to (160, 130) mm of the roll.
        browser.value("document.querySelector('[data-hand=flaw]').click()")
        ends = browser.value("(() => { const svg = document.querySelector('figure.roll svg'); svg.scrollIntoView({block: 'center'});"
                             " return [[40, -30], [160, -130]].map(([x, y]) => { const p = new DOMPoint(x, y).matrixTransform(svg.getScreenCTM()); return [p.x, p.y]; }); })()")
        mouse = lambda kind, at, **more: browser.tell("Input.dispatchMouseEvent", type=kind, x=at[0], y=at[1], **more)
        mouse("mouseMoved", ends[0])
        mouse("mousePressed", ends[0], button="left", buttons=1, clickCount=1)
        mouse("mouseMoved", ends[1], button="left", buttons=1)
        assert browser.value("!!document.querySelector('figure.roll rect.drawn.shown')"), "the stroke is not seen"
        mouse("mouseReleased", ends[1], button="left", clickCount=1)
        until(lambda: job()["cloth"]["glass"].get("flaw"), lambda: "no flaw: " + browser.value(told))
        [flaw] = job()["cloth"]["glass"]["flaw"]
        drawn = [float(flaw[key].split()[0]) for key in ("from", "across", "length", "width")]
        scale = browser.value("document.querySelector('figure.roll svg').getScreenCTM().a")
        assert all(abs(a - b) <= 1 + 2 / scale for a, b in zip(drawn, (40, 30, 120, 100))), drawn
        browser.wait(f"{DONE} && document.querySelectorAll('path.flaw').length === 1", "the plan around the flaw")
        free = browser.value("[...document.querySelectorAll('g.piece path:first-of-type')].every((path) => { const point = path.ownerSVGElement.createSVGPoint();"
                             " return [[50, -40], [100, -80], [150, -120]].every(([x, y]) => { point.x = x; point.y = y; return !path.isPointInFill(point); }); })")
        assert free, "a piece lies on the flaw"

        # One of the pieces was cut badly: chosen, and its button clicked.
        before = drawn_in(browser, "LID-2")
        others = {piece: drawn_in(browser, piece) for piece in ("LID-1", "LID-3")}
        browser.value("document.querySelector('g.piece[data-piece=LID-2]').focus()")
        browser.wait("!!document.querySelector('.chosen [data-hand=again]')", "what can be done with it")
        browser.value("document.querySelector('.chosen [data-hand=again]').click()")
        until(lambda: len(job()["cloth"]["glass"]["flaw"]) == 2, lambda: "nothing is spoilt: " + browser.value(told))
        assert sorted(pin["piece"] for pin in job()["pin"]) == ["LID-1", "LID-3"], job()["pin"]
        browser.wait(f"{DONE} && document.querySelectorAll('path.flaw').length === 2", "the plan with the piece cut again")
        for piece, at in others.items():
            assert all(abs(a - b) < 0.3 for a, b in zip(drawn_in(browser, piece), at)), piece
        assert max(abs(a - b) for a, b in zip(drawn_in(browser, "LID-2"), before)) > 50, "it lies where it was spoilt"
        assert browser.of("Runtime.exceptionThrown") == [], browser.of("Runtime.exceptionThrown")
    finally:
        program.process.kill()
        program.process.communicate()
        browser.close()
    return f"flaw {drawn}"


@check("what may not be is said at once: a drop goes back, lap joints are permitted by a click", "Chromium, real pointer events; tomllib")
def refused(context):
    file = opened_job(context, "page-refused")
    # Frames of the table are known to the plan alone.
    whole = file.read_text(encoding="utf-8").replace('roll_width = "1 m"', 'roll_width = "1 m"\ntable_length = "900 mm"')
    file.write_text(whole, encoding="utf-8")
    text = lambda: file.read_text(encoding="utf-8")
    browser = Browser(context, "page-refused-profile")
    program = Opened(context.binary, file)
    try:
        browser.tell("Emulation.setDeviceMetricsOverride", width=1440, height=1000, deviceScaleFactor=1, mobile=False)
        browser.tell("Page.navigate", url=program.address)
        browser.wait(f"{READY} && {DONE} && document.querySelectorAll('g.piece').length === 3", "the pieces")
        scale = browser.value("document.querySelector('figure.roll svg').getScreenCTM().a")
        piece = "LID-1"
        before = drawn_in(browser, piece)
        # Its beginning in the first frame, its end in the second.
        pulled(browser, piece, ((700 - before[0]) * scale, 0))
        browser.wait("document.querySelector('#told').innerText.includes('It goes back: piece LID-1')", "why it was refused")
        assert text() == whole, "what cannot be cut was written"
        assert drawn_in(browser, piece) == before, "it stays drawn where it may not lie"
        assert not browser.value("!!document.querySelector('g.piece.put, g.piece.held')")
        # The lid is as wide as the roll is now: it goes in two pieces, if that is permitted.
        browser.value("document.querySelector('.chosen')?.remove()")
        file.write_text(text().replace('"1 m"', '"250 mm"').replace('table_length = "900 mm"', ""), encoding="utf-8")
        browser.wait("!!document.querySelector('#problem .remedy button')", "the button")
        assert browser.value("document.querySelectorAll('#problem .remedy button').length") == 1
        about = browser.value("document.querySelector('#problem .remedy').innerText")
        browser.value("document.querySelector('#problem .remedy button').click()")
        until(lambda: tomllib.loads(text())["part"][0].get("splice") == "lap", "nothing was permitted")
        browser.wait(f"{DONE} && document.querySelectorAll('g.piece').length >= 5 && !document.querySelector('#problem .problem')", "the pieces with joints")
        assert browser.of("Runtime.exceptionThrown") == [], browser.of("Runtime.exceptionThrown")
    finally:
        program.process.kill()
        program.process.communicate()
        browser.close()
    return about
