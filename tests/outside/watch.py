"""`plan --watch` as a person sees it: a page in Chromium that refreshes itself, a clean end."""

import json
import os
import select
import shutil
import signal
import subprocess
import time
from urllib.parse import urlsplit

from browser import FLAGS
from harness import Skip, check
from jobs import job


class Browser:
    """Chromium without a window, told what to do through a pipe (DevTools protocol)."""

    def __init__(self, context):
        program = shutil.which("chromium") or shutil.which("chromium-browser")
        if program is None:
            raise Skip("there is no Chromium here")
        read_end, self.out = os.pipe()
        self.back, write_end = os.pipe()

        def wire():
            # It reads from 3 and writes to 4; first out of each other's way.
            from_us, to_us = os.dup(read_end), os.dup(write_end)
            os.dup2(from_us, 3)
            os.dup2(to_us, 4)

        flags = [f for f in FLAGS if "host-resolver" not in f and "logging" not in f]
        self.process = subprocess.Popen(
            [program, *flags, "--remote-debugging-pipe", f"--user-data-dir={context.work / 'watch-profile'}",
             "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1", "about:blank"],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, pass_fds=(3, 4), preexec_fn=wire,
        )
        os.close(read_end)
        os.close(write_end)
        self.n, self.buffer, self.events, self.session = 0, b"", [], None
        target = self.tell("Target.createTarget", url="about:blank")["targetId"]
        self.session = self.tell("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Network", "Log"):
            self.tell(f"{domain}.enable")

    def tell(self, method, **params):
        self.n += 1
        message = {"id": self.n, "method": method, "params": params}
        if self.session:
            message["sessionId"] = self.session
        os.write(self.out, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._next()
            if answer.get("id") == self.n:
                assert "error" not in answer, answer
                return answer["result"]

    def _next(self):
        while b"\0" not in self.buffer:
            assert select.select([self.back], [], [], 60)[0], "Chromium says nothing"
            more = os.read(self.back, 1 << 16)
            assert more, "Chromium has ended"
            self.buffer += more
        message, self.buffer = self.buffer.split(b"\0", 1)
        told = json.loads(message)
        if "method" in told:
            self.events.append(told)
        return told

    def value(self, expression):
        told = self.tell("Runtime.evaluate", expression=expression, returnByValue=True)
        return told["result"].get("value")

    def wait(self, expression, what):
        end = time.monotonic() + 90
        while time.monotonic() < end:
            try:
                if self.value(expression):
                    return
            except AssertionError:
                pass  # between two pages
            time.sleep(0.1)
        raise AssertionError(f"the page never showed {what}: {self.value('document.body.innerText.slice(0, 400)')}")

    def of(self, method):
        return [event["params"] for event in self.events if event["method"] == method]

    def close(self):
        self.process.terminate()
        self.process.wait(timeout=30)
        os.close(self.out)
        os.close(self.back)


@check("an open page follows the saved job", "Chromium on the page of plan --watch; own contract")
def follows(context):
    folder = context.work / "watch"
    folder.mkdir()
    file = job(folder, "lid", [(0, 0), (300, 0), (300, 200), (0, 200)])
    first = file.read_text(encoding="utf-8")

    def save(text):
        # As an editor that saves by renaming does.
        (folder / "lid.toml~").write_text(text, encoding="utf-8")
        os.replace(folder / "lid.toml~", file)

    browser = Browser(context)
    program = subprocess.Popen(
        [context.binary, "plan", file, "--out", folder / "out", "--watch", "--port", "0"],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )
    try:
        address = next(word for word in program.stdout.readline().split() if word.startswith("http"))
        assert urlsplit(address).hostname == "127.0.0.1", address
        browser.tell("Page.navigate", url=address)
        shows = "document.querySelector('h1')?.textContent.includes({!r})".format
        browser.wait(shows("lid"), "the first plan")
        assert "EventSource" not in (folder / "out" / "report.html").read_text(encoding="utf-8")

        browser.value("window.mark = 1")
        saved = time.monotonic()
        save(first.replace('title = "lid"', 'title = "Second lid"'))
        browser.wait(shows("Second lid"), "the second plan")
        took = time.monotonic() - saved
        assert browser.value("window.mark") is None, "the page was not loaded again"

        save(first.replace('gap = "0 mm"', "gap = 3"))
        banner = "document.getElementById('watch-problem')?.innerText ?? ''"
        browser.wait(f"({banner}).includes('`gap` has no unit')", "the problem")
        assert browser.value(shows("Second lid")), "the old report is gone"
        shot = browser.tell("Page.captureScreenshot")["data"]
        (context.work / "watch.png.base64").write_text(shot)

        save(first.replace('title = "lid"', 'title = "Third lid"'))
        browser.wait(shows("Third lid"), "the third plan")
        assert browser.value(banner) == "", "the problem is still shown"

        hosts = {urlsplit(sent["request"]["url"]).netloc for sent in browser.of("Network.requestWillBeSent")}
        assert hosts - {""} == {urlsplit(address).netloc}, hosts
        assert browser.of("Runtime.exceptionThrown") == [], browser.of("Runtime.exceptionThrown")

        program.send_signal(signal.SIGINT)
        said, complained = program.communicate(timeout=30)
        assert program.returncode == 0, complained
        assert "`gap` has no unit" in complained and "has ended" in said, (said, complained)
        browser.wait(f"({banner}).includes('ended')", "that the program has ended")
    finally:
        program.kill()
        program.wait()
        browser.close()
    return f"{took:.1f} s from a save to the new page"
