"""Can a pump or a valve be seen and reached by hand, from where, or behind what is it buried?

Somebody stands upright, kneels upright, or is on hands and knees with a level trunk, and stretches a straight arm out to the
middle of a zone for a hand. What must be free is a straight line from the eyes to there, and what a cube as wide as the hand
sweeps between there and the shoulder. Both are exact, for all places at once: seen from the middle of the zone, everything
casts a shadow onto the level of the eyes, and, grown by half a hand on every side, onto that of the shoulders. Where somebody
may be, within the arm's reach and in no shadow, is a place from which it works; what casts the shadows is what it is buried
behind.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property, reduce
from itertools import combinations, product
from math import cos, pi, sqrt
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely
from manifold3d import CrossSection, OpType
from shapely.affinity import translate

from tumblehome.carrying.freeplan import FreePlan, regions_of, standing_in
from tumblehome.checks.finding import Finding, verdict_of
from tumblehome.lengths import shown
from tumblehome.people.aisle import upright
from tumblehome.people.gauge import body
from tumblehome.people.ground import Floor
from tumblehome.people.person import SOURCE
from tumblehome.people.words import joined, said
from tumblehome.records import dataclass
from tumblehome.solids import outline_of
from tumblehome.sweep import Prism

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from tumblehome.checks.finding import Verdict
    from tumblehome.fitout import Layout, Module, Zone
    from tumblehome.people.person import Person
    from tumblehome.solids import Surface

    Floats = NDArray[np.float64]

__all__ = ["Hand", "Places", "Posture", "check_service", "postures"]

_SEGMENTS: Final = 32
"""Into so many parts a quarter of a circle is divided; it then errs by 0.03 % of its radius, always towards less."""
_LEVEL: Final = 1.0
"""Eyes and shoulders are at least this far above or below what they are held against, mm."""
_NEAREST: Final = 1e-4
"""What is nearer to the level of the hand than this share of the way up casts its shadow beyond the arm's reach."""
_LEAST: Final = 1.0
"""A place of less than this is none, mm2."""
_MOST: Final = 3
"""No more modules than this are tried to be taken out together."""
_THIN: Final = 1e-3
"""A shadow of less than this is none, mm2."""
_SOURCE: Final = f"{SOURCE}: thumb-tip reach, shoulder and eye heights, hand breadth"
_EDGES: Final = ((0, 1), (1, 2), (2, 0))
_CORNERS: Final = np.array(list(product((-0.5, 0.5), repeat=3)))
_CUBE: Final = tuple((i, j) for i, j in combinations(range(8), 2) if np.abs(_CORNERS[i] - _CORNERS[j]).sum() == 1)


@dataclass(frozen=True)
class Posture:
    """How somebody is: "standing", "kneeling" or "on hands and knees"; heights of shoulder and eyes above the floor, mm."""

    name: str
    shoulder: float
    eyes: float


def postures(person: Person) -> tuple[Posture, ...]:
    """Return how a person stands, kneels, lower by the height of the hollow of the knee, and is on hands and knees.

    The level trunk of the last is as high as the hips of one who kneels: by what the stature exceeds the sitting height, less
    the height of the hollow of the knee. Common practice, no published source.
    """
    eyes = person.stature - (person.sitting_height - person.eye_height_sitting)
    low = person.popliteal_height
    return (
        Posture("standing", person.shoulder_height, eyes),
        Posture("kneeling", person.shoulder_height - low, eyes - low),
        Posture("on hands and knees", _hips(person), _hips(person)),
    )


def _hips(person: Person) -> float:
    """Return how high the hips of one who kneels are above the floor, mm."""
    return person.stature - person.sitting_height - person.popliteal_height


