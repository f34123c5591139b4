"""Modes of a layout: what a change says again, what it says instead, and what is stowed."""

from __future__ import annotations

import tempfile
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tumblehome.errors import InputError
from tumblehome.files import read_toml
from tumblehome.fitout import LayoutReader, load_layout, load_modes
from vans import BOX, in_modes, layout, mode, module, near, plan, shell, van

if TYPE_CHECKING:
    from collections.abc import Iterator

TABLE = module("table", 600, 500, 30, station=1000, against="left", hung=700)
CUP = module("cup", 80, 80, 100, station=1100, breadth=-700, on="table")
SEAT = module("seat", 600, 500, 400, station=1800, against="left")


@contextmanager
def _folder(text: str) -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "shell.toml").write_text(van(BOX))
        (folder / "layout.toml").write_text(text)
        yield folder


def test_a_plan_without_modes_has_one_state_without_a_name() -> None:
    (only,) = in_modes(van(BOX), TABLE)
    assert only.mode == ""
    assert only.title == only.name


def test_a_change_says_the_modules_own_keys_again() -> None:
    day, night = in_modes(
        van(BOX), TABLE, SEAT, mode("day"), mode("night", {"module": "table", "hung": 400, "wide": 900})
    )
    assert [layout.mode for layout in (day, night)] == ["day", "night"]
    assert night.title == "test plan, night"
    table = night.module("table")
    assert table.bounds[0] == near([1000, -800, 400])
    assert table.bounds[1] == near([1900, -300, 430])
    assert day.module("table").bounds[0] == near([1000, -800, 700])
    assert night.module("seat") is day.module("seat")


@pytest.mark.parametrize(
    ("said", "low"),
    [
        ({"breadth": 100}, [1000, 100, 700]),  # no longer against the wall
        ({"against": "right"}, [1000, 300, 700]),
        ({"on": "floor"}, [1000, -800, 0]),  # no longer hung
        ({"on": "seat"}, [1000, -800, 400]),
        ({"boxes": [{"wide": 300, "deep": 200, "high": 50}]}, [1000, -800, 700]),
        ({"outline": [[0, 0], [300, 0], [0, 200]]}, [1000, -800, 700]),
    ],
)  # fmt: skip
def test_a_change_takes_the_place_of_what_contradicts_it(said: dict[str, object], low: list[float]) -> None:
    change = {"module": "table", **said}
    _, night = in_modes(van(BOX), TABLE, SEAT, mode("day"), mode("night", change))
    assert night.module("table").bounds[0] == near(low)


def test_a_module_pushed_to_the_front_in_one_mode_keeps_its_breadth() -> None:
    crate = module("crate", 300, 300, 300, station=1500, breadth=-150)
    _, road = in_modes(van(BOX), crate, mode("camp"), mode("road", {"module": "crate", "against": "front"}))
    assert road.module("crate").bounds[0] == near([0, -150, 0])


def test_what_is_stowed_is_gone_with_all_that_stands_on_or_in_it() -> None:
    chest = module("chest", 600, 500, 400, station=2600, against="right")
    tank = module("tank", 200, 200, 100, in_="chest", station=2700, against="right")
    gone = mode("road", {"module": "table", "stowed": True}, {"module": "chest", "stowed": True})
    _, road = in_modes(van(BOX), TABLE, CUP, SEAT, chest, tank, mode("day"), gone)
    assert [m.name for m in road.modules] == ["seat"]


def test_what_is_stowed_here_is_told_with_the_modes_in_which_it_stands() -> None:
    """What stands on it goes with it; what is stowed everywhere is nowhere to be asked about."""
    gone = {"module": "table", "stowed": True}
    modes = (
        mode("road", gone),
        mode("day"),
        mode("late supper", {"module": "seat", "stowed": True}),
        mode("night", gone),
    )
    road, day, supper, night = in_modes(van(BOX), TABLE, CUP, SEAT, *modes)
    assert road.stowed == {"table": ("day", "late supper"), "cup": ("day", "late supper")}
    assert day.stowed == {}
    assert supper.stowed == {"seat": ("road", "day", "night")}
    with pytest.raises(
        InputError, match=r"'cup' is stowed in mode 'night'; it stands in: day, late supper; ask .* --mode day"
    ):
        night.module("cup")
    with pytest.raises(InputError, match=r"no module 'tabel'; did you mean 'table'\?; there are: seat, table, cup$"):
        night.module("tabel")
    alone = layout(van(BOX), SEAT, module("chest", station=100, breadth=0, stowed=True))
    with pytest.raises(InputError, match="'chest' is stowed; it stands in none"):
        alone.module("chest")
    with pytest.raises(InputError, match="there are: none"):
        layout(van(BOX)).module("chest")


def test_what_the_listing_stows_a_mode_may_bring() -> None:
    board = module("board", 600, 500, 30, station=1000, against="left", hung=400, stowed=True)
    day, night = in_modes(van(BOX), board, mode("day"), mode("night", {"module": "board", "stowed": False}))
    assert not day.modules
    assert [m.name for m in night.modules] == ["board"]


def test_what_stands_on_a_moved_module_follows_it() -> None:
    _, night = in_modes(van(BOX), TABLE, CUP, mode("day"), mode("night", {"module": "table", "hung": 300}))
    assert night.module("cup").bounds[0][2] == near(330)


