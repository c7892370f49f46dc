"""The site of docs/ and of the models: whole, without a broken link, and read in a browser without a network."""

import re
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

import axe_playwright_python
import pytest

from edgestore.docs_site.entries import entries
from edgestore.look import variables

pytestmark = [pytest.mark.browser, pytest.mark.landing]

ROOT = Path(__file__).resolve().parents[2]
AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text(encoding="utf-8")
RULES = "axe.run({resultTypes: ['violations'], runOnly: ['wcag2a', 'wcag2aa', 'wcag21aa', 'best-practice']})"
SCREENS = {"desk": {"width": 1280, "height": 900}, "phone": {"width": 390, "height": 844}}
PAGES = ("index.html", "worked_out/outage.html", "worked_out/registers.html", "terms.html", "search.html")


class Links(HTMLParser):
    """The places that a page has, where it leads, and what it fetches."""

    def __init__(self, page: Path) -> None:
        super().__init__()
        self.places, self.leads, self.fetched = {""}, [], []
        self.feed(page.read_text(encoding="utf-8"))

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        self.places.add(given.get("id"))
        self.leads += [given["href"]] if tag == "a" and "href" in given else []
        self.fetched += [given[name] for name in ("src", "href") if name in given and tag != "a"]


@pytest.fixture(scope="module")
def site(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("docs") / "site"
    command = [sys.executable, "-m", "edgestore.docs_site", str(folder)]
    subprocess.run(command, check=True, capture_output=True)
    return folder


@pytest.fixture(scope="module")
def pages(site) -> dict[Path, Links]:
    return {page: Links(page) for page in sorted(site.rglob("*.html"))}


def test_every_public_function_and_class_is_on_the_site(site, pages):
    for path, entry in entries().items():
        assert path in pages[site / "worked_out" / f"{entry.question}.html"].places


def test_every_page_of_docs_is_on_the_site(site, pages):
    assert {f"{page.stem}.html" for page in (ROOT / "docs").glob("*.md")} <= {page.name for page in pages}


def test_no_link_is_broken(pages):
    broken = []
    for page, links in pages.items():
        for link in [*links.leads, *links.fetched]:
            parts = urlsplit(link)
            target = (page.parent / unquote(parts.path)).resolve() if parts.path else page
            is_there = target.is_file() and (target not in pages or unquote(parts.fragment) in pages[target].places)
            if not (parts.scheme or is_there):
                broken.append((page.name, link))
    assert broken == []
    assert sum(len(links.leads) for links in pages.values()) > 500


def test_a_page_fetches_nothing_from_another_host(pages):
    assert [link for links in pages.values() for link in links.fetched if urlsplit(link).netloc] == []


def test_the_sheet_names_only_values_of_the_look(site):
    sheet = (site / "_static" / "site.css").read_text(encoding="utf-8")
    assert set(re.findall(r"var\((--edgestore-[\w-]+)\)", sheet)) <= set(re.findall(r"--edgestore-[\w-]+", variables()))


@pytest.mark.parametrize("screen", SCREENS.values(), ids=SCREENS)
def test_no_page_is_wider_than_the_screen(pages, browser, screen):
    with browser.new_page() as page:
        page.set_viewport_size(screen)
        for path in pages:
            page.goto(path.as_uri())
            assert page.evaluate("document.documentElement.scrollWidth") <= screen["width"], path.name


@pytest.mark.parametrize("screen", SCREENS.values(), ids=SCREENS)
def test_axe_finds_nothing_and_no_network_is_asked(site, browser, screen):
    with browser.new_page() as page:
        page.set_viewport_size(screen)
        asked = []
        page.on("request", lambda sent: asked.append(sent.url))
        for name in PAGES:
            page.goto((site / name).as_uri())
            page.evaluate(AXE)
            for scheme in ("light", "dark"):
                page.emulate_media(color_scheme=scheme)
                found = page.evaluate(RULES)["violations"]
                assert [(rule["id"], rule["nodes"][0]["html"][:200]) for rule in found] == [], (name, scheme)
        assert [address for address in asked if not address.startswith("file:")] == []


def test_a_formula_is_set_as_mathematics(site, browser):
    with browser.new_page() as page:
        page.goto((site / "worked_out" / "outage.html").as_uri())
        formula = page.locator("dt[id='edgestore.models.outage.availability'] + dd math").first
        # MTBF / (MTBF + MTTR): the part above the line is as high as the one below, and ends where that begins.
        above, below = (formula.locator(f"mfrac > :nth-child({n})").first.bounding_box() for n in (1, 2))
        assert above["y"] + above["height"] <= below["y"] + 1


def test_the_search_finds_a_function_without_a_network(site, browser):
    with browser.new_page() as page:
        page.goto(f"{(site / 'search.html').as_uri()}?q=availability")
        page.get_by_role("link", name="edgestore.models.outage.availability").wait_for()


def test_the_bar_of_the_workbook_leads_to_it(browser, address):
    with browser.new_page() as page:
        page.goto(address, wait_until="commit")
        page.get_by_role("link", name="How it is worked out").click()
        page.get_by_role("heading", name="How it is worked out", level=1).wait_for()
