"""All checks of a layout, in the order of its modules."""

from __future__ import annotations

from collections import defaultdict
from itertools import count, groupby, pairwise, product
from math import inf
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.checks._standing import Standing
from tumblehome.checks.likeness import Likeness
from tumblehome.checks.neighbors import check_neighbors
from tumblehome.checks.place import check_place
from tumblehome.checks.sight import Sight, kin
from tumblehome.checks.support import check_support
from tumblehome.checks.walls import check_walls
from tumblehome.checks.zones import check_zones, left_out
from tumblehome.records import dataclass
from tumblehome.room import DIRECTIONS
from tumblehome.studies import NEARBY

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from tumblehome.body import Shell
    from tumblehome.checks.finding import Finding
    from tumblehome.fitout import Layout, Module
    from tumblehome.sweep import Prism

    Floats = NDArray[np.float64]

__all__ = ["Checker", "check"]


@dataclass(frozen=True, eq=False)
class _Question:
    """A question to a module.

    Attributes
    ----------
    ask : returns what is found of a module
    travels : what of a module in the van's room has to travel along an axis to find it
    sight : from what of each module it is told how far off the others are
    far : by what was found, how far off another module may be in each direction and still have a say in it, (6,) mm
    asks_zones : whether it is about the module's zones; else modules that differ only in those have the same answer
    """

    ask: Callable[[Standing], Iterator[Finding]]
    travels: Callable[[Module, int], Iterable[Sequence[Prism]]]
    sight: Callable[[Sequence[Module]], Sight]
    far: Callable[[list[Finding]], Floats]
    asks_zones: bool = False


def _body(module: Module, axis: int) -> Iterable[Sequence[Prism]]:
    del axis
    return () if module.parent else (module.body,)


def _zones(module: Module, axis: int) -> Iterable[Sequence[Prism]]:
    return (zone.prisms for zone in module.zones if axis == 2 or abs(zone.outward[axis]) == 1)


def _nothing(module: Module, axis: int) -> Iterable[Sequence[Prism]]:
    del module, axis
    return ()


def _touching(found: list[Finding]) -> Floats:
    """Return 0, since only what touches has a say; where it fouls, how far it must move, since all on its way out has."""
    ways = [_way_out(finding) for finding in found if finding.verdict == "fouls"]
    far: Floats = np.max([np.zeros(len(DIRECTIONS)), *ways], axis=0)
    return far


def _way_out(fouled: Finding) -> Floats:
    """Return the moves that clear a module, without end where none does, and up, where its greatest height is looked for."""
    ways = (None if word == "up" else fouled.moves.get(word) for word in DIRECTIONS)
    return np.array([inf if way is None else way for way in ways])


def _nearest(found: list[Finding]) -> Floats:
    """Return how far off the nearest thing is: nothing has a say that is further off."""
    values = [0.0 if finding.moves else inf if finding.value is None else finding.value for finding in found]
    return np.maximum(_touching(found), max(values, default=inf))


def _ahead(found: list[Finding]) -> Floats:
    """Return how far off what each zone opens towards is; what stands in one has a say in how far it opens."""
    far: Floats = np.max([np.zeros(len(DIRECTIONS)), *map(_beyond, found)], axis=0)
    return far


def _beyond(zone: Finding) -> Floats:
    """Return how far off others have a say in what is found of a zone: the way it opens, up to what is nearest there."""
    if zone.value is None or (zone.verdict == "fouls" and zone.value > zone.limit):
        return np.full(len(DIRECTIONS), inf)
    return np.array([zone.value if word == zone.direction else 0.0 for word in DIRECTIONS])


def _below(found: list[Finding]) -> Floats:
    """Return how far below a module what it would fall on is."""
    deep = max((finding.value or 0.0 for finding in found), default=0.0)
    return np.array([deep if word == "down" else 0.0 for word in DIRECTIONS])


def _nearby(found: list[Finding]) -> Floats:
    """Return how far off along the wall a better place may be: what stands in the way to it has a say."""
    del found
    return np.array([NEARBY if word in {"front", "rear"} else 0.0 for word in DIRECTIONS])


_QUESTIONS: Final = (
    _Question(check_walls, _body, Sight.of_bodies, _touching),
    _Question(check_support, _body, Sight.of_bodies, _below),
    _Question(check_neighbors, _body, Sight.of_bodies, _nearest),
    _Question(check_zones, _zones, Sight.of_zones, _ahead, asks_zones=True),
    _Question(check_place, _nothing, Sight.of_bodies, _nearby),
)
"""What is asked of a module. An answer rests on nothing but the module, its shell, and whom it sees that far."""


def check(layout: Layout, *, progress: Callable[[str], None] | None = None) -> list[Finding]:
    """Return every finding about every module of a layout.

    Parameters
    ----------
    layout : Layout
    progress : called with each module's name before it is checked
    """
    return Checker().check([layout], progress=progress)[0]


@dataclass(frozen=True, eq=False)
class _Answer:
    """What was found of a module, and what that rests on: how far it looked, and what those were like that it saw."""

    found: list[Finding]
    far: Floats
    seen: list[int]


_Asked = tuple["Shell", int, _Question]
_Answers = dict[_Asked, list[_Answer]]
_Each = tuple["Module", _Question]


