"""Random shells, bodies and cuts for the laws; and a guard that a law met as many cases as it promised."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from tumblehome.body.offsets import OffsetBody
from tumblehome.body.parts import Block, Bulkhead, Doorway, Housing, Lined, Lining, Part, Recess, Sheet, Side, Well
from tumblehome.body.shell import Shell
from tumblehome.sweep import Prism

if TYPE_CHECKING:
    from collections.abc import Callable

    from hypothesis.strategies import DrawFn, SearchStrategy
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

BAY = 400.0  # mm of stations that each random part keeps to itself, so that volumes add up part by part
CLEAR = 250.0  # mm from the centerline that no random part reaches
OTHER_SIDE: dict[Any, Any] = {"left": "right", "right": "left", "rear": "rear"}


@dataclass(frozen=True)
class Plan:
    """What a random shell is built from; plain enough to be mirrored and shifted."""

    stations: Floats
    heights: Floats
    left: Floats
    right: Floats
    lining: Lining
    parts: tuple[Part, ...]
    doorways: tuple[Doorway, ...] = ()

    @cached_property
    def shell(self) -> Shell:
        row = OffsetBody.roof_row_of(self.heights, self.left, self.right)
        body = OffsetBody(self.stations, self.heights, self.left, self.right, row)
        return Shell("random", 3.0, Lined(body, self.lining), self.parts, self.doorways)

    @property
    def mirrored(self) -> Plan:
        parts = tuple(_mirrored(part) for part in self.parts)
        doors = tuple(_mirrored(door) for door in self.doorways)
        return replace(self, left=self.right, right=self.left, parts=parts, doorways=doors)

    def shifted(self, by: float) -> Plan:
        parts = tuple(_shifted(part, by) for part in self.parts)
        doors = tuple(_shifted(door, by) for door in self.doorways)
        return replace(self, stations=self.stations + by, parts=parts, doorways=doors)


def _mirrored(part: Any) -> Any:
    changes: dict[str, Any] = {}
    if hasattr(part, "side"):
        changes["side"] = OTHER_SIDE[part.side]
    if hasattr(part, "sides"):
        changes["sides"] = tuple(OTHER_SIDE[side] for side in part.sides)
    if hasattr(part, "breadths"):
        changes["breadths"] = (-part.breadths[1], -part.breadths[0])
    if getattr(part, "side", None) == "rear":
        changes["span"] = (-part.span[1], -part.span[0])
    return replace(part, **changes)


def _shifted(part: Any, by: float) -> Any:
    names = [n for n in ("stations", "station", "top_station", "span") if hasattr(part, n)]
    if getattr(part, "side", None) == "rear":
        names.remove("span")
    return replace(part, **{n: _plus(getattr(part, n), by) for n in names})


def _plus(value: float | tuple[float, float], by: float) -> float | tuple[float, float]:
    return (value[0] + by, value[1] + by) if isinstance(value, tuple) else value + by


def millimeters(low: float, high: float) -> SearchStrategy[float]:
    """Lengths as a tape gives them, whole or half millimeters, and now and then any float."""
    tape = st.integers(int(np.ceil(2 * low)), int(2 * high)).map(lambda n: n / 2)
    return st.one_of(tape, tape, st.floats(low, high))


@st.composite
def _profile(draw: DrawFn, rows: int, *, leaning: bool) -> Floats:
    """Half-breadths from the floor up: a wall that leans in, or one that bulges, and a roof that closes over it."""
    foot = draw(millimeters(700, 950))
    steps = draw(st.lists(millimeters(0 if leaning else -60, 60), min_size=rows - 1, max_size=rows - 1))
    breadths = foot - np.concatenate([[0.0], np.cumsum(steps)])
    if draw(st.booleans()):
        breadths[-1] -= draw(millimeters(100, 250))
    return breadths


@st.composite
def plans(draw: DrawFn, *, leaning: bool = False, parts: bool = True, skin: bool = True) -> Plan:
    """Random tables of offsets with their lining, members, recesses and doorways."""
    gaps = draw(st.lists(millimeters(900, 1500), min_size=2, max_size=3))
    start = draw(millimeters(-200, 200))
    stations = start + np.concatenate([[0.0], np.cumsum(gaps)])
    rows = draw(st.integers(3, 6))
    heights = np.concatenate(
        [[0.0], np.cumsum(draw(st.lists(millimeters(250, 450), min_size=rows - 1, max_size=rows - 1)))]
    )
    sides = [draw(_grid(len(stations), rows, leaning=leaning)) for _ in range(draw(st.integers(1, 2)))]
    lining = Lining(*(draw(millimeters(0, 60)) for _ in range(3))) if skin else Lining()
    if lining.floor > 0:
        heights = np.concatenate([[-lining.floor], heights])
        sides = [np.column_stack([side[:, :1], side]) for side in sides]
    bare = Plan(stations, heights, sides[0], sides[-1], lining, ())
    return replace(bare, parts=draw(_parts(bare)), doorways=draw(_doors(bare))) if parts else bare


@st.composite
def _grid(draw: DrawFn, stations: int, rows: int, *, leaning: bool) -> Floats:
    """One side's half-breadths, (stations, rows): one profile, narrowed here and there."""
    profile = draw(_profile(rows, leaning=leaning))
    narrowed = [draw(millimeters(0, 80)) for _ in range(stations)]
    twist = 0.0 if leaning else draw(millimeters(0, 20))
    grid: Floats = (
        profile[None, :] - np.array(narrowed)[:, None] + twist * np.outer(np.arange(stations) % 2, np.arange(rows) % 2)
    )
    return grid


