"""Print how long a page takes from its address to its answer, opened cold: after ``edgestore open``, kernels warm.

Run it with ``python tests/benchmarks/cold_pages.py``, for some notebooks with their names. Each page is opened in a
browser that has no page of ours in its cache. Beside the time, which depends on what else the machine does, it is told
what does not: the CPU time of the browser, the widget models that the page built, and what it was sent.
"""

import os
import shutil
import statistics
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psutil
from playwright.sync_api import Browser, sync_playwright

NOTEBOOKS = Path("notebooks")
BROWSER_OPTIONS = ("--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update")
ROUNDS = int(os.environ.get("ROUNDS", "3"))
IDLE_S = 2.0

WATCH = """
window.seen = {};
const whole = (panel) => panel.querySelector(".edgestore-answer strong")
  && panel.querySelector(".edgestore-picture")?.naturalWidth;
setInterval(() => {
  const panels = [...document.querySelectorAll(".edgestore-panel")];
  if (panels.length !== window.seen.count) window.seen = { first: window.seen.first, count: panels.length };
  if (panels.length && whole(panels[0])) window.seen.first ??= performance.now();
  if (panels.length && panels.every(whole)) window.seen.all ??= performance.now();
}, 20);
"""
MODELS = "() => Object.keys(window.jupyterapp.widgetManager._models).length"


def main() -> None:
    """Serve the workbook and print a line for each page with a panel."""
    path = shutil.which("chromium")
    if path is None:
        sys.exit("This benchmark needs Chromium: apt-get install chromium")
    with_panel = [file.name for file in sorted(NOTEBOOKS.glob("*.ipynb")) if "edgestore.panels" in file.read_text()]
    asked = [name for name in with_panel if not sys.argv[1:] or name.removesuffix(".ipynb") in sys.argv[1:]]
    with served() as (server, address), sync_playwright() as driver:
        until_warm(server)
        print(
            f"{'page':42}{'first answer':>13}{'all answers':>13}{'browser CPU':>13}{'models':>8}{'received':>10}   load"
        )
        for name in asked:
            opened = [
                cold(driver.chromium.launch(executable_path=path, args=list(BROWSER_OPTIONS)), address, name)
                for _ in range(ROUNDS)
            ]
            first, every, cpu, models, received = (statistics.median(column) for column in zip(*opened, strict=True))
            load = os.getloadavg()[0]
            print(
                f"{name:42}{first:11.2f} s{every:11.2f} s{cpu:11.2f} s{models:8.0f}{received:7.0f} kB   {load:.1f}",
                flush=True,
            )


@contextmanager
def served() -> Iterator[tuple[psutil.Process, str]]:
    """Serve the notebooks as a reader does."""
    command = [sys.executable, "-m", "edgestore", "open", "--no-browser"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
        assert server.stdout is not None
        try:
            yield psutil.Process(server.pid), server.stdout.readline().split()[-1]
        finally:
            server.terminate()


def until_warm(server: psutil.Process) -> None:
    """Wait until the process from which kernels are forked has shown every panel once."""
    nursery, before = server.children()[0], -1.0
    while (now := sum(nursery.cpu_times()[:2])) - before > 0.02:
        before = now
        time.sleep(IDLE_S)


def cold(browser: Browser, address: str, name: str) -> tuple[float, ...]:
    """Open a page: s to its first answer and to all, s of CPU of the browser, widget models, kB received by socket."""
    received = []
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    page.set_default_timeout(120_000)
    page.add_init_script(WATCH)
    page.on("websocket", lambda socket: socket.on("framereceived", lambda frame: received.append(len(frame))))
    before = browser_cpu_s()
    page.goto(address.replace("start.ipynb", name), wait_until="commit")
    page.wait_for_function("window.seen?.all && performance.now() - window.seen.all > 1500")
    seen, models = page.evaluate("window.seen"), page.evaluate(MODELS)
    cpu = browser_cpu_s() - before
    browser.close()
    return seen["first"] / 1000, seen["all"] / 1000, cpu, models, sum(received) / 1000


def browser_cpu_s() -> float:
    """Give the CPU time of every browser that this process started."""
    whole = 0.0
    for child in psutil.Process().children(recursive=True):
        try:
            if "chrom" in child.name():
                whole += sum(child.cpu_times()[:2])
        except psutil.NoSuchProcess:
            continue
    return whole


if __name__ == "__main__":
    main()
