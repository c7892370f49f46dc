"""Writes the sources that Sphinx builds beside the pages of docs/: the first page, and one for each question."""

import inspect
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path

from edgestore import models
from edgestore.docs_site.entries import Entry, entries
from edgestore.docs_site.pictures import picture

FOLDER = "worked_out"
"""Where the pages of the questions stand in the site, with their pictures."""

TITLE = "How it is worked out"

FIRST_PAGE = """\
{title}
{line}

Each model of the library with its formula, its source, its units, where it stops, a picture that the library drew,
values from outside that it is held against, and an example that the tests run. These pages are made from the
library itself: they say what this version does. ``edgestore verify`` recomputes the check values.

A page for each question
------------------------

.. toctree::
   :maxdepth: 2

{questions}

To read on
----------

.. toctree::
   :maxdepth: 1

{others}
"""


def write_pages(source: Path) -> None:
    """Write the first page, the pages of the questions and their pictures beside the pages that are there.

    Parameters
    ----------
    source : Path
        A folder with the pages of docs/, from which the site is built.
    """
    folder = source / FOLDER
    folder.mkdir()
    every = list(entries().values())
    for question, asked in groupby(every, key=lambda entry: entry.question):
        (folder / f"{question}.rst").write_text("\n".join(_page(question, list(asked))), encoding="utf-8")
    for entry in every:
        if found := picture(entry):
            (folder / picture_name(entry)).write_bytes(found.svg())
    questions = dict.fromkeys(f"   {FOLDER}/{entry.question}" for entry in every)
    others = sorted(f"   {page.stem}" for page in source.glob("*.md"))
    first = FIRST_PAGE.format(
        title=TITLE, line="=" * len(TITLE), questions="\n".join(questions), others="\n".join(others)
    )
    (source / "index.rst").write_text(first, encoding="utf-8")


def picture_name(entry: Entry) -> str:
    """Name the picture of an entry, beside its page."""
    return f"{entry.question}-{entry.name}.svg"


def _page(question: str, asked: list[Entry]) -> Iterator[str]:
    """Give the lines of a page: what the question is, and module by module what answers it."""
    room, modules = getattr(models, question), dict.fromkeys(entry.module for entry in asked)
    yield from _headed(question.capitalize(), "=")
    yield from (*(inspect.getdoc(room) or "").splitlines(), "")
    for module in modules:
        if module is not room:
            yield from _headed((inspect.getdoc(module) or "").partition("\n")[0].rstrip("."), "-")
        for entry in asked:
            if entry.module is module:
                kind = "autoclass" if inspect.isclass(entry.thing) else "autofunction"
                yield from (f".. {kind}:: {entry.path}", "")


def _headed(title: str, line: str) -> Iterator[str]:
    yield from (title, line * len(title), "")
