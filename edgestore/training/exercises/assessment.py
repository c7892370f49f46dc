"""The sheet for a practical assessment: fit, swap, seal and prove a card; printed, filled in by hand, not kept here."""

import tomllib
from dataclasses import dataclass
from functools import cache
from html import escape
from pathlib import Path
from typing import Any

from edgestore.look import filled
from edgestore.text import MADE_WITH
from edgestore.training.fitting.cautions import RULE, Caution, cautions_for

MOST_POINTS = 2
"""For each thing to show: 0 not shown, 1 with help, 2 alone."""

PASSED = 0.8
"""Share of the points that is asked of each part (common practice, no source); a course may ask for more."""


@dataclass(frozen=True)
class Part:
    """A part of the assessment: its title, what is shown, each for ``MOST_POINTS``, and the cautions that apply."""

    title: str
    points: tuple[str, ...]
    cautions: tuple[Caution, ...]

    @property
    def most(self) -> int:
        """Points that there are in all."""
        return MOST_POINTS * len(self.points)

    @property
    def least(self) -> int:
        """Points that are asked."""
        return -int(-self.most * PASSED // 1)


@cache
def parts() -> tuple[Part, ...]:
    """All parts in the order of the work."""
    return tuple(Part(row["title"], tuple(row["points"]), cautions_for(row["cautions"])) for row in _read()["part"])


@cache
def stops() -> tuple[str, ...]:
    """What ends the assessment at once."""
    return tuple(row["text"] for row in _read()["stop"])


@cache
def _read() -> dict[str, list[dict[str, Any]]]:
    return tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))


STYLE = Path(__file__).with_name("template") / "assessment.css"


def assessment_page() -> str:
    """The assessment sheet as a page to print: nothing in it is filled in, and no name is kept anywhere.

    Returns
    -------
    str
        HTML that holds all it shows.
    """
    stop = "".join(f"<li>&#9744; {escape(text)}</li>" for text in stops())
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="generator" content="{escape(MADE_WITH)}">
<title>Practical assessment</title>
<style>{filled(STYLE.read_text(encoding="utf-8"))}</style>
</head>
<body>
<main>
<h1>Practical assessment: fit, swap, seal, prove</h1>
<p><strong>{escape(RULE)}</strong> Practise on the ground, on a camera that is not in service. Whoever may
not climb there does not climb.</p>
{_line("Learner", "Day", "Housing")}
<div class="stop">
<h2>Stop at once</h2>
<p>Say “Stop”, make it safe, tick what it was. The assessment ends here and is not passed, whatever the points are. Talk
it over; it may be taken again.</p>
<ul style="list-style: none; padding: 0">{stop}</ul>
</div>
<p>Points: 0 not shown, 1 with help, {MOST_POINTS} alone. Each part needs {PASSED:.0%} of its points, rounded up
(common practice, no source).</p>
{"".join(map(_part, parts()))}
<div class="sign">
<h2>Result</h2>
<p>&#9744; Passed: no stop, and in each part at least the points that are asked. &#9744; Not yet. To practise again:</p>
{_line("")}
<p>The learner has seen the points and has heard why.</p>
{_line("Assessor signs", "Learner signs", "Day")}
</div>
<p>This sheet holds personal data once it is filled in: it is kept as the course keeps its papers, and no longer than
needed. No name is stored by the program.</p>
<p>Made with {escape(MADE_WITH)}.</p>
</main>
</body>
</html>
"""


def _part(part: Part) -> str:
    boxes = "".join(f'<td class="box">&#9744; {points}</td>' for points in range(MOST_POINTS + 1))
    rows = "".join(f'<tr><th scope="row">{escape(point)}</th>{boxes}</tr>' for point in part.points)
    cautions = "".join(
        f'<p class="caution"><strong>Warning: {escape(one.title)}.</strong> {escape(one.text)}</p>'
        for one in part.cautions
    )
    columns = MOST_POINTS + 1
    return f"""<section>
<h2>{escape(part.title)}</h2>
{cautions}
<table>
<thead><tr><th scope="col">What the learner does</th><th scope="colgroup" colspan="{columns}">Points</th></tr></thead>
<tbody>{rows}</tbody>
<tfoot><tr><th scope="row">Sum, of {part.most}; asked: {part.least}</th><td colspan="{columns}"></td></tr></tfoot>
</table>
</section>
"""


def _line(*what: str) -> str:
    return '<p class="line">' + "".join(f"<span>{escape(one)}<b></b></span>" for one in what) + "</p>"
