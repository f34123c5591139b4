"""``tumblehome study``: its answers are the closed forms of a van of flat faces, and its faults are single clear lines."""

from __future__ import annotations

import json
import re
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import pytest

import tumblehome as th
from tumblehome.cli.main import main
from tumblehome.studies import study
from vans import ROOFED, member, module, plan, van

if TYPE_CHECKING:
    from pathlib import Path

ROOF = 1500.0
"""Where the roof begins; the wall is at 900 - z/15 below it and reaches 1800 mm from 1500 on at 800 - (z - 1500) 5/3."""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    rib = member("rib", "rib", side="left", stations=[2000, 2050], depth=30, heights=[0, 1500])
    modules = (
        module("box", station=1200, against="left"),
        module("cabinet", deep=None, station=1200, against="right", kind="scribed", face=500),
        module("tank", 100, 100, 100, in_="cabinet", station=1300, breadth=600),
        module("shelf", 500, 200, 300, station=2600, against="left", hung=900),
        module("table", station=3000, breadth=0),
    )
    (tmp_path / "shell.toml").write_text(van(ROOFED, rib), encoding="utf-8")
    (tmp_path / "layout.toml").write_text(plan(*modules), encoding="utf-8")
    return tmp_path


def document(capsys: pytest.CaptureFixture[str], folder: Path, name: str, *options: str) -> dict[str, Any]:
    assert main(["study", str(folder), name, "--json", *options]) == 0
    captured = capsys.readouterr()
    assert not captured.err
    found: dict[str, Any] = json.loads(captured.out)
    return found


