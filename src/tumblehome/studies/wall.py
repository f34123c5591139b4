"""The wall that a module stands against, seen from inside: how far out a face can go at each height or station.

Half-breadths are measured towards the module's wall: positive on its side of the centerline. Where a bow, seat backs or a lower
roof reach over the centerline, the half-breadth is 0 and the stretch is barred.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Final
from weakref import WeakKeyDictionary

import numpy as np

from tumblehome.records import dataclass
from tumblehome.solids import following
from tumblehome.studies.beyond import Barriers, Thing
from tumblehome.studies.profile import Piece, lower_envelope
from tumblehome.tolerances import CONTACT, EDGE, LEDGE

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from tumblehome.body import Shell
    from tumblehome.body.parts import Doorway
    from tumblehome.fitout import Layout
    from tumblehome.solids import Solid, Surface
    from tumblehome.studies.profile import Profile
    from tumblehome.sweep import Prism

    Floats = NDArray[np.float64]
    Integers = NDArray[np.intp]
    Booleans = NDArray[np.bool_]
    Columns = tuple[Floats, Floats, Floats, Floats, Integers]
    Span = tuple[float, float]
    Line = tuple[Span, float, float]
    _Asked = Callable[[Booleans, float], Iterable[Columns]]

__all__ = ["Wall", "is_barred"]

_HAIR: Final = CONTACT / 2
"""How much further out recesses and doorways are taken to be, mm, so that where the wall is as near it is the wall that is
told: at a recess's rim it stops a body, not the recess. Above the kernel's noise."""
_ACROSS: Final = -1e4
"""The half-breadth of what reaches over the centerline, mm: so far in that no part of any body passes before it."""
_FEW: Final = 64
"""How many strips between two heights a wall keeps: those of the prisms of a layout's modules."""
_ASKANCE: Final = 1e-9
"""Share of a triangle's normal below which it looks neither inboard nor outboard."""
_SIDES: Final = {-1.0: "left", 1.0: "right"}
_WALLS: Final = {"left wall", "right wall"}
_KEPT: WeakKeyDictionary[Shell, dict[tuple[float, frozenset[str] | None], Wall]] = WeakKeyDictionary()
"""The walls of each shell, by side: every module against one asks the same. Nothing in them holds on to their shell."""


def is_barred(piece: Piece) -> bool:
    """Whether something reaches over the centerline all along a stretch, so that nothing passes."""
    return max(piece.low, piece.high) <= CONTACT


