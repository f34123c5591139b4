"""How the program speaks: answers to the standard output, faults and progress to standard error, in any encoding.

What a file says may end up on a terminal, so control characters are never passed on; signs that an encoding lacks have
plain stand-ins.
"""

from __future__ import annotations

import os
import shutil
import sys
import textwrap
import time
from typing import TYPE_CHECKING, Final, TextIO

from tumblehome.errors import TumblehomeError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

__all__ = ["Progress", "complain", "mark", "say", "say_data", "table"]

_MARKS: Final = {"clear": "○", "tight": "◇", "fouls": "⊠"}
_PLAIN_MARKS: Final = {"clear": "( )", "tight": "< >", "fouls": "[x]"}
_STAND_INS: Final = str.maketrans({"°": " deg", "·": "-", "×": "x", "²": "2", "³": "3", "’": "'", "–": "-"})
_CONTROLS: Final = {c: "?" for c in (*range(32), *range(127, 160)) if c != ord("\n")}
_NARROWEST: Final = 30
"""A last column narrower than this many characters is not wrapped but runs on."""
_PATIENCE: Final = 1.0
"""Work that lasts longer than this many seconds says what it is doing."""


def say(text: str) -> None:
    """Write an answer and a line end to the standard output.

    Whoever reads it may stop reading: the rest is then dropped in silence. Raises TumblehomeError when it cannot be
    written for any other reason.
    """
    try:
        _write(sys.stdout, text)
    except BrokenPipeError:
        _silence(sys.stdout)
    except OSError as error:
        _silence(sys.stdout)
        raise TumblehomeError(f"cannot write the answer: {(error.strerror or 'no reason given').lower()}") from error


def say_data(data: object) -> None:
    """Write plain data as JSON (RFC 8259), for programs; raises as `say` does."""
    import json  # noqa: PLC0415  (takes a while to load, and only programs ask for it)

    say(json.dumps(data, indent=2, allow_nan=False))


def complain(words: str) -> None:
    """Write one line to standard error."""
    try:
        _write(sys.stderr, "tumblehome: " + " ".join(words.split()))
    except OSError:
        _silence(sys.stderr)


def mark(verdict: str) -> str:
    """Return a verdict's mark: a ring, a diamond, a crossed square, or their stand-ins where these cannot be shown."""
    return _MARKS[verdict] if _fits("".join(_MARKS.values()), sys.stdout) else _PLAIN_MARKS[verdict]


def table(header: Sequence[str], rows: Iterable[Sequence[str]], *, right: Iterable[int] = ()) -> str:
    """Return rows under a header, in columns; on a terminal the last column wraps at its edge.

    ``right`` are the numbers of the columns that are aligned to the right.
    """
    lines = [tuple(header), *(tuple(row) for row in rows)]
    widths = [max(len(line[i]) for line in lines) for i in range(len(header))]
    aligned = frozenset(right)
    room = _room_for_last(sum(widths[:-1]) + 2 * (len(widths) - 1))
    return "\n".join(_line(line, widths, aligned, room) for line in lines)


def _line(cells: tuple[str, ...], widths: list[int], right: frozenset[int], room: int | None) -> str:
    put = [c.rjust(w) if i in right else c.ljust(w) for i, (c, w) in enumerate(zip(cells, widths, strict=True))]
    if room is None or len(cells[-1]) <= room:
        return "  ".join(put).rstrip()
    indent = " " * (sum(widths[:-1]) + 2 * (len(widths) - 1))
    wrapped = textwrap.wrap(cells[-1], room, break_long_words=False)
    return "\n".join(["  ".join([*put[:-1], wrapped[0]]), *(indent + rest for rest in wrapped[1:])])


def _room_for_last(taken: int) -> int | None:
    """Return how many characters a terminal has left for the last column, or None where nothing is to be wrapped."""
    room = shutil.get_terminal_size().columns - taken
    return room if _is_terminal(sys.stdout) and room >= _NARROWEST else None


class Progress:
    """What lasts, said on standard error: kept up to date on a terminal, one single line elsewhere."""

    def __init__(self) -> None:
        self._start = time.monotonic()
        self._shown = False
        self._live = _is_terminal(sys.stderr)

    def __call__(self, words: str) -> None:
        """Say what is being done now, once the work has lasted a while."""
        if time.monotonic() - self._start < _PATIENCE or (self._shown and not self._live):
            return
        self._shown = True
        if self._live:
            room = max(shutil.get_terminal_size().columns - 5, 1)
            _write_raw(f"\r\x1b[K{_shown(words, sys.stderr)[:room]} ...")
        else:
            complain(f"{words} ...")

    def done(self) -> None:
        """Take the line away again."""
        if self._shown and self._live:
            _write_raw("\r\x1b[K")


def _write_raw(text: str) -> None:
    try:
        sys.stderr.write(text)
        sys.stderr.flush()
    except OSError:
        _silence(sys.stderr)


def _write(stream: TextIO | None, text: str) -> None:
    if stream is not None:  # a program started without this stream has None
        stream.write(_shown(text, stream) + "\n")
        stream.flush()


def _shown(text: str, stream: TextIO) -> str:
    """Return the text as the stream can carry it, without control characters."""
    text = text.translate(_CONTROLS)
    if _fits(text, stream):
        return text
    encoding = stream.encoding or "ascii"
    return text.translate(_STAND_INS).encode(encoding, "replace").decode(encoding)


def _fits(text: str, stream: TextIO | None) -> bool:
    try:
        text.encode((stream.encoding if stream else None) or "ascii")
    except UnicodeEncodeError:
        return False
    return True


def _is_terminal(stream: TextIO | None) -> bool:
    return stream is not None and stream.isatty()


def _silence(stream: TextIO) -> None:
    """Let all that is still to come vanish, so that the interpreter does not stumble over it when it ends."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, stream.fileno())
    os.close(nowhere)
