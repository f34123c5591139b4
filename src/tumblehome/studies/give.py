"""What each named part of the shell gives a module or costs it: the same question asked with the part and without it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tumblehome.records import dataclass
from tumblehome.studies.wall import Wall
from tumblehome.tolerances import CONTACT

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tumblehome.body import Part, Shell
    from tumblehome.sweep import Prism

__all__ = ["Effect", "Effects", "effects_on"]


@dataclass(frozen=True)
class Effect:
    """What some parts together give (positive) or cost (negative) a module, mm of its reach towards the wall."""

    parts: tuple[str, ...]
    gain: float


@dataclass(frozen=True)
class Effects:
    """A module's reach towards its wall, and what makes it so.

    Attributes
    ----------
    reach : float, mm, half-breadth that its back can have where it stands
    stopped_by : the part that it comes up against
    single : what each part alone gives or costs, greatest first; parts without effect are left out
    joint : what two or more do together where any one of them alone changes less; the whole effect, not a share of it
    """

    reach: float
    stopped_by: str
    single: tuple[Effect, ...]
    joint: tuple[Effect, ...]


def effects_on(shell: Shell, body: Sequence[Prism], sign: float) -> Effects:
    """Return what gives a body its reach towards one side of the shell, where it stands.

    Parameters
    ----------
    shell : Shell
    body : upright prisms, mm
    sign : -1 for the left side, 1 for the right

    Returns
    -------
    Effects
        A member's cost is the reach without it less the reach with it, a recess's gift the reach with it less the reach
        without it; neither is ever negative. Members that stand one behind the other, and recesses that each suffice,
        are told together.
    """
    members = [part.name for part in shell.parts if not part.gives]
    limits = Wall.of(shell, sign).limits(body)
    ladder = sorted(((u, name) for name, u in limits.items() if name in members))
    wall = min((u, name) for name, u in limits.items() if name not in members)
    reach, stop = min([*ladder[:1], wall])
    single, joint = _costs(ladder, wall[0], reach)
    given = _gifts(shell, body, sign, reach, min(ladder, default=(np.inf,))[0])
    every = sorted([*single, *given[0]], key=lambda effect: -abs(effect.gain))
    return Effects(reach, stop, tuple(every), (*joint, *given[1]))


def _costs(ladder: list[tuple[float, str]], wall: float, reach: float) -> tuple[list[Effect], list[Effect]]:
    """Return what the members cost: the first alone, and with each further one that stands before the wall."""
    standing = [(u, name) for u, name in ladder if u < wall - CONTACT]
    single: list[Effect] = []
    joint: list[Effect] = []
    told = 0.0
    for k in range(1, len(standing) + 1):
        behind = standing[k][0] if k < len(standing) else wall
        effect = Effect(tuple(name for _, name in standing[:k]), reach - behind)
        if effect.gain < told - CONTACT:
            (single if k == 1 else joint).append(effect)
            told = effect.gain
    return single, joint


def _gifts(
    shell: Shell, body: Sequence[Prism], sign: float, reach: float, member: float
) -> tuple[list[Effect], list[Effect]]:
    """Return what recesses give, each alone, and what they give together: where each needs the others, only that.

    Those that the body does not enter are no matter, whether they are there or not.
    """
    near = [part.name for part in shell.parts if part.gives and _is_entered(shell, part, body, sign, reach)]

    def gift(names: Sequence[str]) -> Effect:
        limits = Wall.lined(shell, sign, set(near).difference(names)).limits(body)
        return Effect(tuple(names), reach - min(member, *limits.values()))

    single = [effect for name in near if (effect := gift([name])).gain > CONTACT]
    if len(near) < 2:
        return single, []
    joint = []
    if len(single) > 1:
        together = gift([effect.parts[0] for effect in single])
        if sum(effect.gain for effect in single) > together.gain + CONTACT:
            single, joint = [], [together]
    best = max((effect.gain for effect in (*single, *joint)), default=0.0)
    whole = gift(near)
    return single, [*joint, _fewest(gift, whole)] if whole.gain > best + CONTACT else joint


def _fewest(gift: Callable[[Sequence[str]], Effect], whole: Effect) -> Effect:
    """Return the same effect by no more parts than it takes."""
    for name in whole.parts:
        fewer = gift([other for other in whole.parts if other != name])
        if fewer.gain > whole.gain - CONTACT:
            whole = fewer
    return whole


def _is_entered(shell: Shell, part: Part, body: Sequence[Prism], sign: float, reach: float) -> bool:
    """Whether a recess lies on the body's side, within its stations and heights, and begins before it is stopped.

    Its cutter begins a little before it, so one that begins just beyond is looked at, too; it gives nothing then.
    """
    low, high = shell.cutter_of(part).bounds
    if sign * (low[1] + high[1]) <= 0 or min(sign * low[1], sign * high[1]) >= reach - CONTACT:
        return False
    for prism in body:
        least, most = prism.bounds
        if least[0] < high[0] and most[0] > low[0] and least[2] < high[2] and most[2] > low[2]:
            return True
    return False
