"""Is a bed long and wide enough, with air around it and room to sit up, and where do its seams lie?"""

from __future__ import annotations

from itertools import accumulate
from typing import TYPE_CHECKING, Final

import shapely

from tumblehome.checks.finding import Finding, verdict_of
from tumblehome.lengths import shown
from tumblehome.people.person import SOURCE, Person
from tumblehome.people.places import is_covered, surface_of, top_of, used
from tumblehome.people.sitting import headroom_over
from tumblehome.people.words import fit, joined, said
from tumblehome.room import DIRECTIONS
from tumblehome.sweep import Prism

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    import numpy as np
    from numpy.typing import NDArray

    from tumblehome.checks.finding import Verdict
    from tumblehome.fitout import Layout, Module
    from tumblehome.room import Journey

    Floats = NDArray[np.float64]

__all__ = ["check_beds", "largest_bed", "seam_words"]

_INCH: Final = 25.4
BUNK: Final = 30 * _INCH
"""From a lower mattress's top to what is slept on above it, mm: trade tables of bunk beds."""
_PRACTICE: Final = "common practice, no published source"
_OPPOSITE: Final = {"left": "right", "right": "left", "front": "rear", "rear": "front"}
_MEDIAN: Final = 50
_ENOUGH: Final = 1.2
"""Whether there is more room than so many times the height of one who sits is not asked."""
_HAIR: Final = 1e-4
"""Half the thickness of a line from which a bed grows, mm."""
_SAME: Final = 0.5
"""Pieces of a mattress add up to its length within this, mm."""


def check_beds(layout: Layout, person: Person) -> Iterator[Finding]:
    """Yield for each bed its length, breadth, air, room to sit up, the bed above it, its seams, and the step up to it.

    Of a bed that is folded away under something nothing is asked.
    """
    for module in used(layout, "bed"):
        if not is_covered(layout, module):
            yield from _sizes(layout, module, person)
            yield _air(layout, module)
            yield _largest(layout, module)
            yield _sitting_up(layout, module, person)
            yield from _bunk(layout, module)
            yield from _pieces(module, person)
            yield _step_up(layout, module)


def _axis(module: Module) -> int:
    """Return the axis along which one lies: that of its head, or its longer one."""
    low, high = module.bounds
    if module.use and module.use.head:
        return DIRECTIONS[module.use.head][0]
    return int(high[1] - low[1] > high[0] - low[0])


def _sizes(layout: Layout, module: Module, person: Person) -> Iterator[Finding]:
    low, high = module.bounds
    axis, people = _axis(module), module.use.people if module.use else 1
    sizes = high - low
    tolerance, source = layout.shell.measured_to, f"{SOURCE}, percentile {person.percentile}"
    for question, value, limit, what in (
        ("length", float(sizes[axis]), person.stature, "stature"),
        ("breadth", float(sizes[1 - axis]), people * person.shoulder_breadth, f"shoulders of {people}"),
    ):
        yield Finding(
            module.name, question, _comfort(value - limit, tolerance), value, limit, source=source, tolerance=tolerance,
            said=said(_size_words(value, limit, what)),
        )  # fmt: skip


def _size_words(value: float, limit: float, what: str) -> Callable[[str], str]:
    def words(units: str) -> str:
        more = (
            f"{shown(value - limit, units)} more than" if value >= limit else f"{shown(limit - value, units)} less than"
        )
        return f"{shown(value, units)}, {more} the {what} ({shown(limit, units)})"

    return words


def _comfort(margin: float, tolerance: float) -> Verdict:
    """Return the verdict on what is only comfort: never at fault."""
    return verdict_of(margin, tolerance) if margin >= 0 else "tight"


def _air(layout: Layout, module: Module) -> Finding:
    """Return how far it is from each of its sides to what is there, at the heights of the mattress."""
    found = {}
    for word in ("left", "right", "front", "rear"):
        axis, sense = DIRECTIONS[word]
        reached = layout.room.journey(module.body, axis, ignoring={module.name}).reach(sense)
        if reached is not None:
            found[word] = reached

    def words(units: str) -> str:
        return "air: " + joined([f"{word} {shown(r.distance, units)} to {r.part}" for word, r in found.items()])

    least = min(found.values(), key=lambda reached: reached.distance, default=None)
    return Finding(
        module.name, "air around it", "clear", least.distance if least else None, cause=least.part if least else None,
        source=_PRACTICE, said=said(words),
    )  # fmt: skip


def largest_bed(layout: Layout, module: Module) -> tuple[float, float]:
    """Return length and breadth, mm, of the largest box of a bed's own heights that holds it and would be free there.

    It grows to both ends until it touches and then to both sides, or the other way round, whichever makes the larger. Of a bed
    that is not free it holds the middle line that is; 0 by 0 where none is.
    """
    axis = _axis(module)
    low, high = module.bounds
    starts = (_drawn_in(low, high, axes) for axes in ((), (0,), (1,), (0, 1)))
    free = next((box for box in starts if not _journey(layout, module, *box, axis).fouled), None)
    if free is None:
        return 0.0, 0.0
    best = max((_grown(layout, module, *free, order) for order in ((axis, 1 - axis), (1 - axis, axis))), key=_area)
    sizes = best[1] - best[0]
    return float(sizes[axis]), float(sizes[1 - axis])


def _drawn_in(low: Floats, high: Floats, axes: tuple[int, ...]) -> tuple[Floats, Floats]:
    """Return a box drawn in to its middle along some axes."""
    low, high = low.copy(), high.copy()
    for axis in axes:
        middle = (low[axis] + high[axis]) / 2
        low[axis], high[axis] = middle - _HAIR, middle + _HAIR
    return low, high