def check_service(floor: Floor, person: Person) -> Iterator[Finding]:
    """Yield for each zone for a hand from where it is seen and reached, or what must be taken out first, or that it never is.

    Parameters
    ----------
    floor : with its doorways open
    person : who must find room to stand or kneel; who reaches is the body at the other end of the table, with its shorter arm

    Notes
    -----
    One may stand wherever a turned body gets from a doorway, and outside of it, as if the floor went on; kneel where one can stand
    and the lower legs have room behind; and be on hands and knees, along the van or across it, where all of the body has room
    and the hips are where one can stand. The arm's reach counts
    from the middle of the body: thumb-tip reach, which is measured from the back, less half of the body's depth. What the
    module is inside of is taken to be open. What cannot be taken out is fixed, or carries what is.
    """
    places = Places(floor, person)
    for module in floor.layout.modules:
        yield from (_told(Hand(places, module, zone)) for zone in module.zones if zone.hand)


# ---- where one may stand or kneel ----


@dataclass(frozen=True, eq=False)
class Places:
    """Where the middle of somebody may be in a layout, with some of its modules taken out."""

    floor: Floor
    person: Person

    @property
    def layout(self) -> Layout:
        """The layout that it is of."""
        return self.floor.layout

    @cached_property
    def tall(self) -> Person:
        """Who must find room, as upright as the van allows."""
        return upright(self.person, self._empty)

    @cached_property
    def small(self) -> Person:
        """Who reaches, likewise."""
        return upright(self.person.small, self._empty)

    @cached_property
    def arm(self) -> float:
        """How far a thumb's tip reaches from the middle of the body, mm."""
        return self.small.reach_forward - self.small.body_depth / 2

    @cached_property
    def _empty(self) -> Floor:
        return Floor(replace(self.layout, modules=()))

    @cached_property
    def _found(self) -> dict[tuple[str, frozenset[str]], shapely.Geometry]:
        return {}

    @cached_property
    def _floors(self) -> dict[frozenset[str], Floor]:
        return {frozenset(): self.floor}

    def _without(self, gone: frozenset[str]) -> Floor:
        """Return the floor with some modules taken out."""
        if gone not in self._floors:
            kept = tuple(m for m in self.layout.modules if m.name not in gone)
            self._floors[gone] = Floor(replace(self.layout, modules=kept))
        return self._floors[gone]

    def of(self, posture: Posture, gone: frozenset[str]) -> shapely.Geometry:
        """Return where the middle of somebody may be, in plan, mm."""
        key = (posture.name, gone)
        if key not in self._found:
            found = {"standing": self._standing, "kneeling": self._kneeling}.get(posture.name, self._crawling)(gone)
            shapely.prepare(found)
            self._found[key] = found
        return self._found[key]

    def _standing(self, gone: frozenset[str]) -> shapely.Geometry:
        """Return where a body that turns any way is free, as far as one gets there from a doorway."""
        half = self.tall.body_depth / 2 / cos(pi / 4 / _SEGMENTS)
        free = [self._without(gone).region((slab.low, slab.high)) for slab in body(self.tall).slabs]
        drawn_in = [shapely.buffer(region, -half, quad_segs=_SEGMENTS) for region in free]
        pieces = shapely.get_parts(reduce(shapely.intersection, drawn_in)).tolist()
        outside = [self.floor.outside(door) for door in self.layout.shell.doorways]
        return shapely.union_all(
            [piece for piece in pieces if not outside or any(piece.intersects(ground) for ground in outside)]
        )

    def _kneeling(self, gone: frozenset[str]) -> shapely.Geometry:
        """Return where one who can stand can kneel, along the van or across it, the lower legs behind on the floor."""
        tall = self.tall
        back = tall.knee_height_sitting - tall.body_depth / 2
        return self._laid_out(back, tall.hip_breadth, tall.shoulder_height - tall.popliteal_height, 0.0, gone)

    def _crawling(self, gone: frozenset[str]) -> shapely.Geometry:
        """Return where the shoulders of one on hands and knees may be, the trunk and the lower legs behind them."""
        tall = self.tall
        trunk = tall.shoulder_height - tall.stature + tall.sitting_height
        high = _hips(tall) + tall.body_depth / 2
        return self._laid_out(trunk + tall.knee_height_sitting, tall.shoulder_breadth, high, trunk, gone)

    def _laid_out(self, back: float, wide: float, high: float, hips: float, gone: frozenset[str]) -> shapely.Geometry:
        """Return where a box may be that reaches back, up from the floor and half the body's depth ahead; hips where one stands."""
        plan = FreePlan(tuple(self._without(gone).free((0.0, high))))
        standing = self.of(postures(self.tall)[0], gone)
        front = self.tall.body_depth / 2
        shape = np.array([(-back, -wide / 2), (front, -wide / 2), (front, wide / 2), (-back, wide / 2)])
        found = []
        for c, s in ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)):
            spots = shapely.MultiPolygon(regions_of(plan.places(shape @ np.array([(c, s), (-s, c)]))))
            found.append(shapely.intersection(spots, translate(standing, hips * c, hips * s)))
        return shapely.union_all(found)


