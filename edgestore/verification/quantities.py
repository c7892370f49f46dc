"""What a check may name: public functions of the models, methods of their laws, answers, a plan of a site, a clip."""

import inspect
from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any, TypeAlias, get_args, get_origin, get_type_hints

import numpy as np

from edgestore import models
from edgestore.answers.certainty import certainty
from edgestore.answers.change import upkeep
from edgestore.answers.hold import holding
from edgestore.answers.life import lasting
from edgestore.answers.outage import saving
from edgestore.verification import whole

Value: TypeAlias = Any
"""A number, a text, or a list of one or the other, as TOML gives it."""


def _is_model(thing: Any) -> bool:
    """Whether it is a function of the models whose arguments a file can state: numbers, texts, laws by their fields."""
    if not (inspect.isfunction(thing) and thing.__module__.startswith(models.__name__)):
        return False
    taken = [parameter.annotation for parameter in inspect.signature(thing).parameters.values()]
    return not any(get_origin(kind) in (Mapping, Callable) for kind in taken)


def _is_quantity(thing: Any) -> bool:
    """Whether it is a model whose answer a file can state too, in numbers, texts or parts by their names."""
    if not _is_model(thing):
        return False
    result = inspect.signature(thing).return_annotation
    return result in (Any, float, int) or get_origin(result) is tuple or is_dataclass(result)


def _is_array(thing: Any) -> bool:
    """Whether it is a model that gives an array, which a file states as a list."""
    return _is_model(thing) and get_origin(inspect.signature(thing).return_annotation) is np.ndarray


def _public() -> Iterator[tuple[str, Any]]:
    """Give every public thing of the models by its name."""
    for question in models.__all__:
        room = vars(getattr(models, question))
        yield from ((name, thing) for name, thing in room.items() if not name.startswith("_"))


PUBLIC: dict[str, Callable[..., Any]] = {
    name: thing
    for name, thing in sorted(_public())
    if inspect.isfunction(thing) and thing.__module__.startswith(models.__name__)
}
"""Every public function of the models."""

QUANTITIES: dict[str, Callable[..., Any]] = {name: thing for name, thing in PUBLIC.items() if _is_quantity(thing)}
"""The quantities that can be checked, among the public functions of the models."""


def _of_thing(make: Callable[..., Any], method: Callable[..., Any]) -> Callable[..., Any]:
    """Give a method of a thing as a function of what makes the thing and of the method's own arguments."""
    makes = inspect.signature(make).parameters
    _, *takes = inspect.signature(method).parameters.values()

    def quantity(**inputs: Value) -> Any:
        thing = make(**{name: value for name, value in inputs.items() if name in makes})
        return method(thing, **{name: value for name, value in inputs.items() if name not in makes})

    parameters = [item.replace(kind=item.KEYWORD_ONLY) for item in (*makes.values(), *takes)]
    # ``inspect`` reads it from there, which the types of a function do not know.
    signature = inspect.signature(method).replace(parameters=parameters)
    quantity.__signature__ = signature  # type: ignore[attr-defined]  # a function may have one, says PEP 362
    quantity.__name__, quantity.__module__ = method.__qualname__, method.__module__
    return quantity


def _methods() -> Iterator[tuple[str, Callable[..., Any]]]:
    """Give the methods of the public laws and things of the models, by ``Class.method`` or ``Class.maker.method``."""
    for name, kind in filter(lambda item: is_dataclass(item[1]), _public()):
        public = {word: thing for word, thing in vars(kind).items() if not word.startswith("_")}
        makers = {f"{name}.{word}": getattr(kind, word) for word, one in public.items() if isinstance(one, classmethod)}
        for maker, make in {name: kind, **makers}.items():
            methods = {word: method for word, method in public.items() if _is_quantity(method)}
            yield from ((f"{maker}.{word}", _of_thing(make, method)) for word, method in methods.items())


CHECKABLE: dict[str, Callable[..., Any]] = {
    **QUANTITIES,
    **{name: thing for name, thing in PUBLIC.items() if _is_array(thing)},
    **dict(sorted(_methods())),
    "holding": holding,
    "lasting": lasting,
    "certainty": certainty,
    "upkeep": upkeep,
    "saving": saving,
    "plan_of_site": whole.plan_of_site,
    "happened_at_site": whole.happened_at_site,
    "clip": whole.clip,
}
"""What a check may name: the quantities, the methods of the laws and other things of the models, the answers to
questions that numbers state, a plan, a clip."""


def recomputed(quantity: str, inputs: dict[str, Value], folder: Path) -> Any:
    """Give what a quantity is for the inputs of a check, whose files stand in ``folder``."""
    function = CHECKABLE[quantity]
    spread, named = split(function, inputs, folder)
    return function(*spread, **named)


def split(
    function: Callable[..., Any], inputs: dict[str, Value], folder: Path = Path()
) -> tuple[list[Value], dict[str, Value]]:
    """Part the inputs into those of a ``*argument``, which are spread, and those passed by name."""
    parameters = inspect.signature(function).parameters
    inputs = {name: _made(parameters[name].annotation, value, folder) for name, value in inputs.items()}
    star = {p.name for p in parameters.values() if p.kind is p.VAR_POSITIONAL}
    spread = [value for name in star & inputs.keys() for value in np.atleast_1d(inputs[name]).tolist()]
    return spread, {name: value for name, value in inputs.items() if name not in star}


def _made(annotation: Any, value: Value, folder: Path) -> Value:
    """Make what an input stands for: a law from a table of its fields, a path from a file's name; else as it is."""
    if Path in (annotation, *get_args(annotation)):
        return whole.found(value, folder)
    if not isinstance(value, dict):
        return value
    kind = _kind(annotation, value)
    annotations = get_type_hints(kind)
    return kind(**{name: _made(annotations[name], item, folder) for name, item in value.items()})


def kinds(annotation: Any) -> list[Any]:
    """Give the classes that an argument may be, and that a table of their fields can state."""
    named = get_args(annotation) or (annotation,)
    every = [kind for name in named if inspect.isclass(name) for kind in (name, *name.__subclasses__())]
    return [kind for kind in every if is_dataclass(kind)]


def _kind(annotation: Any, table: dict[str, Value]) -> Any:
    """Give the class, of those that an argument may be, whose fields a table names; None when it is none of them."""
    known = (kind for kind in kinds(annotation) if table and table.keys() <= {field.name for field in fields(kind)})
    return next(known, None)


def is_thing(annotation: Any, table: dict[str, Value], is_value: Callable[[Value], bool]) -> bool:
    """Whether a table states a law or another thing whole: its fields by their names, each a value or a thing."""
    kind = _kind(annotation, table)
    if kind is None:
        return False
    annotations = get_type_hints(kind)
    return all(
        is_thing(annotations[name], value, is_value) if isinstance(value, dict) else is_value(value)
        for name, value in table.items()
    )


def parts(result: Any) -> Iterator[str]:
    """Give the parts of a result by their names, and the parts of a part as ``part.part``."""
    for name, kind in get_type_hints(result).items() if is_dataclass(result) else ():
        yield from (f"{name}.{part}" for part in parts(kind)) if is_dataclass(kind) else (name,)