def test_one_mode_is_the_same_read_alone_or_with_all(tmp_path: Path) -> None:
    (tmp_path / "shell.toml").write_text(van(BOX))
    (tmp_path / "layout.toml").write_text(plan(TABLE, mode("day"), mode("night", {"module": "table", "hung": 400})))
    for each in load_modes(tmp_path):
        alone = load_layout(tmp_path, each.mode)
        assert alone.module("table").bounds[0] == near(each.module("table").bounds[0])
    assert load_layout(tmp_path).mode == "day"


@given(st.lists(st.tuples(st.sampled_from(["table", "seat"]), st.integers(0, 900)), max_size=6))
def test_a_reader_that_remembers_reads_what_a_fresh_one_does(moves: list[tuple[str, int]]) -> None:
    reader = LayoutReader()
    stations = {"table": 1000, "seat": 1800}
    for name, by in [("table", 0), *moves]:
        stations[name] = 1000 + by
        modules = [
            module("table", 600, 500, 30, station=stations["table"], against="left", hung=700), CUP,
            module("seat", 600, 500, 400, station=stations["seat"], against="left"),
        ]  # fmt: skip
        with _folder(plan(*modules)) as folder:
            remembered = reader.read(read_toml(folder / "layout.toml"))[0]
            fresh = load_layout(folder)
        for one, other in zip(remembered.modules, fresh.modules, strict=True):
            assert one.bounds[0] == near(other.bounds[0])
            assert one.bounds[1] == near(other.bounds[1])


def test_a_reader_gives_unchanged_modules_and_the_shell_again(tmp_path: Path) -> None:
    (tmp_path / "shell.toml").write_text(van(BOX))
    path = tmp_path / "layout.toml"
    path.write_text(plan(TABLE, CUP, SEAT))
    reader = LayoutReader()
    (before,) = reader.read(read_toml(path))
    path.write_text(plan(TABLE, CUP, module("seat", 600, 500, 400, station=1900, against="left")))
    (after,) = reader.read(read_toml(path))
    assert after.shell is before.shell
    assert [after.module(m.name) is m for m in before.modules] == [True, True, False]
    path.write_text(plan(module("table", 600, 500, 30, station=1000, against="left", hung=710), CUP, SEAT))
    (raised,) = reader.read(read_toml(path))
    assert raised.module("cup").bounds[0][2] == near(740)  # the cup's own words are the same, but not what it stands on


SOUND = plan(TABLE, SEAT, mode("day"), mode("night", {"module": "table", "hung": 400, "way": "slides"}))


@pytest.mark.parametrize(
    ("text", "key", "words"),
    [
        (SOUND.replace('"night"', '"day"'), "modes.2.name", ("two modes 'day'",)),
        (SOUND.replace('module = "table"', 'module = "tabel"'), "modes.2.changes.1.module", ("not listed", "'table'")),
        (SOUND.replace("hung = 400", "hum = 400"), "modes.2.changes.1.hum", ("unknown key", "hung")),
        (SOUND.replace("hung = 400", 'hung = "soon"'), "modes.2.changes.1.hung", ("soon",)),
        (SOUND.replace('"slides"', '"hops"'), "modes.2.changes.1.way", ("carried, slides, turns, folds",)),
        (SOUND.replace("hung = 400", "stowed = 1"), "modes.2.changes.1.stowed", ("true or false",)),
        (SOUND.replace("hung = 400", "name = 'x'"), "modes.2.changes.1.name", ("unknown key",)),
        (SOUND.replace("hung = 400", "against = 'front'\nbreadth = 9000"), "modes.2.changes.1 'table'", ("outside the van",)),
        (SOUND + '\n[[modes.changes]]\nmodule = "table"', "modes.2.changes.2.module", ("changed twice",)),
    ],
)  # fmt: skip
def test_a_fault_in_a_mode_is_one_clear_line(tmp_path: Path, text: str, key: str, words: tuple[str, ...]) -> None:
    (tmp_path / "shell.toml").write_text(van(BOX))
    path = tmp_path / "layout.toml"
    path.write_text(text)
    with pytest.raises(InputError) as caught:
        load_modes(path)
    fault = caught.value
    assert fault.key == key
    assert fault.line
    assert len(str(fault).splitlines()) == 1
    assert all(word in str(fault) for word in words), str(fault)


def test_a_mode_that_is_not_stated_is_refused_with_the_nearest(tmp_path: Path) -> None:
    (tmp_path / "shell.toml").write_text(van(BOX))
    path = tmp_path / "layout.toml"
    path.write_text(SOUND)
    with pytest.raises(InputError, match="no mode 'nigt'; did you mean 'night'"):
        load_layout(path, "nigt")
    path.write_text(plan(TABLE))
    with pytest.raises(InputError, match="states none"):
        load_layout(path, "night")


def test_a_layout_that_was_changed_is_in_no_company_but_its_own() -> None:
    """What is free in it is what its own shell and modules leave, whatever its plan holds."""
    day, _ = in_modes(
        van(BOX),
        module("box", 400, 400, 700, station=1000, against="left"),
        mode("day"),
        mode("night", {"module": "box", "station": 2000}),
    )
    elsewhere = layout(van(BOX), module("box", 400, 400, 700, station=3000, against="left"))
    smaller = shell(van(BOX.replace("800", "700")))
    in_the_box, beside_the_wall = (3200.0, -600.0, 300.0), (1200.0, -750.0, 1500.0)
    assert day.room.holds(in_the_box)
    assert day.room.holds(beside_the_wall)
    assert not replace(day, modules=elsewhere.modules).room.holds(in_the_box)
    assert not replace(day, shell=smaller).room.holds(beside_the_wall)
