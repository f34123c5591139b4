"""A layout: a shell and the modules that stand in it."""

from __future__ import annotations

import shlex
from dataclasses import field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from tumblehome.errors import LayoutError, nearest
from tumblehome.records import dataclass
from tumblehome.room import Room
from tumblehome.solids import Surface, unite
from tumblehome.sweep import Obstacles

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from tumblehome.body.shell import Shell
    from tumblehome.fitout.module import Module
    from tumblehome.solids import Solid

    Floats = NDArray[np.float64]

__all__ = ["Company", "Layout"]


@dataclass(frozen=True, eq=False)
class Company:
    """All that stands in a plan in any of its modes: how far something can travel past it is worked out once for all of them.

    Attributes
    ----------
    shell : Shell
    modules : those that are not inside another one, each once; two that only share a name are two
    """

    shell: Shell
    modules: tuple[Module, ...]

    @staticmethod
    def of(shell: Shell, modes: Iterable[Iterable[Module]]) -> Company:
        """Return what stands in any of some modes, each told by its modules."""
        return Company(shell, tuple(dict.fromkeys(m for modules in modes for m in modules if m.parent is None)))

    def room(self, present: Iterable[Module]) -> Room:
        """Return what is free when only some of them are there."""
        there, first = set(present), len(self.shell.void.surface.names)
        absent = frozenset(first + i for i, module in enumerate(self.modules) if module not in there)
        return Room(self._surface, self.shell.name_at, (self.shell.obstacles, self._obstacles), absent)

    @cached_property
    def _surface(self) -> Surface:
        """The void's surface and theirs, each of them a part of its own."""
        void, solids = self.shell.void.surface, [module.solid.surface.flipped() for module in self.modules]
        owner = np.repeat(np.arange(len(solids)), [len(solid) for solid in solids]) + len(void.names)
        triangles = np.concatenate([void.triangles, *(solid.triangles for solid in solids)])
        names = (*void.names, *(module.name for module in self.modules))
        return Surface(triangles, np.concatenate([void.part, owner.astype(np.intp)]), names)

    @cached_property
    def _obstacles(self) -> Obstacles:
        surface, start = self._surface, len(self.shell.void.surface)
        return Obstacles(Surface(surface.triangles[start:], surface.part[start:], surface.names))

    @cached_property
    def inner_rooms(self) -> dict[tuple[Module, ...], Room]:
        """The rooms inside modules that were asked for, each by its module and what stands inside."""
        return {}


@dataclass(frozen=True, eq=False)
class Layout:
    """A shell and what stands in it.

    Attributes
    ----------
    name : str
    shell : Shell
    modules : tuple of Module, in the order of the file
    note : a sentence about the clients and their wish
    file : where it was read from, if anywhere
    mode : the state of the van that this is, such as "night"; empty for a plan that has only one
    ways : how what has moved since the first mode gets here, by module: one of `tumblehome.fitout.modes.WAYS`
    stowed : the modules that are not in their place in this mode, each with the modes in which it is
    company : what stands in any mode of the plan, which the layouts of its modes share
    """

    name: str
    shell: Shell
    modules: tuple[Module, ...]
    note: str = ""
    file: Path | None = None
    mode: str = ""
    ways: Mapping[str, str] = field(default_factory=dict)
    stowed: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    company: Company | None = None

    def module(self, name: str) -> Module:
        """Return a module by name; raises LayoutError, with what there is instead, when none of this name stands here."""
        for module in self.modules:
            if module.name == name:
                return module
        raise LayoutError(self.why_absent(name), file=self.file)

    def why_absent(self, name: str, doorways: Sequence[str] = ()) -> str:
        """Say why no module of a name stands here: in which modes it does, or which there are, and which doorways."""
        if name not in self.stowed:
            known = [*doorways, *(module.name for module in self.modules), *self.stowed]
            what = "module or doorway" if doorways else "module"
            return f"there is no {what} '{name}'{nearest(name, known)}; there are: {', '.join(known) or 'none'}"
        here, modes = f" in mode '{self.mode}'" if self.mode else "", self.stowed[name]
        mend = (
            f"it stands in: {', '.join(modes)}; ask there, with --mode {shlex.quote(modes[0])}"
            if modes
            else "it stands in none"
        )
        return f"'{name}' is stowed{here}; {mend}"

    def with_stack(self, names: Iterable[str]) -> tuple[str, ...]:
        """Return names of modules with those of all that stands on them."""
        found = list(names)
        for name in found:
            found += [m.name for m in self.modules if m.support == name and m.name not in found]
        return tuple(found)

    @cached_property
    def room(self) -> Room:
        """What is free in the van: the void less every module that is not inside another one."""
        return self._company.room(self.modules)

    @cached_property
    def _company(self) -> Company:
        """That of its plan, if all that stands here is in it and the shell is the same, or else one of its own."""
        standing, company = {m for m in self.modules if m.parent is None}, self.company
        is_in_it = company is not None and company.shell is self.shell and standing <= set(company.modules)
        return company if company and is_in_it else Company.of(self.shell, [self.modules])

    @cached_property
    def void(self) -> Solid:
        """What is free in the van, as one solid: the shell's void less its modules."""
        return self.shell.void - unite(module.solid for module in self.modules if module.parent is None)

    @property
    def title(self) -> str:
        """Its name, with the mode where it is one of several."""
        return f"{self.name}, {self.mode}" if self.mode else self.name

    @property
    def measured_to(self) -> float:
        """How well the shell was measured, mm."""
        return self.shell.measured_to

    @property
    def stations(self) -> tuple[float, float]:
        """First and last station of the shell, mm."""
        return self.shell.stations

    @property
    def heights(self) -> tuple[float, float]:
        """Lowest and highest point of the shell, mm above the finished floor."""
        return self.shell.heights

    @cached_property
    def obstacles(self) -> Obstacles:
        """The surface of what is free, to be asked how far something can travel."""
        return Obstacles(self.void.surface)

    def name_at(self, name: str, point: Floats) -> str:
        """Return the name by which a part or module is told at a (3,) point of it."""
        return self.shell.name_at(name, point)

    def what_holds(self, point: Floats) -> str:
        """Return the name of the module or member that a (3,) point lies in, or words for a point outside the shell."""
        standing = (module for module in self.modules if round(module.solid.surface.winding(point)) == 1)
        return next((module.name for module in standing), None) or self.shell.what_holds(point)

    def room_of(self, module: Module) -> Room:
        """Return the room that a module stands in: the van's, or for a nested one the inside of its parent."""
        if module.parent is None:
            return self.room
        parent, known = self.module(module.parent), self._company.inner_rooms
        inmates = tuple(m for m in self.modules if m.parent == module.parent)
        if (parent, *inmates) not in known:
            if parent.inner is None:
                raise LayoutError(f"'{module.parent}' has no inside for '{module.name}' to stand in", file=self.file)
            known[parent, *inmates] = Room(
                Surface.joined([parent.inner.surface, *(m.solid.surface.flipped() for m in inmates)])
            )
        return known[parent, *inmates]

    @property
    def mass(self) -> float:
        """Mass of all modules, kg."""
        return sum(module.mass for module in self.modules)
