"""Results of the checks as a table for a terminal and as the page docs/verification.md; recomputes nothing."""

import math
import shutil
import textwrap
from collections.abc import Iterator
from itertools import groupby, zip_longest
from pathlib import Path
from typing import Any

import pandas as pd

from edgestore.plain_file import toml_file
from edgestore.verification.check_file import KINDS
from edgestore.verification.quantities import PUBLIC

NAME_WIDTH = 31
NUMBER_WIDTH = 10
INDENT = "      "
GOT_FORMAT = ".7g"
MOST_SHOWN = 6
"""Longer lists are cut: a week has 168 rates."""

PAGE_HEAD = """\
<!-- Generated: do not edit. To write it anew: python -m edgestore.verification docs/verification.md -->
# Check values from outside the library

Every value here comes from somebody else or from a computation that does not use this library; none was made by
running it. `edgestore verify` recomputes them all, and so do the tests.

- *published*: this very number is printed in the source, at the place that is named; "read" means that we read it
  there, in a stored copy of the page.
- *derived*: not printed, but follows from a rule or from numbers that are; *how* says by which step.
- *recomputed*: a published or derived form, evaluated independently of this library, or a measurement; *how* says how.
- *common practice, no source*: a rule of the trade. It holds here because of the arithmetic, not because it is said.
- *from memory*: known to us, not looked up.

## Your own checks

`edgestore verify --also FILE.toml` runs checks of yours in the same form, and ends with exit code 1 when one fails:

```toml
[[check]]
fact = "Our 64 GB cards hold a day and a half at 4 Mbit/s."
quantity = "retention_h"
inputs = { capacity_gb = 64, bitrate_mbit_s = 4 }
expected = 36
tolerance = 1
unit = "h"
kind = "recomputed"
source = "our own log"
how = "measured: age of the oldest clip, read every Monday"
```

`quantity` is a public function of `edgestore.models`, `inputs` are its arguments: numbers, texts, or lists of them,
and for a law of life a table of its fields, as `card = { wear_life_years = 8, wear_shape = 3 }`. It can be a method of
a law too, as `CardLife.survival`; then `inputs` has the fields of the law and the arguments of the method.
`expected` is a number, a text or a list, `tolerance` is absolute and in the same unit (0 for a text); take it from
the digits that the source prints. `tolerance_percent` states it in percent of the largest expected number instead;
above 10 % it is refused. `range = [2.1, 2.4]` stands for both where a source prints a range. With `changed`, a table
of the inputs that differ, and `compare`, the expected value is the `difference` that the change makes, or the `ratio`
of the quantity with the changed inputs to that with the stated ones:

```toml
[[check]]
fact = "Where only nine tenths of a card are usable, it must be a ninth larger."
quantity = "capacity_gb_for_retention"
inputs = { retention_h = 24, bitrate_mbit_s = 4 }
changed = { usable_fraction = 0.9 }
compare = "ratio"
expected = 1.111111
tolerance_percent = 0.001
unit = "-"
kind = "derived"
source = "what is written is the usable fraction times the capacity"
how = "10 / 9"
```

The answers `holding`, `lasting`, `certainty`, `upkeep` and `saving` can be named as well, with one of their numbers as
`part`. The other answers have no check: `flash_use` plays back what `simulate`, which has its own, is given; `writing`
takes footage, and what is asked of exported footage, of a label or of registers takes
files or what was read from them, which a row does not state. The models beneath them have theirs.

Three quantities read files, whose paths start at the folder of the check's file: `plan_of_site` (cameras, cards,
settings, camera, column) gives one cell of the plan, `happened_at_site` (cameras, cards, settings, answers, name of a
camera or a kind of card, column, band) one of what happened, `clip` (file, figure) one figure of a video file.

A `derived` or `recomputed` value must have `how`; the source of a `published` one
names the place: a section, table, figure, equation or page. When a function gives several things, `part` names the
one that is meant, as `worst_h` of `retention_through_week`.
"""

FUNCTIONS_HEAD = f"""\
## Functions of the models

How many checks each public function has, by kind, and why none is published where there is none.

| Function | {" | ".join(KINDS)} | Why none is published |
|---|{"---|" * len(KINDS)}---|"""

TABLE_HEAD = """\
| Fact | Quantity and inputs | Expected | Got | Passed | Kind and source |
|---|---|---|---|---|---|"""


def as_text(results: pd.DataFrame, width: int | None = None, *, everything: bool = False) -> str:
    """Write the results as a table for a terminal.

    Parameters
    ----------
    results : DataFrame
        From :func:`edgestore.verification.run`.
    width : int, optional
        Characters a line; by default those of the terminal. Not less than 80.
    everything : bool
        Whether the checks that passed are listed too.

    Returns
    -------
    str
        How many checks passed and failed, in all and by kind; then the failed ones, and the others when they are asked
        for, with what each rests on under its numbers.
    """
    width = max(width or shutil.get_terminal_size().columns, 80)
    listed = results.sort_values("passed", kind="stable") if everything else results[~results.passed]
    blocks = ["\n".join(_block(row, width)) for row in listed.itertuples()]
    head = ["", _line("", "quantity", "expected", "got", "tolerance", "unit"), "-" * width] if blocks else []
    return "\n".join([*_counts(results), *head, *blocks])


