"""Faulty files: a sound one, one textual edit, and what the one clear line about it must say."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from tumblehome.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["Edit", "edits", "in_inches", "refused"]


@dataclass(frozen=True)
class Edit:
    """An edit of a sound file and what is told of it.

    Attributes
    ----------
    old, new : what is replaced, once, and by what
    key : the dotted key that the message must name
    words : texts that it must hold
    at : the text that stands in the line it must name (default: ``new``); "" for no line
    """

    old: str
    new: str
    key: str
    words: tuple[str, ...]
    at: str | None = None

    def of(self, sound: str) -> tuple[str, int | None]:
        """Return the faulty text and the line that the message must name."""
        assert sound.count(self.old) == 1, self.old
        text = sound.replace(self.old, self.new)
        if self.at == "":
            return text, None
        mark = self.new if self.at is None else self.at
        assert text.count(mark) == 1, mark
        return text, text[: text.index(mark)].count("\n") + 1


def edits(**cases: tuple[Any, ...]) -> pytest.MarkDecorator:
    """Parametrize a test by named edits, each (old, new, key, words) and, where the line is another's, its text."""
    chosen = [pytest.param(Edit(*case), id=name) for name, case in cases.items()]
    return pytest.mark.parametrize("edit", chosen)


def in_inches(text: str) -> str:
    """Return a file that declares millimeters as one of a van of such a size in inches: its numbers a 25th."""
    number = re.compile(r"(?<![\w.])[0-9]{2,}(?:\.[0-9]+)?(?![\w.])")
    inches = number.sub(lambda found: f"{float(found[0]) / 25:g}", text).replace('unit = "mm"', 'unit = "in"')
    return inches.replace("measured_to = 3\n", "measured_to = 0.12\n")


def refused(load: Callable[[], object], path: Path, line: int | None, key: str, *words: str) -> InputError:
    """Expect one clear line: file, line, key, and some words."""
    with pytest.raises(InputError) as caught:
        load()
    fault = caught.value
    text = str(fault)
    assert len(text.splitlines()) == 1, text
    for word in words:
        assert word in text, (word, text)
    assert (Path(fault.file or "").name, fault.line) == (path.name, line), text
    assert text.startswith(f"{fault.file}:{line}: " if line else f"{fault.file}: ")
    assert (fault.key or "").startswith(key), text
    assert key or not fault.key, text
    return fault
