"""A real browser without a window, driven by the DevTools protocol over a pipe: no driver, no port."""

from __future__ import annotations

import base64
import fcntl
import json
import os
import select
import shutil
import subprocess
import sys
from itertools import count
from pathlib import Path
from types import TracebackType
from typing import Any

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), "")
_SWITCHES = (
    "--headless=new", "--remote-debugging-pipe", "--no-first-run", "--disable-gpu", "--hide-scrollbars",
    "--no-sandbox",  # a container has no room for one, and only our own pages are visited
    "--disable-dev-shm-usage", "--disable-extensions", "--disable-background-networking", "--lang=en",
)  # fmt: skip
_AS_3_AND_4 = (
    "import os, sys; os.dup2(int(sys.argv[1]), 3); os.dup2(int(sys.argv[2]), 4);"
    " os.execv(sys.argv[3], sys.argv[3:])"
)
LONGEST_S = 60  # that the browser may be silent


class Browser:
    """One browser with one page.

    folder   for its profile, new
    """

    def __init__(self, folder: Path, language: str = "en") -> None:
        theirs_in, self._out = _pipe(their_end=0)
        self._in, theirs_out = _pipe(their_end=1)
        command = [
            CHROMIUM,
            *_SWITCHES,
            f"--user-data-dir={folder}",
            f"--accept-lang={language}",
            "about:blank",
        ]
        self._process = subprocess.Popen(
            [sys.executable, "-c", _AS_3_AND_4, str(theirs_in), str(theirs_out), *command],
            pass_fds=(theirs_in, theirs_out), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        os.close(theirs_in)
        os.close(theirs_out)
        self._numbers, self._rest, self._session = count(1), b"", ""
        targets = self._ask("Target.getTargets")["targetInfos"]
        page = next(each["targetId"] for each in targets if each["type"] == "page")
        self._session = self._ask("Target.attachToTarget", targetId=page, flatten=True)["sessionId"]
        self._ask("Page.enable")

    def __enter__(self) -> Browser:
        return self

    def __exit__(self, *_: type[BaseException] | BaseException | TracebackType | None) -> None:
        self._session = ""
        self._send("Browser.close")
        self._process.wait(30)
        for end in (self._in, self._out):
            os.close(end)

    # What a visitor does

    def go(self, address: str) -> None:
        """Open an address and wait until it is loaded."""
        self._loading(lambda: self._ask("Page.navigate", url=address))

    def fill(self, selector: str, words: str) -> None:
        """Write into a field."""
        self.value(f"(e => {{e.focus(); e.select()}})(document.querySelector({json.dumps(selector)}))")
        self._ask("Input.insertText", text=words)

    def press(self, selector: str) -> None:
        """Click on what a selector names, with the mouse, and wait for the page that comes."""
        place = self.value(
            f"(() => {{const e = document.querySelector({json.dumps(selector)});"
            " e.scrollIntoView({block: 'center'}); const r = e.getBoundingClientRect();"
            " return [r.x + r.width / 2, r.y + r.height / 2]})()"
        )
        self._loading(lambda: self._click(*place))

    def _click(self, x: float, y: float) -> None:
        for kind in ("mousePressed", "mouseReleased"):
            self._ask("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=1)

    # What a visitor sees

    @property
    def text(self) -> str:
        """Every word on the page."""
        return " ".join(str(self.value("document.body.innerText")).split())

    def value(self, expression: str) -> Any:
        """Return what an expression comes to within the page."""
        told = self._ask("Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True)
        assert "exceptionDetails" not in told, told
        return told["result"].get("value")

    def size(self, width: int, height: int, *, dark: bool = False) -> None:
        """Make the window so large."""
        self._ask(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=False,
        )
        scheme = [{"name": "prefers-color-scheme", "value": "dark" if dark else "light"}]
        self._ask("Emulation.setEmulatedMedia", features=scheme)

    def picture(self, path: Path) -> None:
        """Write a picture of the whole page."""
        told = self._ask("Page.captureScreenshot", format="png", captureBeyondViewport=True)
        path.write_bytes(base64.b64decode(told["data"]))

    # The pipe

    def _loading(self, act: Any) -> None:
        self._ask("Page.setLifecycleEventsEnabled", enabled=False)
        self._loaded = False
        act()
        while not self._loaded:
            self._take()

    def _ask(self, method: str, **how: Any) -> Any:
        number = self._send(method, **how)
        while (told := self._take()).get("id") != number:
            pass
        assert "error" not in told, told
        return told["result"]

    def _send(self, method: str, **how: Any) -> int:
        number = next(self._numbers)
        message = {"id": number, "method": method, "params": how}
        if self._session:
            message["sessionId"] = self._session
        os.write(self._out, json.dumps(message).encode() + b"\0")
        return number

    def _take(self) -> dict[str, Any]:
        while b"\0" not in self._rest:
            assert select.select([self._in], [], [], LONGEST_S)[0], "the browser is silent"
            data = os.read(self._in, 2**16)
            assert data, "the browser ended"
            self._rest += data
        told, _, self._rest = self._rest.partition(b"\0")
        message: dict[str, Any] = json.loads(told)
        if message.get("method") == "Page.loadEventFired":
            self._loaded = True
        return message


def _pipe(their_end: int) -> tuple[int, int]:
    """Return a pipe whose ends are numbered above what the browser is given."""
    opened = os.pipe()
    ends = [fcntl.fcntl(end, fcntl.F_DUPFD_CLOEXEC, 20) for end in opened]
    for end in opened:
        os.close(end)
    os.set_inheritable(ends[their_end], True)
    return ends[0], ends[1]
