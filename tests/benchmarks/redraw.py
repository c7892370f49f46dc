"""Print the time from a key on a slider to the new picture, in headless Chromium, for each panel and the naive way.

Run it with ``python tests/benchmarks/redraw.py``, for some panels with their names. Every panel is served as a reader
gets it; the naive way, a new pyplot figure at each change, is served beside them in the same run. Of each panel it is
told where the time goes: to the kernel, the answer, drawing, encoding, back to the page, decoding.
"""

import re
import shutil
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import nbformat
from playwright.sync_api import Page, sync_playwright

BROWSER_OPTIONS = ("--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update")

PRICED = """
from edgestore.panels.site import SETTINGS
from edgestore.panels.{0} import {1}

panel = {1}()
panel.controls["settings"].value = SETTINGS
panel
"""

SLIDERS = {
    "which card for each camera": ("Assurance", "Wanted footage"),
    "what do i put in the proposal": ("Assurance",),
}
"""Sliders that are moved, by the first word of their label; of the other panels the first."""

PACES = {"one by one": (200, 80), "slowly": (1200, 20), "without a pause": (0, 80)}
"""Pause after each picture in ms, and presses. At the second what follows the picture is made in between."""

NAIVE = "the naive way"

PANELS = {
    NAIVE: """
from io import BytesIO

import ipywidgets as widgets
import matplotlib.pyplot as plt
from edgestore.answers.hold import RATES_MBIT_S, holding

slider = widgets.FloatSlider(value=4, min=0.25, max=32, step=0.25)
picture = widgets.Image(format="png")

def show(change):
    answer = holding(cap_mbit_s=slider.value)
    figure, axes = plt.subplots(figsize=(7.6, 4.6))
    for days in answer.curves_days:
        axes.loglog(RATES_MBIT_S, days)
    axes.plot(answer.rates_mbit_s, answer.retention_days, "o")
    file = BytesIO()
    figure.savefig(file)
    plt.close(figure)
    picture.value = file.getvalue()

slider.observe(show, "value")
show(None)
picture.add_class("edgestore-picture")
widgets.VBox([slider, picture])
""",
    "how long does the card hold": "from edgestore.panels.hold import holds_panel\nholds_panel()",
    "how long does the card last": "from edgestore.panels.life import lasts_panel\nlasts_panel()",
    "which card for each camera": PRICED.format("site", "site_panel"),
    "what do i put in the proposal": PRICED.format("proposal", "proposal_panel"),
    "how sure are we": "from edgestore.panels.certainty import sure_panel\nsure_panel()",
    "what should we find out first": "from edgestore.panels.first import first_panel\nfirst_panel()",
    "what changes with other settings": "from edgestore.panels.what_if import what_if_panel\nwhat_if_panel()",
    "where do the writes go": "from edgestore.panels.flash_wear import flash_panel\nflash_panel()",
}

STAMPED = """
import time
from edgestore.figures.moving import MovingFigure
from edgestore.panels.frame import Frame

stamps = open({stamps!r}, "w", buffering=1)

def stamped(owner, name):
    inner = getattr(owner, name)
    def outer(*arguments, **named):
        stamps.write(f"{{1000 * time.time()}} ")
        answer = inner(*arguments, **named)
        stamps.write(f"{{1000 * time.time()}}\\n" if name == "png" else "")
        return answer
    setattr(owner, name, outer)

stamped(Frame, "_moved")
stamped(Frame, "_draw")
stamped(MovingFigure, "png")
"""
"""What writes, for each picture, when the kernel had the message, the answer, the drawing, and the picture; in ms."""

STAGES = ("to the kernel", "answer", "draw", "encode", "to the page", "decode")

WATCH = """() => {
  let pressed = null;
  const now = () => performance.timeOrigin + performance.now();
  document.addEventListener("keydown", () => { pressed = now(); }, true);
  const seen = (image) => {
    const came = now();
    return image.decode().catch(() => {}).then(() => {
      if (pressed !== null) { console.log("ms", pressed, came, now()); pressed = null; }
    });
  };
  new MutationObserver((changes) => {
    for (const { target } of changes) {
      if (target.tagName === "IMG" && !target.closest(".edgestore-beside")) seen(target);
    }
  }).observe(document.body, { subtree: true, attributeFilter: ["src"] });
}"""