@dataclass(frozen=True, eq=False)
class Wall:
    """One side of what bounds the free interior, in triangles whose corners are (station, height, half-breadth).

    Attributes
    ----------
    triangles : (n, 3, 3) float, mm
    part : (n,) int, index into ``names``
    outward : (n,) bool, which of them are backs of things: they look towards the wall
    names : tuple of str; parts, doorways, and modules if they count
    things : names of what stands in the van: members, and modules if they count
    sign : -1 for the left side and 1 for the right
    """

    triangles: Floats
    part: Integers
    outward: Booleans
    names: tuple[str, ...]
    things: frozenset[str]
    sign: float

    @classmethod
    def of(cls, shell: Shell, sign: float) -> Wall:
        """Return one side of a shell: its lined walls with recesses and doorways, and its members, each whole."""
        kept = _KEPT.setdefault(shell, {})
        if (sign, None) not in kept:
            members = {part.name: shell.cutter_of(part) for part in shell.parts if not part.gives}
            kept[sign, None] = cls._bounding(shell, shell.base.surface, sign).among(members)
        return kept[sign, None]

    @classmethod
    def lined(cls, shell: Shell, sign: float, recesses: Collection[str] = ()) -> Wall:
        """Return one side of a shell before its members stand in it, with no more than some of its recesses."""
        kept, key = _KEPT.setdefault(shell, {}), (sign, frozenset(recesses))
        if key not in kept:
            others = [part.name for part in shell.parts if part.gives and part.name not in recesses]
            plain = not recesses and not shell.open_doorways
            solid = shell.lined.solid if plain else shell.without(*others).base
            kept[key] = cls._bounding(shell, solid.surface, sign)
        return kept[key]

    @classmethod
    def crowded(cls, layout: Layout, sign: float, among: Prism) -> Wall:
        """Return one side of a layout's shell with the modules that reach into a prism as things too.

        Those inside others are left out: they go with them.
        """
        (low, high), near = among.bounds, {}
        for module in layout.modules:
            least, most = module.bounds
            if module.parent is None and (least < high).all() and (most > low).all():
                near[module.name] = module.solid
        return cls.of(layout.shell, sign).among(near)

    @classmethod
    def _bounding(cls, shell: Shell, surface: Surface, sign: float) -> Wall:
        """Return one side of a surface that bounds a shell's interior."""
        closed = (door for door in shell.doorways if door.name not in shell.open_doorways)
        doors = [door for door in closed if door.side == _SIDES[sign]]
        names = tuple(dict.fromkeys([*surface.names, *(door.name for door in shell.doorways)]))
        inboard = sign * surface.normals[:, 1] >= -_ASKANCE * np.linalg.norm(surface.normals, axis=1)
        local, part = _turned(surface.triangles[inboard], sign), surface.part[inboard]
        ahead = local[..., 2].max(axis=1) > 0
        local, part = local[ahead], part[ahead]
        for door in doors:
            local, part = _opened(local, part, names, door)
        yields = {*(p.name for p in shell.parts if p.gives), *(door.name for door in doors)}
        local[np.array([name in yields for name in names], dtype=bool)[part], :, 2] += _HAIR
        return cls(local, part, np.zeros(len(part), dtype=bool), names, frozenset(), sign)

    def among(self, solids: Mapping[str, Solid]) -> Wall:
        """Return the wall with things standing before it: their names, and their solids."""
        names = tuple(dict.fromkeys([*self.names, *solids]))
        triangles, part, outward = [self.triangles], [self.part], [self.outward]
        low, high = self.triangles.min(axis=(0, 1)), self.triangles.max(axis=(0, 1))
        for name, solid in solids.items():
            local, away = _thing(solid, self.sign)
            least, most = local.min(axis=1), local.max(axis=1)
            before = away | (least[:, 2] <= high[2])  # what lies behind every wall stops nothing
            kept = before & ((most[:, :2] >= low[:2]) & (least[:, :2] <= high[:2])).all(axis=1)
            local, away = local[kept], away[kept]
            triangles.append(local)
            part.append(np.full(len(local), names.index(name), dtype=np.intp))
            outward.append(away)
        return Wall(
            np.concatenate(triangles), np.concatenate(part), np.concatenate(outward), names,
            self.things | set(solids), self.sign,
        )  # fmt: skip

    def by_height(self, body: Sequence[Prism], ignoring: Collection[str] = ()) -> Barriers:
        """Return how far out the back of a body's plan can go by height.

        The value at a height is the half-breadth that the outermost point of the body would have if what is at that height
        alone stopped it. Of a stack the prisms at that height count; its lowest ones run on downward, its highest upward.
        Faces that lie flat stop nothing here. ``ignoring`` leaves some things out of account.
        """
        foot, top = min(prism.bottom for prism in body), max(prism.top for prism in body)

        def columns(kept: Booleans, toward: float) -> Iterator[Columns]:
            chosen = kept[self.part] & self._looking(toward)
            local, why = self.triangles[chosen], self.part[chosen]
            for prism in body:
                low = prism.bottom if prism.bottom > foot + CONTACT else -np.inf
                high = prism.top if prism.top < top - CONTACT else np.inf
                for span, at, slope in _faces(prism, self.sign, toward):
                    triangles, part = _cut_to(*_cut_to(local, why, 0, *span), 1, low, high)
                    value = toward * (triangles[..., 2] - (at + slope * triangles[..., 0]))
                    yield _edges(triangles[..., 1], value, part)

        return self._barriers(body, ignoring, columns)

    def by_station(
        self, body: Sequence[Prism], ignoring: Collection[str] = (), travel: Span = (-np.inf, np.inf)
    ) -> Profile:
        """Return how far out a body can go when it is slid along the wall, by the travel from where it stands.

        The value at a travel is the half-breadth that its outermost point then has, 0 where it is barred. ``ignoring``
        leaves some things out of account, ``travel`` limits what is asked, mm.
        """
        stations = np.concatenate([prism.outline[:, 0] for prism in body])
        reach = (float(stations.min()) + travel[0], float(stations.max()) + travel[1])

        def columns(kept: Booleans, toward: float) -> Iterator[Columns]:
            for prism in body:
                strip, _ = self._strip(prism.bottom, prism.top, toward)
                near = kept[strip[4]] & (strip[1] > reach[0]) & (strip[0] < reach[1])
                start, end, low, high, part = _among(strip, near)
                nearest = lower_envelope(start, end, toward * low, toward * high, part).pieces
                across = _thwart(start, end, np.minimum(low, high), part) if toward > 0 else []
                for span, at, slope in _faces(prism, self.sign, toward):
                    yield _swept([*nearest, *across], span, toward * at, toward * slope)

        return self._barriers(body, ignoring, columns).each().clipped(*travel)

    def limits(self, body: Sequence[Prism]) -> dict[str, float]:
        """Return how far out each named part alone would let a body go where it stands, as a half-breadth of its back.

        Parts that stop it nowhere, and things that lie wholly before its face, are left out.
        """
        outer, before = _outermost(body, self.sign), self.before(body)
        least = self._least(np.ones(len(self.names), dtype=bool), body, 1.0)
        return {name: max(0.0, u + outer) for name, u in least.items() if name not in before}

    def at_most(self, body: Sequence[Prism], travel: Span) -> float:
        """Return what a body's reach exceeds nowhere in a stretch of travel: what each straight back meets all the while."""
        least = self._least(~self._bears(self._suspects(body)), body, 1.0, travel)
        return min(least.values(), default=np.inf) + _outermost(body, self.sign)

    def before(self, body: Sequence[Prism]) -> set[str]:
        """Return the names of things that stand within a body's stations and heights, wholly before its face."""
        suspects = self._suspects(body)
        ends = self._least(self._bears(suspects), body, -1.0) if suspects else {}
        return {name for name, u in ends.items() if u >= -CONTACT}

    # ---- how it is asked ----

    def _least(
        self, kept: Booleans, body: Sequence[Prism], toward: float, travel: Span = (0.0, 0.0)
    ) -> dict[str, float]:
        """Return how far beyond a body's back each part begins, or with ``toward`` -1 how far before its face it ends, mm.

        Flat faces stop nothing that moves across the van. With ``travel`` only what a straight back meets all along that counts.
        """
        least = np.full(len(self.names), np.inf)
        for prism in body:
            strip, flat = self._strip(prism.bottom, prism.top, toward)
            met = kept[strip[4]] & ~flat
            for (x0, x1), at, slope in _faces(prism, self.sign, toward):
                span = (x0 + travel[1] + EDGE, x1 + travel[0] - EDGE)
                if span[0] < span[1] and (slope == 0.0 or travel == (0.0, 0.0)):
                    value, part = _least_within(strip, met, span, (toward * at, toward * slope), toward)
                    np.minimum.at(least, part, value)
        return {name: float(u) for name, u in zip(self.names, least, strict=True) if np.isfinite(u)}

    def _barriers(self, body: Sequence[Prism], ignoring: Collection[str], columns: _Asked) -> Barriers:
        """Return the wall, and by itself each thing of which some may lie before a body's face."""

        def curve(kept: Booleans, toward: float) -> Profile:
            return lower_envelope(*(np.concatenate(c) for c in zip(*columns(kept, toward), strict=True)))

        outer, suspects = _outermost(body, self.sign), self._suspects(body).difference(ignoring)
        wall = curve(~self._bears({*ignoring, *suspects}), 1.0).moved(up=outer)
        apart = [self._bears({name}) for name in sorted(suspects)]
        things = [Thing(curve(one, 1.0).moved(up=outer), curve(one, -1.0).turned_over()) for one in apart]
        return Barriers(wall, tuple(things))

    def _suspects(self, body: Sequence[Prism]) -> set[str]:
        """Return the names of things that end, somewhere, before or at the outermost point of a body's face."""
        lines = [line for prism in body for line in _faces(prism, self.sign, -1.0)]
        face = max(at + slope * end for span, at, slope in lines for end in span)
        return {name for name, end in self._ends.items() if end < face + CONTACT}

    @cached_property
    def _ends(self) -> dict[str, float]:
        """The least half-breadth of a back of each thing, mm."""
        least = np.full(len(self.names), np.inf)
        np.minimum.at(least, self.part[self.outward], self.triangles[self.outward, :, 2].min(axis=1))
        return {name: float(u) for name, u in zip(self.names, least, strict=True) if name in self.things}

    @cached_property
    def _strips(self) -> dict[tuple[float, float, float], tuple[Columns, Booleans]]:
        return {}

    def _strip(self, low: float, high: float, toward: float) -> tuple[Columns, Booleans]:
        """Return the edges in plan of what lies between two heights, and which are of flat faces; the last few are kept."""
        key = (low, high, toward)
        found = self._strips.get(key)
        if found is None:
            chosen = self._looking(toward)
            triangles, part = _cut_to(self.triangles[chosen], self.part[chosen], 1, low, high)
            flat = np.repeat(np.ptp(triangles[..., 1], axis=1) < LEDGE, 3)
            found = _edges(triangles[..., 0], triangles[..., 2], part), flat
            for oldest in list(self._strips)[: len(self._strips) + 1 - _FEW]:
                self._strips.pop(oldest, None)  # another thread may have done so
            self._strips[key] = found
        return found

    def _looking(self, toward: float) -> Booleans:
        """Return which triangles matter: where things begin, those that are not their backs; where they end, their backs."""
        looking: Booleans = self.outward == (toward < 0)
        return looking

    def _bears(self, names: Collection[str]) -> Booleans:
        """Return which names are among some, (n,)."""
        return np.array([name in names for name in self.names], dtype=bool)