def _area(box: tuple[Floats, Floats]) -> float:
    sizes = box[1] - box[0]
    return float(sizes[0] * sizes[1])


def _grown(layout: Layout, module: Module, low: Floats, high: Floats, axes: tuple[int, int]) -> tuple[Floats, Floats]:
    low, high = low.copy(), high.copy()
    for axis in axes:
        journey = _journey(layout, module, low, high, axis)
        for sense, end in ((-1.0, low), (1.0, high)):
            reached = journey.reach(sense)
            end[axis] += sense * (reached.distance if reached else 0.0)
    return low, high


def _journey(layout: Layout, module: Module, low: Floats, high: Floats, axis: int) -> Journey:
    return layout.room.journey((Prism.box(low, high),), axis, ignoring={module.name})


def _largest(layout: Layout, module: Module) -> Finding:
    long, wide = largest_bed(layout, module)

    def words(units: str) -> str:
        if not long:
            return "none fits about its middle"
        return f"the largest that fits around it is {shown(long, units)} long and {shown(wide, units)} wide"

    return Finding(module.name, "largest bed there", "clear", said=said(words))


def _sitting_up(layout: Layout, module: Module, person: Person) -> Finding:
    plan = shapely.union_all([shapely.Polygon(prism.outline) for prism in surface_of(module)])
    most, size = _ENOUGH * person.sitting_height, (person.shoulder_breadth, person.chest_depth)
    room = headroom_over(layout, plan, top_of(module), size, most)
    return fit(
        module.name, "sitting up", room, (person.small.sitting_height, person.sitting_height), layout.shell.measured_to,
        "above it at the best place", comfort=True, over="over " if room >= most - 1 else "",
        source=f"{SOURCE}, percentiles {person.small.percentile} to {person.percentile}",
    )  # fmt: skip


def _bunk(layout: Layout, module: Module) -> Iterator[Finding]:
    """Yield how far above a mattress the next bed, or what carries it, hangs."""
    plan, top = shapely.union_all([shapely.Polygon(p.outline) for p in module.hull]), top_of(module)
    sleeping = used(layout, "bed")
    carrying = {m.name for m in sleeping} | {m.support for m in sleeping}
    above = [
        m for m in layout.modules
        if m is not module and m.name in carrying and m.bounds[0][2] >= top
        and any(shapely.intersects(plan, shapely.Polygon(prism.outline)) for prism in m.hull)
    ]  # fmt: skip
    if above:
        lowest = min(above, key=lambda m: float(m.bounds[0][2]))
        yield _bunk_finding(layout, module, lowest, float(lowest.bounds[0][2]) - top)


def _bunk_finding(layout: Layout, module: Module, other: Module, gap: float) -> Finding:
    tolerance = layout.shell.measured_to

    def words(units: str) -> str:
        return f"{shown(gap, units)} to {other.name} above; at least {shown(BUNK, units)}"

    verdict: Verdict = "fouls" if gap < BUNK else verdict_of(gap - BUNK, tolerance)
    return Finding(
        module.name, "bunk above", verdict, gap, BUNK, cause=other.name, source="trade tables of bunk beds: 30 in",
        tolerance=tolerance, said=said(words),
    )  # fmt: skip


def seam_words(at: float, person: Person) -> str:
    """Return the part of the body that lies at a distance from the head of the bed, mm, of one whose crown is at its end."""
    shoulder, waist = person.stature - person.shoulder_height, person.stature - person.waist_height
    hips, knees = person.sitting_height, person.stature - person.popliteal_height
    marks = ((shoulder, "head"), (waist, "back"), (hips, "hips"), (knees, "thighs"), (person.stature, "calves"))
    return next((part for end, part in marks if at < end), "feet")


def _pieces(module: Module, person: Person) -> Iterator[Finding]:
    """Yield where a mattress's seams fall on a median body, whether its pieces make its length, and how high they stack."""
    pieces = module.use.pieces if module.use else ()
    if len(pieces) < 2:
        return
    low, high = module.bounds
    long, body = float((high - low)[_axis(module)]), Person.of(_MEDIAN)
    seams, stack = list(accumulate(pieces))[:-1], len(pieces) * float(high[2] - low[2])
    off = sum(pieces) - long

    def words(units: str) -> str:
        told = [f"{shown(at, units)} from the head, at the {seam_words(at, body)}" for at in seams]
        wrong = f"; the pieces make {shown(sum(pieces), units)}, not {shown(long, units)}" if abs(off) > _SAME else ""
        return f"seam {joined(told)}; stacked {shown(stack, units)} high{wrong}"

    del person
    yield Finding(
        module.name, "pieces", "tight" if abs(off) > _SAME else "clear", source=f"{_PRACTICE}; {SOURCE}, median",
        said=said(words),
    )  # fmt: skip


def _step_up(layout: Layout, module: Module) -> Finding:
    top = top_of(module)
    steps = [m for m in layout.modules if m.use and m.use.kind == "step" and m.bounds[1][2] < top]
    step = max(steps, key=lambda m: float(m.bounds[1][2]), default=None)

    def words(units: str) -> str:
        if step is None:
            return f"{shown(top, units)} above the floor"
        rise = top - float(step.bounds[1][2])
        return f"{shown(top, units)} above the floor, {shown(rise, units)} above {step.name}"

    return Finding(module.name, "step up", "clear", said=said(words))