@st.composite
def _parts(draw: DrawFn, plan: Plan) -> tuple[Part, ...]:
    """Parts in bays of their own, in any order along the van."""
    start, end, top = float(plan.stations[0]), float(plan.stations[-1]), float(plan.heights[-1])
    bays = int((end - start) // BAY)
    kinds = draw(st.lists(st.sampled_from(sorted(_MAKERS)), min_size=1, max_size=min(bays, 5)))
    chosen = draw(st.permutations(range(bays)))[: len(kinds)]
    return tuple(
        draw(_MAKERS[kind](f"{kind} {i}", start + BAY * bay, top))
        for i, (kind, bay) in enumerate(zip(kinds, chosen, strict=True))
    )


@st.composite
def _window(draw: DrawFn, start: float) -> tuple[float, float]:
    low = start + draw(millimeters(10, 150))
    return low, low + draw(millimeters(40, BAY - 170))


sides: SearchStrategy[Side] = st.sampled_from(["left", "right"])


@st.composite
def _sheet(draw: DrawFn, name: str, start: float, top: float) -> Part:
    window, depth = draw(_window(start)), draw(millimeters(10, 60))
    which: tuple[Side, ...] = draw(st.sampled_from([("left",), ("right",), ("left", "right"), ()]))
    roof = not which or (len(which) == 2 and draw(st.booleans()))
    low = draw(millimeters(0, 300))
    heights = draw(st.sampled_from([None, (low, low + 350.0)])) if which and not roof else None
    return Sheet(name, "rib" if which else "bow", None, window, depth, which, roof, heights if top > 900 else None)


@st.composite
def _housing(draw: DrawFn, name: str, start: float, top: float) -> Part:
    del top
    window, height = draw(_window(start)), draw(millimeters(100, 350))
    cut = draw(st.sampled_from([0.0, 0.25, 0.5])) * min(height, window[1] - window[0])
    bevel, radius = draw(st.sampled_from([(0.0, 0.0), (cut, 0.0), (0.0, cut)]))
    return Housing(name, "housing", None, draw(sides), window, height, draw(millimeters(50, 200)), bevel, radius)


@st.composite
def _block(draw: DrawFn, name: str, start: float, top: float) -> Part:
    low = draw(millimeters(CLEAR, 400))
    breadths = draw(st.sampled_from([(low, low + 200), (-low - 200, -low), (low, 1500.0)]))
    foot = draw(st.sampled_from([0.0, 0.0, 120.0, 300.0]))
    return Block(name, "block", None, draw(_window(start)), breadths, (foot, foot + min(300.0, top / 2)))


@st.composite
def _recess(draw: DrawFn, name: str, start: float, top: float) -> Part:
    low = draw(millimeters(60, 200))
    heights = (low, low + draw(millimeters(100, 250)))
    bevel = draw(st.sampled_from([0.0, 0.0, 8.0]))
    corner = draw(st.sampled_from([0.0, 20.0, 50.0]))
    del top
    return Recess(
        name, "recess", None, draw(sides), draw(_window(start)), heights, draw(millimeters(10, 60)), corner, bevel
    )


@st.composite
def _well(draw: DrawFn, name: str, start: float, top: float) -> Part:
    del top
    low = draw(millimeters(-500, 200))
    return Well(
        name, "well", None, draw(_window(start)), (low, low + draw(millimeters(100, 300))), draw(millimeters(20, 150))
    )


@st.composite
def _step(draw: DrawFn, name: str, start: float, top: float) -> Part:
    return Block(
        name, "step", None, draw(_window(start)), (-2000.0, 2000.0), (0.0, draw(millimeters(20, min(150.0, top / 4))))
    )


_MAKERS: dict[str, Callable[..., SearchStrategy[Part]]] = {
    "sheet": _sheet,
    "housing": _housing,
    "block": _block,
    "recess": _recess,
    "well": _well,
    "step": _step,
}


@st.composite
def _doors(draw: DrawFn, plan: Plan) -> tuple[Doorway, ...]:
    middle = float(plan.stations.mean())
    span = (middle - draw(millimeters(200, 500)), middle + draw(millimeters(200, 500)))
    slide = Doorway("slide", draw(sides), span, (0.0, 400.0))
    rear = Doorway("rear doors", "rear", (-draw(millimeters(100, 300)), draw(millimeters(100, 400))), (0.0, 400.0))
    return (slide, rear)


def bulkhead(station: float, top: float, lean: float = 0.0) -> Bulkhead:
    """A bulkhead over the whole height, leaning rearward by ``lean`` mm at its top."""
    return Bulkhead("bulkhead", "bulkhead", None, station, station + lean, (0.0, top))


@st.composite
def boxes(draw: DrawFn, plan: Plan, *, yawed: bool = True) -> Prism:
    """A box about the centerline of a shell; most stand free."""
    (x0, x1), (z0, z1) = plan.shell.stations, plan.shell.heights
    wide, deep, high = draw(millimeters(50, 500)), draw(millimeters(50, 450)), draw(millimeters(50, 600))
    x = draw(millimeters(np.ceil(x0 + 400), np.floor(x1 - 400)))
    y = draw(millimeters(-100, 100))
    foot = draw(millimeters(max(0.0, np.ceil(z0)) + 160, np.floor(z1) - 700 if z1 > 900 else 170))
    outline = np.array([(-wide, -deep), (wide, -deep), (wide, deep), (-wide, deep)]) / 2
    if yawed and draw(st.booleans()):
        turn = np.radians(draw(st.integers(-80, 80)))
        outline @= np.array([(np.cos(turn), np.sin(turn)), (-np.sin(turn), np.cos(turn))])
    return Prism(outline + np.array([x, y]), foot, foot + high)


def law(
    *strategies: Any, examples: int = 40, least: int | None = None
) -> Callable[[Callable[..., None]], Callable[[], None]]:
    """Run a law over random cases, and fail if fewer than ``least`` of them reached its end (default: half)."""

    def decorate(proof: Callable[..., None]) -> Callable[[], None]:
        reached: list[int] = []

        def run(cases: tuple[Any, ...]) -> None:
            proof(*cases)
            reached.append(1)

        run.__name__ = proof.__name__  # the seed of a derandomized run comes from it: every law draws cases of its own
        over_all = settings(max_examples=examples)(given(st.tuples(*strategies))(run))

        def test() -> None:
            reached.clear()
            over_all()
            wanted = examples // 2 if least is None else least
            assert len(reached) >= wanted, f"only {len(reached)} of {examples} cases reached the end of the law"

        test.__name__, test.__doc__, test.__module__ = proof.__name__, proof.__doc__, proof.__module__
        return test

    return decorate
