"""The shell: a lined body with its named parts, and the void that is left to build in."""

from __future__ import annotations

from dataclasses import field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Final

from tumblehome.errors import InputError, KernelError, nearest
from tumblehome.records import dataclass
from tumblehome.solids import Solid, Surface, unite
from tumblehome.sweep import Obstacles

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    import numpy as np
    from numpy.typing import NDArray

    from tumblehome.body.parts import Doorway, Lined, Part

__all__ = ["OUTSIDE", "Shell"]

OUTSIDE: Final = "outside the shell"
"""What holds a point that no part of the van does."""


@dataclass(frozen=True, eq=False)
class Shell:
    """The empty interior of a van: one closed solid, the void, with named parts.

    Attributes
    ----------
    name : str
    measured_to : float, mm
        How well it was measured; a margin within it is tight, never clear.
    lined : Lined
        The bare body and its lining.
    parts : tuple of Part
        Members and recesses, in the order of the file.
    doorways : tuple of Doorway
    open_doorways : names of those that are open
    file : where it was read from, if anywhere
    note : a line about it, for people
    """

    name: str
    measured_to: float
    lined: Lined
    parts: tuple[Part, ...]
    doorways: tuple[Doorway, ...] = ()
    open_doorways: frozenset[str] = frozenset()
    file: Path | None = None
    note: str = ""
    _family: dict[tuple[frozenset[str], frozenset[str]], Shell] = field(default_factory=dict, repr=False)
    _solids: dict[str, Solid] = field(default_factory=dict, repr=False)
    _shapes: dict[str, Solid] = field(default_factory=dict, repr=False)

    @cached_property
    def void(self) -> Solid:
        """The interior as one closed solid: lined body, plus recesses and open doorways, minus members."""
        members = [self.cutter_of(part) for part in self.parts if not part.gives]
        void = self.base - unite(members) if members else self.base
        if void.is_empty:
            raise InputError("nothing of the interior is left once its members are taken out", file=self.file)
        return void

    @cached_property
    def base(self) -> Solid:
        """The interior before its members stand in it: lined body, plus recesses and open doorways."""
        given = [self.cutter_of(part) for part in self.parts if part.gives]
        given += [door.passage(self.lined) for door in self.doorways if door.name in self.open_doorways]
        return unite([self.lined.solid, *given])

    @cached_property
    def layers(self) -> Surface:
        """The base's surface together with each member's own, whole even where another stands before it.

        All of it looks outward from what is free, so that leaving a member out shows what lies behind it.
        """
        members = (self.cutter_of(part) for part in self.parts if not part.gives)
        return Surface.joined([self.base.surface, *(member.surface.flipped() for member in members)])

    @cached_property
    def obstacles(self) -> Obstacles:
        """The void's surface, to be asked how far something can travel."""
        return Obstacles(self.void.surface)

    def cutter_of(self, part: Part) -> Solid:
        """Return the solid by which a part is taken out or added, running on into the wall behind it."""
        if part.name not in self._solids:
            try:
                self._solids[part.name] = part.solid(self.lined).named(part.name)
            except KernelError as fault:
                raise InputError(f"{part.kind} '{part.name}': {fault}", file=self.file) from fault
        return self._solids[part.name]

    def part(self, name: str) -> Part:
        """Return a part by name; raises InputError, with the nearest name or all of them, when there is none."""
        for part in self.parts:
            if part.name == name:
                return part
        known = [part.name for part in self.parts]
        hint = nearest(name, known) or f"; its parts: {', '.join(known) or 'none'}"
        raise InputError(f"shell '{self.name}' has no part '{name}'{hint}", file=self.file)

    def solid_of(self, name: str) -> Solid:
        """Return what a member takes from the lined interior, or what a recess or well adds to it."""
        if name not in self._shapes:
            part = self.part(name)
            cutter = self.cutter_of(part)
            self._shapes[name] = cutter - self.lined.solid if part.gives else cutter & self.lined.solid
        return self._shapes[name]

    def without(self, *names: str) -> Shell:
        """Return the shell without some of its parts; raises InputError for a name that it does not have."""
        for name in names:
            self.part(name)
        kept = tuple(part for part in self.parts if part.name not in names)
        return self._kin(kept, self.open_doorways)

    def opened(self, *names: str) -> Shell:
        """Return the shell with some of its doorways open; raises InputError for a name that it does not have."""
        known = [door.name for door in self.doorways]
        for name in names:
            if name not in known:
                raise InputError(f"shell '{self.name}' has no doorway '{name}'{nearest(name, known)}", file=self.file)
        return self._kin(self.parts, self.open_doorways | set(names))

    def _kin(self, parts: tuple[Part, ...], doors: frozenset[str]) -> Shell:
        key = (frozenset(part.name for part in parts), doors)
        if key not in self._family:
            self._family[key] = replace(self, parts=parts, open_doorways=doors)
        return self._family[key]

    @cached_property
    def bounds(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Least and greatest corner of the void, each (3,) in mm."""
        return self.void.bounds

    @property
    def stations(self) -> tuple[float, float]:
        """First and last station of the void, mm."""
        low, high = self.bounds
        return float(low[0]), float(high[0])

    @property
    def heights(self) -> tuple[float, float]:
        """Lowest and highest point of the void, mm above the finished floor."""
        low, high = self.bounds
        return float(low[2]), float(high[2])

    def tolerance_of(self, names: Iterable[str]) -> float:
        """Return the measuring tolerance of the worst measured of some parts, mm; what is no part counts as the shell."""
        known = {part.name: part.measured_to for part in self.parts}
        own = [known.get(name) for name in names]
        return max((self.measured_to if t is None else t for t in own), default=self.measured_to)

    def what_holds(self, point: NDArray[np.float64]) -> str:
        """Return the name of the member that a (3,) point lies in, or words for a point outside the shell."""
        members = (part.name for part in self.parts if not part.gives)
        found = (name for name in members if round(self.solid_of(name).surface.winding(point)) == 1)
        return next(found, OUTSIDE)

    def name_at(self, name: str, point: NDArray[np.float64]) -> str:
        """Return the doorway's name for a (3,) point of the skin that lies in one, else the name unchanged."""
        if name in {"left wall", "right wall", "rear"}:
            for door in self.doorways:
                if door.holds(point):
                    return door.name
        return name
