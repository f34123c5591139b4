"""Where does each name stand in a picture, so that it is read at once and never lies on another?

A name stands on its own thing where it fits there. The others go to the free paper around the subject, joined to their
things by leaders that do not cross. Everything is in pixels, x to the right and y down.
"""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.drawing.text import Box
from tumblehome.errors import PictureError
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Integers = NDArray[np.intp]
    Mask = NDArray[np.bool_]
    Point = tuple[float, float]

__all__ = ["Placement", "Words", "place_names"]

_LEAST_SEEN: Final = 2e-4  # share of the picture below which a thing is too small to point at
_PITCH: Final = 1.7  # height of a slot in the margin, in heights of its words
_REACH: Final = 1.4  # distance of the slots from the subject, in heights of their words
_ROWS: Final = 3  # of slots above the subject, and as many below
_NOTHING: Final = 1e-9  # pixels that count as none
_GAP: Final = 0.35  # between a leader and words, its own and others, likewise


@dataclass(frozen=True, slots=True)
class Words:
    """A name and the room that it takes, in pixels."""

    name: str
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Placement:
    """Where a name stands: the box of its letters, the point that it speaks of, and where its leader begins.

    A name that stands on its thing needs no leader.
    """

    name: str
    box: Box
    anchor: Point
    leader: Point | None


@dataclass(frozen=True, slots=True)
class _Slot:
    """A free place on the paper: where its leader begins, and on which side of that point the words stand."""

    port: Point
    side: str

    def box(self, words: Words) -> Box:
        w, h = words.width, words.height
        x, y = self.port
        away = _GAP * h
        center = {
            "left": (x - away - w / 2, y),
            "right": (x + away + w / 2, y),
            "top": (x, y - away - h / 2),
            "bottom": (x, y + away + h / 2),
        }[self.side]
        return Box.around(center, w, h)


def place_names(
    facets: Integers,
    owners: Integers,
    scale: float,
    words: Mapping[int, Words],
    *,
    sheet: Box,
    taken: Sequence[Box],
    crossable: Sequence[Box] = (),
) -> list[Placement]:
    """Return a place for the name of everything that is seen, in the order of ``words``.

    Parameters
    ----------
    facets : (h, w) int
        Which flat face is seen in each cell of the picture; 0 is paper.
    owners : (k,) int
        Which thing each facet belongs to; that of facet 0 is 0.
    scale : float
        Pixels of the picture for one cell.
    words : by the number of the thing
    sheet : Box
        Where names may stand.
    taken : boxes that must stay free
    crossable : boxes that names keep off, but leaders may cross

    Raises
    ------
    PictureError
        When the picture has not enough free paper.
    """
    ids, blocked = owners[facets], _mask(facets.shape, scale, [*taken, *crossable])
    placed: dict[int, Placement] = {}
    outside: dict[int, Point] = {}
    for number, text in words.items():
        visible = ids == number
        if visible.mean() < _LEAST_SEEN:
            continue
        spot = _room_on(np.where(visible & ~blocked, facets, 0), scale, text)
        if spot is None:
            outside[number] = _deepest(_largest(np.where(visible, facets, 0)), blocked, scale)
        else:
            placed[number] = Placement(text.name, Box.around(spot, text.width, text.height), spot, None)
    if outside:
        widest = Words("", max(words[n].width for n in outside), max(words[n].height for n in outside))
        slots = _slots(ids, scale, widest, sheet, [*taken, *crossable])
        chosen = _assign(list(outside.values()), slots, widest, [*taken, *(p.box for p in placed.values())])
        for (number, anchor), slot in zip(outside.items(), chosen, strict=True):
            placed[number] = Placement(words[number].name, slot.box(words[number]), anchor, slot.port)
    return [placed[number] for number in words if number in placed]


def _mask(shape: tuple[int, ...], scale: float, boxes: Sequence[Box]) -> Mask:
    mask = np.zeros(shape, dtype=bool)
    for box in boxes:
        left, top, right, bottom = np.clip(np.array([box.left, box.top, box.right, box.bottom]) / scale, 0, None)
        mask[int(top) : int(np.ceil(bottom)), int(left) : int(np.ceil(right))] = True
    return mask