def main() -> None:
    """Serve a notebook for each panel and print a line for each."""
    browser_path = shutil.which("chromium")
    if browser_path is None:
        sys.exit("This benchmark needs Chromium: apt-get install chromium")
    with tempfile.TemporaryDirectory() as folder:
        stamps = Path(folder) / "stamps"
        for name, source in PANELS.items():
            lines = source if name == NAIVE else STAMPED.format(stamps=str(stamps)) + source
            cells = [nbformat.v4.new_markdown_cell(f"# {name}"), nbformat.v4.new_code_cell(lines)]
            nbformat.write(nbformat.v4.new_notebook(cells=cells), Path(folder) / f"{name}.ipynb")
        code = f"from pathlib import Path; from edgestore.serving import serve; serve(Path({folder!r}), browser=False)"
        with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True) as server:
            assert server.stdout is not None
            address = re.findall(r"http\S+", server.stdout.readline())[0]
            try:
                with sync_playwright() as driver:
                    chromium = driver.chromium.launch(executable_path=browser_path, args=list(BROWSER_OPTIONS))
                    print("ms from a key on a slider to the decoded picture, and where they go in the median")
                    for name in [name for name in PANELS if not sys.argv[1:] or name in sys.argv[1:]]:
                        page = chromium.new_page(viewport={"width": 1280, "height": 900})
                        page.goto(address.replace("start.ipynb", f"{name}.ipynb"))
                        page.evaluate(WATCH)
                        for slider in SLIDERS.get(name, ("",)):
                            for pace, (pause_ms, presses) in PACES.items():
                                times = list(key_to_picture_ms(page, slider, pause_ms, presses, stamps))
                                print(f"{name:30} {slider:15} {pace:16} {told(times)}", flush=True)
                        page.close()
            finally:
                server.terminate()


def told(times: list[list[float]]) -> str:
    """Sum up the moments of some pictures, each in ms after its key."""
    whole = sorted(moments[-1] for moments in times)
    text = f"median {statistics.median(whole):4.0f}   95th percentile {whole[int(0.95 * len(whole))]:4.0f}"
    stages = zip(*([b - a for a, b in pairwise([0.0, *moments])] for moments in times), strict=True)
    medians = [statistics.median(stage) for stage in stages]
    if len(medians) < len(STAGES):
        return text
    return f"{text}   ({', '.join(f'{stage} {ms:.0f}' for stage, ms in zip(STAGES, medians, strict=True))})"


def key_to_picture_ms(page: Page, slider: str, pause_ms: float, presses: int, stamps: Path) -> Iterator[list[float]]:
    """Press arrow keys on a slider of the page, each a pause after the picture of the one before.

    Gives, in ms after the key, when the kernel had it, the answer, the drawing and the picture, when the page had the
    picture, and when that was decoded; of a panel that writes no stamps the last two.
    """
    handle = page.locator(f".noUi-handle[aria-label^='{slider}']" if slider else ".noUi-handle").first
    handle.wait_for()
    page.locator(".edgestore-picture").first.wait_for()
    page.wait_for_timeout(1000)
    handle.focus()
    for press in range(presses):
        with page.expect_console_message(lambda message: message.text.startswith("ms ")) as message:
            page.keyboard.press("ArrowLeft" if press % 2 else "ArrowRight")
        pressed, came, decoded = map(float, message.value.text.split()[1:])
        lines = [line.split() for line in stamps.read_text().splitlines()] if stamps.exists() else []
        in_kernel = next((list(map(float, line)) for line in reversed(lines) if len(line) == 4), [])
        yield [moment - pressed for moment in (*in_kernel, came, decoded)]
        page.wait_for_timeout(pause_ms)


if __name__ == "__main__":
    main()