# ---- what is in the way of one hand ----


@dataclass(frozen=True, eq=False)
class Hand:
    """A zone for a hand."""

    places: Places
    module: Module
    zone: Zone

    @property
    def layout(self) -> Layout:
        """The layout that it belongs to."""
        return self.places.layout

    @cached_property
    def at(self) -> Floats:
        """Where the hand goes, (3,) mm: the middle of the zone."""
        return self.zone.prisms[0].center

    @cached_property
    def _surfaces(self) -> list[Surface]:
        """What may be in the way: the shell, and all modules but the one that its own is inside of and what is inside others."""
        around = {None, self.module.parent}
        modules = [m for m in self.layout.modules if m.parent in around and m.name != self.module.parent]
        return [self.layout.shell.opened(*(d.name for d in self.layout.shell.doorways)).void.surface] + [
            module.solid.surface for module in modules
        ]

    @cached_property
    def _known(self) -> dict[str, dict[str, CrossSection]]:
        return {}

    def disc(self, posture: Posture) -> shapely.Geometry:
        """Return where the middle of who reaches it may be, mm, as far as the arm decides."""
        across = self.places.arm**2 - (posture.shoulder - self.at[2]) ** 2
        return shapely.Point(self.at[:2]).buffer(sqrt(across), quad_segs=_SEGMENTS) if across > 0 else shapely.Polygon()

    def shadows(self, posture: Posture) -> dict[str, CrossSection]:
        """Return what each thing bars of the disc, to sight or hand."""
        if posture.name not in self._known:
            disc = self.disc(posture)
            named: dict[str, list[Floats]] = {}
            levels = ((posture.eyes, 0.0), (posture.shoulder, self.places.person.hand_breadth))
            for surface, (level, size) in product(self._surfaces if not disc.is_empty else [], levels):
                for name, shadow in _shadows(surface, self.at, level, size, disc):
                    named.setdefault(name, []).append(shadow)
            self._known[posture.name] = {name: outline_of(rings) for name, rings in named.items()}
        return self._known[posture.name]

    def spots(self, posture: Posture, gone: frozenset[str] = frozenset()) -> shapely.Geometry:
        """Return where one may be to see and reach it with some modules taken out."""
        barred = [shadow for name, shadow in self.shadows(posture).items() if name not in gone]
        whole = outline_of([shapely.get_coordinates(shapely.geometry.polygon.orient(self.disc(posture)))[:-1]])
        lit = shapely.MultiPolygon(regions_of(whole - CrossSection.batch_boolean(barred, OpType.Add)))
        return lit if lit.area <= _LEAST else shapely.intersection(lit, self.places.of(posture, gone))

    def best(self, gone: frozenset[str] = frozenset()) -> tuple[Posture, Floats] | None:
        """Return in which posture it is reached, and from which place (2,) nearest to it, standing before kneeling."""
        for posture in postures(self.places.small):
            spots = self.spots(posture, gone)
            if spots.area > _LEAST:
                line = shapely.shortest_line(shapely.Point(self.at[:2]), spots)
                return posture, shapely.get_coordinates(line)[-1]
        return None

    def burying(self) -> frozenset[str] | None:
        """Return the fewest modules without which it is reached, the lightest such; none where more than three must go at once.

        None where it is not reached however many go.
        """
        sets = {frozenset(self.layout.with_stack(names)) for k in range(1, _MOST + 1) for names in self._sets(k)}
        fixed = {module.name for module in self.layout.modules if module.fixed} | {self.module.name}
        ordered = sorted((gone for gone in sets if fixed.isdisjoint(gone)), key=self._weight)
        alone = next((gone for gone in ordered if len(gone) == 1 and self.best(gone)), None)
        if alone is not None or self.best(frozenset().union(*ordered)) is None:
            return alone
        return next((gone for gone in ordered if len(gone) > 1 and self.best(gone)), frozenset())

    @property
    def cramped_by(self) -> str | None:
        """What reaches into the room of the hand itself, if anything does."""
        half = self.places.person.hand_breadth / 2
        cube = Prism.box(self.at - half, self.at + half)
        hits = (standing_in(surface, cube) for surface in self._surfaces)
        return next((hit[0] for hit in hits if hit), None)

    def _sets(self, count: int) -> Iterator[tuple[str, ...]]:
        """Yield sets of modules that bar sight, hand or a place to be."""
        discs = [self.disc(posture).buffer(self.places.tall.stature / 2) for posture in postures(self.places.small)]
        near = [m.name for m in self.layout.modules if m.parent is None and m.name != self.module.parent]
        boxes = {m.name: shapely.box(*m.bounds[0][:2], *m.bounds[1][:2]) for m in self.layout.modules}
        yield from combinations(
            [name for name in near if any(not d.is_empty and d.intersects(boxes[name]) for d in discs)], count
        )

    def _weight(self, names: frozenset[str]) -> tuple[int, float, list[str]]:
        return len(names), sum(m.mass for m in self.layout.modules if m.name in names), sorted(names)


