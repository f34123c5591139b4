"""Modules and their zones as a layout file states them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from tumblehome.errors import LayoutError
from tumblehome.fitout.module import FINISHES, USES, Opening, Use, Zone, convex_pieces, sector
from tumblehome.lengths import told
from tumblehome.schema import (
    Field,
    Fields,
    checked,
    choice,
    degrees,
    flag,
    kilograms,
    length,
    liters,
    maybe,
    named,
    number,
    one_line,
    points,
    several,
    size,
    table,
    tables,
    tables_of,
    text,
    thickness,
)  # fmt: skip
from tumblehome.tolerances import SMALLEST

if TYPE_CHECKING:
    from tumblehome.fitout.module import Frame

__all__ = ["ZONES", "BoxFields", "BoxZoneFields", "ModuleFields", "SwingFields"]

Side = Literal["left", "right", "front", "rear"]


def _side() -> Field[Side]:
    return choice("left", "right", "front", "rear")


class BoxFields(Fields):
    """One box of a stack."""

    wide = size()
    deep = size()
    high = size()
    left = length(0.0)
    fore = length(0.0)
    up = thickness(0.0)


def _stretch(zone: str, key: str, start: float, size: float | None, whole: float) -> tuple[float, float]:
    """Return where a zone begins and ends along one side of its module: by default it runs to the side's end."""
    if size is None and whole - start < SMALLEST:
        raise LayoutError(told("zone '{}' begins at {} of {}; say how {} it is", zone, start, whole, key))
    return start, whole if size is None else start + size


class SwingFields(Fields):
    """What a door sweeps before the module's face."""

    name = one_line()
    kind = choice("swing")
    hinge = choice("left", "right")
    radius = maybe(size())
    angle = degrees(90.0, lambda angle: 0 < angle <= 180, "above 0 and at most 180")
    up = thickness(0.0)
    high = maybe(size())

    def zone(self, frame: Frame, wide: float, deep: float, high: float) -> Zone:
        """Return the zone of a module of these measures that stands in a frame."""
        del deep
        left = self.hinge == "left"
        swept = sector((0.0 if left else wide, 0.0), self.radius or wide, self.angle, from_left=left)
        prism = frame.prism(swept, *_stretch(self.name, "high", self.up, self.high, high))
        return Zone(self.name, (prism,), np.append(-frame.away, 0.0))


class BoxZoneFields(Fields):
    """A box at one side of the module."""

    name = one_line()
    kind = choice("box", default="box")
    at = choice("face", "back", "left", "right", "top", default="face")
    room = size()
    wide = maybe(size())
    deep = maybe(size())
    high = maybe(size())
    left = length(0.0)
    fore = length(0.0)
    up = thickness(0.0)
    lifting = flag()
    hand = flag()

    def zone(self, frame: Frame, wide: float, deep: float, high: float) -> Zone:
        """Return the zone of a module of these measures that stands in a frame."""
        u = _stretch(self.name, "wide", self.left, self.wide, wide)
        v = _stretch(self.name, "deep", self.fore, self.deep, deep)
        w = _stretch(self.name, "high", self.up, self.high, high)
        spans = {
            "face": (u, (-self.room, 0.0), w),
            "back": (u, (deep, deep + self.room), w),
            "left": ((-self.room, 0.0), v, w),
            "right": ((wide, wide + self.room), v, w),
            "top": (u, v, (high, high + self.room)),
        }
        away, right = np.append(frame.away, 0.0), np.append(frame.right, 0.0)
        outward = {"face": -away, "back": away, "left": -right, "right": right, "top": np.array([0.0, 0.0, 1.0])}
        return Zone(self.name, (frame.box(*spans[self.at]),), outward[self.at], self.room, self.lifting, self.hand)


class OpeningFields(Fields):
    """The clear opening in a module's face by which one enters it."""

    wide = size()
    left = thickness(0.0)
    up = thickness(0.0)
    high = maybe(size())

    def opening(self, wide: float, high: float) -> Opening:
        """Return the opening in a face of a width and height; raises LayoutError where it reaches beyond the face."""
        tall = high - self.up if self.high is None else self.high
        if self.left + self.wide > wide + SMALLEST or self.up + tall > high + SMALLEST or tall <= 0:
            raise LayoutError(told("its opening reaches beyond its face, which is {} wide and {} high", wide, high))
        return Opening(self.wide, self.left, self.up, tall)


