"""A layout: a shell and the modules that stand in it."""

from __future__ import annotations

import shlex
from dataclasses import field
from functools import cached_property
from typing import TYPE_CHECKING

from tumblehome.errors import LayoutError, nearest
from tumblehome.records import dataclass
from tumblehome.room import Room
from tumblehome.solids import Surface, unite
from tumblehome.sweep import Obstacles

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path

    import numpy as np
    from numpy.typing import NDArray

    from tumblehome.body.shell import Shell
    from tumblehome.fitout.module import Module
    from tumblehome.solids import Solid

    Floats = NDArray[np.float64]

__all__ = ["Layout"]


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
    """

    name: str
    shell: Shell
    modules: tuple[Module, ...]
    note: str = ""
    file: Path | None = None
    mode: str = ""
    ways: Mapping[str, str] = field(default_factory=dict)
    stowed: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

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
        standing = [m.solid.surface.flipped() for m in self.modules if m.parent is None]
        return Room(Surface.joined([self.shell.void.surface, *standing]), self.shell.name_at, self.shell.obstacles)

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

    @cached_property
    def _inner_rooms(self) -> dict[str, Room]:
        return {}

    def room_of(self, module: Module) -> Room:
        """Return the room that a module stands in: the van's, or for a nested one the inside of its parent."""
        if module.parent is None:
            return self.room
        if module.parent not in self._inner_rooms:
            inner = self.module(module.parent).inner
            if inner is None:
                raise LayoutError(f"'{module.parent}' has no inside for '{module.name}' to stand in", file=self.file)
            inmates = [m.solid.surface.flipped() for m in self.modules if m.parent == module.parent]
            self._inner_rooms[module.parent] = Room(Surface.joined([inner.surface, *inmates]))
        return self._inner_rooms[module.parent]

    @property
    def mass(self) -> float:
        """Mass of all modules, kg."""
        return sum(module.mass for module in self.modules)
