"""Which small faults can be put into a source: operator, constant, comparison, arguments, term, returned condition.

A mutant is one change of one expression in one function, or in one constant of a module. It is named by function and
change, ``age_step_years`` and ``a < b -> a <= b``, with a count where a function offers the same change twice; not by
its line, which moves.

What is left alone: texts, annotations, decorators, defaults of fields of a class, ``strict`` of ``zip`` (which refuses
what no caller hands over), the order of arguments where it makes no difference (``clip`` takes the larger of its first
two, then the smaller of that and the third), and a factor or divisor of 1.
"""

import ast
import copy
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

KINDS = ("operator", "constant", "comparison", "arguments", "term", "condition")

OPERATORS: dict[type, tuple[type, ...]] = {
    ast.Add: (ast.Sub,),
    ast.Sub: (ast.Add,),
    ast.Mult: (ast.Div,),
    ast.Div: (ast.Mult,),
    ast.FloorDiv: (ast.Div,),
    ast.Mod: (ast.Mult,),
    ast.Pow: (ast.Mult,),
    ast.LShift: (ast.RShift,),
    ast.RShift: (ast.LShift,),
    ast.BitAnd: (ast.BitOr,),
    ast.BitOr: (ast.BitAnd,),
    ast.BitXor: (ast.BitOr,),
    ast.And: (ast.Or,),
    ast.Or: (ast.And,),
}
COMPARISONS: dict[type, tuple[type, ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
EXTREMES = {"min": "max", "max": "min", "minimum": "maximum", "maximum": "minimum", "any": "all", "all": "any"}
"""Names of functions and methods that have an opposite."""

SYMMETRIC = {
    *("min", "max", "minimum", "maximum", "hypot", "isclose", "gcd", "union1d", "intersect1d", "broadcast_shapes"),
    *("logical_and", "logical_or", "logaddexp", "isinstance", "InputError", "Fault"),
}
"""Functions whose arguments are not swapped: it makes no difference, or they say what is wrong in words."""

DROPPED = (ast.Add, ast.Sub, ast.Mult, ast.Div, ast.BitAnd, ast.BitOr)
"""Operators of which one side can be left out."""

FLAGS = ("bool", "Flags", "NDArray[np.bool_]")
"""How a condition that is returned is annotated."""


@dataclass(frozen=True, order=True)
class Mutant:
    """One change in one function.

    Attributes
    ----------
    file : str
        Path from the root of the tree.
    function : str
        Function, ``Class.method``, or constant of the module.
    change : str
        Expression before and after.
    kind : str
        One of ``KINDS``.
    line : int
        First line of the statement that holds the expression.
    """

    file: str
    function: str
    change: str
    kind: str
    line: int


def definitions(tree: ast.Module) -> Iterator[tuple[str, ast.stmt]]:
    """Functions and methods by their qualified names, and the constants of the module, as far as there are any."""
    yield from _defined("", tree.body)


def _defined(owner: str, body: list[ast.stmt]) -> Iterator[tuple[str, ast.stmt]]:
    for node in body:
        if isinstance(node, ast.FunctionDef):
            yield owner + node.name, node
        elif isinstance(node, ast.ClassDef):
            yield from _defined(f"{owner}{node.name}.", node.body)
        elif isinstance(node, ast.If | ast.Try):
            yield from _defined(owner, [*node.body, *node.orelse])
        elif not owner and (name := constant_name(node)):
            yield name, node


def constant_name(node: ast.stmt) -> str:
    """Name of the constant that a statement of a module sets; empty where it sets none."""
    target = node.targets[0] if isinstance(node, ast.Assign) else getattr(node, "target", None)
    is_set = isinstance(node, ast.Assign | ast.AnnAssign) and node.value is not None
    return target.id if is_set and isinstance(target, ast.Name) and target.id.isupper() else ""


def mutants(file: str, source: str) -> Iterator[tuple[Mutant, ast.Module]]:
    """All mutants of a source, each with the syntax tree of the file that has it, which holds until the next one.

    Parameters
    ----------
    file : str
        Path from the root of the tree.
    source : str
        What it holds.

    Yields
    ------
    tuple of Mutant and Module
        The mutants in a fixed order.
    """
    tree = ast.parse(source)
    for name, definition in definitions(tree):
        seen: Counter[str] = Counter()
        for place in _places(definition):
            before = place.get()
            for after, kind in _changes(before, place.returned):
                words = f"{ast.unparse(before)} -> {ast.unparse(after)}"
                if ast.unparse(after) == ast.unparse(before):
                    continue
                seen[words] += 1
                words += f" ({seen[words]})" if seen[words] > 1 else ""
                place.set(ast.fix_missing_locations(ast.copy_location(after, before)))
                yield Mutant(file, name, words, kind, place.line), tree
                place.set(before)


@dataclass(frozen=True)
class _Place:
    """Where an expression stands, or a statement as ``a += b``: node, field, number in a list; its line."""

    node: ast.AST
    field: str
    number: int | None
    line: int
    returned: str

    def get(self) -> ast.AST:
        held = getattr(self.node, self.field)
        return held if self.number is None else held[self.number]

    def set(self, expression: ast.AST) -> None:
        if self.number is None:
            setattr(self.node, self.field, expression)
        else:
            getattr(self.node, self.field)[self.number] = expression


def _places(node: ast.AST, line: int = 0, returns: str = "") -> Iterator[_Place]:
    """Every expression below a node that is worked out when its function runs."""
    line = line or getattr(node, "lineno", 0)
    if isinstance(node, ast.FunctionDef):
        returns = ast.unparse(node.returns) if node.returns else ""
    for field, held in ast.iter_fields(node):
        if field in ("annotation", "returns", "decorator_list") or _is_left(node):
            continue
        for number, child in enumerate(held if isinstance(held, list) else [held]):
            if not isinstance(child, ast.AST):
                continue
            at = child.lineno if isinstance(child, ast.stmt) else line
            if isinstance(child, ast.expr | ast.AugAssign):
                returned = returns if isinstance(node, ast.Return) else ""
                yield _Place(node, field, number if isinstance(held, list) else None, at, returned)
            yield from _places(child, at, returns)


def _is_left(node: ast.AST) -> bool:
    """Whether nothing below a node is changed."""
    return isinstance(node, ast.keyword) and node.arg == "strict"


def _changes(node: ast.AST, returned: str) -> Iterator[tuple[ast.AST, str]]:
    """What may stand in the place of an expression, and the kind of the change."""
    for kind, change in CHANGES:
        yield from ((after, kind) for after in change(node))
    if returned in FLAGS:
        opposite = ast.Not() if returned == "bool" else ast.Invert()
        yield ast.UnaryOp(opposite, node), "condition"


def _operators(node: ast.AST) -> Iterator[ast.AST]:
    if isinstance(node, ast.BinOp | ast.BoolOp | ast.AugAssign) and not (_joins_texts(node) or _is_by_one(node)):
        yield from (_with(node, op=other()) for other in OPERATORS.get(type(node.op), ()))
    elif isinstance(node, ast.UnaryOp) and not isinstance(node.op, ast.UAdd):
        yield node.operand
    elif isinstance(node, ast.Call) and (opposite := EXTREMES.get(_called(node))):
        function = _with(node.func, **{"id" if isinstance(node.func, ast.Name) else "attr": opposite})
        yield _with(node, func=function)


def _constants(node: ast.AST) -> Iterator[ast.AST]:
    if not isinstance(node, ast.Constant):
        return
    if isinstance(node.value, bool):
        yield ast.Constant(not node.value)
    elif isinstance(node.value, int):
        yield ast.Constant(node.value + 1)
    elif isinstance(node.value, float):
        yield ast.Constant(node.value * 1.1 + 0.1)


def _comparisons(node: ast.AST) -> Iterator[ast.AST]:
    if isinstance(node, ast.Compare):
        for number, operator in enumerate(node.ops):
            for other in COMPARISONS[type(operator)]:
                yield _with(node, ops=[*node.ops[:number], other(), *node.ops[number + 1 :]])


def _arguments(node: ast.AST) -> Iterator[ast.AST]:
    if not isinstance(node, ast.Call) or _called(node) in SYMMETRIC:
        return
    for number, (one, other) in enumerate(zip(node.args, node.args[1:], strict=False)):
        if number == 0 and _called(node) == "clip" and len(node.args) == 3:
            continue
        if not isinstance(one, ast.Starred) and not isinstance(other, ast.Starred):
            yield _with(node, args=[*node.args[:number], other, one, *node.args[number + 2 :]])


def _terms(node: ast.AST) -> Iterator[ast.AST]:
    if isinstance(node, ast.BinOp) and isinstance(node.op, DROPPED) and not _joins_texts(node):
        yield node.left
        if not isinstance(node.op, ast.Sub | ast.Div):
            yield node.right
    elif isinstance(node, ast.BoolOp):
        for number in range(len(node.values)):
            left = [*node.values[:number], *node.values[number + 1 :]]
            yield _with(node, values=left) if len(left) > 1 else left[0]
    elif isinstance(node, ast.Call) and _called(node) in ("min", "max", "minimum", "maximum") and len(node.args) == 2:
        yield from node.args


CHANGES: tuple[tuple[str, Callable[[ast.expr], Iterator[ast.AST]]], ...] = (
    ("operator", _operators),
    ("constant", _constants),
    ("comparison", _comparisons),
    ("arguments", _arguments),
    ("term", _terms),
)


def _with(node: ast.AST, **changed: object) -> ast.AST:
    """A node with some of its fields changed, its other parts shared."""
    made = copy.copy(node)
    for field, value in changed.items():
        setattr(made, field, value)
    return made


def _called(node: ast.Call) -> str:
    """Name of the function or method that is called."""
    return getattr(node.func, "attr", getattr(node.func, "id", ""))


def _is_by_one(node: ast.AST) -> bool:
    """Whether an operator multiplies or divides by 1, of which each is the other."""
    by = getattr(node, "right", getattr(node, "value", None))
    return isinstance(getattr(node, "op", None), ast.Mult | ast.Div) and getattr(by, "value", None) == 1


def _joins_texts(node: ast.AST) -> bool:
    """Whether an operator joins or repeats texts."""
    parts = [getattr(node, field, None) for field in ("left", "right", "value")]
    return any(isinstance(part, ast.JoinedStr) or getattr(part, "value", 0).__class__ is str for part in parts)


def sources(root: Path, chosen: tuple[str, ...]) -> Iterator[str]:
    """Paths of the Python files among files and folders, from the root."""
    for name in chosen:
        path = root / name
        files = sorted(path.rglob("*.py")) if path.is_dir() else [path]
        yield from (file.relative_to(root).as_posix() for file in files)
