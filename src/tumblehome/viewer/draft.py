"""How is a value in a TOML text changed so that all the rest stays as it is, to the byte?"""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

from tumblehome.tomlspans import Spans

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tumblehome.files import KeyPath
    from tumblehome.tomlspans import Block, Said

__all__ = ["Draft", "quoted"]


def quoted(text: str, sample: str = '"') -> str:
    """Return a text as a TOML string, in the quotes that a sample has where they can hold it."""
    if sample.startswith("'") and "'" not in text and text.isprintable():
        return f"'{text}'"
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


class Draft:
    """Changes to a TOML text, collected; ``result`` is the text with all of them.

    A table is told by its path, such as ``("modules", 2)`` or ``("modules", 2, "boxes", 0)``; it may stand under a header of
    its own or inline.
    """

    def __init__(self, text: str) -> None:
        self._text = text
        self._spans = Spans(text)
        self._changes: list[tuple[int, int, str]] = []
        self._line = "\r\n" if "\r\n" in text else "\n"

    @property
    def result(self) -> str:
        """The text with all changes made."""
        parts: list[str] = []
        at = 0
        for start, end, new in sorted(self._changes, key=lambda change: change[:2]):
            parts += [self._text[at:start], new]
            at = max(at, end)
        return "".join([*parts, self._text[at:]])

    def literal(self, path: KeyPath) -> str | None:
        """Return a value as it is written, or None when it is not there."""
        span = self._spans.values.get(path)
        return None if span is None else self._text[slice(*span)]

    def has(self, table: KeyPath) -> bool:
        """Return whether there is a table of a path."""
        return table in self._spans.values or self._block(table) is not None

    def write(self, path: KeyPath, literal: str) -> None:
        """Write another value in the place of one."""
        self._change(*self._spans.values[path], literal)

    def rename(self, path: KeyPath, key: str, literal: str) -> None:
        """Write another key and value in the place of one, with the spaces between them as they are."""
        said = self._spans.said[path]
        self._change(said.key, said.equals, key)
        self._change(said.start, said.end, literal)

    def add(self, table: KeyPath, key: str, literal: str, after: str = "") -> None:
        """Add a key to a table, after one of its keys where that is there, else at its end."""
        own = self._own(table)
        said = own.get((*table, after)) or max(own.values(), key=lambda each: each.end, default=None)
        block = self._block(table)
        if block is None:
            at = said.end if said else self._spans.values[table][0] + 1
            self._change(at, at, f", {key} = {literal}" if said else f"{key} = {literal}")
            return
        end_of_line = self._line_end(said.end if said else block.end)
        indent = self._indent(said.key if said else block.start)
        missing = "" if self._text[:end_of_line].endswith("\n") else self._line
        self._change(end_of_line, end_of_line, f"{missing}{indent}{key} = {literal}{self._line}")

    def drop(self, path: KeyPath) -> None:
        """Remove a key with its value; a comment behind it stays on its line."""
        said = self._spans.said[path]
        if self._block(path[:-1]) is None:
            self._change(*self._in_list(said.key, said.end), "")
            return
        line, line_end = self._text.rfind("\n", 0, said.key) + 1, self._line_end(said.end)
        rest = self._text[said.end : line_end]
        if rest.strip():
            self._change(said.key, said.end + len(rest) - len(rest.lstrip()), "")
        else:
            self._change(line, line_end, "")

    def remove(self, table: KeyPath) -> None:
        """Remove a table of a list with all that belongs to it; comments between tables stay."""
        if table in self._spans.values:
            self._change(*self._in_list(*self._spans.values[table]), "")
            return
        for block in self._blocks(table):
            end = self._line_end(block.end)
            blank = re.compile(r"[ \t]*\r?\n").match(self._text, end)
            self._change(block.start, blank.end() if blank else end, "")

    def copy(self, table: KeyPath, key: str, literal: str) -> None:
        """Put a copy of a table of a list behind it in which one key has another value."""
        start, end = self._spans.values[(*table, key)]
        if table in self._spans.values:
            first, last = self._spans.values[table]
            self._change(last, last, f", {self._text[first:start]}{literal}{self._text[end:last]}")
            return
        pieces = [(block.start, self._line_end(block.end)) for block in self._blocks(table)]
        copied = [
            f"{self._text[first:start]}{literal}{self._text[end:last]}"
            if first <= start < last
            else self._text[first:last]
            for first, last in pieces
        ]
        at = pieces[-1][1]
        gap = self._line if self._text[:at].endswith("\n") else 2 * self._line
        self._change(at, at, "".join(gap + piece for piece in copied))

    def _change(self, start: int, end: int, new: str) -> None:
        self._changes.append((start, end, new))

    def _own(self, table: KeyPath) -> dict[KeyPath, Said]:
        """Return what is said in a table itself, dotted keys among it."""
        block = self._block(table)
        deep = len(table)
        found = {p: said for p, said in self._spans.said.items() if len(p) > deep and p[:deep] == table}
        if block is not None:
            found = {p: said for p, said in found.items() if block.start <= said.key < block.end}
        inner = [(said.start, said.end) for said in found.values()]
        return {p: s for p, s in found.items() if not any(start <= s.key < end for start, end in inner)}

    def _block(self, table: KeyPath) -> Block | None:
        return next((block for block in self._spans.blocks if block.path == table), None)

    def _blocks(self, table: KeyPath) -> Iterator[Block]:
        return (block for block in self._spans.blocks if block.path[: len(table)] == table)

    def _in_list(self, start: int, end: int) -> tuple[int, int]:
        """Return the span of what stands between commas, with one of them."""
        after = re.compile(r"\s*,[ \t]*").match(self._text, end)
        if after:
            return start, after.end()
        before = self._text[:start].rstrip()
        return (len(before) - 1 if before.endswith(",") else start), end

    def _line_end(self, at: int) -> int:
        """Return where the line ends, its line end included."""
        found = self._text.find("\n", at)
        return len(self._text) if found < 0 else found + 1

    def _indent(self, at: int) -> str:
        line = self._text.rfind("\n", 0, at) + 1
        found = re.compile(r"[ \t]*").match(self._text, line)
        return found.group() if found else ""