def _least_within(
    strip: Columns, met: Booleans, span: Span, line: tuple[float, float], toward: float
) -> tuple[Floats, Integers]:
    """Return the least of ``toward * u - (at + slope * station)`` on each edge within stations, (n,), and its part."""
    start, end, low, high, part = _among(strip, met & (strip[1] >= span[0]) & (strip[0] <= span[1]))
    slope = (high - low) / np.where(end > start, end - start, 1.0)
    first, last = np.maximum(start, span[0]), np.minimum(end, span[1])
    far = np.where(end > start, low + slope * (last - start), high)  # the end of an edge straight across the van too
    ends = ((first, low + slope * (first - start)), (last, far))
    one, other = (toward * u - line[0] - line[1] * at for at, u in ends)
    return np.minimum(one, other), part


def _among(columns: Columns, kept: Booleans) -> Columns:
    start, end, low, high, part = columns
    return start[kept], end[kept], low[kept], high[kept], part[kept]


def _turned(triangles: Floats, sign: float) -> Floats:
    """Return triangles (n, 3, 3) of (x, y, z) as (station, height, half-breadth)."""
    turned: Floats = triangles[:, :, (0, 2, 1)] * np.array([1.0, 1.0, sign])
    return turned


def _thing(solid: Solid, sign: float) -> tuple[Floats, Booleans]:
    """Return the triangles of a solid on one side of the centerline, and which of them look towards the wall.

    Where it reaches over the centerline it is closed there, and so far in that nothing passes before it.
    """
    low, high = (sign * float(bound[1]) for bound in solid.bounds)
    if max(low, high) <= 0:
        return np.empty((0, 3, 3)), np.empty(0, dtype=bool)
    if min(low, high) >= 0:
        return _turned(solid.surface.triangles, sign), sign * solid.surface.normals[:, 1] > 0
    here = (solid.trimmed(1, low=0.0) if sign > 0 else solid.trimmed(1, high=0.0)).surface
    local = _turned(here.triangles, sign)
    local[local[..., 2].max(axis=1) <= CONTACT, :, 2] = _ACROSS
    return local, sign * here.normals[:, 1] > 0


