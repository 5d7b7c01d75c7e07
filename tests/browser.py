"""A headless Chromium for tests, spoken to over its DevTools pipe: JSON, a zero byte after each message.

    with Browser() as browser:
        page = browser.open(path)
        assert page.evaluate("document.title") == "HB-0417"
        Path("x.pdf").write_bytes(page.pdf(A4))

The one way out is a proxy at a port where nobody listens, so a page that asks for something outside gets nothing
and is seen to have asked (`Page.requests`). Protocol: https://chromedevtools.github.io/devtools-protocol/ (from memory).
"""

from __future__ import annotations

import base64
import json
import os
import re
import select
import shutil
import signal
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

NAMES = ("chromium", "chromium-browser", "google-chrome")
COMMAND = next(filter(None, map(shutil.which, NAMES)), None) if os.name == "posix" else None
PATIENCE = 60.0
"""Seconds for one answer; a busy machine takes a few to start a browser."""
A4, LETTER = (210.0, 297.0), (215.9, 279.4)
"""mm; ISO 216, ANSI/ASME Y14.1 (8.5 x 11 in)."""
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update", "--disable-extensions", "--disable-default-apps",
    "--disable-dev-shm-usage", "--mute-audio", "--hide-scrollbars", "--force-color-profile=srgb",
    "--proxy-server=127.0.0.1:9", "--proxy-bypass-list=<-loopback>", "--remote-debugging-pipe",
)  # fmt: skip


class Browser:
    """One Chromium with a profile of its own, in a process group of its own."""

    def __init__(self) -> None:
        import fcntl  # Windows has none, and no such pipe

        assert COMMAND is not None
        self._profile = tempfile.mkdtemp(prefix="readiness-browser-")
        to_read, self._write = os.pipe()
        self._read, to_write = os.pipe()
        self._rest = b""
        self._number = 0
        self.events: list[dict[str, Any]] = []
        ends = [fcntl.fcntl(fd, fcntl.F_DUPFD_CLOEXEC, 60) for fd in (to_read, to_write)]
        quiet = [(os.POSIX_SPAWN_OPEN, fd, os.devnull, os.O_RDWR, 0) for fd in (0, 1, 2)]
        piped = [(os.POSIX_SPAWN_DUP2, end, fd) for end, fd in zip(ends, (3, 4), strict=True)]
        arguments = [COMMAND, *FLAGS, f"--user-data-dir={self._profile}", "about:blank"]
        self._pid = os.posix_spawn(COMMAND, arguments, os.environ, file_actions=[*quiet, *piped], setsid=True)
        for fd in (to_read, to_write, *ends):
            os.close(fd)

    def __enter__(self) -> Browser:
        return self

    def __exit__(self, *fault: object) -> None:
        os.close(self._write)
        os.close(self._read)
        os.killpg(self._pid, signal.SIGKILL)
        os.waitpid(self._pid, 0)
        shutil.rmtree(self._profile, ignore_errors=True)

    def ask(self, method: str, session: str = "", **parameters: Any) -> dict[str, Any]:
        """The answer to one command; events that come meanwhile are kept."""
        self._number += 1
        message = {"id": self._number, "method": method, "params": parameters}
        if session:
            message["sessionId"] = session
        os.write(self._write, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._next()
            if answer.get("id") == self._number:
                assert "error" not in answer, f"{method}: {answer['error']}"
                result: dict[str, Any] = answer["result"]
                return result

    def wait(self, event: str, session: str) -> None:
        """Until an event has come."""
        while not any(e["method"] == event and e.get("sessionId") == session for e in self.events):
            self._next()

    def open(self, path: Path, width: int = 800, *, dark: bool = False) -> Page:
        """A file in a window so many pixels wide, loaded."""
        target = self.ask("Target.createTarget", url="about:blank")["targetId"]
        page = Page(self, self.ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"])
        for domain in ("Page", "Network", "Runtime", "Log"):
            page.ask(f"{domain}.enable")
        page.shape(width, dark=dark)
        page.ask("Page.navigate", url=path.absolute().as_uri())
        self.wait("Page.loadEventFired", page.session)
        return page

    def _next(self) -> dict[str, Any]:
        end = time.monotonic() + PATIENCE
        while b"\0" not in self._rest:
            ready, _, _ = select.select([self._read], [], [], max(0.0, end - time.monotonic()))
            assert ready, "the browser does not answer"
            more = os.read(self._read, 1 << 20)
            assert more, "the browser went away"
            self._rest += more
        line, self._rest = self._rest.split(b"\0", 1)
        message: dict[str, Any] = json.loads(line)
        if "method" in message:
            self.events.append(message)
        return message


@dataclass
class Page:
    """One window."""

    browser: Browser
    session: str

    def ask(self, method: str, **parameters: Any) -> dict[str, Any]:
        return self.browser.ask(method, self.session, **parameters)

    def shape(self, width: int, height: int = 1000, *, dark: bool = False) -> None:
        """The window's size in pixels, and which colours the reader's system prefers."""
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.ask(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=False,
        )
        self.ask("Emulation.setEmulatedMedia", features=[scheme])

    def evaluate(self, script: str) -> Any:
        """The value of an expression on the page, run by the debugger: what the page's policy forbids is for the page."""
        found = self.ask("Runtime.evaluate", expression=script, returnByValue=True)
        assert "exceptionDetails" not in found, found["exceptionDetails"]
        return found["result"].get("value")

    def picture(self, scale: float = 1.0) -> bytes:
        """What the window shows, as PNG. Only the window in front is drawn."""
        self.ask("Page.bringToFront")
        wide, high = self.evaluate("[innerWidth, innerHeight]")
        clip = {"x": 0, "y": 0, "width": wide, "height": high, "scale": scale}
        return base64.b64decode(self.ask("Page.captureScreenshot", format="png", clip=clip)["data"])

    def pdf(self, paper: tuple[float, float]) -> bytes:
        """The page printed, with the margins that it asks for."""
        wide, high = (mm / 25.4 for mm in paper)
        return base64.b64decode(
            self.ask("Page.printToPDF", paperWidth=wide, paperHeight=high, printBackground=True)["data"]
        )

    def spoken(self) -> list[tuple[str, str]]:
        """The accessibility tree in the order in which a screen reader goes: roles with names; what is ignored is left out."""
        nodes = {n["nodeId"]: n for n in self.ask("Accessibility.getFullAXTree")["nodes"]}
        left = [next(n["nodeId"] for n in nodes.values() if "parentId" not in n)]
        told = []
        while left:
            node = nodes.get(left.pop())
            if node is not None:
                left += reversed(node.get("childIds", ()))
                if not node["ignored"]:
                    told.append((node["role"]["value"], node.get("name", {}).get("value", "")))
        return told

    @property
    def requests(self) -> list[str]:
        """Every address that this window asked for."""
        mine = (e for e in self.browser.events if e.get("sessionId") == self.session)
        return [e["params"]["request"]["url"] for e in mine if e["method"] == "Network.requestWillBeSent"]

    @property
    def complaints(self) -> list[str]:
        """What the browser wrote to its console, breaches of the page's policy included."""
        mine = (e for e in self.browser.events if e.get("sessionId") == self.session)
        return [e["params"]["entry"]["text"] for e in mine if e["method"] == "Log.entryAdded"]


def pages_of(pdf: bytes) -> int:
    """How many pages a PDF has that Chromium made: its page objects are not compressed."""
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))
