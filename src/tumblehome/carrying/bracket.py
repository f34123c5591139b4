"""Between which two sizes does an answer change from "it passes" to "it surely does not"?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["DECIDED", "bracket"]

DECIDED: Final = 1.0
"""The two sizes are no further apart than this, mm."""
_FIRST: Final = 10.0
"""The first step by which a size is changed, mm; each further one is twice as large."""


def bracket(ask: Callable[[float], str], start: float, least: float, most: float) -> tuple[float | None, float | None]:
    """Return the greatest known size that passes and the least known that is blocked, in mm.

    Parameters
    ----------
    ask : says "passes", "blocked" or "undecided" of a size; what is larger never passes where what is smaller is blocked
    start : a first size; least, most : the ends of what may be asked

    Returns
    -------
    (float | None, float | None)
        Not more than 1 mm apart. None for the first when even the least is blocked, for the second when even the most
        passes; the other one is then that end. Further apart only if ``ask`` leaves more than 1 mm undecided.
    """
    low = _outward(ask, start, least, -1.0, "passes")
    high = _outward(ask, start, most, 1.0, "blocked")
    if low is None:
        return None, _outward(ask, least, most, 1.0, "blocked")
    if high is None:
        return _outward(ask, most, least, -1.0, "passes"), None
    return _halved(ask, low, high)


def _outward(ask: Callable[[float], str], start: float, end: float, sign: float, wanted: str) -> float | None:
    """Return the first size that is answered as wanted, in growing steps from a start to an end."""
    at, step = start, _FIRST
    while ask(at) != wanted:
        if at == end:
            return None
        at = min(at + step, end) if sign > 0 else max(at - step, end)
        step *= 2
    return at


def _halved(ask: Callable[[float], str], low: float, high: float) -> tuple[float, float]:
    """Return a passing and a blocked size at most 1 mm apart between two such."""
    undecided: list[float] = []
    while high - low > DECIDED:
        inner, outer = min(undecided, default=high), max(undecided, default=low)
        if undecided and max(inner - low, high - outer) < DECIDED / 8:
            break
        middle = (low + high) / 2
        if undecided:
            middle = (low + inner) / 2 if inner - low >= high - outer else (outer + high) / 2
        answer = ask(middle)
        if answer == "passes":
            low = middle
        elif answer == "blocked":
            high = middle
        else:
            undecided.append(middle)
    return low, high