def _opened(local: Floats, part: Integers, names: Sequence[str], door: Doorway) -> tuple[Floats, Integers]:
    """Return a wall's triangles with what of them lies in a doorway's clear opening named after that."""
    walls = [i for i, name in enumerate(names) if name in _WALLS]
    (x0, x1), (z0, z1) = door.span, door.heights
    low, high = local.min(axis=1), local.max(axis=1)
    near = np.isin(part, walls) & (low[:, 0] < x1) & (high[:, 0] > x0) & (low[:, 1] < z1) & (high[:, 1] > z0)
    wall = local[near], part[near]
    within = _cut_between(*wall, 0, x0, x1)
    inside, _ = _cut_between(*within, 1, z0, z1)
    outside = [
        _cut_between(*wall, 0, -np.inf, x0), _cut_between(*wall, 0, x1, np.inf),
        _cut_between(*within, 1, -np.inf, z0), _cut_between(*within, 1, z1, np.inf),
    ]  # fmt: skip
    named = np.full(len(inside), names.index(door.name), dtype=np.intp)
    return (
        np.concatenate([local[~near], *(triangles for triangles, _ in outside), inside]),
        np.concatenate([part[~near], *(why for _, why in outside), named]),
    )


def _outermost(body: Sequence[Prism], sign: float) -> float:
    return max(float((sign * prism.outline[:, 1]).max()) for prism in body)


