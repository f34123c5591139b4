"""What stands around a drawing: its title above, its notes below, and the net of rules with its labels.

Everything is in millimeters of paper, from the sheet's top left corner.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.drawing import palette
from tumblehome.drawing.marks import MARK_RADIUS, Shape, Word, verdict_shapes
from tumblehome.drawing.palette import MARGIN
from tumblehome.drawing.text import wrapped
from tumblehome.lengths import format_length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tumblehome.drawing.model import Drawing, Point, Rules
    from tumblehome.drawing.palette import Style
    from tumblehome.drawing.sheet import Sheet

__all__ = ["BASE_LABELS", "HALF_BREADTH", "SIDE_LABELS", "header", "header_height", "net", "notes", "notes_height"]

# The columns that the labels of the rules take, left of the drawing and below it.
SIDE_LABELS: Final = 17.0
BASE_LABELS: Final = 6.0

_LEADING: Final = 5.6
_SUBTITLE_LEADING: Final = 4.6
_ABOVE_NOTES: Final = 6.0
_BELOW_HEADER: Final = 8.0
# Where a note's words begin: after its mark and the verdict's word.
_INDENT: Final = 18.0
_WORD_AT: Final = 5.4
_COLUMN_GAP: Final = 8.0

# A scale that counts both ways from the centerline: its labels have no sign, and its zero is drawn as a center line.
HALF_BREADTH: Final = "half-breadth"

# How far apart the rules are, and every how many-th is a heavy one: 200 mm and 1000 mm, 6 in and 3 ft.
_STEPS: Final = {"mm": (200.0, 5), "in": (152.4, 6)}
_HEAVY: Final = palette.Style(palette.RULE, palette.HIDDEN)
_CHAIN: Final = palette.Style(palette.RULE, palette.HIDDEN, dash=(6.0, 1.2, 0.8, 1.2))
_TICK: Final = 1.6
# Labels closer together than this are left out between the heavy rules; none stands in the word's own corner.
_LABEL_ROOM: Final = 9.0
_CLEAR_OF_WORD: Final = 4.0
_UNIT_WORDS: Final = {"mm": "millimeters", "in": "inches"}


def header_height(drawing: Drawing, width: float) -> float:
    """Return how much of a sheet of that `width` the title and the words below it take, upper margin not counted."""
    return palette.TITLE + _SUBTITLE_LEADING * len(_subtitle(drawing, width)) + _BELOW_HEADER


def header(drawing: Drawing, sheet: Sheet) -> Iterator[Word]:
    """Yield the title, the words below it, and at the right the scale, the paper and the unit."""
    baseline = MARGIN + 0.73 * palette.TITLE
    yield Word("sheet", (MARGIN, baseline), drawing.title, palette.TITLE, palette.INK, bold=True)
    for row, line in enumerate(_subtitle(drawing, sheet.width), start=1):
        below = baseline + 0.9 + row * _SUBTITLE_LEADING
        yield Word("sheet", (MARGIN, below), line, palette.BODY, palette.QUIET)
    units = f" · {_UNIT_WORDS[drawing.rules.units]}" if drawing.rules else ""
    right = (sheet.width - MARGIN, baseline)
    yield Word("sheet", right, sheet.statement + units, palette.SMALL, palette.QUIET, "end")


def _subtitle(drawing: Drawing, width: float) -> list[str]:
    return wrapped(drawing.subtitle, palette.BODY, width - 2 * MARGIN) if drawing.subtitle else []


def notes_height(drawing: Drawing, width: float) -> float:
    """Return how much of a sheet of that `width` the notes take, lower margin not counted."""
    _, columns = _columns(drawing, width)
    rows = max((sum(map(len, column)) for column in columns), default=0)
    return rows * _LEADING + _ABOVE_NOTES if rows else 0.0


def notes(drawing: Drawing, sheet: Sheet) -> Iterator[Shape | Word]:
    """Yield the notes at the foot of the sheet: the verdict's mark, its word, and what was found."""
    step, columns = _columns(drawing, sheet.width)
    top = sheet.height - MARGIN - notes_height(drawing, sheet.width) + _ABOVE_NOTES
    remaining = iter(drawing.notes)
    for number, column in enumerate(columns):
        left, row = MARGIN + number * step, 0
        for lines in column:
            verdict = next(remaining).verdict
            baseline = top + (row + 0.75) * _LEADING
            if verdict is not None:
                yield from verdict_shapes((left + MARK_RADIUS, baseline - 0.365 * palette.BODY), verdict, "sheet")
                color = palette.verdict_style(verdict).color
                yield Word("sheet", (left + _WORD_AT, baseline), verdict, palette.BODY, color, bold=True)
            for further, line in enumerate(lines):
                at = (left + (_INDENT if verdict else 0.0), baseline + further * _LEADING)
                yield Word("sheet", at, line, palette.BODY, palette.INK)
            row += len(lines)


