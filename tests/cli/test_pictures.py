"""What is drawn of a layout: its scene, the drawings, the demo; and the mends that the demo proves."""

from __future__ import annotations

import re
import resource
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

import tumblehome as th
from tumblehome.cli.mend import mend_of
from tumblehome.drawing.scene import STATURE, person
from tumblehome.drawing.stills import can_draw
from tumblehome.drawing.van import scene_of, standing_place
from wedge import half_breadth

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from wedge import Answer

    Ask = Callable[..., Answer]
    Van = Callable[..., Path]

BUNDLED = ["long-heron", "box-otter", "low-plover"]


# ---- mends ----


def fouls(layout: th.Layout) -> list[th.Finding]:
    return [finding for finding in th.check(layout) if finding.verdict == "fouls"]


@pytest.mark.parametrize("breadth", [-801.0, -820.5, -860.0])
@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_box_in_the_wedge_is_mended_to_the_height_where_the_wall_meets_it(
    van: Van, breadth: float, units: str
) -> None:
    layout = th.load_layout(van(f"{breadth} mm"))
    (finding,) = fouls(layout)
    mend = mend_of(finding, units)  # type: ignore[arg-type]
    step = 1.0 if units == "mm" else 25.4 / 16
    exact = 10.0 * (900.0 + breadth) - layout.measured_to
    assert mend is not None
    assert mend.height is not None
    assert exact - step < mend.height <= exact + 1e-6
    mended = mend.applied(layout)
    assert fouls(mended) == []
    low, high = mended.modules[0].solid.bounds
    assert high[2] - low[2] == pytest.approx(mend.height, abs=1e-9)
    assert half_breadth(mend.height) >= -breadth - 1e-6


@pytest.mark.parametrize("breadth", [-901.5, 502.25])
def test_what_no_height_clears_is_moved_as_far_as_the_wall_says(van: Van, breadth: float) -> None:
    layout = th.load_layout(van(f"{breadth} mm"))  # the box is 400 wide across the van
    mend = mend_of(fouls(layout)[0], "mm")
    assert mend is not None
    exact = max(-breadth, breadth + layout.modules[0].wide) - half_breadth(1000.0)
    assert mend.height is None
    assert exact - 1e-6 <= mend.distance < exact + 1.0
    assert fouls(mend.applied(layout)) == []


def test_the_bundled_fault_is_mended_by_what_its_finding_says() -> None:
    layout = th.load_layout("long-heron")
    found = fouls(layout)
    assert len(found) == 1
    mend = mend_of(found[0], "mm")
    assert mend is not None
    assert fouls(mend.applied(layout)) == []
    assert len(fouls(layout)) == 1  # the layout itself is as it was


# ---- the scene ----


@pytest.mark.parametrize("name", BUNDLED)
def test_a_scene_holds_the_shell_every_part_and_every_module(name: str) -> None:
    layout = th.load_layout(name)
    scene = scene_of(layout)
    drawn = {piece.name for piece in scene.pieces}
    assert {part.name for part in layout.shell.parts} <= drawn
    assert {module.name for module in layout.modules} <= drawn
    assert {"walls and roof", "floor"} <= drawn


@pytest.mark.parametrize("name", BUNDLED)
def test_walls_floor_and_void_of_a_scene_do_not_overlap(name: str) -> None:
    layout = th.load_layout(name)
    wall = [piece.solid for piece in scene_of(layout).pieces if piece.kind in {"shell", "floor"}]
    assert len(wall) == 2
    for solid in wall:
        assert (solid & layout.shell.void).volume < 1e-3
    assert (wall[0] & wall[1]).volume < 1e-3


@pytest.mark.parametrize("name", BUNDLED)
def test_no_film_of_the_walls_lies_on_the_floor(name: str) -> None:
    """Clear of the walls, nothing of them is met between the floor and 10 mm above it, not even a sheet of no thickness."""
    layout = th.load_layout(name)
    (walls,) = (piece.solid for piece in scene_of(layout).pieces if piece.name == "walls and roof")
    vertices, triangles = walls.mesh()
    corners = vertices[triangles]
    middles = corners[corners[..., 2].max(axis=1) < 10.0].mean(axis=1)
    assert len(middles)
    floor = shapely.union_all(th.band(layout.shell, heights=(0, 10)).polygons).buffer(-5.0)
    assert not shapely.contains_xy(floor, middles[:, 0], middles[:, 1]).any()


def test_what_stands_in_a_module_is_taken_out_of_it() -> None:
    layout = th.load_layout("long-heron")
    solids = {piece.name: piece.solid for piece in scene_of(layout).pieces}
    nested = [module for module in layout.modules if module.parent is not None]
    assert nested
    for module in nested:
        assert module.parent is not None
        assert (solids[module.name] & solids[module.parent]).volume < 1e-3


@pytest.mark.parametrize("name", ["long-heron", "box-otter"])
def test_the_person_stands_free(name: str) -> None:
    layout = th.load_layout(name)
    place = standing_place(layout)
    assert place is not None
    somebody = person(at=place)
    assert somebody.bounds[1][2] == pytest.approx(STATURE, abs=1e-6)
    assert (somebody - layout.shell.void).volume < 1e-3
    for module in layout.modules:
        assert (somebody & module.solid).volume < 1e-3


