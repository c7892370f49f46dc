"""What the site says of each public thing of the models: found in the library and its check values, not listed."""

import inspect
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from types import ModuleType
from typing import Any

from edgestore import models
from edgestore.verification import Check, own_check_files, read_checks


@dataclass(frozen=True)
class Entry:
    """A public function or class of the models, by the name under which a reader imports it."""

    question: str
    name: str
    thing: Any

    @property
    def path(self) -> str:
        """Its public name with that of its package: ``edgestore.models.life.fit_weibull``."""
        return f"{models.__name__}.{self.question}.{self.name}"

    @property
    def module(self) -> ModuleType:
        """The module in which it is written."""
        return sys.modules[self.thing.__module__]

    @property
    def checks(self) -> tuple[Check, ...]:
        """Its check values, and those of its methods."""
        return tuple(check for check in _checks() if check.quantity.split(".")[0] == self.name)


@cache
def entries() -> dict[str, Entry]:
    """Give every public function and class of the models by :attr:`Entry.path`, question by question.

    Returns
    -------
    dict of str to Entry
        In the order of the modules that a question is answered by.

    Examples
    --------
    >>> entries()["edgestore.models.life.fit_weibull"].module.__name__
    'edgestore.models.life.fit'
    """
    return {entry.path: entry for question in models.__all__ for entry in _of_question(question)}


def _of_question(question: str) -> Iterator[Entry]:
    for name, thing in vars(getattr(models, question)).copy().items():
        is_ours = getattr(thing, "__module__", "").startswith(f"{models.__name__}.")
        if is_ours and not name.startswith("_") and (inspect.isfunction(thing) or inspect.isclass(thing)):
            yield Entry(question, name, thing)


@cache
def _checks() -> tuple[Check, ...]:
    return tuple(read_checks(own_check_files()))