def _columns(drawing: Drawing, width: float) -> tuple[float, list[list[list[str]]]]:
    """Return how far apart the columns are, and for each column its notes, each as its lines."""
    whole = width - 2 * MARGIN
    half = (whole - _COLUMN_GAP) / 2
    count = 2 if all(len(_lines(note.text, half)) == 1 for note in drawing.notes) else 1
    lines = [_lines(note.text, half if count == 2 else whole) for note in drawing.notes]
    tall = math.ceil(len(lines) / count)
    return half + _COLUMN_GAP, [lines[start : start + tall] for start in range(0, len(lines), max(tall, 1))]


def _lines(text: str, width: float) -> list[str]:
    return wrapped(text, palette.BODY, width - _INDENT)


def net(rules: Rules, sheet: Sheet) -> Iterator[Shape | Word]:
    """Yield the net of rules over the frame, with its labels up the left edge and along the base, and their words."""
    frame = sheet.frame
    edge, base = frame.left - 2.0, frame.bottom + 1.4 + palette.FOOTNOTE
    word = Word("rule", (edge, base), rules.base, palette.FOOTNOTE, palette.QUIET, "end")
    yield word
    yield replace(word, at=(edge, frame.top - 2.2), string=rules.side)
    (left, bottom), (right, top) = sheet.to_model([(frame.left, frame.bottom), (frame.right, frame.top)])
    for value, weight, label in _rules(bottom, top, rules.side, rules.units, sheet.scale):
        down = sheet.to_paper([(0.0, value)])[0, 1]
        yield _line(weight, (frame.left, down), (frame.right, down))
        yield replace(word, at=(edge, down + 0.365 * palette.FOOTNOTE), string=label)
    for value, weight, label in _rules(left, right, rules.base, rules.units, sheet.scale):
        across = sheet.to_paper([(value, 0.0)])[0, 0]
        whole = rules.verticals or weight is _CHAIN
        yield _line(weight, (across, frame.bottom), (across, frame.top if whole else frame.bottom - _TICK))
        if across > frame.left + _CLEAR_OF_WORD:
            yield replace(word, at=(across, base), string=label, anchor="middle")


def _rules(low: float, high: float, scale_word: str, units: str, scale: float) -> Iterator[tuple[float, Style, str]]:
    """Yield each rule from `low` to `high`: its place, its line, and its label, empty where labels would crowd."""
    step, heavy_every = _STEPS[units]
    crowded = step / scale < _LABEL_ROOM
    for count in range(math.ceil(low / step), math.floor(high / step) + 1):
        heavy = count % heavy_every == 0
        mirrored = scale_word == HALF_BREADTH
        style = _CHAIN if mirrored and count == 0 else _HEAVY if heavy else palette.LAYERS["rule"]
        value = abs(count * step) if mirrored else count * step
        yield count * step, style, "" if crowded and not heavy else format_length(value, units)


def _line(style: Style, start: Point, end: Point) -> Shape:
    return Shape("rule", (np.array([start, end]),), closed=False, style=style)
