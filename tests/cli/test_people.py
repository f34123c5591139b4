"""``tumblehome people``: its answers are those worked by hand, and its faults are single clear lines."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

import pytest

from vans import BOX, mode, module, plan, van

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from wedge import Answer

SIDE = '[[doorways]]\nname = "side door"\nside = "right"\nstations = [200, 1200]\nheights = [0, 1700]'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A counter behind two cabinets that leave 500; at supper a table closes the way between them."""
    modules = (
        module("counter", 800, 300, 900, against="left", station=3000, use="counter"),
        *(module(f"at the {s}", 500, 550, 1890, against=s, station=2000) for s in ("left", "right")),
        module("table", 400, 1000, 30, hung=700, faces="front", station=2000, breadth=-200),
    )
    modes = mode("day", {"module": "table", "stowed": True}), mode("supper")
    (tmp_path / "shell.toml").write_text(van(BOX, SIDE), encoding="utf-8")
    (tmp_path / "layout.toml").write_text(plan(*modules, *modes), encoding="utf-8")
    return tmp_path


def document(answer: Answer, status: int) -> dict[str, Any]:
    assert answer.status == status
    assert not answer.err
    found: dict[str, Any] = json.loads(answer.out)
    return found


def test_a_table_across_the_aisle_traps_the_cook(folder: Path, ask: Callable[..., Answer]) -> None:
    told = document(ask("people", folder, "--json"), 1)
    assert (told["verdict"], told["percentile"], told["modes"]) == ("fouls", 95, ["day", "supper"])
    ways = {tuple(each["modes"]): each for each in told["findings"] if each["question"] == "getting out"}
    assert ways["day",]["verdict"] == "tight"
    assert (
        "only sideways, narrowest 500 mm between at the left and at the right, 180 mm to spare" in ways["day",]["words"]
    )
    assert ways["supper",]["verdict"] == "fouls"
    assert "trapped" in ways["supper",]["words"]
    assert "table" in ways["supper",]["words"]


def test_the_table_says_in_which_mode(folder: Path, ask: Callable[..., Answer]) -> None:
    answer = ask("people", folder)
    assert answer.status == 1
    (row,) = (line for line in answer.out.splitlines() if "trapped" in line)
    assert "supper" in row
    assert "in 2 modes" in answer.out
    assert "local codes and licensed practice decide" in answer.out


def test_one_mode(folder: Path, ask: Callable[..., Answer]) -> None:
    told = document(ask("people", folder, "--mode", "day", "--json"), 0)
    assert told["modes"] == ["day"]
    assert told["counts"]["fouls"] == 0


@pytest.mark.parametrize(("percentile", "words"), [("95", "67 mm too narrow"), ("5", "94 mm to spare")])
def test_who_walks(folder: Path, ask: Callable[..., Answer], percentile: str, words: str) -> None:
    """ANSUR II: shoulders of 567 at P95, of 406 at P5."""
    told = document(ask("people", folder, "--mode", "day", "--percentile", percentile, "--json"), 0)
    (facing,) = (each for each in told["findings"] if each["question"] == "facing forward")
    assert words in facing["words"]


def test_a_way_and_a_gauge(folder: Path, ask: Callable[..., Answer]) -> None:
    """540 CMR 7.05(1): 15 in are 381, of 500."""
    ways = "--from", "counter", "--to", "side door", "--gauge", "bus-aisle"
    told = document(ask("people", folder, "--mode", "day", *ways, "--json"), 0)
    assert [each["question"] for each in told["findings"]] == ["facing forward", "sideways", "bus-aisle"]
    assert all(each["value"] == 500 for each in told["findings"])
    assert "119 mm to spare" in told["findings"][2]["words"]


def test_inches(folder: Path, ask: Callable[..., Answer]) -> None:
    assert '19 11/16" between' in ask("people", folder, "--mode", "day", "--units", "in").out


def test_the_chart(folder: Path, ask: Callable[..., Answer], tmp_path: Path) -> None:
    answer = ask("people", folder, "--mode", "day", "--chart", tmp_path / "aisle.svg")
    assert answer.status == 0
    assert "aisle.svg" in answer.out
    words = [element.text or "" for element in ET.parse(tmp_path / "aisle.svg").iter()]
    assert any("The aisle" in word for word in words)
    for suffix in ("png", "pdf", "dxf"):
        ask("people", folder, "--mode", "day", "--json", "--chart", tmp_path / f"aisle.{suffix}")
        assert (tmp_path / f"aisle.{suffix}").stat().st_size > 1000


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--from", "counter"), "give both --from and --to"),
        (("--from", "countre", "--to", "side door"), "did you mean 'counter'"),
        (("--from", "9000mm, 0mm", "--to", "side door"), "outside of the van"),
        (("--percentile", "94"), "allowed: 1, 5, 50, 95, 99"),
        (("--percentile", "0"), "allowed: 1, 5, 50, 95, 99"),
        (("--gauge", "bus"), "allowed: bus-aisle"),
        (("--mode", "nigt"), "it states: day, supper"),
        (("--chart", "aisle.txt"), ".svg, .png, .pdf, .dxf"),
    ],
)
def test_what_is_at_fault_is_one_line(
    folder: Path, ask: Callable[..., Answer], arguments: tuple[str, ...], words: str
) -> None:
    answer = ask("people", folder, *arguments)
    assert answer.status == 2
    assert words in answer.err
    assert answer.err.strip().count("\n") == 0


def test_a_shell_has_nobody_in_it(folder: Path, ask: Callable[..., Answer]) -> None:
    answer = ask("people", folder / "shell.toml")
    assert answer.status == 2
    assert "is a shell" in answer.err


def test_no_doorway_is_told_and_the_rest_answered(folder: Path, ask: Callable[..., Answer]) -> None:
    (folder / "shell.toml").write_text(van(BOX), encoding="utf-8")
    told = document(ask("people", folder, "--mode", "day", "--json"), 1)
    assert any("states no doorway" in each["words"] for each in told["findings"])
    assert any(each["question"] == "passing" for each in told["findings"])


def test_a_layout_that_fouls_is_answered_all_the_same(folder: Path, ask: Callable[..., Answer]) -> None:
    into = module("into both", 600, 1400, 300, faces="front", station=2100, breadth=-300)
    file = folder / "layout.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("[[modes]]", f"{into}\n[[modes]]", 1), encoding="utf-8")
    told = document(ask("people", folder, "--mode", "day", "--json"), 1)
    (way,) = (each for each in told["findings"] if each["question"] == "getting out")
    assert "trapped" in way["words"]


# ---- the story of the demo ----


def test_the_table_out_traps_the_inner_seat(ask: Callable[..., Answer]) -> None:
    answer = ask("people", "long-heron", "--json")  # on a busy machine it says on the way what it is at
    assert answer.status == 1
    (seat,) = (
        each for each in json.loads(answer.out)["findings"]
        if each["subject"] == "cushions facing forward" and each["question"] == "getting out" and each["verdict"] == "fouls"
    )  # fmt: skip
    assert seat["modes"] == ["supper"]
    assert "table" in seat["cause"]