class ModuleFields(Fields):
    """A module as the file states it."""

    name = one_line()
    kind = choice("rigid", "scribed", default="rigid")
    wide = maybe(size())
    deep = maybe(size())
    high = maybe(size())
    boxes = maybe(tables_of(BoxFields))
    outline = maybe(checked(points(3), convex_pieces))
    face = maybe(thickness())
    against = maybe(_side())
    gap = thickness(0.0)
    station = maybe(length())
    breadth = maybe(length())
    faces = maybe(_side())
    yaw = degrees(0.0)
    on = maybe(text())
    hung = maybe(length())
    in_ = named("in", maybe(text()))
    panel = maybe(size())
    mass = kilograms(0.0)
    contents = text("")
    holds = liters(0.0)
    finish = choice(*FINISHES, default="birch")
    zones = tables()
    use = maybe(choice(*USES))
    people = maybe(number(1, 9))
    head = maybe(_side())
    pieces = several(size())
    opening = maybe(table(OpeningFields))
    fixed = flag()
    lies_on = several(choice("back", "face", "left", "right"))
    stowed = flag()

    def check(self) -> None:
        """Raise ValueError for a shape or a place that contradicts itself."""
        if self.kind == "scribed":
            self._check_scribed()
        elif self.face is not None:
            raise ValueError(
                "'face' is for scribed modules; a rigid one is pushed against a wall or placed by its breadth"
            )
        elif self.boxes is not None:
            self._check_only("boxes", ("wide", "deep", "high", "outline"))
        elif self.outline is not None:
            self._check_only("outline", ("wide", "deep"))
            self._check_has(("high",), "an upright prism")
        else:
            self._check_has(("wide", "deep", "high"), "a rigid module without boxes or outline")
        self._check_place()
        self._check_use()

    def _check_use(self) -> None:
        for key, given, kind in (
            ("head", self.head, "bed"), ("pieces", self.pieces, "bed"), ("opening", self.opening, "bath"),
        ):  # fmt: skip
            if given and self.use != kind:
                raise ValueError(f"'{key}' is said of a {kind}; write use = \"{kind}\" or remove it")
        if self.people is not None and self.use not in ("bed", "seat"):
            raise ValueError('\'people\' counts those who sit or sleep; write use = "seat" or "bed", or remove it')
        if self.fixed and self.lies_on:
            raise ValueError("it is fixed, so it is not carried and lies on no side; remove 'fixed' or 'lies_on'")

    def used(self, wide: float, high: float) -> Use | None:
        """Return what people do at a module whose face has a width and height; raises LayoutError."""
        if self.use is None:
            return None
        opening = self.opening.opening(wide, high) if self.opening else None
        return Use(self.use, self.people or 1, self.head, tuple(self.pieces), opening)

    def _check_scribed(self) -> None:
        self._check_has(("wide", "high"), "a scribed module")
        if (self.deep is None) == (self.face is None):
            raise ValueError("a scribed module states how deep it is, or the half-breadth of its face, one of the two")
        if self.against not in ("left", "right"):
            raise ValueError(
                'a scribed module stands against the left or the right wall; write against = "left" or "right"'
            )
        self._check_only('kind = "scribed"', ("boxes", "outline", "in_", "faces"))
        if self.yaw:
            raise ValueError("a scribed module follows the wall; it takes no yaw")

    def _check_only(self, what: str, others: tuple[str, ...]) -> None:
        wrong = [name.rstrip("_") for name in others if getattr(self, name) is not None]
        if wrong:
            raise ValueError(f"{what} does not go with {', '.join(wrong)}; remove one")

    def _check_has(self, names: tuple[str, ...], what: str) -> None:
        absent = [name for name in names if getattr(self, name) is None]
        if absent:
            raise ValueError(f"{what} needs {', '.join(absent)}")

    def _check_place(self) -> None:
        pushed = {"left": "breadth", "right": "breadth", "front": "station", "rear": "station"}.get(self.against or "")
        for name in ("station", "breadth"):
            given = getattr(self, name) is not None
            if name == pushed and given:
                raise ValueError(f"'{name}' is found by pushing it against the {self.against}; remove one of the two")
            if name != pushed and not given:
                raise ValueError(f"needs '{name}' to say where it stands")
        if sum(value is not None for value in (self.on, self.hung, self.in_)) > (
            1 + (self.in_ is not None and self.hung is not None)
        ):
            raise ValueError("stands on something, hangs at a height, or is in another module: state one")

    @property
    def leans_on(self) -> tuple[str, ...]:
        """The names that its place depends on."""
        return tuple(name for name in (self.on, self.in_) if name is not None and name != "floor")


ZONES: Final[dict[str, type[SwingFields | BoxZoneFields]]] = {"swing": SwingFields, "box": BoxZoneFields}
"""The kinds of zone, by the word that a file uses."""
