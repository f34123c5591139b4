"""How far can a body travel in one direction before it touches?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tumblehome.errors import InputError, nearest
from tumblehome.room import DIRECTIONS, Reach, Room, room_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tumblehome.body.shell import Shell
    from tumblehome.sweep import Prism

__all__ = ["reach"]


def reach(thing: Shell | Room, body: Sequence[Prism], direction: str) -> Reach:
    """Return how far a body of upright prisms can travel in one of six directions before it touches, exactly.

    Parameters
    ----------
    thing : a shell, whose void is meant, or a room
    body : prisms with convex outlines, mm; together they are the body
    direction : "front", "rear", "left", "right", "up" or "down"

    Returns
    -------
    Reach
        0 where it touches already in that direction.

    Raises
    ------
    InputError
        For an unknown direction, a body that is not finite, or one that is not free where it stands (it fouls a part or
        is outside).
    """
    if direction not in DIRECTIONS:
        raise InputError(
            f"no direction '{direction}'{nearest(direction, DIRECTIONS)}; allowed: {', '.join(DIRECTIONS)}"
        )
    if not np.isfinite([prism.bounds for prism in body]).all():
        raise InputError("the body has a corner that is nowhere; give finite lengths")
    axis, sense = DIRECTIONS[direction]
    room = thing if isinstance(thing, Room) else room_of(thing)
    journey = room.journey(body, axis)
    if journey.fouled:
        raise InputError(
            f"the body already fouls {', '.join(name for name, _ in journey.fouled)}; it can travel once it is free"
        )
    found = journey.reach(sense)
    if found is None or not all(room.holds_center(prism) for prism in body):
        raise InputError("the body is outside the interior")
    return found