def _faces(prism: Prism, sign: float, toward: float) -> Iterator[Line]:
    """Yield the sides of a prism that look towards the wall, or with ``toward`` -1 away from it.

    Each by its span of stations, and its half-breadth = at + slope * station.
    """
    for a, b in zip(prism.outline, following(prism.outline), strict=True):
        if sign * toward * (a[0] - b[0]) <= 2 * EDGE:
            continue
        slope = sign * (b[1] - a[1]) / (b[0] - a[0])
        yield (float(min(a[0], b[0])), float(max(a[0], b[0]))), float(sign * a[1] - slope * a[0]), float(slope)


def _cut_to(local: Floats, part: Integers, axis: int, low: float, high: float) -> tuple[Floats, Integers]:
    """Cut triangles to an open interval of one coordinate."""
    return _cut_between(local, part, axis, low + EDGE, high - EDGE)


def _cut_between(local: Floats, part: Integers, axis: int, low: float, high: float) -> tuple[Floats, Integers]:
    """Cut triangles to an interval of one coordinate; what has four or five corners becomes a fan of triangles."""
    least, most = local[..., axis].min(axis=1), local[..., axis].max(axis=1)
    whole, crossed = (least >= low) & (most <= high), (most > low) & (least < high)
    crossed &= ~whole
    cut, why = local[crossed], part[crossed]
    for level, sense in ((low, 1.0), (high, -1.0)):
        if np.isfinite(level):
            cut, why = _cut_at(cut, why, axis, level, sense)
    return np.concatenate([local[whole], cut]), np.concatenate([part[whole], why])


