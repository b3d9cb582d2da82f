"""`plan --watch` as a person sees it, a page in Chromium that refreshes itself; and its server when clients are slow,
foreign or many and the system has nothing left to give."""

import json
import os
import resource
import select
import shutil
import signal
import socket
import subprocess
import time
from contextlib import contextmanager
from urllib.parse import urlsplit

from browser import FLAGS
from harness import Skip, check
from jobs import job


class Browser:
    """Chromium without a window, told what to do through a pipe (DevTools protocol)."""

    def __init__(self, context, profile="watch-profile"):
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
            [program, *flags, "--remote-debugging-pipe", f"--user-data-dir={context.work / profile}",
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
        assert "exceptionDetails" not in told, told["exceptionDetails"]
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


    def open_beside(self, address):
        """Opens another tab, as a person does who is given a new address."""
        own, self.session = self.session, None
        self.tell("Target.createTarget", url=address)
        self.session = own


class Watching:
    """A running `plan --watch` and the address that it printed."""

    def __init__(self, binary, file, out, *more, **how):
        self.process = subprocess.Popen(
            [binary, "plan", file, "--out", out, "--watch", *map(str, more)],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, **how,
        )
        line = self.process.stdout.readline()
        self.address = next((word for word in line.split() if word.startswith("http")), None)
        assert self.address, (line, self.process.communicate(timeout=30))
        self.parts = urlsplit(self.address)

    def end(self):
        self.process.send_signal(signal.SIGINT)
        return self.process.communicate(timeout=30)

    def connect(self):
        return socket.create_connection((self.parts.hostname, self.parts.port), timeout=60)

    def head(self, path=None):
        path = path or f"{self.parts.path}?{self.parts.query}"
        return f"GET {path} HTTP/1.1\r\nHost: {self.parts.netloc}\r\n".encode()

    def page(self):
        with self.connect() as stream:
            stream.sendall(self.head() + b"\r\n")
            return received(stream).decode()

    def wait_for(self, words, seconds=60):
        end = time.monotonic() + seconds
        while words not in (page := self.page()):
            assert time.monotonic() < end, f"the page never said {words}: {page[-600:]}"
            time.sleep(0.1)


def received(stream):
    parts = []
    while more := stream.recv(1 << 16):
        parts.append(more)
    return b"".join(parts)


@contextmanager
def watching(context, name, *more, **how):
    """A watched job of one part in a folder of its own."""
    folder = context.work / name
    folder.mkdir()
    file = job(folder, "lid", [(0, 0), (300, 0), (300, 200), (0, 200)])
    if "user" in how:
        # That user must be able to come here, and to write.
        for path in (context.root, context.work):
            path.chmod(0o755)
        os.chown(folder, how["user"], -1)
    server = Watching(context.binary, file, folder / "out", "--port", 0, "--threads", 2, **how)
    try:
        server.file = file
        yield server
    finally:
        server.process.kill()
        server.process.communicate()


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
    program = Watching(context.binary, file, folder / "out", "--port", 0)
    address, netloc = program.address, program.parts.netloc
    try:
        assert program.parts.hostname == "127.0.0.1", address
        browser.tell("Page.navigate", url=address)
        shows = "document.querySelector('h1')?.textContent.includes({!r})".format
        browser.wait(shows("lid"), "the first plan")
        assert browser.value("location.href") == f"http://{netloc}/report.html", "the key stays in sight"
        assert browser.value("document.cookie") == "", "a script can read the key"
        assert "refresh.js" not in (folder / "out" / "report.html").read_text(encoding="utf-8")

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

        said, complained = program.end()
        assert program.process.returncode == 0, complained
        assert "`gap` has no unit" in complained and "has ended" in said, (said, complained)
        browser.wait(f"({banner}).includes('ended')", "that the program has ended")

        # Another run, another key: the open page goes on once this browser has it.
        save(first.replace('title = "lid"', 'title = "Fourth lid"'))
        program = Watching(context.binary, file, folder / "out", "--port", program.parts.port)
        assert program.address != address
        time.sleep(4)
        assert browser.value(shows("Third lid")), "it goes on without the new key"
        browser.open_beside(program.address)
        browser.wait(shows("Fourth lid"), "the plan of the next run")

        hosts = {urlsplit(sent["request"]["url"]).netloc for sent in browser.of("Network.requestWillBeSent")}
        assert hosts - {""} == {netloc}, hosts
        assert browser.of("Runtime.exceptionThrown") == [], browser.of("Runtime.exceptionThrown")
        asked = [urlsplit(sent["request"]["url"]).path for sent in browser.of("Network.requestWillBeSent")]
        assert {"/report.html", "/-/report.js", "/-/refresh.js", "/-/events"} <= set(asked), asked
        refused = [entry for entry in browser.of("Log.entryAdded") if "Content Security" in entry["entry"]["text"]]
        assert refused == [], refused
    finally:
        program.process.kill()
        program.process.communicate()
        browser.close()
    return f"{took:.1f} s from a save to the new page"


@check("slow clients lose their place, and nobody gets in without the key", "RFC 9112; own contract")
def strangers(context):
    with watching(context, "strangers") as server:
        server.wait_for("<title>lid")
        with server.connect() as stream:
            stream.sendall(server.head("/report.html") + b"\r\n")
            answer = received(stream).decode()
        assert answer.startswith("HTTP/1.1 403") and "<h1>" not in answer, answer[:300]

        began = time.monotonic()
        # One sends nothing, one a head that never ends, one takes nothing of what it asked for.
        silent, endless, deaf = server.connect(), server.connect(), socket.socket()
        deaf.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        deaf.connect((server.parts.hostname, server.parts.port))
        endless.sendall(server.head())
        deaf.sendall(server.head() + b"\r\n")
        lasted = {}
        while len(lasted) < 2 and time.monotonic() - began < 25:
            time.sleep(0.5)
            try:
                endless.send(b"X-More: and more\r\n")
            except OSError:
                lasted.setdefault("endless", time.monotonic() - began)
            if "silent" not in lasted and select.select([silent], [], [], 0)[0]:
                assert silent.recv(100) == b"", "an answer to nothing"
                lasted["silent"] = time.monotonic() - began
            server.page()
        assert len(lasted) == 2, f"only {lasted} lost their places"
        for stream in (silent, endless, deaf):
            stream.close()
        return ", ".join(f"{name} for {seconds:.0f} s" for name, seconds in lasted.items())


@check("no descriptor left: it waits and recovers", "setrlimit(2), RLIMIT_NOFILE")
def descriptors(context):
    def few():
        resource.setrlimit(resource.RLIMIT_NOFILE, (48, 48))

    with watching(context, "descriptors", preexec_fn=few) as server:
        server.wait_for("<title>lid")
        text = server.file.read_text(encoding="utf-8")
        # More than it may open; planning has its own.
        crowd = [server.connect() for _ in range(60)]
        server.file.write_text(text.replace('title = "lid"', 'title = "Among many"'), encoding="utf-8")
        report = server.file.parent / "out" / "report.html"
        end = time.monotonic() + 60
        while "Among many" not in report.read_text(encoding="utf-8"):
            assert time.monotonic() < end and server.process.poll() is None, "no plan while many are connected"
            time.sleep(0.1)
        for stream in crowd:
            stream.close()
        server.wait_for("Among many")

        # None at all, not even for a connection.
        pid = server.process.pid
        resource.prlimit(pid, resource.RLIMIT_NOFILE, (3, 48))
        with server.connect() as stream:
            stream.sendall(server.head() + b"\r\n")
            stream.settimeout(1)
            try:
                assert stream.recv(1) == b"", "an answer without a descriptor"
            except TimeoutError:
                pass
            resource.prlimit(pid, resource.RLIMIT_NOFILE, (48, 48))
            stream.settimeout(30)
            assert b"Among many" in received(stream)
        server.file.write_text(text.replace('title = "lid"', 'title = "After all"'), encoding="utf-8")
        server.wait_for("After all")
        server.end()
        assert server.process.returncode == 0


@check("no thread left: it plans and answers all the same", "setrlimit(2), RLIMIT_NPROC")
def threads(context):
    def few():
        # The program itself, its server, and who waits for Ctrl-C.
        resource.setrlimit(resource.RLIMIT_NPROC, (3, 3))

    # The limit does not hold for root, and counts all that a user runs.
    is_root = os.getuid() == 0
    how = {"user": 64123, "group": 64123, "preexec_fn": few} if is_root else {}
    with watching(context, "threads", **how) as server:
        if not is_root:
            server.wait_for("<title>lid")
            _, hard = resource.getrlimit(resource.RLIMIT_NPROC)
            resource.prlimit(server.process.pid, resource.RLIMIT_NPROC, (1, hard))
        server.wait_for("<title>lid")
        text = server.file.read_text(encoding="utf-8")
        server.file.write_text(text.replace('title = "lid"', 'title = "Alone"'), encoding="utf-8")
        server.wait_for("Alone")
        server.end()
        assert server.process.returncode == 0
