"""Tries mutants in forked children of a process of pytest that has collected all tests: see ``__main__``."""

import ast
import json
import math
import os
import resource
import signal
import sys
import time
from collections.abc import Iterator, Set
from dataclasses import asdict, dataclass
from pathlib import Path

import pytest
from draws import key
from in_effect import Loaded, NotImportedError, mutant_trees
from reach import ByLine, Reach, digest
from source_changes import Mutant

KILLED, ALIVE, UNREACHED, BROKEN = "killed", "alive", "not reached", "not tried"

ENDS = {0: ALIVE, 1: KILLED, 2: BROKEN}
"""How a child ends; one that is ended by a signal ran beyond its time or memory, which is noticed too."""

TIMES_NORMAL, MORE_S = 5, 10
"""Limit of the CPU time of a test with a mutant: so many times its time under coverage, and so many seconds."""

MOST_BYTES = 8_000_000_000
"""A mutant that wants more memory is noticed: a loop without end may fill the machine."""


@dataclass(frozen=True)
class Result:
    """What became of a mutant of a file with a certain content."""

    digest: str
    mutant: Mutant
    outcome: str
    tests: int
    cpu_s: float
    by: str
    date: str


class Results:
    """Results in a file, a line of JSON each, so that a run that is ended goes on where it was."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._kept: dict[tuple[str, str, str, str], Result] = {}
        for line in path.read_text(encoding="utf-8").splitlines() if path.exists() else ():
            row = json.loads(line)
            self._keep(Result(**row | {"mutant": Mutant(**row["mutant"])}))

    def _keep(self, result: Result) -> None:
        self._kept[result.digest, *key(result.mutant)] = result

    def add(self, result: Result) -> None:
        """Keep a result, in the file too."""
        self._keep(result)
        with self._path.open("a", encoding="utf-8") as file:
            file.write(json.dumps(asdict(result)) + "\n")

    def of(self, content: str, mutant: Mutant) -> Result | None:
        """What is known of a mutant of a file with that digest."""
        return self._kept.get((content, *key(mutant)))


@dataclass(frozen=True)
class Chosen:
    """What a run tries: the files, the mutants that are drawn of them, how many at a time."""

    files: tuple[str, ...]
    drawn: Set[Mutant]
    jobs: int


@dataclass
class _Trial:
    """A mutant that is being tried by a child."""

    mutant: Mutant
    tests: int
    said: Path


class Trials:
    """A plugin of pytest that tries mutants where pytest would run the tests."""

    def __init__(self, root: Path, folder: Path, chosen: Chosen, explained: set[tuple[str, str, str]]) -> None:
        self._root, self._folder, self._chosen, self._explained = root, folder, chosen, explained
        self._results = Results(folder / "results.jsonl")
        self._running: dict[int, _Trial] = {}
        self._said: Path | None = None

    @pytest.hookimpl(tryfirst=True)
    def pytest_configure(self) -> None:
        """Let hypothesis find a counter-example, and not look for the smallest one or keep it."""
        from hypothesis import Phase, settings  # not before pytest has made its plugin ready

        quick = settings.get_profile("edgestore")
        settings.register_profile("mutants", quick, phases=(Phase.explicit, Phase.generate), database=None)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """End a child at the first test that fails."""
        if self._said and report.failed:
            self._said.write_text(report.nodeid, encoding="utf-8")
            os._exit(1)

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Measure what the tests reach, then try the mutants."""
        for tests in session.config.getoption("file_or_dir"):
            assert any(item.nodeid.startswith(tests) for item in session.items), f"nothing collected of {tests}"
        loaded = Loaded(self._root)
        reach = Reach(self._root, self._folder)
        if unknown := reach.unknown(session.items):
            print(f"measuring what {len(unknown)} tests reach", flush=True)
            child = os.fork()
            if child == 0:
                _silence()
                try:
                    reach.measure(unknown, loaded.forget)
                except BaseException:
                    os._exit(1)
                os._exit(0)
            if os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]):
                raise RuntimeError("the tests could not be measured")
            reach = Reach(self._root, self._folder)
        items = {item.nodeid: item for item in session.items}
        lines = reach.by_line()
        for mutant, tree in self._to_try():
            tests = in_order(mutant, lines, reach.seconds, items)
            self._wait(self._chosen.jobs - 1)
            if not tests:
                self._tell(mutant, UNREACHED, 0, 0.0, "")
                continue
            self._start(loaded, mutant, tree, {test: reach.seconds[test.nodeid] for test in tests})
        self._wait(0)
        return True

    def _to_try(self) -> Iterator[tuple[Mutant, ast.Module]]:
        """The mutants that are drawn and neither explained nor known to be killed."""
        for file in self._chosen.files:
            content = digest(self._root / file)
            for mutant, tree in mutant_trees(self._root, file):
                known = self._results.of(content, mutant)
                is_killed = known is not None and known.outcome == KILLED
                if mutant in self._chosen.drawn and key(mutant) not in self._explained and not is_killed:
                    yield mutant, tree

    def _start(self, loaded: Loaded, mutant: Mutant, tree: ast.Module, seconds: dict[pytest.Item, float]) -> None:
        """Try a mutant in a child, with the tests that reach it and what each takes."""
        tests = list(seconds)
        said = self._folder / f"said-{os.getpid()}-{len(self._running)}-{time.monotonic_ns()}"
        child = os.fork()
        if child:
            self._running[child] = _Trial(mutant, len(tests), said)
            return
        try:
            _silence()
            resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
            loaded.put_in_effect(mutant, tree)
            self._said = said
            for test, following in zip(tests, [*tests[1:], None], strict=True):
                _limit(math.ceil(TIMES_NORMAL * seconds[test] + MORE_S))
                test.config.hook.pytest_runtest_protocol(item=test, nextitem=following)
        except NotImportedError as error:
            said.write_text(f"not imported: {error}", encoding="utf-8")
            os._exit(1)
        except BaseException as error:
            said.write_text(repr(error), encoding="utf-8")
            os._exit(2)
        os._exit(0)

    def _wait(self, most: int) -> None:
        """Wait until at most so many children run, and keep what the others found."""
        while len(self._running) > most:
            child, status, used = os.wait3(0)
            trial = self._running.pop(child)
            ended = os.waitstatus_to_exitcode(status)
            said = trial.said.read_text(encoding="utf-8") if trial.said.exists() else ""
            trial.said.unlink(missing_ok=True)
            by = f"ended by signal {-ended}" if ended < 0 else said
            self._tell(trial.mutant, ENDS.get(ended, KILLED), trial.tests, used.ru_utime + used.ru_stime, by)

    def _tell(self, mutant: Mutant, outcome: str, tests: int, cpu_s: float, by: str) -> None:
        today = time.strftime("%Y-%m-%d")
        self._results.add(Result(digest(self._root / mutant.file), mutant, outcome, tests, round(cpu_s, 2), by, today))
        print(
            f"{outcome:11} {cpu_s:6.1f} s  {mutant.file}:{mutant.line} {mutant.function}: {mutant.change}", flush=True
        )


