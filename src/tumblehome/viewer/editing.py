"""What does an edit change in the text of a layout file?

Each edit is told as a builder means it, and becomes the smallest change of text that does it, in the file's own unit and way
of writing, comments kept.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import field
from itertools import count
from typing import TYPE_CHECKING, Any, Final, Literal, TypeAlias

import numpy as np

from tumblehome.errors import InputError, LayoutError
from tumblehome.files import parse_toml
from tumblehome.fitout.modulefields import ModuleFields
from tumblehome.lengths import told
from tumblehome.records import dataclass
from tumblehome.schema import read_fields
from tumblehome.tolerances import CONTACT
from tumblehome.viewer.draft import Draft, quoted
from tumblehome.viewer.moving import moved, nudged, pushed, turned
from tumblehome.viewer.pen import SIZES, Pen, Plan, Said, layout_of, module_of

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator

    from numpy.typing import NDArray

    from tumblehome.files import KeyPath
    from tumblehome.fitout import Module

    Bounds = tuple[NDArray[np.float64], NDArray[np.float64]]

__all__ = [
    "Duplicate", "Edit", "Move", "Nudge", "Push", "Remove", "Resize", "Retype", "SetText", "Turn", "edited", "words_of",
]  # fmt: skip

Axis: TypeAlias = Literal["x", "y", "z"]
Side: TypeAlias = Literal["left", "right", "front", "rear"]

_PARTS: Final = 20
"""Where no place is free, a copy stands beside its module by its length, else by a half of that, and so on to less than this."""


@dataclass(frozen=True)
class Edit:
    """A change of a plan; ``mode`` is the state of the van in which the builder looks at it, None for the listing."""

    mode: str | None = field(default=None, kw_only=True)


@dataclass(frozen=True)
class Move(Edit):
    """Put the least corner of a module's bounds at a place, mm; None leaves that axis as it is."""

    module: str
    x: float | None = None
    y: float | None = None
    z: float | None = None


@dataclass(frozen=True)
class Nudge(Edit):
    """Move a module along an axis by so many mm."""

    module: str
    axis: Axis
    mm: float


@dataclass(frozen=True)
class Push(Edit):
    """Push a module out against a side of the van; it keeps facing as it does."""

    module: str
    side: Side


@dataclass(frozen=True)
class Turn(Edit):
    """Turn a module about its middle, counterclockwise seen from above, with what stands on it."""

    module: str
    degrees: float


@dataclass(frozen=True)
class Resize(Edit):
    """Give a module other measures, mm; None leaves one as it is."""

    module: str
    wide: float | None = None
    deep: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Duplicate(Edit):
    """Put a copy of a module beside it."""

    module: str


@dataclass(frozen=True)
class Remove(Edit):
    """Take a module out of the plan, in all modes."""

    module: str


@dataclass(frozen=True)
class Retype(Edit):
    """Write a key of a module as somebody types it; nothing removes the key. ``boxes.2.wide`` means that of its second box."""

    module: str
    key: str
    text: str


@dataclass(frozen=True)
class SetText(Edit):
    """Give the file another text."""

    text: str


def words_of(edit: Edit) -> str:
    """Return what an edit does, as one says it: "move refrigerator"."""
    match edit:
        case Push():
            return f"push {edit.module} to the {edit.side}"
        case Retype():
            return f"change '{edit.key}' of {edit.module}"
        case Nudge():
            return f"move {edit.module}"
        case Move() | Turn() | Resize() | Duplicate() | Remove():
            return f"{type(edit).__name__.lower()} {edit.module}"
        case _:
            return "edit the text"


def edited(plan: Plan, edit: Edit) -> str:
    """Return the text of a plan after an edit.

    Raises
    ------
    InputError
        With the mend, for a module that is not there, and for what cannot be done to it.
    """
    return _EDITORS[type(edit)](plan, edit)


def _resized(plan: Plan, edit: Resize) -> str:
    module, pen = module_of(plan, edit.module, edit.mode), Pen(plan, edit.mode)
    said = pen.said.of(module.name)
    for key, size in (("wide", edit.wide), ("deep", edit.deep), ("high", edit.high)):
        more = 0.0 if size is None else size - getattr(module, key)
        if not np.isfinite(more) or abs(more) <= CONTACT:
            continue
        if "boxes" in said:
            _stretch(pen, module.name, key, more)
        elif "outline" in said and key != "high":
            raise LayoutError(f"an outline says how {key} '{module.name}' is; change its corners in the text")
        elif key == "deep" and module.kind == "scribed":
            own, change = ("face", -more) if "face" in said else ("deep", more)
            pen.length((*pen.said.table(module.name, own), own), pen.said.length(said[own]) + change)
        else:
            pen.length((*pen.said.table(module.name, key), key), float(getattr(module, key) + more))
    return pen.draft.result


