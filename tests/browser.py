"""A page in a real browser without a window: what it logs, asks the network for, how it prints and how wide it is.

Talks the DevTools protocol with the browser over a pair of pipes (JSON messages, each ended by a zero byte), so that neither a
driver nor a client library nor an open port is needed. Debian's package is ``chromium``; without one, tests skip and say so.
"""

from __future__ import annotations

import base64
import io
import json
import os
import select
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

NAMES = ("chromium", "chromium-browser")
PAPERS = {"A4": (210.0 / 25.4, 297.0 / 25.4), "Letter": (8.5, 11.0)}  # width, height [in]
PATIENCE = 60.0  # seconds to wait for any one answer; slow machines start slowly
SWITCHES = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-extensions",
    "--disable-background-networking",
    "--no-first-run",
    "--hide-scrollbars",
    "--force-color-profile=srgb",
    "--remote-debugging-pipe",
)


def browser_path() -> str | None:
    """Where a browser is, None where there is none."""
    return next((found for name in NAMES if (found := shutil.which(name))), None)


class Browser:
    """A running browser; messages go out on one pipe and come back on another."""

    def __init__(self, out: int, back: int) -> None:
        self._out, self._back = out, back
        self._buffer = b""
        self._count = 0
        self.events: list[dict[str, Any]] = []

    def ask(self, method: str, session: str | None = None, **params: Any) -> dict[str, Any]:
        """The result of a method; events that come meanwhile are kept."""
        self._count += 1
        message: dict[str, Any] = {"id": self._count, "method": method, "params": params}
        if session is not None:
            message["sessionId"] = session
        data = json.dumps(message).encode() + b"\0"
        while data:
            data = data[os.write(self._out, data) :]
        until = time.monotonic() + PATIENCE
        while True:
            answer = self._next(until)
            if answer.get("id") != self._count:
                self.events.append(answer)
            elif "error" in answer:
                raise RuntimeError(f"{method}: {answer['error']['message']}")
            else:
                return answer["result"]

    def wait(self, event: str, session: str) -> None:
        """Return once an event of a page has come."""
        until = time.monotonic() + PATIENCE
        while not any(e.get("method") == event and e.get("sessionId") == session for e in self.events):
            self.events.append(self._next(until))

    def _next(self, until: float) -> dict[str, Any]:
        while b"\0" not in self._buffer:
            ready, _, _ = select.select([self._back], [], [], max(0.0, until - time.monotonic()))
            if not ready:
                raise TimeoutError("the browser does not answer")
            read = os.read(self._back, 1 << 20)
            if not read:
                raise ConnectionError("the browser has ended")
            self._buffer += read
        message, _, self._buffer = self._buffer.partition(b"\0")
        return json.loads(message)


@dataclass
class Page:
    """A loaded page. ``complaints`` are console errors, warnings and uncaught errors; ``requests`` every address asked for."""

    browser: Browser
    session: str
    complaints: list[str] = field(default_factory=list)
    requests: list[str] = field(default_factory=list)

    def ask(self, method: str, **params: Any) -> dict[str, Any]:
        return self.browser.ask(method, self.session, **params)

    def value(self, expression: str) -> Any:
        """What an expression gives in the page."""
        return self.ask("Runtime.evaluate", expression=expression, returnByValue=True)["result"].get("value")

    def at_width(self, width: int, height: int = 800) -> None:
        """Set the window's width in CSS pixels."""
        self.ask(
            "Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=width < 600
        )

    def overflow(self, width: int) -> int:
        """How many pixels the page is wider than a window of ``width``; 0 where it does not scroll sideways."""
        self.at_width(width)
        return int(self.value("document.documentElement.scrollWidth")) - width

    def text(self) -> str:
        """The text as shown."""
        return str(self.value("document.body.innerText"))

    def screenshot(self, width: int) -> bytes:
        """A picture of the whole page as PNG."""
        self.at_width(width)
        shot = self.ask("Page.captureScreenshot", format="png", captureBeyondViewport=True)
        return base64.b64decode(shot["data"])

    def pdf(self, paper: str, ranges: str = "") -> bytes:
        """The page printed to ``paper``, A4 or Letter, with the margins it asks for itself; all of it, or pages such as ``1-16``."""
        width, height = PAPERS[paper]
        how = {"paperWidth": width, "paperHeight": height, "printBackground": True, "pageRanges": ranges}
        printed = self.ask("Page.printToPDF", **how)
        return base64.b64decode(printed["data"])

    def printed_pages(self, paper: str) -> int:
        """How many sheets of ``paper`` the page prints to."""
        import pypdf

        return len(pypdf.PdfReader(io.BytesIO(self.pdf(paper))).pages)


@contextmanager
def running_browser() -> Iterator[Browser]:
    """A browser for some pages; the test is skipped where none is installed."""
    path = browser_path()
    if path is None:
        pytest.skip("no browser found: install Debian's chromium to run the tests of pages")
    to_browser, out = os.pipe()
    back, from_browser = os.pipe()
    with tempfile.TemporaryDirectory(prefix="anchorsize-browser-", ignore_cleanup_errors=True) as profile:
        # the browser reads from descriptor 3 and writes to 4, whatever the numbers here
        start = f'exec "$@" 3<&{to_browser} 4>&{from_browser}'
        process = subprocess.Popen(
            ["bash", "-c", start, "browser", path, *SWITCHES, f"--user-data-dir={profile}", "about:blank"],
            pass_fds=(to_browser, from_browser),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(to_browser)
        os.close(from_browser)
        browser = Browser(out, back)
        try:
            yield browser
            browser.ask("Browser.close")
            process.wait(PATIENCE)
        finally:
            os.close(out)
            os.close(back)
            if process.poll() is None:
                process.kill()
                process.wait()


def load(browser: Browser, file: Path) -> Page:
    """Open a file as a page and wait until it is there."""
    target = browser.ask("Target.createTarget", url="about:blank")["targetId"]
    session = browser.ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
    page = Page(browser, session)
    for domain in ("Page", "Runtime", "Log", "Network"):
        page.ask(f"{domain}.enable")
    address = file.resolve().as_uri()
    failed = page.ask("Page.navigate", url=address).get("errorText")
    if failed:
        raise OSError(f"{address}: {failed}")
    browser.wait("Page.loadEventFired", session)
    for event in browser.events:
        if event.get("sessionId") != session:
            continue
        method, params = event["method"], event["params"]
        if method == "Network.requestWillBeSent":
            page.requests.append(params["request"]["url"])
        elif method == "Runtime.exceptionThrown":
            page.complaints.append(params["exceptionDetails"]["text"])
        elif method == "Runtime.consoleAPICalled" and params["type"] in ("error", "warning", "assert"):
            page.complaints.append(" ".join(str(arg.get("value")) for arg in params["args"]))
        elif method == "Log.entryAdded" and params["entry"]["level"] in ("error", "warning"):
            page.complaints.append(params["entry"]["text"])
    page.requests = [url for url in page.requests if url != address and not url.startswith("data:")]
    return page
