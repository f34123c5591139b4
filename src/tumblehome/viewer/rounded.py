"""What does the picture in the round need that a page has not been sent yet? The shell once, then only what changed."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Final

from tumblehome.drawing.scene import Piece, Scene
from tumblehome.drawing.van import module_pieces, person_pieces, shell_pieces, standing_place
from tumblehome.page.meshes import Packing

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tumblehome.body import Shell
    from tumblehome.fitout import Layout

__all__ = ["RoundNews", "RoundShell"]

_ROOM: Final = 1.5
"""Modules may be moved so many times as far out as the shell reaches."""
_PERSON: Final = "\0 person"
"""No module has this name."""


class RoundShell:
    """A shell as the page shows it: its meshes, made once for all pages."""

    def __init__(self, shell: Shell) -> None:
        self.shell = shell
        self._scene = Scene(tuple(shell_pieces(shell)))
        self.packing = Packing.of(self._scene, _ROOM)

    @cached_property
    def meshes(self) -> list[dict[str, object]]:
        """Its walls, floor and named parts."""
        return [mesh for piece in self._scene.pieces for mesh in self.packing.meshes(piece)]

    def head(self, layout: Layout) -> dict[str, object]:
        """Return what holds for all meshes."""
        pieces = (piece for module in layout.modules for piece in module_pieces(module, ()))
        return self.packing.head(Scene((*self._scene.pieces, *pieces)).near_side)


class RoundNews:
    """What one page has been sent.

    Modules that did not change are the same objects from one layout to the next; that is how it is told.
    """

    def __init__(self) -> None:
        self._sent: dict[str, tuple[object, ...]] = {}
        self._shell: RoundShell | None = None
        self._person: tuple[float, float] | None = None

    def since(self, shell: RoundShell, layout: Layout) -> dict[str, object]:
        """Return the meshes that a page lacks, and the names of the things whose old ones are to go.

        "head" is there when the shell is another one: then everything is to go.
        """
        told: dict[str, object] = {}
        meshes: list[dict[str, object]] = []
        if shell is not self._shell:
            self._sent, self._shell, self._person = {}, shell, None
            told["head"] = shell.head(layout)
            meshes += shell.meshes
        now = {m.name: (m, *(i for i in layout.modules if i.parent == m.name)) for m in layout.modules}
        changed = [name for name, (module, *inmates) in now.items() if self._sent.get(name) != (module, *inmates)]
        for name in changed:
            module, *inmates = now[name]
            meshes += self._packed(module_pieces(module, inmates))
        gone = [*changed, *(self._sent.keys() - now.keys())]
        stands = standing_place(layout, self._person) if told or gone else self._person
        if stands != self._person:
            meshes += [mesh | {"name": _PERSON} for mesh in self._packed(person_pieces(stands))]
            gone.append(_PERSON)
            self._person = stands
        self._sent = {name: tuple(objects) for name, objects in now.items()}
        return told | {"gone": gone, "meshes": meshes}

    def _packed(self, pieces: Iterable[Piece]) -> list[dict[str, object]]:
        assert self._shell is not None
        return [mesh for piece in pieces for mesh in self._shell.packing.meshes(piece)]
