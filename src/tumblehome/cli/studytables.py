"""A study as a craftsperson reads it: its sentences, then short tables."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING, Final

import tumblehome as th
from tumblehome.cli.terminal import mark, table
from tumblehome.cli.wording import length_shown, span_shown
from tumblehome.lengths import volume_words
from tumblehome.studies import Corner, sentences
from tumblehome.tolerances import CONTACT

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tumblehome.cli.wording import Shown, Span
    from tumblehome.studies import Place, Profile, Study

__all__ = ["SHELF_STEP", "corners", "elsewhere", "is_hung", "shelves", "study_words"]

SHELF_STEP: Final = {"mm": 100.0, "in": 101.6}
"""Between the shelf heights of a scribed cabinet's table, and how high its drawer boxes are, mm."""


def study_words(study: Study, heights: Span, stations: Span, units: Shown) -> str:
    """Return a study in words and tables, the curve by height within heights, the one along the wall within stations."""
    blocks = [_heading(study, units), "\n".join(sentences(study, units))]
    if study.module.kind == "scribed":
        blocks.append(_inside(study, units))
    blocks.append(_by_top(study, heights, units))
    if is_hung(study):
        blocks.append(_by_underside(study, units))
    blocks += [_along(study, stations, units), _left(study, units), _elsewhere(study, units)]
    return "\n\n".join(block for block in blocks if block)


def is_hung(study: Study) -> bool:
    """Whether a module stands on nothing, so that its underside may be asked about too."""
    return study.module.support is None


def corners(study: Study, profile: Profile) -> list[Corner]:
    """Return the breakpoints of a curve, each once; where it jumps both values are told, the earlier one first."""
    told: list[Corner] = []
    found = study.corners(profile)
    for start, end in zip(found[::2], found[1::2], strict=True):
        if told and abs(told[-1].at - start.at) <= CONTACT and abs(told[-1].back - start.back) <= CONTACT:
            told[-1] = start
        else:
            told.append(start)
        told.append(end)
    return told


def _heading(study: Study, units: Shown) -> str:
    module = study.module
    size = " x ".join(th.format_length(value, units) for value in (module.wide, module.deep, study.top - study.foot))
    kept = f", {length_shown(module.gap, units)} clear of what is behind it" if module.gap else ""
    lines = [
        f"{module.name}, {size}{' mm' if units == 'mm' else ''}, against the {study.side} wall of the {study.layout.shell.name}",
        f"its back {length_shown(study.back, units)} from the centerline{kept}",
        f"before it {length_shown(study.aisle, units)} of aisle",
    ]
    if study.reason:
        lines.append(f"{mark('fouls')} {study.reason}; studied all the same")
    return "\n".join(lines)


# ---- by height ----


def _by_top(study: Study, heights: Span, units: Shown) -> str:
    what = "a straight back in its place" if study.module.kind == "scribed" else "its back"
    heading = f"Depth by height: how far out {what} can go, its top from {span_shown(heights, units)}"
    lines = [heading, _curve("top at", study, study.by_top.clipped(*heights), units)]
    return "\n".join([*lines, *_limits(study, units)])


def _by_underside(study: Study, units: Shown) -> str:
    heading = f"Depth by underside: its top stays at {length_shown(study.top, units)}"
    return "\n".join([heading, _curve("underside at", study, study.by_underside, units)])


def _curve(first: str, study: Study, profile: Profile, units: Shown) -> str:
    rows = [(length_shown(c.at, units), *_reach(c, units), c.part) for c in corners(study, profile)]
    return table((first, "back up to", "aisle left", "because of"), rows, right=(0, 1, 2))


def _reach(corner: Corner, units: Shown) -> tuple[str, str]:
    """Return where the back of a module can be, and what that leaves of the aisle."""
    back = "barred" if corner.barred else length_shown(corner.back, units)
    return back, length_shown(corner.aisle, units) if corner.aisle > CONTACT else "none"


def _limits(study: Study, units: Shown) -> Iterator[str]:
    """Yield the greatest height at its depth and the greatest depth at its height, its face staying where it is."""
    module, high = study.module, study.top - study.foot
    height = study.greatest_height()
    depth = study.greatest_depth(high) if study.is_square else None
    if height is not None:
        yield f"At {length_shown(study.deep, units)} deep it can be {length_shown(height[0], units)} high at most: {height[1]}."
    if not study.is_square:
        yield "It stands turned, so no greatest depth is told: deeper, its corners meet the wall at other stations."
    if depth is not None and depth[0] > CONTACT:
        back = "with a straight back " if module.kind == "scribed" else ""
        yield f"At {length_shown(high, units)} high it can be {length_shown(depth[0], units)} deep {back}at most: {depth[1]}."


