"""A study of one module: how tall it may be, where along the walls it fits, what its place gives it and costs it."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.errors import InputError
from tumblehome.lasting import kept, remembered
from tumblehome.records import dataclass
from tumblehome.room import DIRECTIONS
from tumblehome.studies.give import Effects, effects_on
from tumblehome.studies.left import LEAST_LITERS, LeftOver, left_over
from tumblehome.studies.liters import liters_of
from tumblehome.studies.profile import Piece, Profile
from tumblehome.studies.wall import Wall, is_barred
from tumblehome.sweep import Prism, plate_stops, rectangle
from tumblehome.tolerances import CONTACT, SMALLEST

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from tumblehome.body import Shell
    from tumblehome.fitout import Layout, Module
    from tumblehome.studies.beyond import Barriers

    Floats = NDArray[np.float64]

__all__ = ["NEARBY", "Better", "Corner", "Place", "Study", "study"]

NEARBY: Final = 300.0
"""How far a module may be moved along the wall for a place to count as nearby, mm."""
_HAIR: Final = 1e-6
"""Thickness of a shelf that has none, mm."""
_OTHER: Final = {"left": "right", "right": "left"}
_SIGN: Final = {"left": -1.0, "right": 1.0}


@dataclass(frozen=True)
class Corner:
    """A breakpoint of a study's curve.

    Attributes
    ----------
    at : mm; a top height, an underside, or a station
    back : mm, half-breadth that the module's back can have there, at a jump the lesser; 0 where it is barred
    aisle : mm that it leaves of what is free before its face today; 0 where it is barred
    part : the named part that decides from here on
    barred : whether that part reaches over the centerline, so that the module has no room at all
    """

    at: float
    back: float
    aisle: float
    part: str
    barred: bool = False


@dataclass(frozen=True)
class Place:
    """A stretch of stations in which a module fits, told by where its front end stands.

    Attributes
    ----------
    side : "left" or "right"; start, end : mm; play : mm that it can be shifted
    back : mm, the greatest half-breadth that its back has there, and part : what stops it
    best : mm, the station of its front end where it has it
    collides : modules that stand there already
    """

    side: str
    start: float
    end: float
    back: float
    part: str
    best: float
    collides: tuple[str, ...]

    @property
    def play(self) -> float:
        """How far it can be shifted along the wall within the place, mm."""
        return self.end - self.start


@dataclass(frozen=True)
class Better:
    """A better place for a module nearby along its wall.

    Attributes
    ----------
    move : mm, rearward positive; gain : mm of reach
    part : what stops it there
    past : the member that stops it today and no more there, or None
    """

    move: float
    gain: float
    part: str
    past: str | None


@dataclass(frozen=True, eq=False)
class Study:
    """One module against its wall. All half-breadths count towards that wall.

    ``reason`` says why a study was made all the same for a module that fouls, or is empty.
    """

    layout: Layout
    module: Module
    side: str
    reason: str = ""

    @property
    def sign(self) -> float:
        """-1 for the left wall, 1 for the right."""
        return _SIGN[self.side]

    @cached_property
    def wall(self) -> Wall:
        """The wall it stands against."""
        return Wall.of(self.layout.shell, self.sign)

    @property
    def body(self) -> tuple[Prism, ...]:
        """All of it, as prisms."""
        return self.module.hull

    @cached_property
    def liters(self) -> tuple[tuple[str, float], ...]:
        """For a scribed module, what each recess adds to it (positive) or each member takes (negative), L, greatest first.

        What is free behind its face as the shell stands, less what would be without that part.
        """
        return liters_of(self.layout.shell, self.module, LEAST_LITERS)

    def depth_at(self, height: float, high: float = 0.0) -> float | None:
        """Return the depth, mm, of the deepest box of a height that fits behind its face from a height above the floor up.

        Its panels are taken off at the face; None where the wall is not there. What is thinner than a hair stands on its
        height, so that a shelf on the floor is not stopped by the floor.
        """
        least = self._least_over(height, height + max(high, _HAIR))
        if least is None:
            return None
        return least[0] - self._inner_face

    @cached_property
    def effects(self) -> Effects:
        """What gives it its place and costs it, part by part."""
        return _effects_of(self.layout.shell, self.module, self.sign)

    @property
    def back(self) -> float:
        """Half-breadth of its back as it stands, mm."""
        return max(float((self.sign * prism.outline[:, 1]).max()) for prism in self.body)

    @cached_property
    def face(self) -> float:
        """Half-breadth of its face as it stands, mm: of what of it is nearest the aisle."""
        return min(float((self.sign * prism.outline[:, 1]).min()) for prism in self.body)

    @property
    def deep(self) -> float:
        """How deep it is across the van, mm; of a turned module that is more than the depth of its own."""
        return self.back - self.face

    @property
    def is_square(self) -> bool:
        """Whether its sides run along the van and across it."""
        return bool(np.abs(self.module.frame.away).min() < 1e-9)

    @cached_property
    def aisle(self) -> float:
        """What it leaves free before its face as the layout stands, mm."""
        axis, sense = DIRECTIONS[_OTHER[self.side]]
        reached = self.layout.room.journey(self.body, axis, ignoring={self.module.name}).reach(sense)
        return reached.distance if reached else 0.0

    @cached_property
    def foot(self) -> float:
        """Height of its foot, mm."""
        return min(prism.bottom for prism in self.body)

    @property
    def top(self) -> float:
        """Height of its top, mm."""
        return max(prism.top for prism in self.body)

    @cached_property
    def _barriers(self) -> Barriers:
        return self.wall.by_height(self.body)

    @cached_property
    def by_height(self) -> Profile:
        """How far out what is at each single height would let its plan go."""
        return self._barriers.each().clipped(*self.layout.shell.heights)

    @cached_property
    def ceiling(self) -> tuple[float, str]:
        """What is first met above its foot on the centerline, along all its stations: height, mm, and name.

        What stands wholly before its face is left out.
        """
        return self._met_from(self.foot, 1.0)

    @cached_property
    def ground(self) -> tuple[float, str]:
        """What is first met below its top on the centerline, along all its stations: height, mm, and name."""
        return self._met_from(self.top, -1.0)

    def _met_from(self, height: float, sense: float) -> tuple[float, str]:
        low, high = self.module.bounds
        shell = self.layout.shell
        met = plate_stops(rectangle((low[0], high[0]), (0.0, 0.0)), height, shell.obstacles, 2)
        surface = shell.void.surface
        before = self.wall.before(self.body)
        counted = np.array([name not in before for name in surface.names], dtype=bool)[surface.part[met.triangle]]
        distance = met.low if sense > 0 else -met.high
        ahead = np.flatnonzero((distance > CONTACT) & counted)
        if not len(ahead):
            return height, "outside"
        first = ahead[distance[ahead].argmin()]
        return height + sense * float(distance[first]), surface.names[surface.part[met.triangle[first]]]

    @cached_property
    def by_top(self) -> Profile:
        """How far out its back can go, by the height of its top, from its foot up to what is above it."""
        return self._barriers.upward(self.foot, self.ceiling[0])

    @cached_property
    def by_underside(self) -> Profile:
        """How far out its back can go, by the height of its underside, from its top down to what is below it."""
        return self._barriers.downward(self.ground[0], self.top)

    def _least_over(self, low: float, high: float) -> tuple[float, Piece] | None:
        """Return how far out its plan can go between two heights, and the stretch that stops it; None outside the van."""
        if low < self.ground[0] - CONTACT or high > self.ceiling[0] + CONTACT:
            return None
        return self._barriers.least(low, high)

    @cached_property
    def slide(self) -> Profile:
        """How far out its back can go, by the station of its front end, along its own wall."""
        return self._slide_on(self.side)

    def _slide_on(self, side: str) -> Profile:
        body = self._turned_to(side)
        front = min(float(prism.outline[:, 0].min()) for prism in body)
        rear = max(float(prism.outline[:, 0].max()) for prism in body)
        low, high = self.layout.shell.stations
        slide = Wall.of(self.layout.shell, _SIGN[side]).by_station(body)
        return slide.moved(along=front).clipped(low, high - (rear - front))

    def _turned_to(self, side: str) -> tuple[Prism, ...]:
        """Return the body as it would stand at a side: turned half round about its middle for the other one."""
        if side == self.side:
            return self.body
        low, high = self.module.bounds
        middle = (low + high)[:2] / 2
        return tuple(
            Prism(2 * np.array([middle[0], 0.0]) - (p.outline - [0.0, middle[1]]), p.bottom, p.top) for p in self.body
        )

    def name_of(self, piece: Piece) -> str:
        """Return the name of the part that decides a stretch of a curve."""
        return self.wall.names[piece.cause]

    def corners(self, profile: Profile) -> list[Corner]:
        """Return the breakpoints of one of its curves, each with what it leaves of the aisle and the part that decides."""
        found = []
        for piece in profile.pieces:
            barred = is_barred(piece)
            for at, value in ((piece.start, piece.low), (piece.end, piece.high)):
                aisle = 0.0 if barred else self.aisle + value - self.module.gap - self.back
                found.append(Corner(at, value, aisle, self.name_of(piece), barred))
        return found

    def greatest_height(self, deep: float | None = None) -> tuple[float, str] | None:
        """Return the greatest height, mm, at which its face need not stand further in, and the part that forbids more.

        Parameters
        ----------
        deep : mm across the van from its face to its back, by default as it is; its face stays where it is

        Raises
        ------
        InputError
            When another depth is asked of a module that stands turned.
        """
        if deep is not None:
            self._refuse_turned()
        needed = self.back + self.module.gap + (0.0 if deep is None else deep - self.deep)
        if self.by_top.is_empty or self.by_top.pieces[0].low < needed - CONTACT:
            return None
        first = self.by_top.first_below(needed)
        if first is None:
            return self.ceiling[0] - self.foot, self.ceiling[1]
        return first[0] - self.foot, self.name_of(first[1])

    def greatest_depth(self, high: float) -> tuple[float, str] | None:
        """Return the greatest depth across the van, mm, that it can have with its face where it is and a height.

        With what forbids more; None for a height that the van does not have there.

        Raises
        ------
        InputError
            When the module stands turned.
        """
        self._refuse_turned()
        least = self._least_over(self.foot, self.foot + high)
        if least is None:
            return None
        return least[0] - self.module.gap - self.face, self.name_of(least[1])

    def _refuse_turned(self) -> None:
        if not self.is_square:
            raise InputError(
                f"'{self.module.name}' stands turned: deeper, its corners meet the wall at other stations; "
                "turn it square to the wall, or give it the other depth in the layout file"
            )

    @cached_property
    def roof_at(self) -> tuple[float, str] | None:
        """Where, from its top up, the roof or a bow begins to stop it: height, mm, and name; None when one does already.

        A flat roof, or a block above it, stops it altogether.
        """
        bows = {part.name for part in self.layout.shell.parts if part.kind in {"bow", "hoop"}}
        above = (p for p in self._stops.pieces if p.end > self.top + CONTACT and self.name_of(p) in {"roof", *bows})
        start = min(((piece.start, self.name_of(piece)) for piece in above), default=self.ceiling)
        return start if start[0] > self.top + CONTACT else None

    @property
    def _stops(self) -> Profile:
        """What stops it by the height of its top: all that is below; of a scribed module, what is there."""
        return self.by_height if self.module.kind == "scribed" else self.by_top

    @cached_property
    def begins(self) -> tuple[tuple[float, str], ...]:
        """The members that begin to stop it only if it is run up: the height of its top, mm, at which each does, and its name."""
        members = {part.name for part in self.layout.shell.parts if not part.gives}
        pieces = self._stops.clipped(self.top, self.ceiling[0]).pieces
        first: dict[str, float] = {}
        for at, name in (*((piece.start, self.name_of(piece)) for piece in pieces), self.ceiling):
            first.setdefault(name, at)
        return tuple((at, name) for name, at in first.items() if name in members and at > self.top + CONTACT)

    @cached_property
    def full_height(self) -> tuple[float, float, str] | None:
        """The top at which the roof begins to stop it: height, what that costs of the aisle, mm, and the part that costs it.

        None for a module that is under the roof already, whose face would cross the centerline before, or whose back
        follows the wall and so costs nothing.
        """
        if self.roof_at is None or self.module.kind == "scribed":
            return None
        return self._run_up_to(self.roof_at[0])

    @cached_property
    def scribed_end(self) -> tuple[float, str]:
        """How high a scribed module can be run up, mm, and the part that ends it.

        That is where the roof or a bow begins to stop it, or where its back meets its face, whichever is lower.
        """
        first = self.by_height.clipped(self.top, self.ceiling[0]).first_below(self._inner_face)
        ends = (self.roof_at, (first[0], self.name_of(first[1])) if first else None, self.ceiling)
        return min(end for end in ends if end)

    @cached_property
    def scribed_height(self) -> tuple[float, float, str] | None:
        """A scribed module run up as high as can be: height and its depth inside there, mm, and the part that ends it.

        None for a rigid one, and where it would gain no more than the shell is measured to.
        """
        if self.module.kind != "scribed" or self.scribed_end[0] <= self.top + self.layout.shell.measured_to:
            return None
        top, part = self.scribed_end
        least = self.by_height.least(top - CONTACT, top)
        deep = max(0.0, least[0] - self._inner_face) if least else 0.0
        return top, deep if deep > SMALLEST else 0.0, part

    @property
    def _inner_face(self) -> float:
        """The half-breadth that the wall must leave for a scribed module to have any depth, mm."""
        return self.face + self.module.gap + self.module.panel

    def _run_up_to(self, top: float) -> tuple[float, float, str] | None:
        least = self._barriers.least(self.foot, top)
        if least is None:
            return None
        cost = self.back + self.module.gap - least[0]
        return None if self.face < cost and cost > CONTACT else (top, cost, self.name_of(least[1]))

    def places(self, least_back: float | None = None) -> list[Place]:
        """Return every stretch of both walls where it fits with its back that far out, the furthest out first.

        Parameters
        ----------
        least_back : mm, half-breadth that its back must reach; by default what it has now, less the gap
        """
        needed = self.back + self.module.gap if least_back is None else least_back
        found = []
        for side in ("left", "right"):
            profile = Profile(tuple(piece for piece in self._slide_on(side).pieces if not is_barred(piece)))
            for start, end in profile.stretches_above(needed):
                found.append(self._place(side, profile.clipped(start - CONTACT, end + CONTACT), start, end))
        return sorted(found, key=lambda place: (-round(place.back, 6), place.start))

    @cached_property
    def drops(self) -> tuple[Place, ...]:
        """Every stretch of its own wall in which it drops into a recess, from the front rearward."""
        recesses = {part.name for part in self.layout.shell.parts if part.gives}
        runs: list[list[Piece]] = []
        for piece in self.slide.pieces:
            if self.name_of(piece) not in recesses:
                continue
            if runs and piece.start - runs[-1][-1].end <= CONTACT:
                runs[-1].append(piece)
            else:
                runs.append([piece])
        return tuple(self._place(self.side, Profile(tuple(run)), run[0].start, run[-1].end) for run in runs)

    def _place(self, side: str, profile: Profile, start: float, end: float) -> Place:
        best = max(profile.pieces, key=lambda piece: max(piece.low, piece.high))
        at, back = (best.start, best.low) if best.low >= best.high else (best.end, best.high)
        return Place(
            side,
            start,
            end,
            back,
            self.name_of(best),
            min(max(at, start), end),
            self._standing_at(side, start, end, back),
        )

    def _standing_at(self, side: str, start: float, end: float, back: float) -> tuple[str, ...]:
        """Return the modules that it would meet somewhere in a stretch, with its back pushed out."""
        low, high = self.module.bounds
        sign = _SIGN[side]
        face = back - self.module.gap - (high[1] - low[1])
        across = sorted((sign * face, sign * back))
        met = []
        for other in self.layout.modules:
            if other is self.module or other.parent is not None:
                continue
            least, most = other.bounds
            along = least[0] < end + (high[0] - low[0]) - CONTACT and most[0] > start + CONTACT
            beside = least[1] < across[1] - CONTACT and most[1] > across[0] + CONTACT
            if along and beside and least[2] < high[2] - CONTACT and most[2] > low[2] + CONTACT:
                met.append(other.name)
        return tuple(met)

    @cached_property
    def better_nearby(self) -> Better | None:
        """The best place within NEARBY to which it can be slid before it meets another module, if it gains by that.

        The gain must exceed the measuring tolerance. None for a scribed module, whose back follows the wall; what stands on
        another module stays on that.
        """
        if self.module.kind == "scribed":
            return None
        now = self.back + self.module.gap
        enough = now + self.layout.shell.measured_to
        ways = [way for way in self._leeway if way[0] < way[1]]
        asked = [_slid(self.layout.shell, self.module, self.sign, way, enough) for way in ways]
        pieces = [piece for profile in asked if profile for piece in profile.pieces]
        ends = [(v, at, p) for p in pieces for at, v in ((p.start, p.low), (p.end, p.high)) if v > enough]
        if not ends:
            return None
        most = max(value for value, _, _ in ends)
        _, move, piece = min((end for end in ends if end[0] >= most - CONTACT), key=lambda end: abs(end[1]))
        part, stop = self.name_of(piece), self.effects.stopped_by
        past = stop if stop in self.wall.things and stop != part else None
        return Better(float(move), float(most - now), part, past)

    @property
    def _leeway(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """How far it may be moved forward (negative) and rearward, mm: nearby, along what it stands on, before a neighbor."""
        low, high = self.module.bounds
        under = [m.bounds for m in self.layout.modules if m.name == self.module.support]
        ahead = [NEARBY, *(float(low[0] - start[0]) for start, _ in under), *self._apart(-1.0)]
        behind = [NEARBY, *(float(end[0] - high[0]) for _, end in under), *self._apart(1.0)]
        return (-max(0.0, min(ahead)), 0.0), (0.0, max(0.0, min(behind)))

    def _apart(self, sense: float) -> Iterator[float]:
        """Yield how far it is along the wall to the boxes about other modules' prisms that lie from its face outward."""
        owners, boxes = _hulls(self.layout)
        least, most = boxes[owners != self.layout.modules.index(self.module)].swapaxes(0, 1)
        outer = np.maximum(self.sign * least[:, 1], self.sign * most[:, 1])
        for prism in self.body:
            low, high = prism.bounds
            beyond = outer > min(self.sign * prism.outline[:, 1]) + CONTACT
            level = (least[:, 2] < high[2] - CONTACT) & (most[:, 2] > low[2] + CONTACT)
            ahead, behind = low[0] - most[:, 0], least[:, 0] - high[0]
            start, passed = (ahead, high[0] - least[:, 0]) if sense < 0 else (behind, most[:, 0] - low[0])
            yield from start[beyond & level & (passed > CONTACT) & (start > -CONTACT)].tolist()

    def stands_behind(self, start: float, end: float) -> set[str]:
        """Return what stands before its face where its front end is somewhere between two stations: it is no stop there."""
        low, high = (corner.copy() for corner in self.module.bounds)
        low[0], high[0] = start, end + high[0] - low[0]
        return self.wall.before((Prism.box(low, high),))

    @cached_property
    def left_over(self) -> tuple[LeftOver, ...]:
        """The largest boxes that are free above and below it in its own footprint, and ahead and behind along its wall."""
        return left_over(self.layout, self.module, self.sign, self.ground[0], self.ceiling[0])


