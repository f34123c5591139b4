"""What stands in the pictures of a layout: its walls, floor, parts and modules, and a person where there is room."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import shapely

from tumblehome.cuts import band
from tumblehome.drawing.scene import FINISHES, STATURE, Piece, Scene, person
from tumblehome.lasting import kept
from tumblehome.solids import unite

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tumblehome.body.shell import Shell
    from tumblehome.fitout import Layout, Module
    from tumblehome.solids import Solid

__all__ = ["module_pieces", "person_pieces", "scene_of", "shell_pieces", "standing_place"]

_LEAST_WALL: Final = 40.0
"""Walls and roof are shown at least this thick, mm: a body without a lining would be a sheet that no cut shows."""
_LEAST_FLOOR: Final = 20.0
_HAIR: Final = 1.0
"""By how much faces are kept apart that would lie in one plane and flicker through each other, mm."""
_SEEN: Final = 0.5
"""A picture of more than so many triangles leaves out what is smaller than this, mm: a quarter of a pixel of a van."""
_MANY: Final = 100_000
_WAYS: Final = ((0, 0, 0), (1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1))
_ROOM_TO_STAND: Final = (400.0, 330.0, 285.0)
"""How far a standing person is kept from everything, mm, the freest first: the mannequin's arms are 267 from its middle."""
_GRID: Final = 1e-3
"""The grid that overlays of plans are snapped to, mm."""


def scene_of(layout: Layout, *, labels: bool = True) -> Scene:
    """Return everything that a picture of a layout shows.

    Parameters
    ----------
    layout : Layout
    labels : bool
        Whether the modules' names stand in the pictures.

    Raises
    ------
    InputError, KernelError
        When the shell or a module has no volume.
    """
    pieces = [*shell_pieces(layout.shell), *_module_pieces(layout.modules, labels=labels)]
    return Scene((*pieces, *person_pieces(standing_place(layout))))


def person_pieces(place: tuple[float, float] | None) -> Iterator[Piece]:
    """Yield a person for scale at a station and half-breadth, if there is one at which somebody can stand."""
    if place is not None:
        yield Piece("person", "person", person(at=place))


def shell_pieces(shell: Shell) -> Iterator[Piece]:
    """Yield the walls, the floor, and the named parts."""
    given = [_grown(shell.solid_of(part.name)) for part in shell.parts if part.gives]
    doors = [door.passage(shell.lined) for door in shell.doorways]
    thick = _drawable(_around(shell)) - unite([_drawable(shell.lined.solid), *given, *doors])
    walls = Piece(
        "walls and roof", "shell", thick.trimmed(2, low=_HAIR)
    )  # at 0 a film without thickness might cover the floor
    floor = Piece("floor", "floor", thick.trimmed(2, high=0.0))
    yield from (piece for piece in (walls, floor) if not piece.solid.is_empty)
    for part in shell.parts:
        solid = shell.solid_of(part.name) if part.gives else _off_the_skin(shell, part.name)
        if not solid.is_empty:
            yield Piece(part.name, "recess" if part.gives else "member", solid)


def _drawable(solid: Solid) -> Solid:
    """Return a solid with no more triangles than a picture can show."""
    return solid.simplified(_SEEN, "walls") if len(solid.mesh()[1]) > _MANY else solid


def _grown(pocket: Solid) -> Solid:
    """Return a pocket a hair larger sideways, so that the wall around it does not lie in the same planes as its inside."""
    return unite(pocket.moved(_HAIR * np.array(way)) for way in _WAYS)


def _off_the_skin(shell: Shell, name: str) -> Solid:
    """Return a member without what lies within a hair of the lining: slivers where it only follows a face of it."""
    return (shell.solid_of(name) & shell.lined.moved_in(_HAIR, _HAIR)).trimmed(2, low=_HAIR)


def _around(shell: Shell) -> Solid:
    """Return the body with its walls at least as thick as can be seen."""
    lined, lining = shell.lined, shell.lined.lining
    walls, roof, floor = (
        min(0.0, have - least)
        for have, least in ((lining.walls, _LEAST_WALL), (lining.roof, _LEAST_WALL), (lining.floor, _LEAST_FLOOR))
    )
    return lined.body.inset(walls, roof, floor)


def _module_pieces(modules: Sequence[Module], *, labels: bool) -> Iterator[Piece]:
    for module in modules:
        yield from module_pieces(module, [inmate for inmate in modules if inmate.parent == module.name], labels=labels)


def module_pieces(module: Module, inmates: Sequence[Module], *, labels: bool = False) -> Iterator[Piece]:
    """Yield a module; what stands in it is taken out of it, so that a cut through both shows it."""
    solid = module.solid - unite(inmate.solid for inmate in inmates)
    if not solid.is_empty:
        finish = _SEEN_AS.get(module.finish, module.finish)
        label = labels and module.parent is None
        yield Piece(module.name, "module", solid, finish if finish in FINISHES else "", label)


_SEEN_AS: Final = {"lacquer": "enamel"}
"""Finishes that look alike in matte light."""


def standing_place(layout: Layout, stays: tuple[float, float] | None = None) -> tuple[float, float] | None:
    """Return the station and half-breadth at which a person stands freest in the aisle, or None where nobody can.

    There the person is upright, on the floor, in no module; of all places equally free it is the one nearest to the
    middle of the van, or the one where the person stood before and ``stays``.
    """
    in_the_way = [
        shapely.Polygon(prism.outline)
        for module in layout.modules
        for prism in module.hull
        if prism.bottom < STATURE and prism.top > 0
    ]
    free = shapely.difference(
        _upright_in(layout.shell), shapely.union_all(in_the_way, grid_size=_GRID), grid_size=_GRID
    )
    middle = shapely.Point(np.mean([layout.shell.stations, (0.0, 0.0)], axis=1))
    for room in _ROOM_TO_STAND:
        places = free.buffer(-room)
        if stays and places.distance(shapely.Point(stays)) <= _GRID:
            return stays
        if not places.is_empty:
            x, y = shapely.get_coordinates(shapely.shortest_line(places, middle))[0]
            return float(x), float(y)
    return None


@kept
def _upright_in(shell: Shell) -> shapely.Geometry:
    """Return where in plan nothing of a shell is in the way of a person that stands."""
    return shapely.union_all(band(shell, heights=(0.0, STATURE)).polygons, grid_size=_GRID)
