"""The page ``docs/mutants.md``: how many mutants of each module are killed, and which are alive."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from explained import Key
from in_effect import mutant_trees
from reach import digest
from source_changes import KINDS, Mutant
from trials import KILLED, Chosen, Result, Results, sample

ENOUGH = 0.95
"""Share of the mutants, without the equivalent ones, that is to be killed."""

EQUIVALENT, ACCEPTED, NOT_YET = "equivalent", "alive, explained", "not tried yet"


@dataclass(frozen=True)
class Judged:
    """A mutant of the sample and what became of it."""

    mutant: Mutant
    outcome: str
    result: Result | None


def judged(
    root: Path, folder: Path, chosen: Chosen, explained: Mapping[Key, tuple[str, bool]]
) -> tuple[list[Judged], Counter[str]]:
    """The mutants of the sample with their outcomes, and how many each file has in all."""
    results = Results(folder / "results.jsonl")
    found, offered = [], Counter[str]()
    for file in chosen.files:
        content = digest(root / file)
        mutants = [mutant for mutant, _ in mutant_trees(root, file)]
        offered[file] = len(mutants)
        for mutant in sample(mutants, chosen.per_module, chosen.seed):
            reason = explained.get((file, mutant.function, mutant.change))
            result = results.of(content, mutant)
            outcome = result.outcome if result else NOT_YET
            if reason:
                outcome = EQUIVALENT if reason[1] else ACCEPTED
            found.append(Judged(mutant, outcome, result))
    return found, offered


def score(found: Sequence[Judged]) -> float:
    """Share of the mutants that are killed, of those that are not equivalent; 1 where there is none."""
    counts = Counter(one.outcome for one in found)
    tried = len(found) - counts[EQUIVALENT]
    return counts[KILLED] / tried if tried else 1.0


def is_enough(found: Sequence[Judged]) -> bool:
    """Whether enough mutants are killed and each that is alive is explained."""
    return score(found) >= ENOUGH and all(one.outcome in (KILLED, EQUIVALENT, ACCEPTED) for one in found)


def as_page(
    found: Sequence[Judged], offered: Counter[str], chosen: Chosen, explained: Mapping[Key, tuple[str, bool]]
) -> str:
    """The page in Markdown."""
    dates = sorted({one.result.date for one in found if one.result})
    cpu_s = sum(one.result.cpu_s for one in found if one.result)
    drawn = f"at most {chosen.per_module} of each module, drawn by seed {chosen.seed}" if chosen.per_module else "all"
    lines = [
        "<!-- Generated: do not edit. To write it anew: python tests/mutants -->",
        "# Mutants: does the suite notice a small fault?",
        "",
        "A mutant is the source with one small fault: an operator, a constant or a comparison changed, two arguments",
        "swapped, a term left out, a returned condition negated. It is killed if a test fails, of the models, the",
        "answers and the plan, a doctest, or an outside check value. This measures the tests, not the models: a mutant",
        "that is alive is a fault that nobody would have noticed.",
        "",
        f"Sampled: {drawn}; {len(found)} of {sum(offered.values())} mutants. Tried on {_span(dates)}, in",
        f"{cpu_s / 60:.0f} minutes of CPU. **{score(found):.1%} killed** of those that are not equivalent;",
        f"{ENOUGH:.0%} is asked. Tests were written for those of a sample that were alive at first: of those that were",
        "never drawn, fewer are killed. A larger sample tells how many.",
        "",
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
    for file in chosen.files:
        own = [one for one in found if one.mutant.file == file]
        if own:
            lines.append(_row(f"`{file.removeprefix('edgestore/')}` | {offered[file]}", own))
    for title, outcomes in {
        "Alive, not explained": {one.outcome for one in found} - {KILLED, EQUIVALENT, ACCEPTED},
        "Alive, explained": {ACCEPTED},
        "Equivalent": {EQUIVALENT},
    }.items():
        lines += ["", f"## {title}", "", *(_listed(one, explained) for one in found if one.outcome in outcomes)]
        lines += ["None."] if lines[-1] == "" else []
    return "\n".join(lines) + "\n"


def _span(dates: Sequence[str]) -> str:
    return " to ".join(dict.fromkeys((dates[0], dates[-1]))) if dates else "no day yet"


def _row(name: str, found: Sequence[Judged]) -> str:
    counts = Counter(one.outcome for one in found)
    alive = len(found) - counts[KILLED] - counts[EQUIVALENT]
    return f"| {name} | {len(found)} | {counts[KILLED]} | {counts[EQUIVALENT]} | {alive} | {score(found):.0%} |"


def _listed(one: Judged, explained: Mapping[Key, tuple[str, bool]]) -> str:
    mutant = one.mutant
    reason, _ = explained.get((mutant.file, mutant.function, mutant.change), (f"{one.outcome}.", False))
    return f"- `{mutant.file.removeprefix('edgestore/')}`, `{mutant.function}`: `{mutant.change}`. {reason}"