@kept
def _hulls(layout: Layout) -> tuple[NDArray[np.intp], Floats]:
    """Return the boxes (n, 2, 3) about the prisms of all modules that are not inside another, and whose they are, by number."""
    standing = [(i, module) for i, module in enumerate(layout.modules) if module.parent is None]
    boxes = [prism.bounds for _, module in standing for prism in module.hull]
    owners = np.repeat([i for i, _ in standing], [len(module.hull) for _, module in standing])
    return owners.astype(np.intp), np.array(boxes, dtype=float).reshape(-1, 2, 3)


@remembered
def _effects_of(shell: Shell, module: Module, sign: float) -> Effects:
    return effects_on(shell, module.hull, sign)


@remembered
def _slid(shell: Shell, module: Module, sign: float, travel: tuple[float, float], enough: float) -> Profile | None:
    """Return how far out a module can go in a stretch of travel nearby, if it may be further than enough anywhere in it."""
    may = Wall.of(shell, sign).at_most(module.hull, travel) > enough
    return _slid_nearby(shell, module, sign).clipped(*travel) if may else None


@remembered
def _slid_nearby(shell: Shell, module: Module, sign: float) -> Profile:
    return Wall.of(shell, sign).by_station(module.hull, travel=(-NEARBY, NEARBY))


def study(layout: Layout, name: str) -> Study:
    """Return the study of a module that stands against the left or right wall.

    Raises
    ------
    LayoutError
        When there is no such module.
    InputError
        When it is inside another module, stands free of both walls, or has its foot outside the interior.
    """
    module = layout.module(name)
    if module.parent is not None:
        raise InputError(f"'{name}' is inside '{module.parent}'; study that one, or take it out")
    if module.against not in _SIGN:
        where = f"against the {module.against}" if module.against else "free of any wall"
        raise InputError(
            f"'{name}' stands {where}; a study needs a module that is pushed against the left or right wall"
        )
    found = Study(layout, module, module.against, _why_fouled(layout, module))
    if found.by_top.is_empty:
        raise InputError(
            f"'{name}' does not stand inside the van: {found.reason or 'it is outside'}; move it inside first"
        )
    return found


def _why_fouled(layout: Layout, module: Module) -> str:
    names: list[str] = []
    for axis in range(3):
        journey = layout.room.journey(module.body, axis, ignoring={module.name})
        names += [name for name, _ in journey.fouled if name not in names]
    return f"it already fouls {', '.join(names)}" if names else ""