def as_markdown(results: pd.DataFrame) -> str:
    """Write the results as the page docs/verification.md: one table a file of checks.

    Parameters
    ----------
    results : DataFrame
        From :func:`edgestore.verification.run`.

    Returns
    -------
    str
        The page, with a line break at its end.
    """
    parts = [PAGE_HEAD, *_functions(results), "## Results\n"]
    for file, rows in results.groupby("file", sort=False):
        parts.append("\n".join([f"### {file}\n", TABLE_HEAD, *map(_markdown_row, rows.itertuples()), ""]))
    return "\n".join(parts)


def unpublished() -> dict[str, str]:
    """Why a public function of the models has no published check value, by its name."""
    path = Path(__file__).with_name("no_published.toml")
    reasons: dict[str, str] = toml_file(path, path.name, "a table of function = reason")
    return reasons


def _functions(results: pd.DataFrame) -> Iterator[str]:
    """Give the table of the public functions of the models: the checks of each by kind, and why none is published."""
    counts = pd.crosstab(results.quantity, results.kind).reindex(index=list(PUBLIC), columns=list(KINDS), fill_value=0)
    yield FUNCTIONS_HEAD
    reasons = unpublished()
    for name, numbers in zip(counts.index, counts.to_numpy().tolist(), strict=True):
        cells = (f"`{name}`", *(str(number or "") for number in numbers), reasons.get(name, ""))
        yield f"| {' | '.join(cells)} |"
    yield ""


def _block(row: Any, width: int) -> Iterator[str]:
    """Give the lines of one check: its numbers, then what they rest on across the page."""
    refused = isinstance(row.got, str)
    got = [] if refused else _cells(row.got, GOT_FORMAT)
    numbers = list(zip_longest(_cells(row.expected), got, fillvalue=""))
    yield _line("ok" if row.passed else "FAIL", _name(row), *numbers[0], f"{row.tolerance:.3g}", row.unit)
    for pair in numbers[1:]:
        yield _line("", "", *pair, "", "")
    how = f"how: {row.how}" if row.how else ""
    message = f"got {row.got}" if refused else ""
    for text in filter(None, (_called(row), row.fact, f"{row.kind}: {row.source}", how, message)):
        yield from textwrap.wrap(text, width, initial_indent=INDENT, subsequent_indent=INDENT + "  ")


def _line(mark: str, name: str, expected: str, got: str, tolerance: str, unit: str) -> str:
    # What is long, a name or a number, takes room from the blanks before the numbers after it.
    line = f"{mark:5} {name:{NAME_WIDTH}}"
    end = len(f"{'':5} {'':{NAME_WIDTH}}")
    for number in (expected, got, tolerance):
        end += 1 + NUMBER_WIDTH
        line += f" {number:>{max(end - len(line) - 1, 0)}}"
    return f"{line} {unit}".rstrip()


def _markdown_row(row: Any) -> str:
    margin = f" ± {row.tolerance:g}" if row.tolerance else ""
    expected = f"{', '.join(_cells(row.expected))}{margin} {row.unit}"
    got = row.got if isinstance(row.got, str) else ", ".join(_cells(_as_exact(row.got, row.tolerance), GOT_FORMAT))
    rests_on = f"*{row.kind}*: {row.source}" + (f"; *how*: {row.how}" if row.how else "")
    passed = "yes" if row.passed else "**no**"
    cells = (row.fact, f"`{_name(row)}` {_called(row)}", expected, got, passed, rests_on)
    return "| " + " | ".join(cell.replace("|", "\\|").replace("\n", " ") for cell in cells) + " |"


def _name(row: Any) -> str:
    return f"{row.quantity}.{row.part}" if row.part else str(row.quantity)


def _called(row: Any) -> str:
    """Write the inputs, and what changes in them where a difference or a ratio is checked."""
    return _inputs(row.inputs) + (f"; {row.compare} made by {_inputs(row.changed)}" if row.compare else "")


def _inputs(inputs: dict[str, Any]) -> str:
    return ", ".join(f"{name} = {_short(value)}" for name, value in inputs.items())


def _short(value: Any) -> str:
    """Write an argument; equal neighbours of a long list are counted, and the list cut."""
    if isinstance(value, dict):
        return f"({_inputs(value)})"
    if not isinstance(value, list):
        return str(value)
    if len(value) <= MOST_SHOWN:
        return f"[{', '.join(map(_short, value))}]"
    runs = [f"{_short(item)} ({len(list(same))} times)" for item, same in groupby(value)]
    return f"[{', '.join(runs[:MOST_SHOWN])}{', ...' if len(runs) > MOST_SHOWN else ''}]"


def _as_exact(value: Any, tolerance: float) -> Any:
    """Round to a tenth of the tolerance, so that the page is the same on every processor; whole where there is none."""
    if isinstance(value, list):
        return [_as_exact(item, tolerance) for item in value]
    if not isinstance(value, float) or tolerance == 0:
        return value
    return round(value, 1 - math.floor(math.log10(tolerance)))


def _cells(value: Any, form: str = "") -> list[str]:
    """Write a number, or each of a list; without a format as it stands in the file of checks."""
    if isinstance(value, list):
        return [cell for item in value for cell in _cells(item, form)]
    return [format(value, form if isinstance(value, float) else "")]


def _counts(results: pd.DataFrame) -> Iterator[str]:
    """Give the count of all checks, then a line for each kind."""
    yield f"{len(results)} checks: {_passed(results)}."
    width = max(map(len, results.kind), default=0)
    for kind in (kind for kind in KINDS if kind in set(results.kind)):
        yield f"  {kind:{width}}  {_passed(results[results.kind == kind])}"


def _passed(results: pd.DataFrame) -> str:
    failed = int((~results.passed).sum())
    return f"{failed} failed, {len(results) - failed} passed" if failed else f"all {len(results)} passed"
