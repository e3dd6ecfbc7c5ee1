"""A headless Chromium, driven through its own DevTools protocol.

Chosen over a driver program or a larger automation package because it needs neither: one small
web-socket package (websocket-client), whatever Chromium the machine has, at any version. The
plain command line is no help here: its window cannot be made as narrow as a phone.
"""

from __future__ import annotations

import base64
import json
import os
import shutil
import subprocess
import tempfile
import time
from pathlib import Path
from types import TracebackType
from typing import Any
from urllib.request import ProxyHandler, build_opener

import websocket

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
ENVIRONMENT = "DEERLOG_TEST_BROWSER"
"""Where a machine keeps its browser off the path (Windows, macOS): the path of its program."""

_FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--no-default-browser-check",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--remote-debugging-port=0",
)


def find_browser() -> str | None:
    """The program of a Chromium, or None."""
    named = os.environ.get(ENVIRONMENT)
    if named:
        return named
    return next((found for name in NAMES if (found := shutil.which(name))), None)


class HeadlessBrowser:
    """One browser with one open page; use it in a ``with`` block."""

    def __init__(self, program: str, *, timeout_seconds: float = 30.0) -> None:
        self._timeout = timeout_seconds
        self._profile = Path(tempfile.mkdtemp(prefix="deerlog-browser-"))
        self._process = subprocess.Popen(
            [program, *_FLAGS, f"--user-data-dir={self._profile}", "about:blank"],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        try:
            self._socket = websocket.create_connection(
                self._page_address(), timeout=timeout_seconds, suppress_origin=True
            )
        except BaseException:
            self._stop()
            raise
        self._last_id = 0
        self._loader = ""
        self.events: list[dict[str, Any]] = []
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.call(f"{domain}.enable")

    def __enter__(self) -> HeadlessBrowser:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._socket.close()
        self._stop()

    def call(self, method: str, **parameters: Any) -> dict[str, Any]:
        """The answer to one command; events that arrive meanwhile are kept."""
        self._last_id += 1
        self._socket.send(json.dumps({"id": self._last_id, "method": method, "params": parameters}))
        while True:
            message = json.loads(self._socket.recv())
            if message.get("id") != self._last_id:
                self.events.append(message)
                continue
            if "error" in message:
                raise RuntimeError(f"{method}: {message['error']['message']}")
            answer: dict[str, Any] = message["result"]
            return answer

    def open(
        self,
        page: Path,
        *,
        width: int,
        height: int = 844,
        dark: bool = False,
        printed: bool = False,
    ) -> None:
        """Show a file as a screen (or sheet) of so many CSS px would, and wait for it to load."""
        self.events.clear()
        self.call(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=width < 600,
        )
        scheme = "dark" if dark else "light"
        self.call(
            "Emulation.setEmulatedMedia",
            media="print" if printed else "",
            features=[{"name": "prefers-color-scheme", "value": scheme}],
        )
        before, self._loader = self._loader, ""
        self._loader = self.call("Page.navigate", url=page.resolve().as_uri())["loaderId"]
        deadline = time.monotonic() + self._timeout
        while not any(e.get("method") == "Page.loadEventFired" for e in self.events):
            if time.monotonic() > deadline:
                raise TimeoutError(f"{page} did not load")
            self.evaluate("0")
        # What the page before still asked for on its way out.
        self.events = [e for e in self.events if e["params"].get("loaderId", "-") != before]

    def until(self, expression: str) -> None:
        """Wait until a JavaScript expression is true."""
        deadline = time.monotonic() + self._timeout
        while not self.evaluate(expression):
            if time.monotonic() > deadline:
                raise TimeoutError(f"never true: {expression}")
            time.sleep(0.02)

    def press_tab(self) -> None:
        """One stroke of the tabulator key."""
        for kind in ("rawKeyDown", "keyUp"):
            self.call("Input.dispatchKeyEvent", type=kind, key="Tab", code="Tab",
                      windowsVirtualKeyCode=9)  # fmt: skip

    def press(self, key: str, *, shift: bool = False, control: bool = False) -> None:
        """One stroke of a key, by its name or by what it writes."""
        codes = {"Enter": 13, "Backspace": 8, "Escape": 27,
                 "ArrowLeft": 37, "ArrowUp": 38, "ArrowRight": 39, "ArrowDown": 40}  # fmt: skip
        key = key.upper() if shift else key
        text = {"Enter": "\r"}.get(key, key if len(key) == 1 and not control else "")
        code = codes.get(key, ord(key.upper()[0]))
        held = (8 if shift else 0) + (2 if control else 0)
        about = {"key": key, "windowsVirtualKeyCode": code, "modifiers": held}
        self.call("Input.dispatchKeyEvent", type="keyDown" if text else "rawKeyDown", text=text,
                  **about)  # fmt: skip
        self.call("Input.dispatchKeyEvent", type="keyUp", **about)

    def save_to(self, folder: Path) -> None:
        """Put what pages save into a folder, without asking."""
        self.call("Browser.setDownloadBehavior", behavior="allow", downloadPath=str(folder))

    def evaluate(self, expression: str) -> Any:
        """The value of a JavaScript expression in the page; of a promise, once it is kept."""
        answer = self.call(
            "Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True
        )
        if "exceptionDetails" in answer:
            raise RuntimeError(str(answer["exceptionDetails"]))
        return answer["result"].get("value")

    def complaints(self) -> list[str]:
        """Script errors, blocked or failed loads and console errors since the page was opened."""
        self.evaluate("0")
        said = []
        for event in self.events:
            detail = event.get("params", {})
            match event.get("method"):
                case "Runtime.exceptionThrown":
                    said.append(str(detail["exceptionDetails"]))
                case "Log.entryAdded" if detail["entry"]["level"] in ("error", "warning"):
                    said.append(str(detail["entry"]["text"]))
                case "Network.loadingFailed":
                    said.append(str(detail["errorText"]))
        return said

    def requests(self) -> list[str]:
        """Every address the page asked for since it was opened."""
        return [
            event["params"]["request"]["url"]
            for event in self.events
            if event.get("method") == "Network.requestWillBeSent"
        ]

    def screenshot(self, to: Path, *, whole: bool = True) -> None:
        """A PNG of the page."""
        answer = self.call("Page.captureScreenshot", format="png", captureBeyondViewport=whole)
        to.write_bytes(base64.b64decode(answer["data"]))

    def print_pdf(self, to: Path) -> None:
        """The page as it comes out of a printer, with backgrounds off as is usual."""
        answer = self.call("Page.printToPDF", printBackground=False, preferCSSPageSize=True)
        to.write_bytes(base64.b64decode(answer["data"]))

    def _page_address(self) -> str:
        port_file = self._profile / "DevToolsActivePort"
        # A proxy set for the outside world must not come between us and this machine.
        opener = build_opener(ProxyHandler({}))
        deadline = time.monotonic() + self._timeout
        while time.monotonic() < deadline:
            if self._process.poll() is not None:
                raise RuntimeError(f"the browser ended at once, with {self._process.returncode}")
            try:
                port = port_file.read_text(encoding="utf-8").splitlines()[0]
                with opener.open(f"http://127.0.0.1:{port}/json/list", timeout=5) as answer:
                    pages = [p for p in json.load(answer) if p["type"] == "page"]
                if pages:
                    return str(pages[0]["webSocketDebuggerUrl"])
            except (OSError, IndexError, ValueError):
                pass  # it is still starting
            time.sleep(0.05)
        raise TimeoutError("the browser did not open its DevTools port")

    def _stop(self) -> None:
        self._process.terminate()
        try:
            self._process.wait(timeout=10)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait(timeout=10)
        # Its helper processes may write to the profile for a moment after it is gone.
        for _ in range(50):
            shutil.rmtree(self._profile, ignore_errors=True)
            if not self._profile.exists():
                break
            time.sleep(0.1)
