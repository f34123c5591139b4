"""The lower envelope of line segments, exact: how near the nearest of many surfaces is, as a function of one length."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tumblehome.records import dataclass
from tumblehome.tolerances import CONTACT, EDGE

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]
    Integers = NDArray[np.intp]

__all__ = ["Piece", "Profile", "lower_envelope"]


@dataclass(frozen=True)
class Piece:
    """A stretch of a profile: straight from (start, low) to (end, high), because of one cause.

    ``low`` and ``high`` are the values at the stretch's start and end, mm, whichever is greater.
    """

    start: float
    end: float
    low: float
    high: float
    cause: int

    def at(self, t: float) -> float:
        """Return the value at a place of the stretch."""
        if self.end == self.start:
            return min(self.low, self.high)
        return self.low + (self.high - self.low) * (t - self.start) / (self.end - self.start)


@dataclass(frozen=True)
class Profile:
    """A piecewise-linear function of one length, given by its stretches in order; it may jump and have gaps."""

    pieces: tuple[Piece, ...]

    @property
    def is_empty(self) -> bool:
        """Whether it has a value nowhere."""
        return not self.pieces

    @property
    def span(self) -> tuple[float, float]:
        """Where it begins and ends, mm."""
        return self.pieces[0].start, self.pieces[-1].end

    def at(self, t: float) -> Piece | None:
        """Return the stretch that decides at a place: at a jump the one with the lesser value; None in a gap."""
        here = [piece for piece in self.pieces if piece.start - CONTACT <= t <= piece.end + CONTACT]
        return min(here, key=lambda piece: piece.at(min(max(t, piece.start), piece.end)), default=None)

    def value(self, t: float) -> float | None:
        """Return the value at a place, at a jump the lesser; None in a gap."""
        piece = self.at(t)
        return None if piece is None else piece.at(min(max(t, piece.start), piece.end))

    def least(self, low: float, high: float) -> tuple[float, Piece] | None:
        """Return the least value between two places and the stretch that has it, or None when it has none there."""
        best: tuple[float, Piece] | None = None
        for piece in self.pieces:
            a, b = max(piece.start, low), min(piece.end, high)
            if a > b or (b - a <= EDGE < high - low):
                continue
            value = min(piece.at(a), piece.at(b))
            if best is None or value < best[0]:
                best = value, piece
        return best

    def clipped(self, low: float, high: float) -> Profile:
        """Return what of it lies between two places."""
        kept = []
        for piece in self.pieces:
            a, b = max(piece.start, low), min(piece.end, high)
            if b - a > EDGE:
                kept.append(Piece(a, b, piece.at(a), piece.at(b), piece.cause))
        return Profile(tuple(kept))

    def running_least(self, *, backward: bool = False) -> Profile:
        """Return the least value from the beginning up to each place, or with ``backward`` from there to the end."""
        pieces = [_turned(piece) for piece in reversed(self.pieces)] if backward else list(self.pieces)
        kept: list[Piece] = []
        for piece in pieces:
            kept += _lowered(piece, kept[-1] if kept else None)
        joined = _joined(kept)
        return Profile(tuple(_turned(piece) for piece in reversed(joined)) if backward else tuple(joined))

    def floored(self, level: float = 0.0) -> Profile:
        """Return it with every value below a level raised to that."""
        kept = [part for piece in self.pieces for part in _floored(piece, level)]
        return Profile(tuple(_joined(kept))) if any(min(p.low, p.high) < level for p in self.pieces) else self

    def moved(self, along: float = 0.0, up: float = 0.0) -> Profile:
        """Return it shifted along its length, and its values raised, mm."""
        return Profile(
            tuple(Piece(p.start + along, p.end + along, p.low + up, p.high + up, p.cause) for p in self.pieces)
        )

    def turned_over(self) -> Profile:
        """Return it with the opposite values."""
        return Profile(tuple(Piece(p.start, p.end, -p.low, -p.high, p.cause) for p in self.pieces))

    def first_below(self, value: float) -> tuple[float, Piece] | None:
        """Return the first place at which it goes below a value, and the stretch that does, or None."""
        for piece in self.pieces:
            if piece.low < value - CONTACT:
                return piece.start, piece
            if piece.high < value - CONTACT:
                share = max(0.0, (piece.low - value) / (piece.low - piece.high))
                return piece.start + share * (piece.end - piece.start), piece
        return None

    def stretches_above(self, value: float) -> list[tuple[float, float]]:
        """Return the stretches, joined where they meet, in which it is at least a value."""
        runs: list[tuple[float, float]] = []
        for piece in self.pieces:
            run = _above(piece, value)
            if run is None:
                continue
            if runs and run[0] - runs[-1][1] <= CONTACT:
                runs[-1] = (runs[-1][0], run[1])
            else:
                runs.append(run)
        return runs


def _turned(piece: Piece) -> Piece:
    return Piece(-piece.end, -piece.start, piece.high, piece.low, piece.cause)


def _above(piece: Piece, value: float) -> tuple[float, float] | None:
    slack = value - CONTACT
    if min(piece.low, piece.high) >= slack:
        return piece.start, piece.end
    if max(piece.low, piece.high) < slack:
        return None
    crossing = piece.start + (piece.end - piece.start) * (piece.low - slack) / (piece.low - piece.high)
    return (piece.start, crossing) if piece.low >= slack else (crossing, piece.end)


def _floored(piece: Piece, level: float) -> list[Piece]:
    """Return a stretch with what of it is below a level raised to that."""
    low, high = max(piece.low, level), max(piece.high, level)
    if (piece.low - level) * (piece.high - level) >= 0:
        return [Piece(piece.start, piece.end, low, high, piece.cause)]
    at = piece.start + (piece.end - piece.start) * (piece.low - level) / (piece.low - piece.high)
    return [Piece(piece.start, at, low, level, piece.cause), Piece(at, piece.end, level, high, piece.cause)]


def _lowered(piece: Piece, before: Piece | None) -> list[Piece]:
    """Return a stretch held down to the least value before it."""
    if before is None:
        level, cause = piece.low, piece.cause
    else:
        level, cause = before.high, before.cause
    if piece.low <= level and piece.high <= piece.low:
        return [piece]
    if piece.low <= level:
        return [Piece(piece.start, piece.end, piece.low, piece.low, piece.cause)]
    if piece.high >= level:
        return [Piece(piece.start, piece.end, level, level, cause)]
    at = piece.start + (piece.end - piece.start) * (piece.low - level) / (piece.low - piece.high)
    return [Piece(piece.start, at, level, level, cause), Piece(at, piece.end, level, piece.high, piece.cause)]


def _joined(pieces: Iterable[Piece]) -> list[Piece]:
    """Return stretches with neighbors of one cause in one straight line made one."""
    out: list[Piece] = []
    for piece in pieces:
        if piece.end - piece.start <= EDGE and out:
            continue
        last = out[-1] if out else None
        if last is not None and _continues(last, piece):
            out[-1] = Piece(last.start, piece.end, last.low, piece.high, last.cause)
        else:
            out.append(piece)
    return out


def _continues(a: Piece, b: Piece) -> bool:
    if a.cause != b.cause or b.start - a.end > CONTACT or abs(a.high - b.low) > CONTACT:
        return False
    middle = a.low + (b.high - a.low) * (a.end - a.start) / (b.end - a.start)
    return abs(middle - a.high) <= CONTACT


def lower_envelope(start: ArrayLike, end: ArrayLike, low: ArrayLike, high: ArrayLike, cause: ArrayLike) -> Profile:
    """Return the least of many line segments at every place.

    Parameters
    ----------
    start, end : (n,) float, mm; where each segment begins and ends, start before end; shorter ones than EDGE are dropped
    low, high : (n,) float, mm; its values there
    cause : (n,) int

    Returns
    -------
    Profile
        Exact: its corners are ends of segments and crossings of two.
    """
    a, b, u, v = (np.asarray(x, dtype=float) for x in (start, end, low, high))
    why = np.asarray(cause, dtype=np.intp)
    real = b - a > EDGE
    a, b, u, v, why = a[real], b[real], u[real], v[real], why[real]
    if not len(a):
        return Profile(())
    ends = np.sort(np.concatenate([a, b]))
    places = ends[np.append(True, np.diff(ends) > 0)]
    first, last = np.searchsorted(places, a), np.searchsorted(places, b)
    segment = np.repeat(np.arange(len(a)), last - first)
    cell = np.arange(len(segment)) - np.repeat(np.cumsum(last - first) - (last - first), last - first) + first[segment]
    slope = (v - u) / (b - a)
    left = u[segment] + slope[segment] * (places[cell] - a[segment])
    right = u[segment] + slope[segment] * (places[cell + 1] - a[segment])
    return Profile(tuple(_joined(_cells(places, cell, left, right, why[segment]))))


def _cells(places: Floats, cell: Integers, left: Floats, right: Floats, cause: Integers) -> list[Piece]:
    """Return the least in each cell between neighboring places, from the segments that cross it."""
    by_left = np.lexsort((right, left, cell))
    by_right = np.lexsort((left, right, cell))
    heads = np.concatenate([[True], np.diff(cell[by_left]) > 0])
    begins, cells = np.flatnonzero(heads), cell[by_left][heads]
    ends = np.append(begins[1:], len(cell))
    winners, closers = by_left[begins], by_right[begins]
    pieces: list[Piece] = []
    for i, k in enumerate(cells):
        p, q = float(places[k]), float(places[k + 1])
        w, c = winners[i], closers[i]
        if w == c or right[w] <= right[c]:
            pieces.append(Piece(p, q, float(left[w]), float(right[w]), int(cause[w])))
        else:
            among = by_left[begins[i] : ends[i]]
            pieces += _crossed(p, q, left[among], right[among], cause[among])
    return pieces


def _crossed(p: float, q: float, left: Floats, right: Floats, cause: Integers) -> list[Piece]:
    """Return the least of lines across one cell, given by their values at its two ends, sorted by the left one."""
    pieces: list[Piece] = []
    at, current = 0.0, 0
    while True:
        gain = right - left
        faster = gain < gain[current] - 1e-15
        with np.errstate(divide="ignore", invalid="ignore"):
            meet = (left - left[current]) / (gain[current] - gain)
        # Rounding may put the second of two crossings in one place a hair before the first: it counts from there.
        meet = np.where(faster & (meet < 1.0), np.maximum(meet, at), np.inf)
        nearest = int(np.lexsort((gain, meet))[0])
        to = float(min(meet[nearest], 1.0))
        values = [float(left[current] + gain[current] * share) for share in (at, to)]
        pieces.append(Piece(p + (q - p) * at, p + (q - p) * to, values[0], values[1], int(cause[current])))
        if to >= 1.0:
            return pieces
        at, current = to, nearest
