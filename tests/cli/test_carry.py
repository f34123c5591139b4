"""``tumblehome carry``: its answers are those worked by hand, and its faults are single clear lines.

The van's walls stand upright at half-breadth 800; the box is 500 x 400 x 700 and passes an opening of 400.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest

from tumblehome.cli.main import main
from vans import BOX, module, plan, van

if TYPE_CHECKING:
    from pathlib import Path

DOORS = """[[doorways]]
name = "rear doors"
side = "rear"
breadths = [-215, 215]
heights = [0, 1600]
[[doorways]]
name = "side door"
side = "right"
stations = [2500, 2880]
heights = [0, 1600]"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    modules = (
        module("box", station=1200, breadth=-250, mass="23.5 kg"),
        module("light box", station=1700, breadth=-250, mass="22.5 kg"),
        module("cabinet", deep=None, station=3000, against="right", kind="scribed", face=500),
        module("shelf", 300, 200, 300, station=3200, against="left", hung=900),
        module("shelf 2", 300, 200, 30, station=3200, against="left", hung=1300, fixed=True),
        module("block", 900, 100, 900, station=2300, breadth=-799, faces="front"),
    )
    (tmp_path / "shell.toml").write_text(van(BOX, DOORS), encoding="utf-8")
    (tmp_path / "layout.toml").write_text(plan(*modules), encoding="utf-8")
    return tmp_path


def document(
    capsys: pytest.CaptureFixture[str], folder: Path, name: str, *options: str, status: int = 0
) -> dict[str, Any]:
    assert main(["carry", str(folder), name, "--json", *options]) == status
    captured = capsys.readouterr()
    assert all(
        line.endswith("...") for line in captured.err.splitlines()
    )  # what is being done, where it takes its time
    found: dict[str, Any] = json.loads(captured.out)
    return found