def _stretch(pen: Pen, name: str, key: str, more: float) -> None:
    """Lengthen those boxes of a module that reach as far as it does."""
    said = pen.said.of(name)["boxes"]
    sizes = [pen.said.length(box[key]) for box in said]
    ends = [size + pen.said.length(box.get(SIZES[key], "0 mm")) for size, box in zip(sizes, said, strict=True)]
    inner = max((end for end in ends if end < max(ends) - CONTACT), default=0.0)
    if max(ends) + more < inner - CONTACT:
        words = told("another box of '{}' reaches to {}; change its boxes in the text", name, inner)
        raise LayoutError(words, unit=pen.said.unit)
    table = pen.said.table(name, "boxes")
    for i, (size, end) in enumerate(zip(sizes, ends, strict=True)):
        if end >= max(ends) - CONTACT:
            pen.length((*table, "boxes", i, key), size + more)


def _duplicated(plan: Plan, edit: Duplicate) -> str:
    module, said, draft = module_of(plan, edit.module, edit.mode), Said(plan, None), Draft(plan.file.text)
    name = _free_name(edit.module, {*said.modules, *module.solid.surface.names})
    draft.copy(said.listing(edit.module), "name", quoted(name))
    for change in _changes(plan, edit.module):
        draft.copy(change, "module", quoted(name))
    copied = plan.read(draft.result)
    axis = 1 if Said(plan, edit.mode).is_pushed(edit.module, 0) else 0
    for ways, bars in ((_free_ways(plan, module, axis), _meet), (_ways_beside(plan, module, axis), _coincide)):
        for by in ways:
            text = _shifted(copied, name, axis, by)
            if _stands_clear(plan, text, name, bars):
                return text
    raise LayoutError(f"there is no place for a copy of '{edit.module}' beside it")


def _shifted(plan: Plan, name: str, axis: int, by: float) -> str:
    """Return the text with a module moved along an axis in all modes."""
    pen = Pen(plan, None)
    for mode in (None, *(layout.mode for layout in plan.layouts)):
        pen.in_mode(mode).shift(name, axis, by)
    return pen.draft.result


def _free_ways(plan: Plan, module: Module, axis: int) -> list[float]:
    """Return how far a copy of a module may go to stand next to it, or next to another one, within the van: the least first."""
    here = module.bounds
    others = [m.bounds for layout in plan.layouts for m in layout.modules if m.parent == module.parent]
    ways = {float(there[1 - i][axis] - here[i][axis]) for there in others for i in range(2)}
    return sorted(_within(plan, module, axis, ways), key=lambda by: (abs(by), -by))


def _ways_beside(plan: Plan, module: Module, axis: int) -> list[float]:
    """Return how far a copy of a module may go where nothing is free: right beside it, else by a half of that, a third, ..."""
    low, high = module.bounds
    ways = [sign * float(high[axis] - low[axis]) / k for k in range(1, _PARTS) for sign in (1, -1)]
    within = _within(plan, module, axis, ways)
    return within + [by for by in ways if by not in within]


def _within(plan: Plan, module: Module, axis: int, ways: Iterable[float]) -> list[float]:
    """Return the ways by which a module stays in the van, or inside the module that it is in."""
    layout = layout_of(plan, module.name, None)
    inner = layout.module(module.parent).inner if module.parent else None
    low, high = np.subtract((inner or layout.shell).bounds, module.bounds)[:, axis].tolist()
    return [by for by in ways if low - CONTACT <= by <= high + CONTACT]


def _stands_clear(plan: Plan, text: str, name: str, bars: Callable[[Bounds, Bounds], bool]) -> bool:
    """Return whether no other module's box bars that of a module where a text puts it, in any mode."""
    try:
        layouts = plan.read(text).layouts
    except InputError:
        return False
    pairs = (
        (one, other) for layout in layouts for one in layout.modules if one.name == name for other in layout.modules
    )
    return not any(
        other.name != name and other.parent == one.parent and bars(one.bounds, other.bounds) for one, other in pairs
    )


def _meet(one: Bounds, other: Bounds) -> bool:
    return bool((one[0] < other[1] - CONTACT).all() and (one[1] > other[0] + CONTACT).all())


def _coincide(one: Bounds, other: Bounds) -> bool:
    return bool(np.allclose(one, other, rtol=0.0, atol=CONTACT))