def _room_on(facets: Integers, scale: float, text: Words) -> Point | None:
    """Return where to center the words on the largest facet that holds them, as near to its middle as can be."""
    numbers, areas = np.unique(facets[facets > 0], return_counts=True)
    h, w = int(np.ceil(1.5 * text.height / scale)) + 1, int(np.ceil((text.width + 0.6 * text.height) / scale)) + 1
    for number in numbers[np.argsort(-areas)][: np.count_nonzero(areas >= h * w)]:
        visible = facets == number
        y, x = np.nonzero(_holds(visible, h, w))
        if len(y):
            rows, columns = np.nonzero(visible)
            nearest = np.argmin(np.hypot(y + h / 2 - rows.mean() - 0.5, x + w / 2 - columns.mean() - 0.5))
            return float((x[nearest] + w / 2) * scale), float((y[nearest] + h / 2) * scale)
    return None


def _holds(mask: Mask, h: int, w: int) -> Mask:
    """Return where the upper left cell of an h x w rectangle may lie that is wholly in a mask."""
    if h > mask.shape[0] or w > mask.shape[1]:
        return np.zeros((0, 0), dtype=bool)
    total = np.pad(np.cumsum(np.cumsum(mask, axis=0), axis=1), ((1, 0), (1, 0)))
    return np.asarray(total[h:, w:] - total[:-h, w:] - total[h:, :-w] + total[:-h, :-w] == h * w)


def _largest(facets: Integers) -> Mask:
    """Return where the facet is seen of which most is seen."""
    return np.asarray(facets == np.argmax(np.bincount(facets[facets > 0])))


def _deepest(face: Mask, blocked: Mask, scale: float) -> Point:
    """Return the point of a face farthest from its edge, by wearing the edge away; not a blocked one if it can."""
    left = np.pad(face & ~blocked if (face & ~blocked).any() else face, 1)
    while True:
        inner = left[1:-1, 1:-1] & left[:-2, 1:-1] & left[2:, 1:-1] & left[1:-1, :-2] & left[1:-1, 2:]
        if not inner.any():
            break
        left = np.pad(inner, 1)
    rows, columns = np.nonzero(left[1:-1, 1:-1])
    nearest = np.argmin(np.hypot(rows - rows.mean(), columns - columns.mean()))
    return float((columns[nearest] + 0.5) * scale), float((rows[nearest] + 0.5) * scale)


def _slots(ids: Integers, scale: float, widest: Words, sheet: Box, taken: Sequence[Box]) -> list[_Slot]:
    """Return the free places left, right, above and below the subject that hold the widest name."""
    rows, columns = np.nonzero(ids)
    subject = Box(columns.min() * scale, rows.min() * scale, (columns.max() + 1) * scale, (rows.max() + 1) * scale)
    pad = 0.25 * widest.height
    return [
        slot
        for slot in _ring(subject.grown(_REACH * widest.height), widest, sheet)
        if sheet.contains(slot.box(widest)) and not any(slot.box(widest).grown(pad).overlaps(box) for box in taken)
    ]


def _ring(around: Box, widest: Words, sheet: Box) -> Iterator[_Slot]:
    """Yield columns of slots on both sides of a box, and rows above and below it, every other one shifted by half."""
    for y in np.arange(sheet.top + widest.height, sheet.bottom - widest.height, _PITCH * widest.height):
        yield _Slot((around.left, float(y)), "left")
        yield _Slot((around.right, float(y)), "right")
    step = widest.width + 1.5 * widest.height
    for row in range(_ROWS):
        away = row * 1.3 * _PITCH * widest.height
        for x in np.arange(sheet.left + (1 + row % 2) * step / 2, sheet.right, step):
            yield _Slot((float(x), around.top - away), "top")
            yield _Slot((float(x), around.bottom + away), "bottom")


