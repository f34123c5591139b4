"""Where in a TOML text does everything stand?"""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING, Any, Final

from tumblehome.records import dataclass

if TYPE_CHECKING:
    from tumblehome.files import KeyPath

__all__ = ["Block", "Said", "Spans"]

_PART: Final = r"""(?:"(?:\\.|[^"\\\n])*"|'[^'\n]*'|[A-Za-z0-9_-]+)"""
_KEY: Final = rf"{_PART}(?:[ \t]*\.[ \t]*{_PART})*"
_STATEMENT: Final = re.compile(
    rf"(?P<brackets>\[\[?)[ \t]*(?P<table>{_KEY})[ \t]*\]\]?|(?P<key>{_KEY})(?P<equals>[ \t]*=[ \t]*)"
)
_STRING: Final = r'''"""(?:\\.|[^\\])*?"""(?!")|\'\'\'.*?\'\'\'(?!\')|"(?:\\.|[^"\\])*"|'[^']*\''''
_SCALAR: Final = re.compile(rf"{_STRING}|[^,\]}}#\n]+", re.DOTALL)
_BLANK: Final = re.compile(r"(?:\s|#[^\n]*)*")
_BLANK_OR_COMMA: Final = re.compile(r"(?:[\s,]|#[^\n]*)*")


@dataclass(frozen=True)
class Said:
    """A key and its value: where the key begins, and where the value begins and ends."""

    key: int
    equals: int
    start: int
    end: int


@dataclass
class Block:
    """A table under a header of its own: its path, where its header's line begins, and where its last statement ends."""

    path: KeyPath
    start: int
    end: int


class Spans:
    """The places of everything in a text that tomllib has accepted.

    Attributes
    ----------
    starts : where each key, table and array element begins; that of a table which only longer names make, where they do
    said : each key with its value; values : from where to where each value and array element runs
    blocks : the tables under headers of their own, in the order of the text, what stands before the first header as one
    """

    def __init__(self, text: str) -> None:
        self._text = text
        self.starts: dict[KeyPath, int] = {}
        self.said: dict[KeyPath, Said] = {}
        self.values: dict[KeyPath, tuple[int, int]] = {}
        self.blocks: list[Block] = []
        self._counts: dict[KeyPath, int] = {}
        self._scan()

    def _scan(self) -> None:
        block = Block((), 0, 0)
        self.blocks.append(block)
        at = self._skip(_BLANK, 0)
        while found := _STATEMENT.match(self._text, at):
            if found["table"]:
                line = self._text.rfind("\n", 0, at) + 1
                path = self._header(_parts(found["table"]), found.start(), is_array=found["brackets"] == "[[")
                block = Block(path, line, found.end())
                self.blocks.append(block)
                block.end = at = found.end()
            else:
                block.end = at = self._statement(block.path, found)
            at = self._skip(_BLANK, at)

    def _header(self, parts: tuple[str, ...], at: int, *, is_array: bool) -> KeyPath:
        """Note a [table] or [[array]] header; return its path with the numbers of the array elements it stands in."""
        path: KeyPath = ()
        for part in parts[:-1]:
            path = self._in_last((*path, part))
            self.starts.setdefault(path, at)
        path = (*path, parts[-1])
        if is_array:
            self.starts.setdefault(path, at)
            self._counts[path] = self._counts.get(path, 0) + 1
            path = self._in_last(path)
        self.starts[path] = at
        return path

    def _in_last(self, path: KeyPath) -> KeyPath:
        return (*path, self._counts[path] - 1) if path in self._counts else path

    def _statement(self, table: KeyPath, found: re.Match[str]) -> int:
        path = (*table, *_parts(found["key"]))
        for length in range(1, len(path)):
            self.starts.setdefault(path[:length], found.start())
        end = self._value(path, found.end())
        self.starts[path] = found.start()
        self.said[path] = Said(found.start(), found.start("equals"), found.end(), end)
        return end

    def _value(self, path: KeyPath, at: int) -> int:
        start, opened = at, self._text[at : at + 1]
        if opened == "{":
            at = self._skip(_BLANK_OR_COMMA, at + 1)
            while found := _STATEMENT.match(self._text, at):
                at = self._skip(_BLANK_OR_COMMA, self._statement(path, found))
            at += 1
        elif opened == "[":
            at, index = self._skip(_BLANK_OR_COMMA, at + 1), 0
            while not self._text.startswith("]", at):
                at = self._skip(_BLANK_OR_COMMA, self._value((*path, index), at))
                index += 1
            at += 1
        else:
            at += len(self._text[at : self._skip(_SCALAR, at)].rstrip())
        self.starts[path], self.values[path] = start, (start, at)
        return at

    def _skip(self, pattern: re.Pattern[str], at: int) -> int:
        found = pattern.match(self._text, at)
        return found.end() if found else at


def _parts(key: str) -> tuple[str, ...]:
    """Split ``a."b c".d`` into its parts."""
    if "." not in key and key[0] not in "\"'":
        return (key,)
    parts: list[str] = []
    inner: Any = tomllib.loads(f"{key} = 0")
    while isinstance(inner, dict):
        ((part, inner),) = inner.items()
        parts.append(part)
    return tuple(parts)
