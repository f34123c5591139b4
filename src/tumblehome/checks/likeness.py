"""Are two modules alike, so that what was found with the one holds with the other?"""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from functools import cache
from itertools import count, islice
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from tumblehome.solids import Solid

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from tumblehome.fitout import Module

__all__ = ["Like", "Likeness"]


class Like(NamedTuple):
    """What a module is like, as two numbers: in all that it is, and in what it is to others, to whom its zones do not matter."""

    itself: int
    to_others: int


class Likeness:
    """Numbers modules by value: two that agree in everything, to the last bit, have the same number.

    A name is part of the value, so what a module is like is only told once there is another one of its name.
    """

    def __init__(self) -> None:
        self._known: dict[Module, tuple[Like, _Told | None]] = {}
        self._namesakes: dict[str, list[Module]] = {}
        self._numbers: dict[object, int] = {}
        self._next = count()

    def of(self, module: Module) -> Like:
        """Return what a module is like."""
        if module not in self._known:
            namesakes = self._namesakes.setdefault(module.name, [])
            for other in namesakes:
                self._tell(other)
            told = _told_of(module) if namesakes else None
            numbers = [self._numbers.setdefault(each, next(self._next)) for each in told] if told else self._next
            self._known[module] = Like(*islice(numbers, 2)), told
            namesakes.append(module)
        return self._known[module][0]

    def _tell(self, module: Module) -> None:
        """Tell what a module is like that had no namesake so far."""
        like, told = self._known[module]
        if told is None:
            told = _told_of(module)
            self._known[module] = like, told
            self._numbers.update(zip(told, like, strict=True))

    def forget_but(self, modules: Iterable[Module]) -> None:
        """Forget all modules but some; a number is never given again to another likeness."""
        self._known = {module: self._known[module] for module in modules}
        told = (known for known in self._known.values() if known[1])
        self._numbers = {each: number for like, both in told for each, number in zip(both or (), like, strict=True)}
        self._namesakes = {}
        for module in self._known:
            self._namesakes.setdefault(module.name, []).append(module)


_Told = tuple[object, object]
"""All that a module is, and all but its zones."""


def _told_of(module: Module) -> _Told:
    every = dict(_fields_of(module))
    zones = every.pop("zones")
    to_others = tuple(every.values())
    return (zones, to_others), to_others


def _told(thing: Any) -> Any:  # noqa: ANN401  (whatever a module holds)
    """Return a value that is equal for equal things."""
    if isinstance(thing, np.ndarray):
        return thing.shape, thing.tobytes()
    if isinstance(thing, Solid):
        return _told(thing.surface.triangles)
    if isinstance(thing, tuple):
        return tuple(_told(each) for each in thing)
    if is_dataclass(thing):
        return tuple(_fields_of(thing))
    return thing


def _fields_of(thing: Any) -> Iterator[tuple[str, Any]]:  # noqa: ANN401  (any dataclass)
    kind: Any = type(thing)
    return ((name, _told(getattr(thing, name))) for name in _names(kind))


@cache
def _names(kind: type[Any]) -> tuple[str, ...]:
    return tuple(field.name for field in fields(kind))