def _assign(anchors: Sequence[Point], slots: Sequence[_Slot], widest: Words, names: Sequence[Box]) -> list[_Slot]:
    """Return a slot for each anchor such that no other slots for any two of them better the leaders.

    Better is: running over fewer other names and crossing fewer other leaders, then shorter in sum.
    """
    if len(anchors) > len(slots):
        raise PictureError(
            f"no room for {len(anchors)} names around the subject: take a larger picture or label fewer things"
        )
    if not anchors:
        return []
    ports = np.array([slot.port for slot in slots])
    lines = np.stack(np.broadcast_arrays(np.array(anchors)[:, None], ports[None]), axis=2)
    cost = np.linalg.norm(lines[:, :, 0] - lines[:, :, 1], axis=2)
    worst = cost.max() * len(anchors)
    cost = cost + worst * sum((_cross(lines, box.grown(_GAP * widest.height)) for box in names), np.zeros(cost.shape))
    over = worst * np.stack([_cross(lines, slot.box(widest)) for slot in slots], axis=2)
    over[:, range(len(slots)), range(len(slots))] = 0.0
    return [slots[i] for i in _settled(cost, over[:, :, None] + worst / 2 * _meet(lines))]


def _meet(lines: Floats) -> Floats:
    """Return 1.0 where one of (n, m, 2, 2) lines crosses another one, (n, m, n, m), else 0.0; what only touches does not."""
    start, end = lines[..., 0, :], lines[..., 1, :]
    parted = _side(start, end, start) * _side(start, end, end) < 0
    return (parted & parted.transpose(2, 3, 0, 1)).astype(float)


def _side(start: Floats, end: Floats, point: Floats) -> Floats:
    """Return on which side of (n, m) lines each of (n, m) points lies, (n, m, n, m): the sign of twice a triangle's area."""
    run, way = end - start, point - start[:, :, None, None]
    side: Floats = run[:, :, None, None, 0] * way[..., 1] - run[:, :, None, None, 1] * way[..., 0]
    return side


def _cross(lines: Floats, box: Box) -> Floats:
    """Return 1.0 where a line (..., 2, 2) runs through a box, else 0.0 (Liang and Barsky's clipping, CACM 27, 1984)."""
    start, run = lines[..., 0, :], lines[..., 1, :] - lines[..., 0, :]
    run = np.where(np.abs(run) < _NOTHING, _NOTHING, run)
    one = (np.array([box.left, box.top]) - start) / run
    other = (np.array([box.right, box.bottom]) - start) / run
    enters = np.minimum(one, other).max(axis=-1)
    leaves = np.maximum(one, other).min(axis=-1)
    return np.where((enters < leaves) & (leaves > 0) & (enters < 1), 1.0, 0.0)


def _settled(cost: Floats, over: Floats) -> list[int]:
    """Return a column of ``cost`` for each row, all different; ``over[a, s, b, t]`` is added where another row b has t."""
    mutual = over + over.transpose(2, 3, 0, 1)
    choice: list[int] = []
    for nearest_first in np.argsort(cost, axis=1).tolist():  # to begin with, each takes the nearest that is free
        choice.append(next(column for column in nearest_first if column not in choice))
    better = True
    while better:
        better = False
        for one, other in combinations(range(len(choice)), 2):
            joint = _joint(cost, mutual, choice, one, other)
            s, t = (int(i) for i in np.unravel_index(joint.argmin(), joint.shape))
            if joint[s, t] < joint[choice[one], choice[other]] - _NOTHING:
                choice[one], choice[other], better = s, t, True
    return choice


def _joint(cost: Floats, mutual: Floats, choice: Sequence[int], one: int, other: int) -> Floats:
    """Return what each two columns for two rows cost, the other rows' choice staying; infinite where they are not free."""
    rest = [row for row in range(len(choice)) if row not in (one, other)]
    taken = [choice[row] for row in rest]
    alone = [cost[row] + mutual[row][:, rest, taken].sum(axis=1) for row in (one, other)]
    joint: Floats = alone[0][:, None] + alone[1] + mutual[one, :, other]
    joint[taken], joint[:, taken] = np.inf, np.inf
    np.fill_diagonal(joint, np.inf)
    return joint
