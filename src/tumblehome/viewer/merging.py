"""What do two changed texts give together, when both began as the same one?"""

from __future__ import annotations

import re
from difflib import SequenceMatcher
from typing import NamedTuple

__all__ = ["merged"]


class _Change(NamedTuple):
    """Lines of the first text, from ``start`` to before ``end``, and what stands in their place."""

    start: int
    end: int
    lines: tuple[str, ...]


def merged(began: str, mine: str, theirs: str) -> str | None:
    """Return a text with the changes of both, or None when they changed the same lines, or added lines in the same place.

    Lines that both changed to the same are no contradiction.
    """
    lines = _lines(began)
    changes = sorted({*_changes(lines, _lines(mine)), *_changes(lines, _lines(theirs))})
    parts: list[str] = []
    at, last = 0, None
    for change in changes:
        if change.start < at or change[:2] == last:
            return None
        parts += [*lines[at : change.start], *change.lines]
        at, last = change.end, change[:2]
    return "".join([*parts, *lines[at:]])


def _lines(text: str) -> list[str]:
    return re.findall(r"[^\n]*\n|[^\n]+", text)


def _changes(before: list[str], after: list[str]) -> list[_Change]:
    """Return how one text became the other; the lines that both begin and end with are left out of the search."""
    first, last = 0, 0
    shorter = min(len(before), len(after))
    while first < shorter and before[first] == after[first]:
        first += 1
    while last < shorter - first and before[-1 - last] == after[-1 - last]:
        last += 1
    old, new = before[first : len(before) - last], after[first : len(after) - last]
    found = SequenceMatcher(None, old, new, autojunk=False).get_opcodes()
    return [_Change(first + i, first + j, tuple(new[k:l])) for tag, i, j, k, l in found if tag != "equal"]