def _free_name(name: str, taken: Collection[str]) -> str:
    """Return a name with the first number that makes it a new one."""
    stem = re.sub(r" \d+$", "", name)
    return next(each for i in count(2) if (each := f"{stem} {i}") not in taken)


def _changes(plan: Plan, name: str) -> Iterator[KeyPath]:
    """Yield where modes change a module."""
    for m, mode in enumerate(plan.file.data.get("modes", [])):
        for c, change in enumerate(mode.get("changes", [])):
            if change["module"] == name:
                yield ("modes", m, "changes", c)


def _removed(plan: Plan, edit: Remove) -> str:
    listing = Said(plan, None)
    listing.of(edit.module)
    for mode in (None, *(layout.mode for layout in plan.layouts)):
        upon = Said(plan, mode).upon(edit.module)
        if upon:
            raise LayoutError(f"'{upon[0]}' stands on or in '{edit.module}'; move or remove it first")
    draft = Draft(plan.file.text)
    for table in (listing.listing(edit.module), *_changes(plan, edit.module)):
        draft.remove(table)
    return draft.result


def _retyped(plan: Plan, edit: Retype) -> str:
    said = Said(plan, edit.mode)
    said.of(edit.module)
    if edit.key == "name":
        return _renamed(plan, edit.module, edit.text.strip())
    first, *below = (int(step) - 1 if step.isdecimal() else step for step in edit.key.split("."))
    path: KeyPath = (*said.table(edit.module, str(first)), first, *below)
    typed = edit.text.strip()
    if not typed:
        draft = Draft(plan.file.text)
        if draft.literal(path) is not None:
            draft.drop(path)
        return draft.result
    return _typed(plan, edit, path, typed)


def _typed(plan: Plan, edit: Retype, path: KeyPath, typed: str) -> str:
    """Return the text with a value as typed: as TOML where that is what the key takes, else as a text in quotes."""
    for literal in (typed, None):
        draft = Draft(plan.file.text)
        old = draft.literal(path)
        new = literal or quoted(typed, old or '"')
        if literal and not _is_literal(literal):
            continue
        if old is not None:
            draft.write(path, new)
        elif draft.has(path[:-1]) and isinstance(path[-1], str):
            draft.add(path[:-1], path[-1] if path[-1].replace("_", "").isalnum() else quoted(path[-1]), new)
        else:
            raise LayoutError(f"'{edit.module}' has no '{edit.key}' whose value could be typed")
        try:
            _read_again(plan, draft.result, edit)
        except InputError:
            if literal is None:
                raise
        else:
            return draft.result
    raise LayoutError(f"'{edit.key}' takes another value")


def _is_literal(text: str) -> bool:
    try:
        return len(tomllib.loads(f"x = {text}")) == 1 and "\n" not in text and "#" not in text
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        return False


def _read_again(plan: Plan, text: str, edit: Retype) -> None:
    """Raise InputError where a module no longer says what a module may say."""
    read = Plan(parse_toml(text, plan.file.path), plan.layouts, plan.read)
    said = Said(read, edit.mode)
    read_fields(ModuleFields, said.of(edit.module), read.file, said.listing(edit.module), said.unit)


def _renamed(plan: Plan, name: str, new: str) -> str:
    """Return the text in which a module has another name, with all that mention it."""
    if not new:
        raise LayoutError(f"'{name}' needs a name; write at least 1 letter")
    draft, listing = Draft(plan.file.text), Said(plan, None)
    mentions = [(*listing.listing(name), "name"), *((*change, "module") for change in _changes(plan, name))]
    tables = [listing.listing(each) for each in listing.modules]
    for each in listing.modules:
        tables += _changes(plan, each)
    mentions += [
        (*table, key) for table in tables for key in ("on", "in") if _at(plan.file.data, (*table, key)) == name
    ]
    for path in mentions:
        draft.write(path, quoted(new, draft.literal(path) or '"'))
    return draft.result


def _at(data: Any, path: KeyPath) -> Any:  # noqa: ANN401  (whatever a file holds)
    for step in path:
        if isinstance(step, str) and step not in data:
            return None
        data = data[step]
    return data


def _set(plan: Plan, edit: SetText) -> str:
    del plan
    return edit.text


_EDITORS: Final[dict[type[Edit], Callable[[Plan, Any], str]]] = {
    Move: moved, Nudge: nudged, Push: pushed, Turn: turned, Resize: _resized, Duplicate: _duplicated, Remove: _removed,
    Retype: _retyped, SetText: _set,
}  # fmt: skip