def _cut_at(local: Floats, part: Integers, axis: int, level: float, sense: float) -> tuple[Floats, Integers]:
    """Return what of triangles lies on one side of a level, as triangles."""
    side = sense * (local[..., axis] - level)
    inside = (side >= 0).sum(axis=1)
    lone = np.where(inside == 1, (side >= 0).argmax(axis=1), (side < 0).argmax(axis=1))
    order = (lone[:, None] + np.arange(3)) % 3
    turned = np.take_along_axis(local, order[..., None], axis=1)
    offset = np.take_along_axis(side, order, axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        first = turned[:, 0] + (turned[:, 1] - turned[:, 0]) * (offset[:, 0] / (offset[:, 0] - offset[:, 1]))[:, None]
        second = turned[:, 0] + (turned[:, 2] - turned[:, 0]) * (offset[:, 0] / (offset[:, 0] - offset[:, 2]))[:, None]
    one, two = inside == 1, inside == 2
    pieces = [
        local[inside == 3],
        np.stack([turned[one, 0], first[one], second[one]], axis=1),
        np.stack([first[two], turned[two, 1], turned[two, 2]], axis=1),
        np.stack([first[two], turned[two, 2], second[two]], axis=1),
    ]
    return np.concatenate(pieces), np.concatenate([part[inside == 3], part[one], part[two], part[two]])


def _edges(t: Floats, u: Floats, part: Integers) -> tuple[Floats, Floats, Floats, Floats, Integers]:
    """Return the edges of (n, 3) triangles in a plane as segments that run forward."""
    a, b = t.ravel(), t[:, [1, 2, 0]].ravel()
    p, q = u.ravel(), u[:, [1, 2, 0]].ravel()
    turned = a > b
    return (
        np.where(turned, b, a),
        np.where(turned, a, b),
        np.where(turned, q, p),
        np.where(turned, p, q),
        np.repeat(part, 3),
    )


def _thwart(start: Floats, end: Floats, least: Floats, cause: Integers) -> list[Piece]:
    """Return the faces across the van that reach over the centerline, as stretches without length.

    What they bound has no side that looks inboard, so that only they tell that it is there.
    """
    across = (end - start <= EDGE) & (least <= 0)
    rows = zip(start[across], least[across], cause[across], strict=True)
    return [Piece(float(x), float(x), float(u), float(u), int(part)) for x, u, part in rows]


def _swept(
    pieces: Sequence[Piece], span: tuple[float, float], at: float, slope: float
) -> tuple[Floats, Floats, Floats, Floats, Integers]:
    """Return the segments by which straight wall stretches stop a straight back that slides along them.

    In the plane of travel and half-breadth a stretch and a back make a parallelogram; its lower boundary runs from its
    first corner to its last over the lower of the two between.
    """
    wall = np.array([(p.start, p.end, p.low, p.high, p.cause) for p in pieces])
    if not len(wall):
        none = np.empty(0)
        return none, none, none, none, np.empty(0, dtype=np.intp)
    travel = np.stack([wall[:, 0] - span[1], wall[:, 0] - span[0], wall[:, 1] - span[1], wall[:, 1] - span[0]], axis=1)
    back = np.array([at + slope * span[1], at + slope * span[0]])
    reach = np.stack([wall[:, 2] - back[0], wall[:, 2] - back[1], wall[:, 3] - back[0], wall[:, 3] - back[1]], axis=1)
    share = (travel[:, 1:3] - travel[:, :1]) / (travel[:, 3:] - travel[:, :1])
    above = reach[:, 1:3] - (reach[:, :1] + share * (reach[:, 3:] - reach[:, :1]))
    middle = 1 + above.argmin(axis=1)
    rows = np.arange(len(wall))
    knee_t, knee_u = travel[rows, middle], reach[rows, middle]
    start, end = np.concatenate([travel[:, 0], knee_t]), np.concatenate([knee_t, travel[:, 3]])
    low, high = np.concatenate([reach[:, 0], knee_u]), np.concatenate([knee_u, reach[:, 3]])
    return start, end, low, high, np.tile(wall[:, 4].astype(np.intp), 2)
