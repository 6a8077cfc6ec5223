"""A real browser for tests: Debian's Chromium, spoken to over its DevTools pipe; no driver and no package in between.

Where it is not installed a test skips and says so; under ``CI=true`` it fails instead (``.ci/run`` installs it).
"""

import contextlib
import itertools
import json
import os
import shutil
import subprocess
import time
from base64 import b64decode
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

_PATIENCE_S = 60.0


class Page:
    """One page: what it shows, what it asked for, and what its console said."""

    def __init__(self, write: int, read: int, profile: Path) -> None:
        self._write, self._read, self._profile = write, read, profile
        self._numbers = itertools.count(1)
        self._pending = b""
        self._session: str | None = None
        self.requests: list[str] = []
        self.complaints: list[str] = []
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Network", "Log", "Runtime", "DOM"):
            self.call(f"{domain}.enable")

    def call(self, method: str, **parameters: Any) -> dict[str, Any]:
        """Send a command and return its answer; events on the way are kept."""
        number = next(self._numbers)
        message: dict[str, Any] = {"id": number, "method": method, "params": parameters}
        if self._session is not None:
            message["sessionId"] = self._session
        os.write(self._write, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._next()
            if answer.get("id") == number:
                assert "error" not in answer, (method, answer["error"])
                found: dict[str, Any] = answer["result"]
                return found

    def _next(self) -> dict[str, Any]:
        while b"\0" not in self._pending:
            more = os.read(self._read, 1 << 20)
            assert more, "the browser has ended"
            self._pending += more
        one, _, self._pending = self._pending.partition(b"\0")
        message: dict[str, Any] = json.loads(one)
        self._note(message)
        return message

    def _note(self, message: dict[str, Any]) -> None:
        """Keep requests, and whatever the console or the page complains of."""
        method, what = message.get("method"), message.get("params", {})
        if method == "Network.requestWillBeSent":
            self.requests.append(what["request"]["url"])
        elif method == "Log.entryAdded" and what["entry"]["level"] in ("error", "warning"):
            self.complaints.append(what["entry"]["text"])
        elif method == "Runtime.exceptionThrown":
            self.complaints.append(str(what["exceptionDetails"]))
        elif method == "Runtime.consoleAPICalled" and what["type"] in ("error", "warning", "assert"):
            self.complaints.append(str(what["args"]))
        elif method == "Page.javascriptDialogOpening":
            self.complaints.append(f"dialog: {what['message']}")
            self._session_call_later("Page.handleJavaScriptDialog", accept=True)

    def _session_call_later(self, method: str, **parameters: Any) -> None:
        message = {"id": next(self._numbers), "method": method, "params": parameters, "sessionId": self._session}
        os.write(self._write, json.dumps(message).encode() + b"\0")

    def open(self, path: Path, width_px: int = 1280, script: bool = True) -> None:
        """Open a file at a width, with or without script."""
        self.call("Emulation.setScriptExecutionDisabled", value=not script)
        self.call(
            "Emulation.setDeviceMetricsOverride", width=width_px, height=900, deviceScaleFactor=1, mobile=width_px < 500
        )
        self.requests.clear()
        self.complaints.clear()
        self.call("Page.navigate", url=path.absolute().as_uri())
        end = time.monotonic() + _PATIENCE_S
        while self.value("document.readyState") != "complete":
            assert time.monotonic() < end, f"{path} was not loaded"
            time.sleep(0.05)

    def value(self, expression: str) -> Any:
        """Return the value of an expression of the page's script."""
        answer = self.call("Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True)
        assert "exceptionDetails" not in answer, answer["exceptionDetails"]
        return answer["result"].get("value")

    def pdf(self, paper_in: tuple[float, float]) -> bytes:
        """Print the page, as a person does from the browser's menu: paper size, plain margins."""
        return b64decode(
            self.call("Page.printToPDF", paperWidth=paper_in[0], paperHeight=paper_in[1], preferCSSPageSize=True)[
                "data"
            ]
        )

    def png(self, most_px: int = 16_000) -> bytes:
        """Return a picture of the whole page, at most so high."""
        size = self.call("Page.getLayoutMetrics")["cssContentSize"]
        clip = {"x": 0, "y": 0, "width": size["width"], "height": min(size["height"], most_px), "scale": 1}
        return b64decode(self.call("Page.captureScreenshot", clip=clip, captureBeyondViewport=True)["data"])


@contextlib.contextmanager
def browser(folder: Path) -> Iterator[Page]:
    """Start a browser with a profile of its own in a folder, and end it."""
    program = shutil.which("chromium")
    if program is None:
        if os.environ.get("CI") == "true":
            pytest.fail("chromium is not installed")
        pytest.skip("chromium is not installed")
    (to_read, to_write), (from_read, from_write) = os.pipe(), os.pipe()
    command = [
        program, "--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run",
        "--disable-extensions", "--remote-debugging-pipe", f"--user-data-dir={folder / 'profile'}",
    ]  # fmt: skip

    # The browser reads commands from 3 and writes answers to 4.
    shell = ["bash", "-c", f'exec "$0" "$@" 3<&{to_read} 4>&{from_write}', *command]
    process = subprocess.Popen(
        shell, pass_fds=(to_read, from_write), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    os.close(to_read)
    os.close(from_write)
    try:
        yield Page(to_write, from_read, folder)
    finally:
        os.close(to_write)
        os.close(from_read)
        process.terminate()
        process.wait(timeout=20)
