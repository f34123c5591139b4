"""Checking again finds what a fresh check finds, and asks no more than may have changed."""

from __future__ import annotations

import tempfile
import tomllib
from collections import Counter
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import strategies as st

from strategies import law
from tumblehome.checks import Checker, check, check_modes
from tumblehome.checks.sight import Sight
from tumblehome.files import TomlFile
from tumblehome.fitout.layoutfile import LayoutReader
from tumblehome.room import DIRECTIONS
from vans import BOX, in_modes, layout, member, mode, module, plan, recess, van

if TYPE_CHECKING:
    from hypothesis.strategies import DrawFn

    from tumblehome.fitout import Layout

Tables = dict[str, dict[str, Any]]

VAN = van(
    "height, 0, 2400\n0, 850, 830\n1100, 840, 800\n1700, 650, 640",
    member("rib left", "rib", side="left", stations=[900, 940], depth=30),
    member("bow", "bow", stations=[1300, 1350], depth=40),
    member("housing", "housing", side="right", stations=[1700, 2300], height=250, depth=220, radius=60),
    recess("recess", side="right", stations=[600, 1500], heights=[300, 1200], depth=45),
    lining=20,
)
ZONES: list[dict[str, Any]] = [
    {"name": "door", "kind": "swing", "hinge": "left"},
    {"name": "door", "kind": "swing", "hinge": "right", "angle": 120, "radius": 250},
    {"name": "pull", "room": 300},
    {"name": "lid", "room": 200, "at": "top"},
    {"name": "hand", "room": 90, "at": "left", "up": 20},
]


@dataclass(frozen=True)
class Bench:
    """A van, with a reader that gives unchanged modules again as the same objects."""

    folder: Path
    reader: LayoutReader

    @classmethod
    def of(cls, van_text: str) -> Bench:
        folder = Path(tempfile.mkdtemp())
        (folder / "shell.toml").write_text(van_text, encoding="utf-8")
        return cls(folder, LayoutReader())

    def read(self, *modules: str) -> Layout:
        return self.modes(*modules)[0]

    def modes(self, *modules: str) -> tuple[Layout, ...]:
        text = plan(*modules)
        return self.reader.read(TomlFile(self.folder / "layout.toml", text, tomllib.loads(text)))


BENCH = Bench.of(VAN)


@st.composite
def furnished(draw: DrawFn) -> Tables:
    """Six modules anywhere, among them a scribed one, one that hangs, one on and one inside another."""
    tables: Tables = {name: draw(anywhere(name)) for name in "abcdef"}
    tables["b"] |= {"hung": draw(st.integers(200, 1000))}
    tables["c"] |= {"kind": "scribed", "against": draw(st.sampled_from(["left", "right"])), "hung": 900, "high": 400}
    tables["c"].pop("breadth", None)
    tables["d"] |= {"on": "a"}
    tables["e"] = {"name": "e", "wide": 40, "deep": 40, "high": 40, "in_": "a", "against": "left"}
    return tables | {"e": tables["e"] | {"station": tables["a"]["station"] + 30}}


@st.composite
def anywhere(draw: DrawFn, name: str) -> dict[str, Any]:
    sizes = {key: draw(st.integers(120, 600)) for key in ("wide", "deep", "high")}
    fields: dict[str, Any] = {"name": name, **sizes, "station": draw(st.integers(0, 1900))}
    if draw(st.integers(0, 2)):
        fields["against"] = draw(st.sampled_from(["left", "right"]))
    else:
        fields["breadth"] = draw(st.integers(-780, 250))
    if draw(st.integers(0, 2)):
        fields["zones"] = [draw(st.sampled_from(ZONES))]
    return fields


nudges = st.tuples(
    st.sampled_from("abcdef"),
    st.sampled_from(["station", "station", "high", "zones", "gone", "last"]),
    st.sampled_from([-300.0, -60.0, -20.0, -1e-3, 0.5, 7.0, 60.0, 120.0, 300.0]),
)


