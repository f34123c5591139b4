"""A way out, or none, in a client's words."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Final

from tumblehome.carrying.laying import Laying, side_words
from tumblehome.lengths import format_mass, rounded_down, rounded_up, shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tumblehome.carrying.carry import Carry
    from tumblehome.carrying.question import Way

__all__ = ["LOAD_CONSTANT", "as_told", "caution", "headline", "sentences", "size_words", "spare_words"]

LOAD_CONSTANT: Final = 23.0
"""kg: the load constant of the revised NIOSH lifting equation, what one person may lift under ideal conditions (Waters,
Putz-Anderson and Garg, Applications Manual for the Revised NIOSH Lifting Equation, 1994)."""
_TOLD: Final = 3
"""So many of the parts that it passes are told in a sentence, and so many of the ways to mend."""
_MARKS: Final = {"mm": 1.0, "in": 25.4 / 16}
"""To what lengths are rounded, mm."""


def sentences(carry: Carry, units: str = "mm") -> list[str]:
    """Say what was found about a module; lengths in "mm" or "in"."""
    told = [headline(carry, carry.best, units), *_about(carry, carry.best, units)]
    told += [headline(carry, way, units) for way in carry.ways[1:] if not (way.lying and way.outcome == "blocked")]
    told += _unlaid(carry)
    told += _before(carry)
    if carry.best.outcome == "passes":
        told.append("The way in is the same way backwards.")
    return [*told, *caution(carry, units)]


def headline(carry: Carry, way: Way, units: str = "mm") -> str:
    """Say in a sentence whether it passes a doorway, and by how much, or what would have to go."""
    name, door = carry.module.name, way.doorway.name
    laid = f"laid on its {side_words(way.lying)}" if way.lying else "upright"
    if way.too_tall:
        return f"No way out by the {door}: {laid}, the {name} is {_up(way.too_tall, units)} too tall for it."
    if way.outcome == "passes":
        hand = f", beyond the {shown(carry.hand, units)} kept for hands" if carry.hand else ""
        lies = f", {laid}," if way.lying else ""
        return f"The {name}{lies} comes out by the {door} with {spare_words(way, units)} to spare on every side{hand}."
    if way.lying:
        return _lying_words(way, laid)
    if way.outcome == "undecided":
        return (
            f"The {name} may or may not come out by the {door}: it is within 1 mm of the size that does. Measure again."
        )
    mend = _mends(way)
    return f"No way out by the {door}: {size_words(way, units)}{'; ' + mend if mend else ''}."


def _lying_words(way: Way, laid: str) -> str:
    """Say why it does not pass laid on a side: there surely is no way, or it is not proven that it can be tipped."""
    if way.outcome == "blocked":
        return f"No way out by the {way.doorway.name} {laid}."
    return (
        f"By the {way.doorway.name} it may come out {laid}, but no place is proven where all that it sweeps when it is tipped "
        "is free: try it with the tape."
    )


def _unlaid(carry: Carry) -> Iterator[str]:
    """Yield on which sides it would not pass either, or what is not asked about laying it on a side."""
    sides = carry.module.lies_on
    barred = [side for side in sides if _is_barred(carry, side)]
    if barred:
        yield f"There is none either if it is laid on its {_joined([side_words(side) for side in barred], 'or its')}."
    if carry.best.outcome == "passes":
        return
    if sides and not Laying.is_possible(carry.module):
        yield "How it lies on a side is not computed: it is no stack of boxes."
    elif not sides:
        yield "That is upright; where it may be laid on a side, say so in its file: lies_on."


def _is_barred(carry: Carry, side: str) -> bool:
    outcomes = {way.outcome for way in carry.ways if way.lying == side}
    return outcomes == {"blocked"}


def spare_words(way: Way, units: str = "mm") -> str:
    """Say how much is to spare on every side: what is proven, rounded down, "over" where more was not asked about."""
    low, high = way.spare
    return f"{'over ' if high is None else ''}{_down(low or 0.0, units)}"


def size_words(way: Way, units: str = "mm") -> str:
    """Say how much too big it is, rounded up to what surely passes."""
    low, high = way.spare
    if low is not None:
        return f"it is {_up(-low, units)} too big on every side"
    return f"even {_down(-(high or 0.0), units)} smaller on every side it does not pass"


def _mends(way: Way) -> str:
    """Say what would have to go first."""
    if not way.removals:
        return ""
    sets = [f"the {_joined(list(names), 'and the')}" for names in way.removals[:_TOLD]]
    verb = "goes" if len(way.removals[0]) == 1 else "go"
    return f"it comes out if {_joined(sets, 'or')} {verb} first"


def _about(carry: Carry, way: Way, units: str) -> Iterator[str]:
    """Yield where the way is narrowest, what it passes, and whether it is lifted."""
    if way.place_room is not None:
        yield (
            f"That counts from where it has been pulled out; its place has room for {_down(way.place_room, units)} more "
            "on every side."
        )
    if way.pinch:
        one, other = way.pinch.parts
        between = f"between the two sides of the {one}" if one == other else f"between {one} and {other}"
        yield f"The way is narrowest {between}: {_down(way.pinch.opening, units)}."
    if way.path and way.outcome == "passes":
        yield from _stances(way, units)
        near = [f"{p.name} at {shown(p.margin, units)}" for p in way.path.passed[:_TOLD]]
        if near:
            yield f"On its way it passes {_joined(near, 'and')}."
        layers = way.path.mover.layers
        if carry.lift is not None and any(layers.feet[pose.layer] == carry.lift for pose in way.path.poses):
            yield f"It is carried with its foot at {shown(carry.lift, units)}, over what lies low."


def _stances(way: Way, units: str) -> Iterator[str]:
    """Yield that it stays upright, or where it is tipped."""
    poses, laid = (way.path.poses, way.path.mover.layers.laid) if way.path else ((), frozenset[int]())
    tipped = next((a for a, b in pairwise(poses) if b.layer in laid and a.layer not in laid), None)
    if tipped is None:
        yield "It stays upright."
    else:
        at = f"station {shown(tipped.x, units)}, breadth {shown(tipped.y, units)}"
        yield f"It is carried upright to {at}, tipped onto its {side_words(way.lying or '')} there, and carried on as it lies."


def _before(carry: Carry) -> Iterator[str]:
    """Yield what is taken off or out first, and what it fouls where it stands."""
    if carry.taken_off:
        yield f"First take off what stands on it: {_joined(carry.taken_off, 'and')}."
    if carry.removed:
        yield f"Taken out first: {_joined(carry.removed, 'and')}."
    if carry.module.support is None:
        yield "It hangs: it is taken down and carried at that height."
    if carry.fouls:
        yield f"Where it stands it fouls {_joined(carry.fouls, 'and')}; this counts from the nearest place that is free."


def caution(carry: Carry, units: str = "mm") -> Iterator[str]:
    """Yield the usual caution about lifting what is heavy."""
    unit = "lb" if units == "in" else "kg"
    mass = carry.module.mass
    if mass > LOAD_CONSTANT:
        yield (
            f"It weighs {format_mass(mass, unit)}; one person lifts at most {format_mass(LOAD_CONSTANT, unit)} under ideal "
            "conditions (NIOSH lifting equation). Guidance only: local codes and licensed practice decide."
        )


def _joined(words: Sequence[str], last: str) -> str:
    return f" {last} ".join(filter(None, [", ".join(words[:-1]), words[-1]]))


def _down(mm: float, units: str) -> str:
    return shown(as_told(mm, units), units)


def _up(mm: float, units: str) -> str:
    return shown(rounded_up(mm, _MARKS[units]), units)


def as_told(mm: float, units: str) -> float:
    """Return a width as it is told, rounded down to a whole millimeter or, with "in", a sixteenth of an inch, mm."""
    return rounded_down(mm, _MARKS[units])
