"""Remembering what was worked out of one or two things that never change, for as long as they are there."""

from __future__ import annotations

from functools import wraps
from typing import TYPE_CHECKING, TypeVar, TypeVarTuple, Unpack
from weakref import WeakKeyDictionary

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["kept", "remembered"]

First = TypeVar("First")
Second = TypeVar("Second")
Rest = TypeVarTuple("Rest")
Answer = TypeVar("Answer")


def kept(function: Callable[[First, Unpack[Rest]], Answer]) -> Callable[[First, Unpack[Rest]], Answer]:
    """Return a function that works out its answer about a thing once; things are told apart by identity.

    The answer must not hold on to the thing.
    """
    known: WeakKeyDictionary[First, dict[tuple[*Rest], Answer]] = WeakKeyDictionary()

    @wraps(function)
    def asked(thing: First, *rest: *Rest) -> Answer:
        answers = known.setdefault(thing, {})
        if rest not in answers:
            answers[rest] = function(thing, *rest)
        return answers[rest]

    return asked


def remembered(
    function: Callable[[First, Second, Unpack[Rest]], Answer],
) -> Callable[[First, Second, Unpack[Rest]], Answer]:
    """Return a function that works out its answer once; the first two things are told apart by identity.

    The answer must not hold on to either of them.
    """
    known: WeakKeyDictionary[First, WeakKeyDictionary[Second, dict[tuple[*Rest], Answer]]] = WeakKeyDictionary()

    @wraps(function)
    def asked(first: First, second: Second, *rest: *Rest) -> Answer:
        answers = known.setdefault(first, WeakKeyDictionary()).setdefault(second, {})
        if rest not in answers:
            answers[rest] = function(first, second, *rest)
        return answers[rest]

    return asked