# ---- inside a scribed cabinet ----


def shelves(study: Study, units: Shown) -> list[tuple[float, float | None, float | None]]:
    """Return for round heights within a cabinet how deep a shelf there is, and the deepest drawer box that stands on it."""
    step, low, high = SHELF_STEP[units], study.foot, study.top
    rounds = [i * step for i in range(ceil(low / step + 1e-6), ceil(high / step - 1e-6))]
    return [
        (at, study.depth_at(at), study.depth_at(at, step) if at + step <= high + CONTACT else None)
        for at in (low, *rounds)
    ]


def _inside(study: Study, units: Shown) -> str:
    step, inner = SHELF_STEP[units], study.module.inner
    holds = f", {volume_words(inner.volume / 1e6, units)} in all" if inner else ""
    rows = [tuple(length_shown(value, units) for value in shelf) for shelf in shelves(study, units)]
    header = ("height", "shelf deep", f"drawer box {length_shown(step, units)} high, deep")
    return "\n".join([f"Inside: usable depth behind its face{holds}", table(header, rows, right=(0, 1, 2))])


# ---- along the wall ----


def _along(study: Study, stations: Span, units: Shown) -> str:
    heading = f"Slide along the {study.side} wall, its front end from {span_shown(stations, units)}"
    plays = {(drop.part, round(drop.start, 3)): drop.play for drop in study.drops}
    here = float(study.module.bounds[0][0])
    rows = []
    shown = study.slide.clipped(*stations)
    found = study.corners(shown)
    for piece, start, end in zip(shown.pieces, found[::2], found[1::2], strict=True):
        part = study.name_of(piece)
        play = plays.get((part, round(piece.start, 3)))
        notes = [f"play {length_shown(play, units)}"] if play else []
        notes += ["stands here"] if _holds((piece.start, piece.end), here) else []
        before = sorted(study.stands_behind(piece.start, piece.end))
        notes += [f"behind {', '.join(before)}, which the aisle does not tell"] if before else []
        ends = [_reach(corner, units) for corner in (start, end)]
        back, aisle = (" to ".join(dict.fromkeys(pair)) for pair in zip(*ends, strict=True))
        rows.append((span_shown((piece.start, piece.end), units), back, aisle, part, ", ".join(notes)))
    return "\n".join([heading, table(("front end", "back up to", "aisle left", "because of", ""), rows, right=(1, 2))])


def _holds(span: Span, at: float) -> bool:
    return span[0] - CONTACT <= at <= span[1] + CONTACT


def _left(study: Study, units: Shown) -> str:
    """Return the boxes that are free above, below and beside the module."""
    rows = [
        (
            box.where,
            *(length_shown(size, units) for size in (box.wide, box.deep, box.high)),
            volume_words(box.liters, units),
        )
        for box in study.left_over
    ]
    if not rows:
        return "What is left: nothing above, below or beside it"
    return "\n".join(["What is left", table(("where", "long", "deep", "high", "volume"), rows, right=(1, 2, 3, 4))])


def elsewhere(study: Study) -> list[Place]:
    """Return where else it fits no deeper into the aisle, best first; a scribed module by the straight back it would have."""
    straight = study.slide.value(float(study.module.bounds[0][0])) if study.module.kind == "scribed" else None
    return study.places(straight)


def _elsewhere(study: Study, units: Shown) -> str:
    heading = "Where it stands no further out, best first"
    here = float(study.module.bounds[0][0])
    rows = []
    for place in elsewhere(study):
        own = ["itself"] if place.side == study.side and _holds((place.start, place.end), here) else []
        there = ", ".join([*own, *place.collides]) or "nothing"
        sizes = (length_shown(place.play, units), length_shown(place.back, units))
        rows.append((place.side, span_shown((place.start, place.end), units), *sizes, place.part, there))
    if not rows:
        return f"{heading}: nowhere"
    header = ("wall", "front end", "play", "back up to", "because of", "what stands there")
    return "\n".join([heading, table(header, rows, right=(2, 3))])