def nudged(tables: Tables, name: str, how: str, by: float) -> Tables:
    """Return the tables with one module moved, resized, without its zones, taken out or listed last."""
    if name not in tables or (how in {"gone", "last"} and name == "a"):
        return tables
    fields = tables[name]
    if how == "gone":
        return {n: f for n, f in tables.items() if n != name}
    if how == "last":
        return {n: f for n, f in tables.items() if n != name} | {name: fields}
    if how == "zones":
        return tables | {name: {key: value for key, value in fields.items() if key != "zones"}}
    return tables | {name: fields | {how: min(max(fields[how] + by, 100.0 if how == "high" else 0.0), 1900.0)}}


def test_checking_again_after_nudges_finds_what_a_fresh_check_finds() -> None:
    """In every number to the last bit; and the nudges changed findings, and much was not asked again."""
    met: Counter[str] = Counter()

    @law(furnished(), st.lists(nudges, min_size=2, max_size=5), examples=150)
    def same(tables: Tables, changes: list[tuple[str, str, float]]) -> None:
        checker, before = Checker(), None
        for change in [None, *changes]:
            tables = nudged(tables, *change) if change else tables
            one, asked = BENCH.read(*(module(**fields) for fields in tables.values())), list[str]()
            found = checker.check([one], progress=asked.append)[0]
            told = [finding.as_dict() for finding in found]
            assert told == [finding.as_dict() for finding in check(replace(one, company=None))]
            if before is not None:
                met["changed"] += told != before
                met["asked"] += len(asked)
                met["modules"] += len(one.modules)
            before = told

    same()
    assert met["changed"] >= 150
    assert 0 < met["asked"] < 0.9 * met["modules"]


@law(furnished(), st.lists(nudges, min_size=1, max_size=4), st.integers(0, 1900), examples=30)
def test_modes_that_share_what_is_known_find_what_each_finds_alone(
    tables: Tables, changes: list[tuple[str, str, float]], station: int
) -> None:
    """By night one module stands elsewhere and another one is stowed; in every number to the last bit, nudge after nudge."""
    checker = Checker()
    night = mode("night", {"module": "b", "station": station}, {"module": "f", "stowed": True})
    for change in [None, *changes]:
        tables = nudged(tables, *change) if change and change[0] not in "bf" else tables
        layouts = BENCH.modes(*(module(**fields) for fields in tables.values()), mode("day"), night)
        alone = [replace(one, company=None) for one in layouts]
        assert layouts[0].company is layouts[1].company
        assert [[f.as_dict() for f in found] for found in checker.check(layouts)] == [
            [f.as_dict() for f in check(one)] for one in alone
        ]


def test_nothing_is_asked_twice_of_the_same_plan() -> None:
    text = (module("a", station=300, against="left"), module("b", station=1500, breadth=0))
    asked: list[str] = []
    checker = Checker()
    one = layout(van(BOX), *text)
    first, again, doubled = (
        checker.check(plans, progress=asked.append) for plans in ([one], [one], [one, replace(one)])
    )
    assert asked == ["a", "b"]
    assert first == again == doubled[:1] == doubled[1:]


def test_a_shell_that_was_read_again_is_asked_again() -> None:
    checker, asked = Checker(), list[str]()
    for breadth in (800, 790):
        one = layout(van(BOX.replace("800", str(breadth))), module("a", station=300, breadth=-350))
        found = checker.check([one], progress=asked.append)[0]
        assert found == check(one)
    assert asked == ["a", "a"]


def test_only_whom_a_mode_changes_and_who_sees_it_is_asked_in_that_mode() -> None:
    """The table moves along the right wall; what stands across the aisle behind a wall-high cupboard does not see it."""
    layouts = in_modes(
        van(BOX),
        module("table", 400, 300, 700, station=300, against="right"),
        module("cupboard", 600, 500, 1880, station=2000, against="left"),
        module("bin", 100, 100, 100, station=3500, breadth=-700),
        mode("day"),
        mode("night", {"module": "table", "station": 800}),
    )
    asked: list[str] = []
    checker = Checker()
    found = check_modes(layouts, checker=checker, progress=asked.append)
    assert asked == ["table", "cupboard", "bin", "table"]
    assert found == check_modes([replace(one, company=None) for one in layouts])
    assert check_modes(layouts, checker=checker, progress=asked.append) == found
    assert len(asked) == 4


