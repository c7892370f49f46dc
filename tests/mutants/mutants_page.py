"""The page ``docs/mutants.md``: how many mutants of each module are killed, and which are alive."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from draws import HeldOut, key
from explained import Key
from reach import digest
from source_changes import KINDS, Mutant
from trials import KILLED, Result, Results

ENOUGH = 0.95
"""Share of the mutants, without the equivalent ones, that is to be killed."""

EQUIVALENT, ACCEPTED, NOT_YET = "equivalent", "alive, explained", "not tried yet"


@dataclass(frozen=True)
class Judged:
    """A mutant that was drawn and what became of it."""

    mutant: Mutant
    outcome: str
    result: Result | None


def judged(
    root: Path, folder: Path, drawn: Iterable[Mutant], explained: Mapping[Key, tuple[str, bool]]
) -> list[Judged]:
    """The mutants that were drawn with their outcomes."""
    results = Results(folder / "results.jsonl")
    contents: dict[str, str] = {}
    found = []
    for mutant in sorted(drawn):
        content = contents.setdefault(mutant.file, digest(root / mutant.file))
        result = results.of(content, mutant)
        outcome = result.outcome if result else NOT_YET
        if reason := explained.get(key(mutant)):
            outcome = EQUIVALENT if reason[1] else ACCEPTED
        found.append(Judged(mutant, outcome, result))
    return found


def score(found: Sequence[Judged]) -> float:
    """Share of the mutants that are killed, of those that were tried and are not equivalent; 1 where there is none."""
    counts = Counter(one.outcome for one in found)
    tried = len(found) - counts[EQUIVALENT] - counts[NOT_YET]
    return counts[KILLED] / tried if tried else 1.0


def is_enough(found: Sequence[Judged]) -> bool:
    """Whether all that were drawn are tried, enough are killed, and each that is alive is explained."""
    return score(found) >= ENOUGH and all(one.outcome in (KILLED, EQUIVALENT, ACCEPTED) for one in found)


def as_page(
    found: Sequence[Judged],
    offered: Mapping[str, int],
    how: str,
    held_out: Sequence[HeldOut],
    explained: Mapping[Key, tuple[str, bool]],
) -> str:
    """The page in Markdown: of the mutants that were drawn, how many each file offers, how they were drawn."""
    dates = sorted({one.result.date for one in found if one.result})
    waiting = sum(one.outcome == NOT_YET for one in found)
    cpu_s = sum(one.result.cpu_s for one in found if one.result)
    never_drawn = sum(offered.values()) - len(found)
    lines = [
        "<!-- Generated: do not edit. To write it anew: python tests/mutants -->",
        "# Mutants: does the suite notice a small fault?",
        "",
        "A mutant is the source with one small fault: an operator, a constant or a comparison changed, two arguments",
        "swapped, a term left out, a returned condition negated. It is killed if a test fails, of the models, the",
        "answers and the plan, a doctest, or an outside check value. This measures the tests, not the models: a mutant",
        "that is alive is a fault that nobody would have noticed.",
        "",
        f"Drawn: {how}; {len(found)} of {sum(offered.values())} mutants, of which {waiting} are not",
        f"tried yet as their source is now. The others were tried on {_span(dates)}, in {cpu_s / 60:.0f} minutes of",
        f"CPU. **{score(found):.1%} killed** of those that are not equivalent; {ENOUGH:.0%} is asked. Tests were",
        "written for those that were alive at first"
        + (", so that this says little of those that were never drawn." if never_drawn else "."),
        "",
        *_held_out(held_out, never_drawn, explained),
        "Not changed: texts, annotations, decorators, defaults of fields of a class, `strict` of `zip`.",
        "",
        "| Kind | Tried | Killed | Equivalent | Alive | Score |",
        "|---|---|---|---|---|---|",
        *(_row(kind, [one for one in found if one.mutant.kind == kind]) for kind in KINDS),
        _row("all", found),
        "",
        "## By module",
        "",
        "| Module | Mutants in all | Tried | Killed | Equivalent | Alive | Score |",
        "|---|---|---|---|---|---|---|",
    ]
    for file in offered:
        own = [one for one in found if one.mutant.file == file]
        if own:
            lines.append(_row(f"`{file.removeprefix('edgestore/')}` | {offered[file]}", own))
    for title, outcomes in {
        "Alive, not explained": {one.outcome for one in found} - {KILLED, EQUIVALENT, ACCEPTED, NOT_YET},
        "Alive, explained": {ACCEPTED},
        "Equivalent": {EQUIVALENT},
    }.items():
        lines += ["", f"## {title}", "", *(_listed(one, explained) for one in found if one.outcome in outcomes)]
        lines += ["None."] if lines[-1] == "" else []
    return "\n".join(lines) + "\n"


def _held_out(draws: Sequence[HeldOut], rest: int, explained: Mapping[Key, tuple[str, bool]]) -> list[str]:
    """What the first tries of held-out draws say of the mutants that were never drawn."""
    if not draws:
        return []
    low, high = draws[-1].interval(explained)
    return [
        "## Draws that were held out",
        "",
        "A held-out draw is taken at random from all mutants that no draw before it had. Its score at first try,",
        "before anybody has seen what is in it, speaks for all that were never drawn. Then tests are written for those",
        "that were alive, the draw joins the sample, and the next draw says what these tests were worth. By the last",
        f"draw, {low:.1%} to {high:.1%} (95 % interval) of the {rest} that were never drawn are killed."
        if rest
        else f"draw, {low:.1%} to {high:.1%} (95 % interval) of the rest would have been killed; by now all are drawn.",
        "",
        "| Seed | First tried | Drawn | Equivalent | Killed at first try | Score | 95 % interval |",
        "|---|---|---|---|---|---|---|",
        *(_draw_row(draw, explained) for draw in draws),
        "",
        "## By kind",
        "",
    ]


def _draw_row(draw: HeldOut, explained: Mapping[Key, tuple[str, bool]]) -> str:
    tried = draw.tried(explained)
    low, high = draw.interval(explained)
    return (
        f"| {draw.seed} | {draw.date} | {draw.count} | {draw.count - tried} | {draw.killed} "
        f"| {draw.killed / tried:.1%} | {low:.1%} to {high:.1%} |"
    )


def _span(dates: Sequence[str]) -> str:
    return " to ".join(dict.fromkeys((dates[0], dates[-1]))) if dates else "no day yet"


def _row(name: str, found: Sequence[Judged]) -> str:
    counts = Counter(one.outcome for one in found)
    tried = len(found) - counts[NOT_YET]
    alive = tried - counts[KILLED] - counts[EQUIVALENT]
    return f"| {name} | {tried} | {counts[KILLED]} | {counts[EQUIVALENT]} | {alive} | {score(found):.0%} |"


def _listed(one: Judged, explained: Mapping[Key, tuple[str, bool]]) -> str:
    mutant = one.mutant
    reason, _ = explained.get(key(mutant), (f"{one.outcome}.", False))
    return f"- `{mutant.file.removeprefix('edgestore/')}`, `{mutant.function}`: `{mutant.change}`. {reason}"
