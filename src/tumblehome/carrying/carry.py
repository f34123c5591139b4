"""Can a module be carried out of the van, by which doorway, past what, and with how much to spare?"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from tumblehome.carrying.laying import Laying, side_words
from tumblehome.carrying.question import Question, Way
from tumblehome.errors import InputError, nearest
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from tumblehome.body.parts import Doorway
    from tumblehome.fitout import Layout, Module

__all__ = ["Carry", "carry"]

Verdict = Literal["clear", "tight", "fouls"]


@dataclass(frozen=True, eq=False)
class Carry:
    """The answer about a module.

    Attributes
    ----------
    layout : Layout; module : Module
    hand : mm kept free on every side
    removed : names of the modules taken out first, with what stands on them
    taken_off : names of what stands on the module, which is taken off first
    foot, lift : mm, the height of its foot as it stands, and as it may be lifted over what is low, or None
    fouls : what it fouls where it stands
    ways : one for each doorway that was asked about, the best first
    """

    layout: Layout
    module: Module
    hand: float
    removed: tuple[str, ...]
    taken_off: tuple[str, ...]
    foot: float
    lift: float | None
    fouls: tuple[str, ...]
    ways: tuple[Way, ...]

    @property
    def best(self) -> Way:
        """The way with the most to spare, or the one that least stands against."""
        return self.ways[0]

    @property
    def verdict(self) -> Verdict:
        """Clear; tight where less is to spare than the shell was measured to, or it is undecided; fouls: no way out."""
        low = self.best.spare[0]
        if self.best.outcome == "blocked":
            return "fouls"
        return "clear" if low is not None and low >= max(self.layout.measured_to, 0.0) else "tight"


def carry(
    layout: Layout,
    name: str,
    *,
    hand: float = 0.0,
    without: Sequence[str] = (),
    through: str | None = None,
    progress: Callable[[str], None] | None = None,
) -> Carry:
    """Decide whether a module can be carried out, moving and turning about the upright axis, upright or laid on a side.

    It is laid only where it does not pass upright, on the sides that its file allows, one after another until it passes. It
    stands upright until it is tipped, a quarter turn about the lower edge of that side, where all that the box about it sweeps
    is free (taken as somewhat more than it is); then it is carried on as it lies. "Blocked" is proven then too: it would not
    pass even if tipping about that edge needed no more room than it takes before and after. That it slides while it is tipped
    is not reckoned with.

    Each of its parts is taken at its own heights. It starts where it stands and is out when it is as far outside of a doorway
    as it is long. Where something low is about, a sill, a step or a module up to 200 mm high, it may be lifted, to 20 mm
    above the highest of them, and carried on there.

    Parameters
    ----------
    layout : Layout
    name : of a rigid module that stands in no other one; what stands on it is taken off first
    hand : mm kept free on every side once it has been pulled out of its place; no published value is known
    without : names of modules that are taken out first, with what stands on them
    through : the name of a doorway; by default each is tried
    progress : called with words about what is being done

    Raises
    ------
    InputError
        For a module that is built in, stands in another one or does not exist, one that is fixed or would have to go
        first although it is, a shell without a doorway, an unknown doorway, and a hand room that is not a finite length
        of 0 or more.
    """
    if not (np.isfinite(hand) and hand >= 0):
        raise InputError("below zero or not finite; the room for hands is a length of 0 or more", key="--hand")
    module = _carried(layout, name)
    taken_off = layout.with_stack([name])[1:]
    removed = tuple(n for n in layout.with_stack(_known(layout, name, without)) if n not in taken_off)
    _refuse_fixed(layout, taken_off, f"stands on '{name}'")
    _refuse_fixed(layout, removed, "would be taken out first")
    gone = {name, *taken_off, *removed}
    others = tuple(m for m in layout.modules if m.parent is None and m.name not in gone)
    questions = [Question(layout, module, others, door, hand) for door in _doorways(layout, through)]
    stuck = not any(question.outcome == "passes" for question in questions)
    lying = list(_lying(questions, progress or _silently)) if stuck else []
    mend = all(question.outcome == "blocked" for question in questions) and not _passes(lying)
    ways = lying
    for question in questions:
        (progress or _silently)(f"carrying the {name} out by the {question.doorway.name}")
        ways.append(question.way(mend=mend))
    first = questions[0]
    fouls = tuple(_fouled(layout, module, gone))
    return Carry(
        layout, module, hand, removed, taken_off, first.body.foot, first.lift, fouls, tuple(sorted(ways, key=_rank))
    )  # fmt: skip


def _lying(questions: Sequence[Question], progress: Callable[[str], None]) -> Iterator[Way]:
    """Yield the ways of a module that is laid on a side on its way, side by side until it passes."""
    module = questions[0].module
    for side in module.lies_on if Laying.is_possible(module) else ():
        found = []
        for question in questions:
            progress(f"carrying the {module.name} on its {side_words(side)} out by the {question.doorway.name}")
            found.append(replace(question, lying=side, _answers={}).way(mend=False))
        yield from found
        if _passes(found):
            return


def _passes(ways: Sequence[Way]) -> bool:
    return any(way.outcome == "passes" for way in ways)


def _silently(words: str) -> None:
    del words


def _carried(layout: Layout, name: str) -> Module:
    module = layout.module(name)
    if module.parent is not None:
        raise InputError(f"'{name}' stands inside '{module.parent}'; take it out of there first", file=layout.file)
    if module.kind != "rigid":
        words = "is scribed to the wall: built in, it comes out in pieces; name a rigid module"
        raise InputError(f"'{name}' {words}", file=layout.file)
    _refuse_fixed(layout, [name], "is to be carried")
    return module


def _refuse_fixed(layout: Layout, names: Sequence[str], what: str) -> None:
    for name in names:
        if layout.module(name).fixed:
            words = "but is fixed: built in for good; remove 'fixed' from it in the layout if it can be taken out"
            raise InputError(f"'{name}' {what}, {words}", file=layout.file)


def _known(layout: Layout, name: str, without: Sequence[str]) -> list[str]:
    for other in without:
        if other == name:
            raise InputError(f"'{name}' is what is carried; name others to be taken out first", key="--without")
        parent = layout.module(other).parent
        if parent is not None:
            raise InputError(f"'{other}' stands inside '{parent}' and in nobody's way", key="--without")
    return list(dict.fromkeys(without))


def _doorways(layout: Layout, through: str | None) -> tuple[Doorway, ...]:
    shell = layout.shell
    if not shell.doorways:
        words = f"shell '{shell.name}' has no doorway; give it one, in a table [[doorways]], to carry through"
        raise InputError(words, file=shell.file)
    if through is None:
        return shell.doorways
    found = tuple(door for door in shell.doorways if door.name == through)
    if not found:
        known = [door.name for door in shell.doorways]
        words = f"shell '{shell.name}' has no doorway '{through}'{nearest(through, known)}; it has {', '.join(known)}"
        raise InputError(words, key="--through")
    return found


def _fouled(layout: Layout, module: Module, gone: set[str]) -> Iterator[str]:
    """Yield what a module fouls where it stands, of what is not taken out."""
    journey = layout.room.journey(module.body, 2, ignoring=gone)
    yield from (name for name, _ in journey.fouled)


def _rank(way: Way) -> tuple[int, int, bool, float]:
    """Return what the ways are ordered by: those that pass, the roomiest first, then those for which least must go."""
    low, high = way.spare
    fewest = len(way.removals[0]) if way.removals else 9
    known = low if low is not None else high if high is not None else -1e6
    return (
        ("passes", "undecided", "blocked").index(way.outcome), 0 if way.outcome == "passes" else fewest,
        way.lying is not None, -known,
    )  # fmt: skip