def in_order(
    mutant: Mutant, lines: ByLine, seconds: dict[str, float], items: dict[str, pytest.Item]
) -> list[pytest.Item]:
    """The tests that reach a mutant: its module's own first, then file by file, the quickest first.

    File by file, since what the tests of a file share is made once for a run of them.
    """
    found = [test for test in lines.tests(mutant.file, mutant.line, mutant.function) if test in items]
    by_file: dict[str, list[str]] = {}
    for test in sorted(found, key=lambda test: (seconds[test], test)):
        by_file.setdefault(str(items[test].path), []).append(test)
    own = Path(mutant.file).stem.strip("_")

    def rank(file: str) -> tuple[bool, float]:
        tests = by_file[file]
        return own not in Path(file).stem, sum(seconds[test] for test in tests) / len(tests)

    return [items[test] for file in sorted(by_file, key=rank) for test in by_file[file]]


def _limit(more_s: int) -> None:
    """Let this process end when it has taken so much more CPU time, or has waited for many times as long."""
    resource.setrlimit(resource.RLIMIT_CPU, (math.ceil(time.process_time()) + more_s, resource.RLIM_INFINITY))
    signal.alarm(20 * more_s)


def _silence() -> None:
    """Send what a child prints nowhere."""
    with Path(os.devnull).open("w") as nowhere:
        os.dup2(nowhere.fileno(), sys.__stdout__.fileno())
        os.dup2(nowhere.fileno(), sys.__stderr__.fileno())
