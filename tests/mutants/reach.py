"""Which tests run a line of the package, and how long each takes: measured once, by coverage with a context a test."""

import ast
import hashlib
import json
import re
import time
from collections import defaultdict
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest
from coverage import Coverage, CoverageData
from source_changes import definitions

PACKAGE = "edgestore"


def digest(*files: Path) -> str:
    """Digest of the contents of files."""
    total = hashlib.sha256()
    for file in files:
        total.update(file.read_bytes())
    return total.hexdigest()[:16]


class Reach:
    """What is known of the tests: kept in a folder, measured again for a changed file of tests, or a changed source.

    Attributes
    ----------
    seconds : dict
        CPU time by test.
    """

    # A fixture that several tests share runs once: what it reaches is kept under its own name, with who uses it.

    def __init__(self, root: Path, folder: Path) -> None:
        self._root, self._folder = root, folder
        self.seconds: dict[str, float] = {}
        self._users: dict[str, list[str]] = {}
        self._digests: dict[str, str] = {}
        self._sources = digest(*sorted((root / PACKAGE).rglob("*.py")))
        if self._index.exists():
            kept = json.loads(self._index.read_text(encoding="utf-8"))
            if kept["sources"] == self._sources:
                self.seconds, self._users, self._digests = kept["seconds"], kept["users"], kept["digests"]

    @property
    def _index(self) -> Path:
        return self._folder / "tests.json"

    @property
    def _lines(self) -> Path:
        return self._folder / "lines.sqlite"

    def unknown(self, items: Sequence[pytest.Item]) -> list[pytest.Item]:
        """Tests whose file is not known as it is."""
        digests = {item.path: digest(item.path) for item in items}
        return [item for item in items if self._digests.get(str(item.path)) != digests[item.path]]

    def measure(self, items: Sequence[pytest.Item], forget: Callable[[], None]) -> None:
        """Run tests and keep what they reach; what is known already of the tests of other files stays."""
        if not self._digests:
            self._lines.unlink(missing_ok=True)
        cover = Coverage(data_file=self._lines, source=[str(self._root / PACKAGE)], config_file=False)
        cover.load()
        cover.start()
        shared = _Shared(cover, items, self._users)
        items[0].config.pluginmanager.register(shared)
        for item, following in zip(items, [*items[1:], None], strict=True):
            forget()
            shared.running = item.nodeid
            cover.switch_context(item.nodeid)
            start = time.process_time()
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
            self.seconds[item.nodeid] = round(time.process_time() - start, 4)
        cover.stop()
        cover.save()
        self._digests |= {str(item.path): digest(item.path) for item in items}
        kept = {"sources": self._sources, "digests": self._digests, "seconds": self.seconds, "users": self._users}
        self._index.write_text(json.dumps(kept), encoding="utf-8")

    def by_line(self) -> "ByLine":
        """What the tests reach, read anew."""
        data = CoverageData(str(self._lines))
        data.read()
        return ByLine(self._root, data, self._users, self.seconds)


class _Shared:
    """Keeps what a shared fixture reaches apart from the test that happens to be the first to want it."""

    def __init__(self, cover: Coverage, items: Sequence[pytest.Item], users: dict[str, list[str]]) -> None:
        self._cover, self._items, self._users = cover, items, users
        self.running = ""

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any) -> Generator[None, Any, Any]:
        """Name what is reached after the fixture while it is set up."""
        if fixturedef.scope == "function":
            return (yield)
        name = f"fixture {fixturedef.baseid}::{fixturedef.argname}"
        self._users[name] = [
            item.nodeid
            for item in self._items
            if item.nodeid.startswith(fixturedef.baseid) and fixturedef.argname in getattr(item, "fixturenames", ())
        ]
        self._cover.switch_context(name)
        try:
            return (yield)
        finally:
            self._cover.switch_context(self.running)


class ByLine:
    """The tests that run a line. What runs at import, or compiled, has those of its function or of its users."""

    def __init__(self, root: Path, data: CoverageData, users: dict[str, list[str]], tests: Iterable[str]) -> None:
        self._root, self._data, self._users_of = root, data, users
        self._tests: dict[str, list[str]] = defaultdict(list)
        for test in tests:
            self._tests[test.partition("::")[0]].append(test)
        self._known: dict[str, dict[int, list[str]]] = {}
        self._bodies: dict[tuple[str, str], range] = {}
        self._readers: dict[str, list[tuple[str, int, str]]] = defaultdict(list)
        for path in sorted((root / PACKAGE).rglob("*.py")):
            file = path.relative_to(root).as_posix()
            for name, node in definitions(ast.parse(path.read_text(encoding="utf-8"))):
                self._bodies[file, name] = range(node.lineno, (node.end_lineno or node.lineno) + 1)
                for read, line in _names(node):
                    self._readers[read].append((file, line, name.rpartition(".")[2]))

    def tests(self, file: str, line: int, name: str) -> set[str]:
        """Tests that run a line of a file in the function or constant of that name; of a constant, its readers too."""
        body = self._bodies[file, name]
        inside = (self._at(file, other) for other in body)
        found = self._at(file, line) or set().union(*inside) or self._users(file, name.rpartition(".")[2], set())
        return found | self._reading(name) if name.isupper() else found

    def _reading(self, name: str) -> set[str]:
        """Tests of the files of tests that read a name themselves."""
        reads = re.compile(rf"\b{name}\b")
        texts = {file: (self._root / file).read_text(encoding="utf-8") for file in self._tests if "test_" in file}
        return {test for file, text in texts.items() if reads.search(text) for test in self._tests[file]}

    def _users(self, file: str, name: str, asked: set[str]) -> set[str]:
        """Tests that run a line where a name of a file is read, or use what of that file follows from it."""
        found: set[str] = set()
        asked.add(name)
        for place, line, user in self._readers[name]:
            here = self._at(place, line)
            follows = place == file and user not in asked
            found |= here or (self._users(file, user, asked) if follows else set())
        return found

    def _at(self, file: str, line: int) -> set[str]:
        if file not in self._known:
            self._known[file] = self._data.contexts_by_lineno(str(self._root / file))
        contexts = set(self._known[file].get(line, ())) - {""}
        return {test for context in contexts for test in self._users_of.get(context, [context])}


def _names(node: ast.AST) -> Iterator[tuple[str, int]]:
    """Names that are read in a definition, with their lines."""
    for part in ast.walk(node):
        if isinstance(part, ast.Name) and isinstance(part.ctx, ast.Load):
            yield part.id, part.lineno
        elif isinstance(part, ast.Attribute):
            yield part.attr, part.lineno