def complaint(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """The one line of a command line that is at fault."""
    assert main(["study", *arguments]) == 2
    captured = capsys.readouterr()
    assert not captured.out
    assert captured.err.count("\n") == 1
    return captured.err


# ---- the document ----


def test_depth_by_height_in_closed_form(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    found = document(capsys, folder, "box")
    ends = [(corner["at"], corner["back"], corner["part"]) for corner in found["by_top"]]
    assert [part for _, _, part in ends] == ["left wall", "roof", "roof"]
    assert [at for at, _, _ in ends] == pytest.approx([0, ROOF, 1800])
    assert [back for _, back, _ in ends] == pytest.approx([900, 800, 300])
    assert found["full_height"] == {
        "top": pytest.approx(ROOF),
        "cost": pytest.approx(160 / 3, abs=1e-5),
        "part": "left wall",
    }
    assert found["greatest_height"] == {"high": pytest.approx(700, abs=1e-5), "part": "left wall"}
    assert found["greatest_depth"] == {"deep": pytest.approx(400, abs=1e-5), "part": "left wall"}
    assert found["by_underside"] is None


def test_what_a_top_leaves_of_the_aisle(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    """The box's face is at 453.3, the cabinet's before it at 500; 100 further in at the roof leave 100 less."""
    found = document(capsys, folder, "box")
    assert found["aisle"] == pytest.approx(500 + 900 - 700 / 15 - 400, abs=1e-5)
    for corner in found["by_top"]:
        assert corner["aisle"] - corner["back"] == pytest.approx(found["aisle"] - found["back"], abs=1e-5)


def test_slide_in_closed_form(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    """Within its height the wall is nearest at 700: 853.3, before the rib 30 less, where any of the box is before it."""
    found = document(capsys, folder, "box", "--slide", "1000:3000mm")
    assert [(c["at"], c["part"]) for c in found["slide"]] == [
        (pytest.approx(1000), "left wall"),
        (pytest.approx(1500), "left wall"),
        (pytest.approx(1500), "rib"),
        (pytest.approx(2050), "rib"),
        (pytest.approx(2050), "left wall"),
        (pytest.approx(3000), "left wall"),
    ]
    wall = 900 - 700 / 15
    backs = [c["back"] for c in found["slide"]]
    assert [backs[i] for i in (0, 1, 4, 5)] == pytest.approx([wall] * 4, abs=1e-5)
    assert backs[2] == pytest.approx(backs[3], abs=1e-5)
    assert wall - backs[2] == pytest.approx(30, rel=0.01)  # its depth is taken square to the wall, which leans 1 in 15


def test_inside_of_a_scribed_cabinet(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    """At a height its wall is at 900 - z/15, its face with an 18 panel at 518; a drawer box is limited by its upper edge."""
    inside = document(capsys, folder, "cabinet")["inside"]
    assert [shelf["height"] for shelf in inside["shelves"]] == pytest.approx([0, 100, 200, 300, 400, 500, 600])
    for shelf in inside["shelves"]:
        assert shelf["deep"] == pytest.approx(382 - shelf["height"] / 15, abs=1e-5)
        assert shelf["drawer"] == pytest.approx(382 - (shelf["height"] + 100) / 15, abs=1e-5)


def test_hung_modules_are_asked_about_their_underside(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    """Its top at 1200 stays the nearest to the wall however far down its underside is."""
    found = document(capsys, folder, "shelf")
    assert [c["back"] for c in found["by_underside"]] == pytest.approx([820, 820], abs=1e-5)
    assert [c["at"] for c in found["by_underside"]] == pytest.approx([0, 1200], abs=1e-5)


@pytest.mark.parametrize("name", ["long-heron", "box-otter", "low-plover"])
def test_breakpoints_are_those_of_the_curve(capsys: pytest.CaptureFixture[str], name: str) -> None:
    """Between neighboring breakpoints the curve is straight, and at each it has one of its two one-sided values."""
    assert main(["study", name, "refrigerator", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    one = study(th.load_layout(th.bundled_shells()[name].parent / "layout.toml"), "refrigerator")
    for key, curve in (("by_top", one.by_top), ("slide", one.slide)):
        corners = found[key]
        assert len(corners) > 5
        for a, b in pairwise(corners):
            if b["at"] - a["at"] > 1e-3:
                middle = curve.value((a["at"] + b["at"]) / 2)
                assert middle == pytest.approx((a["back"] + b["back"]) / 2, abs=1e-4)


def test_a_module_that_fouls_is_studied_with_the_reason(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["study", "long-heron", "upper cabinet left"]) == 0
    words = capsys.readouterr().out
    assert "bow 2; studied all the same" in words
    assert main(["study", "long-heron", "upper cabinet left", "--json"]) == 0
    assert "bow 2" in json.loads(capsys.readouterr().out)["fouls"]


# ---- in words ----


def test_words_hold_the_numbers_of_the_document(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    assert main(["study", str(folder), "box"]) == 0
    words = capsys.readouterr().out
    for told in (
        "Run up to 1500 mm, it would cost 53 mm more: left wall.",
        "853.3 mm from the centerline",
        "953.3 mm of aisle",
    ):
        assert told in words
    assert main(["study", str(folder), "box", "--units", "in"]) == 0
    assert 'Run up to 59 1/16", it would cost 2 1/8" more' in capsys.readouterr().out


def test_ranges_limit_the_tables(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    found = document(capsys, folder, "box", "--top", "300:900mm", "--slide", "100:400mm")
    assert [c["at"] for c in found["by_top"]] == pytest.approx([300, 900])
    assert [c["at"] for c in found["slide"]] == pytest.approx([100, 400])
    assert [c["back"] for c in found["by_top"]] == pytest.approx([880, 840])


@pytest.mark.parametrize("suffix", ["svg", "pdf", "png"])
def test_pictures_are_written_in_each_format(capsys: pytest.CaptureFixture[str], folder: Path, suffix: str) -> None:
    """Each begins as its format does: PDF 32000-1 7.5.2, PNG (ISO/IEC 15948) 5.2, XML 1.0."""
    out = folder / "new" / "pictures"
    assert main(["study", str(folder), "box", "-o", str(out), "--format", suffix]) == 0
    begins = {"svg": b"<?xml", "pdf": b"%PDF", "png": b"\x89PNG"}[suffix]
    names = {path.name for path in out.iterdir()}
    assert names == {f"box-{name}.{suffix}" for name in ("depth-by-height", "slide", "alternative")}
    assert all(path.read_bytes().startswith(begins) for path in out.iterdir())
    told = capsys.readouterr().out
    assert all(str(out / name) in told for name in names)


def test_what_bars_the_way_and_what_it_stands_behind_are_told(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Seat backs up to 400 bar its front end up to there; a post at 1300 to 1400 stands before its face from 800 to 1400."""
    parts = (
        member("seats", "bulkhead", station=400, heights=[0, 1100]),
        member("post", "block", stations=[1300, 1400], breadths=[-300, -100], heights=[0, 500]),
    )
    (tmp_path / "shell.toml").write_text(van(ROOFED, *parts), encoding="utf-8")
    own = module("box", 500, 300, 700, station=1200, against="left")
    (tmp_path / "layout.toml").write_text(plan(own), encoding="utf-8")
    assert main(["study", str(tmp_path), "box"]) == 0
    words = capsys.readouterr().out
    assert re.search(r"^0 to 400 mm +barred +none +seats", words, re.MULTILINE)
    assert re.search(r"^400 to 3500 mm +853\.3 mm .*behind post", words, re.MULTILINE)
    assert main(["study", str(tmp_path), "box", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)["slide"]
    assert [(c["barred"], c["back"], c["part"]) for c in found[:2]] == [(True, 0, "seats")] * 2
    assert all(c["barred"] or c["back"] > 0 for c in found)


def test_a_turned_module_is_studied_but_for_its_depth(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    (tmp_path / "shell.toml").write_text(van(ROOFED), encoding="utf-8")
    turned = module("box", 500, 300, 700, station=1200, against="left", yaw=30)
    (tmp_path / "layout.toml").write_text(plan(turned), encoding="utf-8")
    assert main(["study", str(tmp_path), "box"]) == 0
    assert "It stands turned, so no greatest depth is told" in capsys.readouterr().out
    assert main(["study", str(tmp_path), "box", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["greatest_depth"] is None


# ---- bad input ----


def test_a_module_that_cannot_be_studied(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    assert "did you mean 'cabinet'?" in complaint(capsys, str(folder), "cabinets")
    assert "inside 'cabinet'" in complaint(capsys, str(folder), "tank")
    assert "free of any wall" in complaint(capsys, str(folder), "table")


@pytest.mark.parametrize("option", ["--top", "--slide"])
@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ("500:500mm", "empty"),
        ("500:9000mm", "outside the van"),
        ("-500:900mm", "outside the van"),
        ("900:500mm", "backwards"),
        ("500:900", "unit"),
        ("much", "cannot read"),
    ],
)
def test_a_range_at_fault(
    capsys: pytest.CaptureFixture[str], folder: Path, option: str, asked: str, words: str
) -> None:
    fault = complaint(capsys, str(folder), "box", f"{option}={asked}")
    assert words in fault
    assert option in fault


def test_a_range_where_the_module_cannot_be(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    """The van ends at 4000, so the front end of a module of 500 at 3500; the shelf's top cannot be below its foot at 900."""
    assert "allowed: 0 to 3500 mm" in complaint(capsys, str(folder), "box", "--slide", "3600:3900mm")
    assert "allowed: 900 to 1800 mm" in complaint(capsys, str(folder), "shelf", "--top", "100:800mm")


def test_a_range_that_is_named_as_allowed_is_allowed(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    """3500 mm are 137.795 in: the nearest sixteenth, 137 13/16, would lie beyond it."""
    assert 'allowed: 0" to 137 3/4"' in complaint(capsys, str(folder), "box", "--slide", "3600:3900mm", "--units", "in")


def test_a_layout_that_is_none(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    assert "is a shell" in complaint(capsys, str(folder / "shell.toml"), "box")