def test_nobody_stands_where_the_roof_is_lower() -> None:
    layout = th.load_layout("low-plover")
    assert layout.shell.heights[1] < STATURE
    assert standing_place(layout) is None


def test_in_an_empty_wedge_the_person_stands_in_the_middle(van: Van) -> None:
    place = standing_place(th.load_layout(van("-400 mm")))  # the box stands rearward of station 2000
    assert place is not None
    assert place[1] == pytest.approx(0.0, abs=1e-6)
    assert np.isclose(place[0], 1500.0)


# ---- render and demo ----


def test_render_writes_the_standard_drawings_and_tells_the_verdict(van: Van, ask: Ask, tmp_path: Path) -> None:
    for breadth, status in (("-700 mm", 0), ("-801 mm", 1)):
        answer = ask("render", van(breadth), "-o", tmp_path / "out", "--no-stills")
        assert answer.status == status
        assert answer.err == ""
        written = sorted(str(path) for path in (tmp_path / "out").iterdir())
        assert sorted(answer.out.splitlines()) == written
        assert len(written) >= 2
        assert all(path.endswith(".svg") for path in written)


def test_a_view_that_there_is_not_is_refused_before_anything_is_written(van: Van, ask: Ask, tmp_path: Path) -> None:
    answer = ask("render", van(), "-o", tmp_path / "out", "--view", "cornr")
    assert answer.status == 2
    assert "did you mean 'corner'" in answer.err
    assert not (tmp_path / "out").exists()


def test_without_a_display_the_drawings_are_written_and_the_mend_is_told(
    van: Van, ask: Ask, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tumblehome.drawing.stills.can_draw", lambda: False)
    answer = ask("render", van(), "-o", tmp_path / "out")
    assert answer.status == 2
    assert "--no-stills" in answer.err
    assert answer.err.count("\n") == 1
    assert {path.suffix for path in (tmp_path / "out").iterdir()} == {".svg"}


def test_a_still_of_the_size_and_view_asked_for_is_drawn(van: Van, ask: Ask, tmp_path: Path) -> None:
    if not can_draw():
        pytest.skip("this machine cannot draw stills")
    ask("render", van(), "-o", tmp_path / "out", "--view", "above", "--size", "640x400", "--format", "dxf")
    png = (tmp_path / "out" / "above.png").read_bytes()
    assert (int.from_bytes(png[16:20]), int.from_bytes(png[20:24])) == (640, 400)  # IHDR, PNG specification 11.2.1
    assert {path.suffix for path in (tmp_path / "out").iterdir()} == {".png", ".dxf"}


def _interrupted(*_: object) -> None:
    raise KeyboardInterrupt


@pytest.mark.parametrize(("command", "out"), [("render", "new/pictures"), ("page", "new/plan.html")])
def test_control_c_leaves_no_empty_folder(
    van: Van, ask: Ask, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: str, out: str
) -> None:
    """130: 128 and the number of the signal, as shells count."""
    monkeypatch.setattr(f"tumblehome.cli.{command}.checked", _interrupted)
    assert ask(command, van(), "-o", tmp_path / out).status == 130
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize(("command", "out"), [("render", "layout.toml"), ("page", "pages.html")])
def test_what_cannot_be_written_is_refused_before_the_work(
    van: Van, ask: Ask, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: str, out: str
) -> None:
    monkeypatch.setattr(f"tumblehome.cli.{command}.checked", _interrupted)
    (tmp_path / "pages.html").mkdir()
    refused = ask(command, van(), "-o", tmp_path / out)
    assert refused.status == 2
    assert "has its name; choose another name" in refused.err or "has the folder's name" in refused.err


@pytest.mark.parametrize(
    ("out", "named"), [("pages", "pages/plan.html"), ("plan", "plan.html"), ("plan.pdf", "plan.html")]
)
def test_a_page_has_a_name_that_a_browser_opens(van: Van, ask: Ask, tmp_path: Path, out: str, named: str) -> None:
    (tmp_path / "pages").mkdir()
    refused = ask("page", van(), "-o", tmp_path / out)
    assert refused.status == 2
    assert f"ends in .html; name it {tmp_path / named}\n" in refused.err
    assert not list(tmp_path.glob("pl*"))


def processor_time() -> float:
    """Return the seconds that finished processes of this one have run, which a busy machine does not stretch."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def test_the_demo_shows_the_fault_its_mend_and_pictures_within_a_minute(
    program: Callable[..., Answer], tmp_path: Path
) -> None:
    if not can_draw():
        pytest.skip("this machine cannot draw stills")
    before = processor_time()
    answer = program("demo", "-o", tmp_path / "show")
    assert processor_time() - before < 60
    assert answer.status == 0
    assert "The fault that is in it on purpose" in answer.out
    assert "nothing fouls any more" in answer.out
    assert "Traceback" not in answer.err
    pictures = [path for path in (tmp_path / "show").rglob("*") if path.is_file()]
    assert {path.suffix for path in pictures} == {".gif", ".png", ".svg"}
    assert re.search(r"⊠ supper: trapped: only [\d.]+ mm between refrigerator and table", answer.out)
    assert re.search(
        r"○ with the table stowed \(road\)\n.* comes out by the sliding door with [1-9]\d* mm to spare", answer.out
    )
    assert re.search(r"⊠ 20 mm wider.*\n.*No way out.*comes out if the tall cupboard.* goes first", answer.out)
    for path in pictures:
        assert str(path) in answer.out