def _shadows(
    surface: Surface, at: Floats, level: float, size: float, disc: shapely.Geometry
) -> Iterator[tuple[str, shapely.Geometry]]:
    """Yield what the triangles of a surface, grown by half a cube's size, bar of a disc at a level, by name.

    Seen from a point, a convex thing casts the shadow of what of it lies between the point and the level: the hull of its edges
    there. The edges of a triangle grown by a cube are its own at each corner of the cube, and those of the cube at each of its.
    """
    rise = level - at[2] if abs(level - at[2]) > _LEVEL else _LEVEL
    triangles, part = _near(surface, at, rise, size, disc)
    if not len(triangles):
        return
    starts, ends = _edges(triangles, size)
    share = [(p[..., 2] - at[2]) / rise for p in (starts, ends)]
    met, points = _between_levels(starts, ends, *share)
    seen = at[:2] + (points[..., :2] - at[:2]) / np.maximum((points[..., 2:] - at[2]) / rise, _NEAREST)
    whole = shapely.box(*disc.bounds)
    which, edge = np.nonzero(met)
    kept, cloud = np.unique(which, return_inverse=True)
    clouds = shapely.multipoints(seen[which, edge].reshape(-1, 2), indices=np.repeat(cloud, 2))
    hulls = shapely.orient_polygons(shapely.intersection(shapely.convex_hull(clouds), whole))
    for i in np.flatnonzero(shapely.area(hulls) > _THIN).tolist():
        yield surface.names[part[kept[i]]], shapely.get_coordinates(hulls[i])[:-1]


def _near(
    surface: Surface, at: Floats, rise: float, size: float, disc: shapely.Geometry
) -> tuple[Floats, NDArray[np.intp]]:
    """Return the triangles (n, 3, 3) that reach into the box about a point and a disc, and their parts (n,)."""
    x0, y0, x1, y1 = disc.bounds
    ends = np.array([(x0, y0, min(at[2], at[2] + rise)), (x1, y1, max(at[2], at[2] + rise))])
    low, high = surface.triangles.min(axis=1) - size / 2, surface.triangles.max(axis=1) + size / 2
    near = ((low < ends[1]) & (high > ends[0])).all(axis=1)
    return surface.triangles[near], surface.part[near]