RIB = member("rib", "rib", side="left", stations=[1350, 1450], depth=30)
SAYS: dict[str, tuple[str, str, str, str]] = {
    "what stops a module on its way out of a wall that it fouls": (
        van(BOX),
        module("m", 500, 400, 700, station=1000, breadth=-900),
        module("other", 300, 400, 700, station=1000, breadth=-350),
        module("other", 300, 400, 700, station=2000, breadth=-350),
    ),
    "what stands before a better place": (
        van(BOX, RIB),
        module("m", 400, 400, 700, station=1000, against="left"),
        module("other", 300, 400, 700, station=680, against="left"),
        module("other", 300, 400, 700, station=300, against="left"),
    ),
    "what stands before a better place, behind the module's back": (
        van(BOX, RIB),
        module("m", 400, 400, 700, station=1000, against="left", gap=200),
        module("other", 300, 100, 700, station=680, against="left"),
        module("other", 300, 100, 700, station=300, against="left"),
    ),
    "what is inside the same module": (
        van(BOX),
        "\n".join(
            [
                module("a", 900, 500, 700, station=1000, against="left"),
                module("m", 100, 100, 100, in_="a", station=1100, against="left"),
            ]
        ),
        module("other", 100, 100, 100, in_="a", station=1300, against="left"),
        module("other", 100, 100, 100, in_="a", station=1500, against="left"),
    ),
    "what a drawer opens into, far off": (
        van(BOX),
        module("m", 500, 400, 700, station=1000, against="left", zones=[{"name": "pull", "room": 300}]),
        module("other", 300, 400, 700, station=1000, breadth=300),
        module("other", 300, 400, 700, station=1000, breadth=350),
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", SAYS)
def test_has_a_say(case: str) -> None:
    """What is found of ``m`` changes when the other moves, and is found by checking again."""
    van_text, own, *others = SAYS[case]
    asked = Bench.of(van_text)
    before, after = (asked.read(own, other) for other in others)
    checker = Checker()
    told = [[f.as_dict() for f in checker.check([one])[0] if f.subject == "m"] for one in (before, after)]
    assert before.module("m") is after.module("m")
    assert told[0] != told[1] == [f.as_dict() for f in check(replace(after, company=None)) if f.subject == "m"]


def test_sight_is_measured_along_the_axes_between_boxes() -> None:
    """Closed form: 300 ahead of it; 150 across at the same stations; nothing askew; what is inside another is not seen."""
    one = layout(
        van(BOX),
        module("m", 400, 400, 500, station=1000, breadth=-200),
        module("behind", 400, 400, 500, station=1700, breadth=-200),
        module("across", 400, 300, 500, station=1000, breadth=350),
        module("askew", 400, 300, 300, station=3000, breadth=-700),
        module("inside", 100, 100, 100, in_="behind", station=1800, against="left"),
    )
    sight = Sight.of_bodies(one.modules)

    def seen(far: float, *directions: str) -> list[str]:
        limits = np.array([far if word in (directions or DIRECTIONS) else 0.0 for word in DIRECTIONS])
        return [
            other.name
            for other, is_seen in zip(one.modules, sight.each_within(np.array([0]), limits[None])[0], strict=True)
            if is_seen
        ]

    assert seen(0) == ["m"]
    assert seen(149.5) == ["m", "across"]
    assert seen(299.5) == seen(np.inf) == ["m", "behind", "across"]
    assert seen(np.inf, "rear", "up") == ["m", "behind"]
    assert seen(np.inf, "right") == ["m", "across"]
    assert seen(np.inf, "left", "front", "down") == ["m"]
