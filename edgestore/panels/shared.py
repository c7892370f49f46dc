"""Widgets that share layout and style: each of these is a thing of its own that a page fetches and builds.

Left to itself every widget makes both, so that half of what a page waits for says nothing.
"""

from collections.abc import Mapping
from typing import Any

import ipywidgets as widgets

_KEPT: dict[tuple[Any, ...], widgets.Widget] = {}


def shared(kind: type[widgets.DOMWidget], *content: Any, **traits: Any) -> Any:
    """Give a new widget with the layout and the style of all others that ask for the same.

    Parameters
    ----------
    kind : type of DOMWidget
        What is made.
    *content, **traits
        What it is made with. ``layout`` and ``style`` are mappings of str to str; left out, they are the default.

    Returns
    -------
    DOMWidget
        The widget. Its layout and style are never to be changed, since they are not its own: a widget whose layout
        changes is made with a ``widgets.Layout`` of its own.
    """
    for name in ("layout", "style"):
        made_by = kind.class_traits().get(name)
        asked = traits.get(name, {})
        if made_by is not None and isinstance(asked, Mapping):
            traits[name] = _kept(made_by.klass, asked)
    return kind(*content, **traits)


def plain_layout() -> widgets.Layout:
    """Give the layout of all widgets that ask for none, for a class of ours, which :func:`shared` does not make."""
    return _kept(widgets.Layout, {})


def _kept(kind: type[widgets.Widget], values: Mapping[str, str]) -> widgets.Widget:
    key = (kind, *sorted(values.items()))
    kept = _KEPT.get(key)
    if kept is None or kept.comm is None:  # closed, as a kernel finds those that were made before it was forked
        kept = _KEPT[key] = kind(**values)
    return kept