class Checker:
    """Checks plans again and again, and asks anew only what may have changed.

    An answer holds for as long as the shell is the same, which never changes, and the module and all that the answer rests on
    are alike. Only the answers about the plans that were checked last are remembered.
    """

    def __init__(self) -> None:
        self._known: _Answers = {}
        self._likeness = Likeness()

    def check(self, layouts: Sequence[Layout], *, progress: Callable[[str], None] | None = None) -> list[list[Finding]]:
        """Return the findings about each of some layouts, such as the modes of one plan, as `check` does.

        Parameters
        ----------
        layouts : in any number
        progress : called with each module's name before something is asked of it
        """
        fresh: _Answers = defaultdict(list)
        sights = _Sights(dict.fromkeys(module for layout in layouts for module in layout.modules))
        found = [_Round(layout, self._likeness, sights, self._known, fresh).findings(progress) for layout in layouts]
        self._known = dict(fresh)
        self._likeness.forget_but(sights.modules)
        return found


class _Sights:
    """How far off the modules of all layouts that are checked together are from each other."""

    def __init__(self, modules: Iterable[Module]) -> None:
        self.modules = tuple(modules)
        self.numbers = {module: i for i, module in enumerate(self.modules)}
        self.each = {make: make(self.modules) for make in dict.fromkeys(question.sight for question in _QUESTIONS)}


class _Round:
    """One layout being checked."""

    def __init__(self, layout: Layout, likeness: Likeness, sights: _Sights, known: _Answers, fresh: _Answers) -> None:
        self._layout, self._sights, self._known, self._fresh = layout, sights, known, fresh
        self._likes = {module: likeness.of(module) for module in layout.modules}
        self._to_others = np.array([like.to_others for like in self._likes.values()], dtype=np.intp)
        self._numbers = np.array([sights.numbers[module] for module in layout.modules], dtype=np.intp)
        self._places = {module: i for i, module in enumerate(layout.modules)}
        self._kin = kin(layout)

    def findings(self, progress: Callable[[str], None] | None) -> list[Finding]:
        """Return every finding about the layout."""
        recalled = self._recalled()
        asked = [each for each, answer in recalled.items() if answer is None]
        _prepare(self._layout, asked)
        answered = self._answered(asked, progress)
        answers = {each: answer or answered[each] for each, answer in recalled.items()}
        for each, answer in answers.items():
            self._fresh[self._key(*each)].append(answer)
        return [finding for answer in answers.values() for finding in answer.found]

    def _key(self, module: Module, question: _Question) -> _Asked:
        like = self._likes[module]
        return self._layout.shell, like.itself if question.asks_zones else like.to_others, question

    def _recalled(self) -> dict[_Each, _Answer | None]:
        """Return for each module and question an answer from before that still holds, if there is one."""
        found: dict[_Each, _Answer | None] = {}
        before: dict[_Each, list[_Answer]] = {}
        for each in product(self._layout.modules, _QUESTIONS):
            key = self._key(*each)
            found[each] = None
            if some := (*self._known.get(key, ()), *self._fresh.get(key, ())):
                before[each] = list(dict.fromkeys(some))
        for turn in count():
            tried = {each: some[turn] for each, some in before.items() if turn < len(some) and not found[each]}
            if not tried:
                break
            for each, seen in self._likes_seen({each: answer.far for each, answer in tried.items()}).items():
                if tried[each].seen == seen:
                    found[each] = tried[each]
        return found

    def _answered(self, asked: Sequence[_Each], progress: Callable[[str], None] | None) -> dict[_Each, _Answer]:
        """Ask modules some questions, each in turn, and return the answers."""
        found: dict[_Each, list[Finding]] = {}
        for module, some in groupby(asked, key=lambda each: each[0]):
            if progress:
                progress(module.name)
            standing = Standing(self._layout, module)
            found |= {each: list(each[1].ask(standing)) for each in some}
        far = {each: each[1].far(findings) for each, findings in found.items()}
        seen = self._likes_seen(far)
        return {each: _Answer(found[each], far[each], seen[each]) for each in found}

    def _likes_seen(self, far: Mapping[_Each, Floats]) -> dict[_Each, list[int]]:
        """Return for each module and question what those are like that it sees within distances (6,), in the layout's order."""
        rows: list[_Each] = []
        seen: list[NDArray[np.bool_]] = []
        for make, sight in self._sights.each.items():
            some = [each for each in far if each[1].sight is make]
            numbers = np.array([self._sights.numbers[module] for module, _ in some], dtype=np.intp)
            seen.append(sight.each_within(numbers, np.array([far[each] for each in some]).reshape(-1, len(DIRECTIONS))))
            rows += some
        own = np.array([self._places[module] for module, _ in rows], dtype=np.intp)
        row, other = np.nonzero(np.concatenate(seen)[:, self._numbers] | self._kin[own])
        likes = self._to_others[other].tolist()
        ends = np.searchsorted(row, np.arange(len(rows) + 1)).tolist()
        return {each: likes[start:end] for each, (start, end) in zip(rows, pairwise(ends), strict=True)}


def _prepare(layout: Layout, asked: Sequence[_Each]) -> None:
    """Work out in one go the journeys on which the answers will rest, and what is free."""
    bodies = [(body, axis) for axis in range(3) for m, question in asked for body in question.travels(m, axis)]
    hulls = [(m.hull, axis) for axis in range(3) for m, q in asked if q.ask is check_neighbors and not m.parent]
    layout.room.prepare([*bodies, *hulls], inside=True)
    centers: list[tuple[Prism, set[str]]] = []
    for m in dict.fromkeys(module for module, _ in asked if not module.parent):
        centers += [(prism, {m.name}) for prism in m.body]
    for m in (module for module, question in asked if question.ask is check_zones):
        centers += [(prism, left_out(layout, m, zone)) for zone in m.zones for prism in zone.prisms]
    layout.room.prepare(bodies, centers)
