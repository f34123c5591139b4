"""Where does a module go, with what stands on it: moved, pushed against a wall, or turned?

What stands on a module or in it goes along: by the same way where the file tells its place, and of itself where it is pushed
against the same wall. What is pushed against a wall stays so while it moves along it. Moved off it, it is told by its exact
place, and keeps facing as it did; so does what stands on it, and what turns because the module does on or in which it stands.
Nothing turns by being pushed. What is scribed to a wall stays at it: moved across the van, its face moves.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.errors import InputError, LayoutError, nearest
from tumblehome.lengths import told
from tumblehome.room import DIRECTIONS, Room, room_of
from tumblehome.tolerances import CONTACT, SMALLEST
from tumblehome.viewer.draft import quoted
from tumblehome.viewer.pen import OPPOSITE, PLACES, WALLS, Pen, Said, going, layout_of, module_of

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from numpy.typing import NDArray

    from tumblehome.fitout import Module
    from tumblehome.room import Journey
    from tumblehome.viewer.editing import Move, Nudge, Push, Turn
    from tumblehome.viewer.pen import Plan

    Floats = NDArray[np.float64]

__all__ = ["moved", "nudged", "pushed", "turned"]

_AXES: Final = ("x", "y", "z")

_SAME_PLACE: Final = 1e-6
"""What is put within this of where its wall holds it stays pushed, mm: the exactness that is promised of places."""


def moved(plan: Plan, edit: Move) -> str:
    """Return the text in which the least corner of a module stands at a place; raises InputError where it cannot."""
    low = module_of(plan, edit.module, edit.mode).bounds[0]
    given = [place if at is None else at for at, place in zip((edit.x, edit.y, edit.z), low, strict=True)]
    return _shifted(plan, edit.module, edit.mode, np.array(given) - low)


def nudged(plan: Plan, edit: Nudge) -> str:
    """Return the text in which a module stands so far along an axis; raises InputError where it cannot."""
    if edit.axis not in _AXES:
        raise InputError(f"there is no axis '{edit.axis}'; allowed: {', '.join(_AXES)}")
    by = np.zeros(3)
    by[_AXES.index(edit.axis)] = edit.mm
    return _shifted(plan, edit.module, edit.mode, by)


def _shifted(plan: Plan, name: str, mode: str | None, by: Floats) -> str:
    """Return the text with a module moved by a (3,) vector in mm: along its wall where that leads there, else off it."""
    if not np.isfinite(by).all():
        raise InputError("a place is nowhere; give finite lengths")
    by = np.where(abs(by) > CONTACT, by, 0.0)
    module, said = module_of(plan, name, mode), Said(plan, mode)
    walls = [axis for axis in range(2) if module.kind == "rigid" and said.is_pushed(name, axis)]
    free = by.copy()
    free[walls] = 0.0
    if walls and free.any():
        try:
            along = plan.read(_written(plan, name, mode, free))
            reached = module_of(along, name, mode).bounds[0] - module.bounds[0]
            if not by[walls].any() or (abs(reached - by)[walls] <= _SAME_PLACE).all():
                return _with_drift(along, name, mode, {axis: float(reached[axis]) for axis in walls})
        except InputError:
            if not by[walls].any():
                raise
    return _written(plan, name, mode, by)


def _written(plan: Plan, name: str, mode: str | None, by: Floats) -> str:
    """Return the text with a module, and what goes along, told to stand so far from where it is."""
    pen = Pen(plan, mode)
    module = module_of(plan, name, mode)
    for axis in np.flatnonzero(by).tolist():
        place, far = float(module.bounds[0][axis] + by[axis]), float(by[axis])
        if axis == 2:
            _write_foot(pen, module, by)
        elif module.kind == "rigid" and pen.said.is_pushed(name, axis):
            pen.off_the_wall(name, axis, place)
        else:
            pen.shift(name, axis, far)
        for own, other in list(going(pen, name, axis)):
            _carry(own, other, axis, far, host=module)
    return pen.draft.result


def _carry(pen: Pen, name: str, axis: int, by: float, *, host: Module) -> None:
    """Move what stands on a module along with it; what a wall holds comes off it, unless the host only changes its depth."""
    said, module = pen.said.of(name), pen.module(name)
    if said.get("kind") == "scribed" or not pen.said.is_pushed(name, axis):
        pen.shift(name, axis, by)
    elif "in" not in said and module is not None and host.kind == "rigid":
        pen.off_the_wall(name, axis, float(module.bounds[0][axis]) + by)


def _with_drift(plan: Plan, name: str, mode: str | None, drift: Mapping[int, float]) -> str:
    """Return the text in which what stands on a module has followed it where a wall took it, axis by axis in mm."""
    upon = Said(plan, mode).upon(name) if any(abs(by) > CONTACT for by in drift.values()) else []
    if not upon:
        return plan.file.text
    pen = Pen(plan, mode)
    for axis, by in drift.items():
        for other in upon:
            if pen.said.of(other).get("kind") != "scribed" and not pen.said.is_pushed(other, axis):
                pen.shift(other, axis, by)
    return pen.draft.result


def _write_foot(pen: Pen, module: Module, by: Floats) -> None:
    """Write at what height a module stands now: on what it then stands on, or hung."""
    said, table = pen.said.of(module.name), pen.said.axis_table(module.name, 2)
    height = float(module.bounds[0][2] + by[2])
    if "in" in said:
        if "hung" in said:
            pen.length((*table, "hung"), height)
        else:
            pen.draft.add(table, "hung", pen.fresh(table, height), "in")
        return
    under = _standing_on(pen, module, by)
    key, literal = ("on", quoted(under)) if under else ("hung", pen.fresh(table, height))
    old = next((each for each in ("hung", "on") if each in said), None)
    if old is None:
        pen.word(table, key, literal)
    elif old == key == "hung":
        pen.length((*table, key), height)
    else:
        pen.draft.rename((*table, old), key, literal)


def _standing_on(pen: Pen, module: Module, by: Floats) -> str | None:
    """Return on what a module would stand once moved: the floor, or the module whose top its foot touches."""
    low, high = (corner + by for corner in module.bounds)
    if abs(low[2]) <= CONTACT:
        return "floor"
    not_these = {module.name, *pen.said.upon(module.name)}
    for other in layout_of(pen.plan, module.name, pen.mode).modules:
        least, most = other.bounds
        is_over = (low[:2] < most[:2] - CONTACT).all() and (high[:2] > least[:2] + CONTACT).all()
        if is_over and abs(most[2] - low[2]) <= CONTACT and other.parent is None and other.name not in not_these:
            return other.name
    return None


def pushed(plan: Plan, edit: Push) -> str:
    """Return the text in which a module is pushed out against a side of the van; raises InputError where it cannot be."""
    if edit.side not in OPPOSITE:
        raise InputError(
            f"there is no side '{edit.side}'{nearest(edit.side, OPPOSITE)}; allowed: {', '.join(OPPOSITE)}"
        )
    axis = 0 if edit.side in WALLS[0] else 1
    module, pen = module_of(plan, edit.module, edit.mode), Pen(plan, edit.mode)
    old = pen.said.of(edit.module).get("against")
    if old == edit.side:
        return plan.file.text
    for name in (edit.module, *pen.said.upon(edit.module)):
        said = pen.said.of(name)
        if name == edit.module or (old and said.get("against") == old and "in" not in said):
            _write_push(pen, name, edit.side, axis)
    after = plan.read(pen.draft.result)
    reached = module_of(after, edit.module, edit.mode).bounds[0] - module.bounds[0]
    if module.kind == "rigid":
        _refuse_detour(pen, module, edit.side, float(reached[axis]))
    return _with_drift(after, edit.module, edit.mode, {axis: float(reached[axis])})


def _refuse_detour(pen: Pen, module: Module, side: str, reached: float) -> None:
    """Raise LayoutError where pushing would take a module the other way, or through what stands before it.

    The file tells of a pushed module only its wall: it is found from the middle of the van, or of what it stands in, so that
    it may land on the other side of something.
    """
    axis, sense = DIRECTIONS[side]
    layout = layout_of(pen.plan, module.name, pen.mode)
    inner = layout.module(module.parent).inner if module.parent else None
    room = Room(inner.surface) if inner else room_of(layout.shell)
    here = room.journey(module.body, axis)
    stop = here.reach(sense)
    if here.fouled and sense * reached < -CONTACT:
        raise LayoutError(_out_first(module, here, side), unit=pen.said.unit)
    if sense * reached < -CONTACT:
        words = (
            "pushed to the {} from the middle, as the file tells it, '{}' would land {} the other way; move it instead"
        )
        raise LayoutError(told(words, side, module.name, abs(reached)), unit=pen.said.unit)
    if stop and not here.fouled and sense * reached > stop.distance + CONTACT:
        free = stop.distance if stop.distance > SMALLEST else 0.0
        words = "{} stops '{}' {} from here; pushed from the middle, as the file tells it, it would land beyond; move it instead"
        raise LayoutError(told(words, stop.part, module.name, free), unit=pen.said.unit)


def _out_first(module: Module, here: Journey, side: str) -> Callable[[str | None], str]:
    """Return that a module stands in something already, and how it gets out of that."""
    words, out = "'{}' stands in {} already; move it ", here.clearing_move(-DIRECTIONS[side][1])
    if out is None:
        return told(words + "clear of that first", module.name, here.fouled[0][0])
    return told(words + "{} to the {} first", module.name, here.fouled[0][0], out, OPPOSITE[side])


def _write_push(pen: Pen, name: str, side: str, axis: int) -> None:
    said, module = pen.said.of(name), pen.module(name)
    if said.get("kind") == "scribed" and axis == 0:
        raise LayoutError(f"'{name}' follows the left or the right wall; push it to one of those")
    literal = quoted(side)
    facing = pen.said.facing(name)
    old, told, other = said.get("against"), PLACES[axis], PLACES[1 - axis]
    if old is None:
        pen.draft.rename((*pen.said.table(name, told), told), "against", literal)
    elif old in WALLS[axis]:
        pen.word(pen.said.table(name, "against"), "against", literal)
    elif module is not None:  # its place along the old wall is found now, and that off it is told
        table = pen.said.table(name, "against", told)
        place = float(module.bounds[0][1 - axis])
        pen.word(table, "against", literal)
        if pen.draft.literal((*table, told)) is None:
            pen.word(table, other, pen.fresh(table, place))
        else:
            pen.draft.rename((*table, told), other, pen.fresh(table, place))
    if said.get("kind") != "scribed" and "faces" not in said and OPPOSITE[side] != facing:
        pen.faces(name, facing)


def turned(plan: Plan, edit: Turn) -> str:
    """Return the text in which a module is turned about its middle; raises LayoutError for a scribed one."""
    module, pen = module_of(plan, edit.module, edit.mode), Pen(plan, edit.mode)
    if module.kind == "scribed":
        raise LayoutError(f"'{module.name}' follows its wall and cannot be turned; push it to the other side")
    if not np.isfinite(edit.degrees) or edit.degrees % 360 == 0:
        return plan.file.text
    walls = {axis for axis in range(2) if pen.said.is_pushed(module.name, axis)}
    for name in (module.name, *pen.said.upon(module.name)):
        turned = pen.module(name)
        if turned is None or turned.kind == "scribed":
            continue
        pen.turn(name, edit.degrees)
        by = _low_turned(turned, module.center[:2], edit.degrees) - turned.bounds[0][:2]
        for axis in range(2):
            if not pen.said.is_pushed(name, axis):
                pen.shift(name, axis, float(by[axis]) if abs(by[axis]) > CONTACT else 0.0)
            elif name != module.name:  # it turns with its host as one thing, whatever wall held it
                pen.off_the_wall(name, axis, float(turned.bounds[0][axis] + by[axis]))
    after = plan.read(pen.draft.result)
    reached = module_of(after, module.name, edit.mode).bounds[0][:2] - _low_turned(
        module, module.center[:2], edit.degrees
    )
    return _with_drift(after, module.name, edit.mode, {axis: float(reached[axis]) for axis in walls})


def _low_turned(module: Module, about: Floats, degrees: float) -> Floats:
    """Return the least corner (2,) in plan of a module that was turned about a (2,) point."""
    angle = np.radians(degrees)
    turn = np.round([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]], 15)
    corners = np.concatenate([prism.outline for prism in module.hull])
    least: Floats = ((corners - about) @ turn + about).min(axis=0)
    return least