def complaint(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """The one line of a command line that is at fault."""
    assert main(["carry", *arguments]) == 2
    captured = capsys.readouterr()
    assert not captured.out
    assert captured.err.count("\n") == 1
    return captured.err


def test_the_best_way_first_and_what_each_has_to_spare(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    """430 wide doors have 15 to spare on each side, a door of 380 is 10 too narrow."""
    found = document(capsys, folder, "box")
    assert (found["verdict"], found["measured_to"]) == ("clear", 3)
    rear, side = found["ways"]
    assert (rear["doorway"], rear["outcome"]) == ("rear doors", "passes")
    assert rear["passes_with"] <= 15 <= rear["blocked_with"] <= rear["passes_with"] + 1
    assert rear["pinch"]["parts"] == ["rear doors", "rear doors"]
    assert rear["pinch"]["opening"] == pytest.approx(430)
    assert rear["path"]["poses"][0] == {"station": 1400, "breadth": 0, "turned": 0, "foot": 0, "lies": False}
    assert rear["path"]["poses"][-1]["station"] > 4000 + 500
    assert {p["part"] for p in rear["path"]["passed"]} >= {"rear doors", "block", "cabinet"}
    assert (side["doorway"], side["outcome"], side["path"]) == ("side door", "blocked", None)
    assert side["passes_with"] <= -10 <= side["blocked_with"] <= 0


def test_no_way_out_is_status_one_and_names_what_must_go(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    found = document(capsys, folder, "box", "--through", "side door", status=1)
    assert found["verdict"] == "fouls"
    assert [way["doorway"] for way in found["ways"]] == ["side door"]
    assert main(["carry", str(folder), "box", "--through", "side door"]) == 1
    assert "No way out by the side door: it is 10 mm too big on every side." in capsys.readouterr().out


def test_hand_room_and_modules_taken_out(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    assert document(capsys, folder, "box", "--hand", "14mm", "--through", "rear doors")["hand"] == 14
    blocked = document(capsys, folder, "box", "--hand", "16 mm", "--through", "rear doors", status=1)
    assert blocked["ways"][0]["outcome"] == "blocked"
    taken = document(capsys, folder, "box", "--without", "block", "--without", "light box")
    assert taken["removed"] == ["block", "light box"]


def test_words_in_inches(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    """15 mm are 9.4 sixteenths, told as proven: rounded down; 430 are 16 14/16 in and a bit."""
    assert main(["carry", str(folder), "box", "--units", "in"]) == 0
    told = capsys.readouterr().out
    assert 'comes out by the rear doors with 9/16" to spare' in told
    assert 'two sides of the rear doors: 16 7/8"' in told
    assert "The way in is the same way backwards." in told


@pytest.mark.parametrize(("name", "cautioned"), [("box", True), ("light box", False)])
def test_the_caution_above_what_one_person_lifts(
    capsys: pytest.CaptureFixture[str], folder: Path, name: str, cautioned: bool
) -> None:
    """23 kg, the load constant of the NIOSH lifting equation, half a kilogram either side."""
    main(["carry", str(folder), name])
    assert ("local codes and licensed practice" in capsys.readouterr().out) == cautioned


@pytest.mark.parametrize("suffix", ["svg", "pdf", "png"])
def test_a_picture_for_each_doorway(capsys: pytest.CaptureFixture[str], folder: Path, suffix: str) -> None:
    """Each begins as its format does: PDF 32000-1 7.5.2, PNG (ISO/IEC 15948) 5.2, XML 1.0; a way out moves, too."""
    out = folder / "new" / "pictures"
    assert main(["carry", str(folder), "box", "-o", str(out), "--format", suffix]) == 0
    begins = {"svg": b"<?xml", "pdf": b"%PDF", "png": b"\x89PNG"}[suffix]
    drawn = {f"box-by-{door}.{suffix}" for door in ("rear-doors", "side-door")}
    assert {path.name for path in out.iterdir()} == {*drawn, "box-by-rear-doors.gif"}
    assert all((out / name).read_bytes().startswith(begins) for name in drawn)
    assert str(out) in capsys.readouterr().out


def test_a_mode(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    """By night the block is stowed; in the first mode it stands."""
    night = '[[modes]]\nname = "day"\n[[modes]]\nname = "night"\n[[modes.changes]]\nmodule = "block"\nstowed = true'
    file = folder / "layout.toml"
    file.write_text(f"{file.read_text(encoding='utf-8')}\n{night}", encoding="utf-8")
    found = document(capsys, folder, "box", "--mode", "night")
    assert found["mode"] == "night"
    assert "block" not in {p["part"] for way in found["ways"] if way["path"] for p in way["path"]["passed"]}
    assert document(capsys, folder, "box")["mode"] == "day"
    assert "did you mean 'night'?" in complaint(capsys, str(folder), "box", "--mode", "nigt")


def test_a_module_that_is_laid_on_a_side(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """It is 700 high and 500 wide; the doorway is 600 high and 430 wide, wide enough for its depth of 400."""
    door = DOORS.split("[[doorways]]")[1].replace("1600", "600")
    box = module("box", station=1200, breadth=-250, faces="rear", lies_on=["back", "left"])
    (tmp_path / "shell.toml").write_text(van(BOX, f"[[doorways]]{door}"), encoding="utf-8")
    (tmp_path / "layout.toml").write_text(plan(box), encoding="utf-8")
    found = document(capsys, tmp_path, "box", "-o", str(tmp_path / "out"))
    laid, upright, back = found["ways"]
    assert (back["lying"], back["outcome"]) == ("back", "blocked")
    assert (laid["lying"], laid["outcome"], upright["lying"], upright["outcome"]) == ("left", "passes", None, "blocked")
    assert upright["too_tall"] == pytest.approx(100)
    assert [pose["lies"] for pose in laid["path"]["poses"]][:: len(laid["path"]["poses"]) - 1] == [False, True]
    drawn = {"box-by-rear-doors.svg", "box-on-its-left-by-rear-doors.svg", "box-on-its-left-by-rear-doors.gif"}
    assert {path.name for path in (tmp_path / "out").iterdir()} == drawn


def test_bad_input_is_one_clear_line(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    at = str(folder)
    assert "built in" in complaint(capsys, at, "cabinet")
    assert "remove 'fixed'" in complaint(capsys, at, "shelf 2")
    assert "did you mean 'box'?" in complaint(capsys, at, "boxx")
    assert "did you mean 'block'?" in complaint(capsys, at, "box", "--without", "blok")
    assert "did you mean 'rear doors'?" in complaint(capsys, at, "box", "--through", "rear dors")
    assert "unit" in complaint(capsys, at, "box", "--hand", "20")
    assert "0 or more" in complaint(capsys, at, "box", "--hand=-20mm")
    assert "is a shell" in complaint(capsys, str(folder / "shell.toml"), "box")


def test_a_hung_module_is_answered_with_a_word(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    assert main(["carry", str(folder), "shelf"]) == 0
    assert "It hangs" in capsys.readouterr().out
