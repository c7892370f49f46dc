"""Puts a mutant in effect in a process that has imported the package already, wherever its functions were imported to.

A function keeps its identity and is given the code of the changed one, so that it is in effect behind every
``from module import function``, decorator and property. A constant is worked out anew, with those of its module that
follow from it, and set under its name in every module that has it.
"""

import ast
import gc
import sys
import warnings
from collections import defaultdict
from collections.abc import Iterator
from functools import _lru_cache_wrapper
from pathlib import Path
from types import CodeType, FunctionType, ModuleType
from typing import Any

from source_changes import Mutant, constant_name, definitions, mutants


class NotImportedError(Exception):
    """The changed file cannot be imported, which every test that needs it would notice."""


class Loaded:
    """What is loaded of some files: found once, since it takes a walk over all objects of the process.

    Attributes
    ----------
    functions : dict
        Functions by file and qualified name: several where pytest has imported a file once more for its doctests.
    kept : list
        What remembers answers, to be emptied before a trial.
    """

    def __init__(self, root: Path) -> None:
        self.root = root
        own = (f"{root}/edgestore/", f"{root}/tests/")
        self.functions: dict[tuple[str, str], list[FunctionType]] = defaultdict(list)
        self.kept: list[Any] = []
        for thing in gc.get_objects():
            if isinstance(thing, FunctionType) and _file_of(thing).startswith(own):
                file = Path(thing.__code__.co_filename).relative_to(root).as_posix()
                self.functions[file, thing.__code__.co_qualname].append(thing)
            elif isinstance(thing, _lru_cache_wrapper) and _file_of(thing.__wrapped__).startswith(own):
                self.kept.append(thing)

    def forget(self) -> None:
        """Empty what remembers answers, of the package and of its tests."""
        for kept in self.kept:
            kept.cache_clear()

    def put_in_effect(self, mutant: Mutant, tree: ast.Module) -> None:
        """Change this process for good, so that a mutant is in effect in it.

        Parameters
        ----------
        mutant : Mutant
            What is changed.
        tree : Module
            The whole file with it.

        Raises
        ------
        NotImportedError
            If a default or a constant that is changed cannot be worked out.
        LookupError
            If nothing in this process comes from the place that is changed.
        """
        self.forget()
        definition = dict(definitions(tree))[mutant.function]
        if isinstance(definition, ast.FunctionDef):
            found = self.functions[mutant.file, mutant.function]
            codes = {code.co_firstlineno: code for code in _codes(_compiled(tree, str(self.root / mutant.file)))}
            for function in found:
                _become(function, codes[function.__code__.co_firstlineno], definition)
            _compile_anew()
        else:
            found = [module for module in _modules() if getattr(module, "__file__", "") == str(self.root / mutant.file)]
            for module in found:
                _set_constants(module, mutant.function, tree)
        if not found:
            raise LookupError(f"{mutant.file} is not imported: {mutant.function}")


def mutant_trees(root: Path, file: str) -> Iterator[tuple[Mutant, ast.Module]]:
    """Mutants of a file of the tree, each with the syntax tree of the file that has it."""
    return mutants(file, (root / file).read_text(encoding="utf-8"))


def _file_of(function: Any) -> str:
    """File of the source of a function; empty for what is not written in Python."""
    return function.__code__.co_filename if isinstance(function, FunctionType) else ""


def _compiled(tree: ast.Module, file: str) -> CodeType:
    """Code of a file, also where Python warns of a change: that it fails when it is run is for a test to notice."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", SyntaxWarning)
        return compile(tree, file, "exec")


def _codes(code: CodeType) -> Iterator[CodeType]:
    """All codes of functions inside a code."""
    for inner in code.co_consts:
        if isinstance(inner, CodeType):
            yield inner
            yield from _codes(inner)


def _become(function: FunctionType, code: CodeType, definition: ast.FunctionDef) -> None:
    """Give a function the code and the defaults of a definition, which are worked out where the function is."""

    def value(default: ast.expr) -> Any:
        return _worked_out(default, code.co_filename, function.__globals__)

    function.__code__ = code
    if function.__defaults__:
        function.__defaults__ = tuple(map(value, definition.args.defaults))
    if function.__kwdefaults__:
        by_name = zip(definition.args.kwonlyargs, definition.args.kw_defaults, strict=True)
        function.__kwdefaults__ = {name.arg: value(default) for name, default in by_name if default is not None}


def _set_constants(module: ModuleType, name: str, tree: ast.Module) -> None:
    """Set a constant of a module as a tree has it, and those of the module that follow from it, wherever they are."""
    moved = {name}
    for node in tree.body:
        own = constant_name(node)
        read = {part.id for part in ast.walk(node) if isinstance(part, ast.Name) and isinstance(part.ctx, ast.Load)}
        if own and (own == name or read & moved):
            moved.add(own)
            before = vars(module)[own]
            after = _worked_out(node.value, module.__file__ or "", vars(module))
            for other in _modules():
                if vars(other).get(own) is before:
                    setattr(other, own, after)


def _worked_out(expression: ast.expr, file: str, names: dict[str, Any]) -> Any:
    """Value of an expression that is worked out when its file is imported."""
    try:
        return eval(compile(ast.Expression(expression), file, "eval"), names)
    except Exception as error:
        raise NotImportedError(f"{file}: {error!r}") from error


def _modules() -> list[ModuleType]:
    return [module for module in sys.modules.values() if isinstance(module, ModuleType)]


def _compile_anew() -> None:
    """Let numba compile what it has not compiled in this process: what it keeps on disk is of the unchanged source."""
    if "numba.core.dispatcher" in sys.modules:
        from numba.core.caching import NullCache
        from numba.core.dispatcher import Dispatcher

        for thing in gc.get_objects():
            if isinstance(thing, Dispatcher):
                thing._cache = NullCache()
