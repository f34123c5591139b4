"""Remembering what was worked out of one or two things that never change, for as long as they are there."""

from __future__ import annotations

from functools import wraps
from typing import TYPE_CHECKING, TypeVar
from weakref import WeakKeyDictionary

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["kept", "remembered"]

First = TypeVar("First")
Second = TypeVar("Second")
Other = TypeVar("Other")
Answer = TypeVar("Answer")


def kept(function: Callable[[First, Other], Answer]) -> Callable[[First, Other], Answer]:
    """Return a function that works out its answer about a thing once; things are told apart by identity.

    The answer must not hold on to the thing.
    """
    known: WeakKeyDictionary[First, dict[Other, Answer]] = WeakKeyDictionary()

    @wraps(function)
    def asked(thing: First, other: Other) -> Answer:
        answers = known.setdefault(thing, {})
        if other not in answers:
            answers[other] = function(thing, other)
        return answers[other]

    return asked


def remembered(function: Callable[[First, Second, Other], Answer]) -> Callable[[First, Second, Other], Answer]:
    """Return a function that works out its answer once; the first two things are told apart by identity.

    The answer must not hold on to either of them.
    """
    known: WeakKeyDictionary[First, WeakKeyDictionary[Second, dict[Other, Answer]]] = WeakKeyDictionary()

    @wraps(function)
    def asked(first: First, second: Second, other: Other) -> Answer:
        answers = known.setdefault(first, WeakKeyDictionary()).setdefault(second, {})
        if other not in answers:
            answers[other] = function(first, second, other)
        return answers[other]

    return asked
