"""Debian's Chromium without a window, spoken to by its debugging protocol over two pipes.

Messages are JSON ended by a zero byte, on the browser's file descriptors 3 and 4.
"""

from __future__ import annotations

import base64
import io
import json
import os
import select
import shutil
import signal
import time
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from PIL import Image

_FLAGS = (
    "--headless",
    "--no-sandbox",
    "--remote-debugging-pipe",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
)
WITH_WEBGL = ("--use-angle=swiftshader", "--enable-unsafe-swiftshader")
WITHOUT_WEBGL = ("--disable-gpu", "--disable-3d-apis")
_PATIENCE = 40.0
"""Seconds after which an answer is given up."""


def program() -> str:
    """Where Chromium is; skips where it is not, unless PANELRY_BROWSER says it must be there."""
    for name in ("chromium", "chromium-browser"):
        found = shutil.which(name)
        if found:
            return found
    if os.environ.get("PANELRY_BROWSER") == "required":
        pytest.fail("Chromium is not installed, and PANELRY_BROWSER=required asks for it.")
    pytest.skip("Chromium is not installed (Debian: apt-get install chromium)")


class Browser:
    """A running browser with one page; everything it says beside answers is kept in `events`."""

    def __init__(self, flags: tuple[str, ...], folder: Path) -> None:
        ours, theirs = os.pipe(), os.pipe()
        argv = [program(), *_FLAGS, *flags, f"--user-data-dir={folder}", "about:blank"]
        quiet = str(folder / "said.txt")
        self._process = os.posix_spawn(
            argv[0],
            argv,
            os.environ,
            file_actions=[
                (os.POSIX_SPAWN_OPEN, 0, os.devnull, os.O_RDONLY, 0),
                (os.POSIX_SPAWN_OPEN, 1, quiet, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600),
                (os.POSIX_SPAWN_DUP2, 1, 2),
                (os.POSIX_SPAWN_DUP2, ours[0], 3),
                (os.POSIX_SPAWN_DUP2, theirs[1], 4),
            ],
            setpgroup=0,
        )
        os.close(ours[0])
        os.close(theirs[1])
        self._write, self._read = ours[1], theirs[0]
        self._held = b""
        self._count = 0
        self._session = ""
        self.events: list[dict[str, Any]] = []
        pages = self.ask("Target.getTargets")["targetInfos"]
        target = next(one for one in pages if one["type"] == "page")["targetId"]
        self._session = self.ask("Target.attachToTarget", targetId=target, flatten=True)[
            "sessionId"
        ]
        for domain in ("Page", "Runtime", "Network", "Log"):
            self.ask(f"{domain}.enable")

    def ask(self, method: str, **params: Any) -> dict[str, Any]:
        """What the browser answers to a command of its protocol."""
        self._count += 1
        said: dict[str, Any] = {"id": self._count, "method": method, "params": params}
        if self._session:
            said["sessionId"] = self._session
        os.write(self._write, json.dumps(said).encode() + b"\0")
        while True:
            heard = self._hear()
            if heard.get("id") == self._count:
                assert "error" not in heard, (method, heard["error"])
                result: dict[str, Any] = heard["result"]
                return result
            self.events.append(heard)

    def _hear(self) -> dict[str, Any]:
        until = time.monotonic() + _PATIENCE
        while b"\0" not in self._held:
            ready, _, _ = select.select([self._read], [], [], max(0.0, until - time.monotonic()))
            got = os.read(self._read, 1 << 20) if ready else b""
            if not got:
                raise TimeoutError("Chromium says nothing more")
            self._held += got
        message, _, self._held = self._held.partition(b"\0")
        heard: dict[str, Any] = json.loads(message)
        return heard

    def wait_for(self, method: str) -> dict[str, Any]:
        """The first event of that name from now on."""
        while True:
            heard = self._hear()
            self.events.append(heard)
            if heard.get("method") == method:
                return heard

    def size(self, wide: int, high: int, fine: float = 1.0) -> None:
        """Sets the size of the page's view, CSS pixels."""
        self.ask(
            "Emulation.setDeviceMetricsOverride",
            width=wide, height=high, deviceScaleFactor=fine, mobile=False,
        )  # fmt: skip

    def open(self, file: Path) -> None:
        """Opens a file and waits until all of it stands."""
        self.events.clear()
        self.ask("Page.navigate", url=file.as_uri())
        if not any(event.get("method") == "Page.loadEventFired" for event in self.events):
            self.wait_for("Page.loadEventFired")

    def run(self, script: str) -> Any:
        """The value of an expression on the page, promises awaited."""
        answer = self.ask(
            "Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True
        )
        assert "exceptionDetails" not in answer, answer["exceptionDetails"]
        return answer["result"].get("value")

    def frame(self) -> None:
        """Waits until two more frames have been drawn."""
        self.run("new Promise(y => requestAnimationFrame(() => requestAnimationFrame(y)))")

    def press(self, key: str, text: str = "", *, shift: bool = False) -> None:
        """A key pressed and let go."""
        code = {"Tab": 9, "Enter": 13, "Escape": 27, " ": 32, "Home": 36}.get(key, 0)
        code = code or 37 + ("ArrowLeft", "ArrowUp", "ArrowRight", "ArrowDown", key).index(key)
        told = {"key": key, "modifiers": 8 * shift, "windowsVirtualKeyCode": code}
        self.ask("Input.dispatchKeyEvent", type="keyDown", text=text, **told)
        self.ask("Input.dispatchKeyEvent", type="keyUp", **told)

    def picture(self, of: str = "") -> npt.NDArray[np.uint8]:
        """Pixels (height, width, 3) of the view, or of the element that a selector names."""
        clip = {}
        if of:
            there = f"document.querySelector({json.dumps(of)})"
            self.run(f"{there}.scrollIntoView({{block: 'center', behavior: 'instant'}})")
            self.frame()
            box = self.run(
                "(b => [b.x + scrollX, b.y + scrollY, b.width, b.height])"
                f"({there}.getBoundingClientRect())"
            )
            clip = {"clip": dict(zip(("x", "y", "width", "height"), box, strict=True), scale=1)}
        data = self.ask("Page.captureScreenshot", **clip)["data"]
        return np.asarray(Image.open(io.BytesIO(base64.b64decode(data))).convert("RGB"))

    def pdf(self) -> bytes:
        """The page printed, on the paper that its style asks for."""
        answer = self.ask("Page.printToPDF", preferCSSPageSize=True, printBackground=False)
        return base64.b64decode(answer["data"])

    def complaints(self) -> list[dict[str, Any]]:
        """What went wrong on the page since it was opened: errors, warnings, logged lines."""
        kinds = ("Runtime.exceptionThrown", "Runtime.consoleAPICalled", "Log.entryAdded")
        return [event for event in self.events if event.get("method") in kinds]

    def fetched(self) -> list[str]:
        """Addresses asked for since the page was opened, data in the page itself aside."""
        asked = [e for e in self.events if e.get("method") == "Network.requestWillBeSent"]
        urls = [str(event["params"]["request"]["url"]) for event in asked]
        return [url for url in urls if not url.startswith("data:")]

    def close(self) -> None:
        """Ends the browser and all that it started."""
        self._session = ""
        try:
            self.ask("Browser.close")
        except (OSError, TimeoutError):
            os.killpg(self._process, signal.SIGKILL)
        os.close(self._write)
        os.close(self._read)
        until = time.monotonic() + 10
        while os.waitpid(self._process, os.WNOHANG)[0] == 0:
            if time.monotonic() > until:
                os.killpg(self._process, signal.SIGKILL)
                os.waitpid(self._process, 0)
                break
            time.sleep(0.02)
