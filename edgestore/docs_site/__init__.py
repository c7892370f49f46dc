"""The pages of docs/ and a page for each question of the models as a site that needs no network; Sphinx builds it.

``python -m edgestore.docs_site`` builds it where ``edgestore open`` finds it, or into a folder that is named.
"""

import hashlib
import importlib.util
import re
import shutil
from io import StringIO
from pathlib import Path
from tempfile import TemporaryDirectory

from edgestore.bundled import bundled
from edgestore.checks import refuse
from edgestore.look import variables
from edgestore.text import VERSION

BUILDERS = ("sphinx", "myst_parser")
"""The packages of the extra ``docs``, by which the site is built."""

COLOURS = re.compile(r"\x1b\[[\d;]*m")
"""With which Sphinx colours what it warns of, whoever reads it."""

START = "index.html"
MARK = "objects.inv"
"""The file that every site of Sphinx has: a folder with it may be replaced."""

BUILT_FROM = "built_from.txt"
"""The file of a site that says what it was built from."""

MADE_OF = ("models", "verification", "docs_site", "headings.py", "look.py", "units.py", "checks.py")
"""What of the library the pages are made from, beside docs/: if it changes, they are out of date."""

INSTALL = "pip install 'edgestore[docs]'"
BUILD = "python -m edgestore.docs_site"


NOT_BUILT = """\
<!DOCTYPE html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>How it is worked out</title>
<style>
{look}
body {{
  background: var(--edgestore-ground);
  color: var(--edgestore-ink);
  font: var(--edgestore-size-body)/1.55 system-ui, sans-serif;
  margin: var(--edgestore-step-6);
}}
</style>
<main>
<h1>How it is worked out</h1>
<p>The pages with the formulas, pictures and check values of edgestore {version} are not built on this machine yet.
To build them takes about a minute and needs the network for the first of two commands only:</p>
<pre>{install}
{build}</pre>
<p>Then start <code>edgestore open</code> again.</p>
</main>
</html>
"""


STALE = """\
<p class="stale" role="status">These pages were built from another state of edgestore {version} and may differ from what
it does now. To build them anew: <code>{build}</code>, then start <code>edgestore open</code> again.</p>
"""

TEXT = '<main id="text">'
"""Where the text of a page begins."""


def built_folder() -> Path:
    """Give the folder of the site in the user's cache, whether it is built or not.

    Returns
    -------
    Path
        One folder a version of the library.
    """
    from platformdirs import user_cache_path

    return user_cache_path("edgestore") / f"docs-{VERSION}"


def build(folder: Path | None = None) -> Path:
    """Build the site, whole or not at all.

    Parameters
    ----------
    folder : Path, optional
        Where to: new, empty, or with an earlier site, which is replaced; :func:`built_folder` when left out.

    Returns
    -------
    Path
        Its first page, which any browser opens from the disk.

    Raises
    ------
    InputError
        When Sphinx is not installed, the folder holds anything but a site, a page leads to a page or picture that
        is not there, or a formula cannot be set.
    """
    if missing := [name for name in BUILDERS if importlib.util.find_spec(name) is None]:
        raise refuse("docs", f"no {', '.join(missing)}", "the packages of the docs extra", f"Install it: {INSTALL}")
    folder = built_folder() if folder is None else folder
    allowed = "a new folder, an empty one, or one with an earlier site"
    if file := next((path for path in (folder, *folder.parents) if path.is_file()), None):
        raise refuse(str(file), "a file", allowed, "Name another folder.")
    if folder.exists() and not ((folder / MARK).is_file() or not any(folder.iterdir())):
        raise refuse(str(folder), "files of another kind", allowed, "Name another folder.")
    with TemporaryDirectory() as made:
        site = _built(Path(made))
        (site / BUILT_FROM).write_text(sources_digest(), encoding="utf-8")
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(site, folder)
    return folder / START


def sources_digest() -> str:
    """Digest of all that the site is made from, by names and bytes.

    Returns
    -------
    str
        SHA-256 of docs/ and of the parts of the library in ``MADE_OF``, in hexadecimal digits.
    """
    package, docs = Path(__file__).parents[1], bundled("docs")
    roots = [docs, *(package / name for name in MADE_OF)]
    files = [file for root in roots for file in ([root] if root.is_file() else root.rglob("*")) if file.is_file()]
    digest = hashlib.sha256()
    for file in sorted(file for file in files if file.suffix != ".pyc"):
        base = docs.parent if file.is_relative_to(docs) else package
        digest.update(f"{file.relative_to(base).as_posix()}\0".encode() + hashlib.sha256(file.read_bytes()).digest())
    return digest.hexdigest()


def is_stale(folder: Path) -> bool:
    """Whether a site was built from anything but what is there now.

    Parameters
    ----------
    folder : Path
        Folder of a site that was built.

    Returns
    -------
    bool
        True too for a site that does not say what it was built from.
    """
    said = folder / BUILT_FROM
    return not said.is_file() or said.read_text(encoding="utf-8") != sources_digest()


def put_pages(folder: Path) -> None:
    """Put the site where it is served from: as it was built, or a page that says how to build it.

    Parameters
    ----------
    folder : Path
        A folder that does not exist yet. In a copy of a site that is out of date each page says so, and how to build
        it anew.
    """
    built = built_folder()
    if not (built / START).is_file():
        folder.mkdir(parents=True)
        text = NOT_BUILT.format(look=variables(), version=VERSION, install=INSTALL, build=BUILD)
        (folder / START).write_text(text, encoding="utf-8")
        return
    shutil.copytree(built, folder)
    if is_stale(built):
        told = f"{TEXT}\n{STALE.format(version=VERSION, build=BUILD)}"
        for page in folder.rglob("*.html"):
            page.write_text(page.read_text(encoding="utf-8").replace(TEXT, told, 1), encoding="utf-8")


def _built(made: Path) -> Path:
    """Build the site in a folder that is ours."""
    from sphinx.application import Sphinx

    from edgestore.docs_site.pages import write_pages

    source, site = made / "source", made / "site"
    shutil.copytree(bundled("docs"), source)
    write_pages(source)
    settings = {"extensions": ["edgestore.docs_site.extension"]}
    warnings = StringIO()
    Sphinx(source, None, site, made / "parsed", "html", settings, status=None, warning=warnings).build()
    if told := COLOURS.sub("", warnings.getvalue()).strip():
        raise refuse("docs", told, "pages whose links, pictures and formulas are all there", "Correct these pages.")
    return site