def _edges(triangles: Floats, size: float) -> tuple[Floats, Floats]:
    """Return the starts and ends (n, e, 3) of the edges of triangles (n, 3, 3) grown by a cube of a size."""
    if size == 0.0:
        return tuple(triangles[:, [edge[k] for edge in _EDGES]] for k in (0, 1))  # type: ignore[return-value]
    grown = triangles[:, :, None] + size * _CORNERS
    ends = []
    for k in (0, 1):
        own = grown[:, [edge[k] for edge in _EDGES]].reshape(len(triangles), -1, 3)
        cubes = grown[:, :, [edge[k] for edge in _CUBE]].reshape(len(triangles), -1, 3)
        ends.append(np.concatenate([own, cubes], axis=1))
    return ends[0], ends[1]


def _between_levels(starts: Floats, ends: Floats, a: Floats, b: Floats) -> tuple[NDArray[np.bool_], Floats]:
    """Return which edges have a piece between the point and the level, (n, e), and that piece's ends (n, e, 2, 3).

    ``a`` and ``b`` (n, e) are how high an edge's ends are as a share of the way from the point to the level.
    """
    run = np.where(a == b, 1.0, b - a)
    first, second = (_NEAREST - a) / run, (1.0 - a) / run
    low = np.where(a == b, 0.0, np.clip(np.minimum(first, second), 0.0, 1.0))
    high = np.where(a == b, 1.0, np.clip(np.maximum(first, second), 0.0, 1.0))
    met = (np.maximum(a, b) >= _NEAREST) & (np.minimum(a, b) <= 1.0)
    way = ends - starts
    return met, np.stack([starts + low[..., None] * way, starts + high[..., None] * way], axis=2)


# ---- in words ----


def _told(hand: Hand) -> Finding:
    gone = frozenset[str]() if hand.best() else hand.burying()
    if gone is None:
        return _never(hand)
    found = hand.best(gone)
    words = f"buried: more than {_MOST} modules must be taken out together to see and reach it"
    return _finding(hand, found, sorted(gone)) if found else _barred(hand, "tight", words)


def _finding(hand: Hand, found: tuple[Posture, Floats], gone: Sequence[str]) -> Finding:
    posture, spot = found
    arm, tolerance = hand.places.arm, hand.layout.measured_to
    far = float(np.linalg.norm(np.append(spot, posture.shoulder) - hand.at))
    where = _outside(hand, spot)

    def words(units: str) -> str:
        place = f"by one {posture.name} {where}at station {shown(spot[0], units)}, breadth {shown(spot[1], units)}"
        way = f"{place}, {shown(far, units)} from the shoulder of the {shown(arm, units)} that an arm reaches"
        return f"buried behind {joined(gone)}; without, seen and reached {way}" if gone else f"seen and reached {way}"

    return Finding(
        hand.module.name, f"{hand.zone.name}, reach", "tight" if gone else verdict_of(arm - far, tolerance), far,
        limit=arm, where=_point(hand), cause=joined(gone) or None, source=_SOURCE, tolerance=tolerance, said=said(words),
    )  # fmt: skip


def _outside(hand: Hand, spot: Floats) -> str:
    """Say by which doorway one reaches in, where one stands outside of the van."""
    layout = hand.layout
    doors = (d for d in layout.shell.doorways if Floor(layout).outside(d).intersects(shapely.Point(spot)))
    return next((f"outside of the {door.name}, " for door in doors), "")


def _never(hand: Hand) -> Finding:
    tight, wide = hand.cramped_by, hand.places.person.hand_breadth

    def words(units: str) -> str:
        if tight:
            return f"no room for a hand, {shown(wide, units)} wide, beside {tight}"
        return "never seen and reached: out of the arm's reach from wherever one can be, or barred by what stays"

    return replace(_barred(hand, "fouls", ""), said=said(words), cause=tight)


def _barred(hand: Hand, verdict: Verdict, words: str) -> Finding:
    return Finding(
        hand.module.name, f"{hand.zone.name}, reach", verdict, where=_point(hand), source=_SOURCE,
        said=dict.fromkeys(("mm", "in"), words),
    )  # fmt: skip


def _point(hand: Hand) -> tuple[float, float, float]:
    x, y, z = hand.at.tolist()
    return x, y, z
