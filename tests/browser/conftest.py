"""The workbook in a real browser: one server and one Chromium for the folder, and each notebook opened once.

A page takes some ten seconds of CPU. So all tests of a notebook, in whichever file they stand, are given the same page,
one after the other, and all pages share what the browser has fetched and compiled.
"""

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

import psutil
import pytest
from playwright.sync_api import BrowserContext, ConsoleMessage, Page, WebSocket, expect, sync_playwright

ROOT = Path(__file__).resolve().parents[2]
NOTEBOOKS = ROOT / "notebooks"
BROWSERS = ("chromium", "chromium-browser", "google-chrome")
BROWSER_OPTIONS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--force-prefers-reduced-motion",  # a wheel that turns while the page is made costs as much as the page
    "--renderer-process-limit=1",  # what one page has compiled, the next need not
)
NO_BROWSER = "no Chromium on the PATH; install it, on Debian and Ubuntu with: apt-get install chromium"
PATIENCE_MS = 60_000
WIDE = {"width": 1280, "height": 900}

expect.set_options(timeout=PATIENCE_MS)


@dataclass
class Opened:
    """A notebook in the browser, with what it was sent, what went wrong and who else was asked, from the start on."""

    notebook: Path
    page: Page
    outside_requests: list[str] = field(default_factory=list)
    messages: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)

    @property
    def has_panel(self) -> bool:
        return "edgestore.panels" in self.notebook.read_text(encoding="utf-8")

    def note_request(self, address: str) -> None:
        parts = urlsplit(address)
        if parts.hostname not in (None, "127.0.0.1", "localhost"):
            self.outside_requests.append(address)

    def note_socket(self, socket: WebSocket) -> None:
        self.note_request(socket.url)
        socket.on("framereceived", lambda frame: self.messages.append(str(frame)))

    def note_console(self, message: ConsoleMessage) -> None:
        if message.type == "error":
            self.errors.append(message.text)


@contextmanager
def served() -> Iterator[tuple[psutil.Process, str]]:
    """Serve the notebooks as a reader does: the process of the server and the address of the start page."""
    command = [sys.executable, "-m", "edgestore", "open", "--no-browser"]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as server:
        try:
            printed = re.search(r"http\S+", server.stdout.readline())
            assert printed, "the server ended before it printed its address"
            yield psutil.Process(server.pid), printed[0]
        finally:
            server.terminate()


@pytest.fixture(scope="package")
def address() -> Iterator[str]:
    """Serve the notebooks once, for all tests that leave the server alive."""
    with served() as (_, address):
        yield address


@pytest.fixture(scope="module")
def server() -> Iterator[tuple[psutil.Process, str]]:
    """Serve the notebooks for one module, whose last test may kill the server."""
    with served() as process_and_address:
        yield process_and_address


@pytest.fixture(scope="package")
def browser() -> Iterator[BrowserContext]:
    """Start Chromium; without one, skip, or fail when EDGESTORE_SKIP_NOTHING is 1."""
    found = next(filter(None, map(shutil.which, BROWSERS)), None)
    if found is None and os.environ.get("EDGESTORE_SKIP_NOTHING") == "1":
        pytest.fail(NO_BROWSER)
    if found is None:
        pytest.skip(NO_BROWSER)
    # No longer than this folder, since its event loop would disturb the kernels of the notebook tests.
    with sync_playwright() as driver:
        chromium = driver.chromium.launch(executable_path=found, args=BROWSER_OPTIONS)
        yield chromium.new_context(viewport=WIDE)
        chromium.close()


@pytest.fixture(scope="package", params=sorted(path.name for path in NOTEBOOKS.glob("*.ipynb")))
def opened(request: pytest.FixtureRequest, browser: BrowserContext, address: str) -> Iterator[Opened]:
    """Open one notebook after the other, each when its page and its panel are ready."""
    with browser.new_page() as page:
        page.set_default_timeout(PATIENCE_MS)
        opened = Opened(NOTEBOOKS / request.param, page)
        page.on("request", lambda sent: opened.note_request(sent.url))
        page.on("websocket", opened.note_socket)
        page.on("console", opened.note_console)
        page.on("pageerror", lambda error: opened.errors.append(str(error)))
        page.goto(address.replace("start.ipynb", request.param), wait_until="commit")
        page.locator("#rendered_cells").wait_for()
        if opened.has_panel:
            page.locator(".edgestore-panel").first.wait_for()
        yield opened
