"""What Sphinx does here that it would not do by itself: MathML, the order of a docstring, pictures and check values."""

import re
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path
from typing import Any

from docutils import nodes
from docutils.utils.math import MathError
from docutils.utils.math.latex2mathml import tex2mathml
from sphinx.application import Sphinx
from sphinx.util import logging
from sphinx.util.rst import escape

from edgestore.docs_site.entries import Entry, entries
from edgestore.docs_site.pages import FOLDER, TITLE, picture_name
from edgestore.docs_site.pictures import no_picture, picture
from edgestore.look import variables
from edgestore.text import MADE_WITH, VERSION
from edgestore.verification import Check

NAMES = {"Notes": "Formula and limits", "References": "Source", "Examples": "Example"}
"""Sections of a docstring that a reader of the site meets under another heading."""

THEME = Path(__file__).parent / "theme"

SETTINGS = {
    "project": TITLE,
    "html_title": f"{TITLE}: {MADE_WITH}",
    "version": VERSION,
    "release": VERSION,
    "html_theme": "edgestore",
    "html_math_renderer": "mathml",
    "html_context": {"look": variables()},
    "html_copy_source": False,
    "html_show_copyright": False,
    "html_show_sphinx": False,
    "suppress_warnings": ["ref.python"],  # the shape of a row, "(cards,)", is no name
    "html_use_index": False,
    "html_domain_indices": False,
    "autodoc_typehints": "none",
    "autodoc_default_options": {"members": True, "member-order": "bysource"},
    "napoleon_google_docstring": False,
    "napoleon_use_param": False,  # the words of a type lead nowhere
    "napoleon_use_rtype": False,
    "napoleon_custom_sections": list(NAMES.values()),
    "add_module_names": False,
    "myst_heading_anchors": 3,
}

PLACED = {
    "file",
    "folder",
    "fact",
    "quantity",
    "inputs",
    "part",
    "expected",
    "tolerance",
    "unit",
    "kind",
    "source",
    "how",
}
"""The fields of a check that have their own place in its row; what else it states is told with its inputs."""

MOST_SHOWN = 6


def setup(app: Sphinx) -> dict[str, bool]:
    """Tell Sphinx of it, as every extension does."""
    for extension in ("sphinx.ext.autodoc", "sphinx.ext.napoleon", "myst_parser"):
        app.setup_extension(extension)
    app.add_html_theme("edgestore", str(THEME))
    app.add_html_math_renderer("mathml", (_inline, None), (_block, None))
    app.connect("autodoc-process-docstring", _arrange, priority=400)  # before napoleon, which has 500
    for name, value in SETTINGS.items():
        app.config[name] = value
    return {"parallel_read_safe": True, "parallel_write_safe": True}


def _inline(writer: Any, node: nodes.math) -> None:
    writer.body.append(_mathml(node))
    raise nodes.SkipNode


def _block(writer: Any, node: nodes.math_block) -> None:
    # Wide formulas are scrolled by themselves on a phone, from the keyboard too.
    formula = _mathml(node, as_block=True)
    writer.body.append(f'<div class="formula" tabindex="0" role="group" aria-label="Formula">{formula}</div>\n')
    raise nodes.SkipNode


def _mathml(node: nodes.math | nodes.math_block, *, as_block: bool = False) -> str:
    try:
        return str(tex2mathml(node.astext(), as_block=as_block))
    except MathError as error:
        logging.getLogger(__name__).warning("%s: %s", error, node.astext(), location=node)
        return ""


def _arrange(app: Sphinx, what: str, name: str, thing: object, options: object, lines: list[str]) -> None:
    """Put formula and limits first, then the picture; the check values last."""
    entry = entries().get(name)
    if entry is None:
        return
    parts = re.split(r"^(\w[\w ]*)\n-+\n", "\n".join(lines), flags=re.MULTILINE)
    summary, headings, texts = parts[0], parts[1::2], parts[2::2]
    sections = {heading: _section(heading, text) for heading, text in zip(headings, texts, strict=True)}
    first = [sections.pop("Notes", ""), *_picture(entry)]
    lines[:] = "\n".join([summary, *first, "", *sections.values(), *_checks(entry)]).splitlines()


def _section(heading: str, text: str) -> str:
    title = NAMES.get(heading, heading)
    return f"{title}\n{'-' * len(title)}\n{text}"


def _picture(entry: Entry) -> Iterator[str]:
    if found := picture(entry):
        yield from ("", f".. figure:: /{FOLDER}/{picture_name(entry)}", f"   :alt: {found.alt_text}", "")
        yield f"   {escape(found.caption)}"
    elif reason := no_picture().get(entry.name):
        yield from ("", f"No picture: {reason}.")


def _checks(entry: Entry) -> Iterator[str]:
    """Give the check values of an entry as a table; on a phone the cells of a row stand below one another."""
    if not entry.checks:
        return
    yield from ("", ".. rubric:: Check values", "", ".. list-table::", "   :class: checks", "   :header-rows: 1", "")
    for row in (("What is known", "Expected", "Kind and source"), *map(_row, entry.checks)):
        yield from (f"   {'-' if at else '* -'} {cell}".replace("   -", "     -") for at, cell in enumerate(row))
    yield ""


def _row(check: Check) -> tuple[str, str, str]:
    also = {field.name: getattr(check, field.name) for field in fields(check) if field.name not in PLACED}
    told = {**check.inputs, **{name: value for name, value in also.items() if value}}
    called = ", ".join(f"{name} = {_short(value)}" for name, value in told.items())
    quantity = f"{check.quantity}.{check.part}" if check.part else check.quantity
    margin = f" ± {check.tolerance:g}" if check.tolerance else ""
    how = f" How: {escape(check.how)}." if check.how else ""
    return (
        f"{escape(check.fact)} ``{quantity}`` of ``{called}``",
        f"{escape(_short(check.expected))}{margin} {escape(check.unit)}",
        f"*{check.kind}*: {escape(check.source)}.{how}",
    )


def _short(value: Any) -> str:
    """Write a value; of a long list its beginning."""
    if isinstance(value, dict):
        return f"({', '.join(f'{name} = {_short(item)}' for name, item in value.items())})"
    if not isinstance(value, list):
        return str(value)
    more = [f"... ({len(value)} in all)"] if len(value) > MOST_SHOWN else []
    return f"[{', '.join([*map(_short, value[:MOST_SHOWN]), *more])}]"
