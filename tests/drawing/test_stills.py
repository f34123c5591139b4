"""The stills: cuts are exact, the person is one closed body, names find their places, and pictures show something."""

from __future__ import annotations

from io import BytesIO
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
import trimesh
from PIL import Image

from tumblehome.drawing import stills
from tumblehome.drawing.callouts import Words, place_names
from tumblehome.drawing.camera import Camera
from tumblehome.drawing.scene import FINISHES, KINDS, VIEWS, Cut, Piece, Scene, View, person, view_of
from tumblehome.drawing.stills import can_draw, render_still, render_stills
from tumblehome.drawing.text import Box
from tumblehome.errors import InputError, PictureError
from tumblehome.solids import Solid

if TYPE_CHECKING:
    from pathlib import Path

    from tumblehome.drawing.callouts import Placement

needs_display = pytest.mark.skipif(not can_draw(), reason="no off-screen OpenGL on this machine (libegl1, libgl1)")

LENGTH, WIDTH, HEIGHT, WALL = 3000.0, 1700.0, 1850.0, 40.0


def van() -> Scene:
    """Return a box of a van, 40 mm thick, with a galley on the left and a bed and a cupboard behind."""
    half = WIDTH / 2
    inside = Solid.box((WALL, -half, 0), (LENGTH - WALL, half, HEIGHT), "lining")
    outside = Solid.box((0, -half - WALL, -WALL), (LENGTH, half + WALL, HEIGHT + WALL), "body")
    shell = outside - inside
    pocket = Solid.box((600, -half - 30, 950), (1400, -half, 1400), "recess")
    return Scene(
        (
            Piece("body", "shell", shell - pocket),
            Piece("window recess", "recess", pocket),
            Piece("bow", "member", Solid.box((1500, -half, HEIGHT - 60), (1560, half, HEIGHT), "bow")),
            Piece(
                "galley", "module", Solid.box((500, -half, 0), (1600, -half + 550, 900), "galley"), "birch", label=True
            ),
            Piece(
                "cupboard", "module", Solid.box((500, -half, 1450), (1600, -half + 350, 1750), "c"), "oak", label=True
            ),
            Piece(
                "bed", "module", Solid.box((2000, -half, 0), (LENGTH - WALL, half, 700), "bed"), "mattress", label=True
            ),
            Piece("person", "person", person(at=(1200, 250))),
        )
    )


@pytest.fixture(scope="module")
def scene() -> Scene:
    """One van for all tests of this file."""
    return van()


def from_above(*cuts: Cut) -> View:
    """Return a view from 10 m above the origin."""
    return View("test", "test", (0, 0, 10000), (0, 0, -1), (0, 1, 0), cuts)


# Cuts


def test_a_cut_box_has_the_volume_and_the_cap_of_its_closed_form() -> None:
    """A 3 x 5 x 7 box cut at 2 of its height keeps 3 * 5 * 2, and its cap is 3 * 5 (closed form)."""
    box = Piece("box", "module", Solid.box((0, 0, 0), (3, 5, 7), "box"))
    (seen,) = Scene((box,)).seen(from_above(Cut(("module",), low=(-np.inf, -np.inf, 2))))
    left = trimesh.Trimesh(seen.vertices, seen.triangles, process=False)
    assert left.is_watertight
    assert left.volume == pytest.approx(30, rel=1e-12)
    assert left.area_faces[seen.is_cap].sum() == pytest.approx(15, rel=1e-12)


def test_a_cut_through_a_tube_is_its_ring() -> None:
    """A wall of 1 around a room 4 x 4 shows a ring of 6 * 6 - 4 * 4 = 20 where it is cut across (closed form)."""
    tube = Solid.box((-3, -3, 0), (3, 3, 9), "out") - Solid.box((-2, -2, -1), (2, 2, 10), "in")
    (seen,) = Scene((Piece("tube", "shell", tube),)).seen(from_above(Cut(("shell",), low=(-np.inf, -np.inf, 5))))
    left = trimesh.Trimesh(seen.vertices, seen.triangles, process=False)
    assert left.area_faces[seen.is_cap].sum() == pytest.approx(20, rel=1e-12)
    assert left.volume == pytest.approx(100, rel=1e-12)


@pytest.mark.parametrize("name", VIEWS)
def test_caps_lie_in_a_face_of_a_cut(scene: Scene, name: str) -> None:
    """Every corner of every cap lies in a bounding plane of a cut of its kind, to 1e-9 mm."""
    view = view_of(scene, name)
    capped = [seen for seen in scene.seen(view) if seen.is_cap.any()]
    assert capped
    for seen in capped:
        planes = [
            (axis, value)
            for cut in view.cuts
            if seen.piece.kind in cut.kinds
            for corner in (cut.low, cut.high)
            for axis, value in enumerate(corner)
            if np.isfinite(value)
        ]
        for cap in seen.vertices[seen.triangles[seen.is_cap]]:
            assert any(np.abs(cap[:, axis] - value).max() <= 1e-9 for axis, value in planes)


@pytest.mark.parametrize("name", VIEWS)
def test_what_is_left_and_what_is_removed_add_up(scene: Scene, name: str) -> None:
    """A cut conserves volume: what a view leaves of a piece and what lies in its cut boxes sum to the piece."""
    view = view_of(scene, name)
    left = {seen.piece.name: seen.solid for seen in scene.seen(view)}
    low, high = np.full(3, -9e4), np.full(3, 9e4)
    for piece in (piece for piece in scene.pieces if piece.kind != "person"):
        removed = Solid.empty()
        for cut in (cut for cut in view.cuts if piece.kind in cut.kinds):
            removed = removed | (piece.solid & Solid.box(np.maximum(cut.low, low), np.minimum(cut.high, high), "cut"))
        rest = left[piece.name].volume if piece.name in left else 0.0
        assert rest + removed.volume == pytest.approx(piece.solid.volume, rel=1e-9)


def test_a_piece_that_is_cut_away_whole_is_dropped(scene: Scene) -> None:
    """The right side, cut at the centerline, shows nothing of what stands left of it."""
    names = {seen.piece.name for seen in scene.seen(view_of(scene, "right side"))}
    assert "bed" in names
    assert names.isdisjoint({"galley", "cupboard", "window recess"})


def test_a_person_is_never_cut(scene: Scene) -> None:
    """Whole or gone: where a person is seen, it has its whole volume; on the removed half it is gone."""
    whole = next(piece for piece in scene.pieces if piece.kind == "person").solid.volume
    for name in VIEWS:
        people = [seen for seen in scene.seen(view_of(scene, name)) if seen.piece.kind == "person"]
        assert [seen.solid.volume for seen in people] == ([] if name == "left side" else [whole])


@pytest.mark.parametrize("breadth", [0.0, 60.0, -60.0])
def test_nobody_stands_on_a_floor_that_is_cut_away(breadth: float) -> None:
    """The floor ends at the centerline, and the feet stand behind that; nothing else of the place changes."""
    plate = Solid.box((0, -900, -20), (3000, 900, 0), "floor")
    whole = person(at=(1500, breadth))
    scene = Scene((Piece("floor", "floor", plate), Piece("person", "person", whole)))
    for name, side in (("right side", 1), ("left side", -1)):
        people = [seen.solid for seen in scene.seen(view_of(scene, name)) if seen.piece.kind == "person"]
        assert bool(people) == (side * breadth >= 0)
        for someone in people:
            feet = someone.trimmed(2, high=90).bounds
            assert min(side * feet[0][1], side * feet[1][1]) == pytest.approx(0.0, abs=2.0)
            assert someone.volume == pytest.approx(whole.volume)
            assert someone.bounds[0][[0, 2]] == pytest.approx(whole.bounds[0][[0, 2]])


def test_in_the_corner_modules_are_whole_or_gone() -> None:
    """A tall box at the near wall stays whole; one that hangs there is gone, and the caption says so."""
    shell = Solid.box((0, -900, 0), (4000, 900, 2000), "walls") - Solid.box((50, -850, 50), (3950, 850, 1950), "walls")
    tall, hung, far = (
        Solid.box(low, high, "module")
        for low, high in (
            ((500, 400, 50), (1100, 850, 1900)), ((1500, 500, 1400), (2300, 850, 1800)), ((500, -850, 50), (3500, -300, 1900)),
        )
    )  # fmt: skip
    pieces = [
        Piece("walls and roof", "shell", shell),
        *(Piece(n, "module", s) for n, s in (("tall", tall), ("hung", hung), ("far", far))),
    ]
    scene = Scene(tuple(pieces))
    view = view_of(scene, "corner")
    left = {seen.piece.name: seen.solid.volume for seen in scene.seen(view) if seen.piece.kind == "module"}
    assert left == {"tall": pytest.approx(tall.volume), "far": pytest.approx(far.volume)}
    assert "with what hangs there" in view.words


def test_the_corner_is_seen_over_the_emptier_side(scene: Scene) -> None:
    """The tall cupboard stands left, so one looks in over the right wall; mirrored, over the left one."""
    mirror = [[1, 0, 0, 0], [0, -1, 0, 0], [0, 0, 1, 0]]
    mirrored = tuple(Piece(p.name, p.kind, p.solid.transformed(mirror), p.finish) for p in scene.pieces)
    assert (scene.near_side, Scene(mirrored).near_side) == (1, -1)
    assert view_of(scene, "corner").eye[1] == pytest.approx(-view_of(Scene(mirrored), "corner").eye[1])


# The person


@pytest.mark.parametrize("stature", [1482.5, 1755.0, 1927.0])  # ANSUR II: women's p1, men's p50 and p99
def test_a_person_is_one_closed_body_of_the_stated_stature(stature: float) -> None:
    """From the floor it stands on to its crown, one watertight volume."""
    vertices, triangles = person(stature, at=(1000, -200), facing=35, floor=120).mesh()
    body = trimesh.Trimesh(vertices, triangles, process=False)
    assert body.is_volume
    assert body.body_count == 1
    assert body.bounds[:, 2] == pytest.approx([120, 120 + stature], abs=1e-9)


def test_the_median_man_has_the_breadth_and_bulk_of_one() -> None:
    """Shoulders, hips and weight of ANSUR II's median man (NATICK/TR-15/007): 509 and 344 mm, 84.6 kg.

    The weight over the density of a body, 0.98 to 1.10 kg/L (value from memory), bounds the volume; a tenth is allowed
    to a mannequin.
    """
    low, high = person().trimmed(2, low=1300).bounds
    assert high[1] - low[1] == pytest.approx(509, rel=0.03)
    low, high = person().trimmed(2, low=900, high=960).trimmed(1, low=-180, high=180).bounds
    assert high[1] - low[1] == pytest.approx(344, rel=0.03)
    assert 0.9 * 84.6 / 1.10 < person().volume / 1e6 < 1.1 * 84.6 / 0.98


def test_a_person_faces_where_it_is_told() -> None:
    """The feet reach farther ahead than behind: to the front (-x) at 0 degrees, to the right (+y) at 90."""
    for facing, axis, sign in ((0.0, 0, -1), (90.0, 1, 1), (180.0, 0, 1)):
        low, high = person(facing=facing).trimmed(2, high=60).bounds
        ahead, behind = (high[axis], -low[axis]) if sign > 0 else (-low[axis], high[axis])
        assert ahead > behind + 50


@pytest.mark.parametrize("stature", [0.0, -1.0, float("nan"), float("inf")])
def test_a_person_without_a_stature_is_refused(stature: float) -> None:
    """The message names what was found."""
    with pytest.raises(InputError, match="stature"):
        person(stature)


# The camera


@pytest.mark.parametrize("size", [(1600, 1000), (1000, 1600), (900, 900)])
@pytest.mark.parametrize("name", VIEWS)
def test_everything_lands_in_the_frame_and_fills_it(scene: Scene, name: str, size: tuple[int, int]) -> None:
    """The projected bounds lie in the frame, touch it both ways along one axis, and are centered along the other."""
    view = view_of(scene, name, aspect=size[0] / size[1])
    points = np.concatenate([seen.vertices for seen in scene.seen(view)])
    frame = Box(120, 60, size[0] - 200, size[1] - 90)
    pixels, depths = Camera.framing(view, points, frame, size).project(points)
    low, high = pixels.min(axis=0), pixels.max(axis=0)
    slack = np.array([frame.right - frame.left, frame.bottom - frame.top]) - (high - low)
    assert depths.min() > 0
    assert slack.min() == pytest.approx(0, abs=1e-6)
    assert (low + high) / 2 == pytest.approx(frame.center, abs=1e-6)


def test_a_level_camera_keeps_edges_upright(scene: Scene) -> None:
    """A plumb line stays one in the pictures that look level, wherever it stands (perspective's closed form)."""
    for name in ("doorway", "left side", "right side"):
        view = view_of(scene, name)
        points = np.concatenate([seen.vertices for seen in scene.seen(view)])
        camera = Camera.framing(view, points, Box(50, 50, 700, 450), (800, 500))
        pixels, _ = camera.project([(1000, 300, 0), (1000, 300, 1500)])
        assert pixels[0, 0] == pytest.approx(pixels[1, 0], abs=1e-6)
        assert pixels[0, 1] > pixels[1, 1]


def test_an_eye_inside_is_refused() -> None:
    """What lies behind the eye cannot be framed."""
    with pytest.raises(InputError, match="eye"):
        Camera.framing(from_above(), [(0, 0, 0), (0, 0, 20000)], Box(0, 0, 9, 9), (9, 9))


# Where names stand


def assert_readable(placements: tuple[Placement, ...], size: tuple[int, int]) -> None:
    """Check that no two names overlap and that all lie in the picture."""
    for one, other in combinations(placements, 2):
        assert not one.box.overlaps(other.box), (one, other)
    for placement in placements:
        assert Box(0, 0, *size).contains(placement.box)


def test_a_name_stands_on_its_thing_where_it_fits_and_beside_it_where_not() -> None:
    """A field of 60 x 30 cells holds a name of 40 x 12 pixels at 2 pixels a cell; one of 10 x 4 cells does not."""
    facets = np.zeros((200, 200), dtype=np.intp)
    facets[80:110, 60:120], facets[120:124, 60:70] = 1, 2
    words = {1: Words("large", 40, 12), 2: Words("small", 40, 12)}
    large, small = place_names(facets, np.arange(3), 2.0, words, sheet=Box(0, 0, 400, 400), taken=[])
    assert large.leader is None
    assert Box(120, 160, 240, 220).contains(large.box)
    assert small.leader is not None
    assert Box(120, 240, 140, 248).contains(Box.around(small.anchor, 0, 0))
    assert not small.box.overlaps(Box(120, 160, 240, 248))


def test_what_is_hidden_gets_no_name_and_too_many_names_are_refused() -> None:
    """A thing without a cell in the picture is left out; a sheet without paper has no room."""
    facets = np.ones((50, 50), dtype=np.intp)
    words = {1: Words("wide", 400, 12), 2: Words("hidden", 4, 4)}
    with pytest.raises(PictureError, match="no room"):
        place_names(facets, np.arange(3), 2.0, words, sheet=Box(0, 0, 100, 100), taken=[])
    del words[1]
    assert place_names(facets, np.arange(3), 2.0, words, sheet=Box(0, 0, 100, 100), taken=[]) == []


@pytest.mark.parametrize("gap", range(14, 34, 4))
def test_leaders_spare_names_and_do_not_cross(gap: int) -> None:
    """Two small things lie on a large one, close together, with its name before them (checked with shapely)."""
    facets = np.zeros((300, 300), dtype=np.intp)
    facets[100:240, 60:240] = 1
    facets[104:108, 80:86], facets[104:108, 80 + gap : 86 + gap] = 2, 3
    words = {1: Words("large", 200, 30), 2: Words("one", 120, 12), 3: Words("other", 120, 12)}
    large, *small = place_names(facets, np.arange(4), 2.0, words, sheet=Box(0, 180, 600, 600), taken=[])
    name = shapely.box(large.box.left, large.box.top, large.box.right, large.box.bottom)
    one, other = (shapely.LineString([p.leader, p.anchor]) for p in small if p.leader)
    assert large.leader is None
    assert not one.crosses(other)
    assert not name.intersects(shapely.MultiLineString([one, other]))


def test_leaders_do_not_cross() -> None:
    """Of many small things in a row, no two leaders cross (checked with shapely)."""
    facets = np.zeros((300, 300), dtype=np.intp)
    facets[100:200, 100:200] = 1
    for i in range(12):
        facets[104 + 8 * i : 108 + 8 * i, 110 + (37 * i) % 80 : 116 + (37 * i) % 80] = i + 2
    words = {i + 2: Words(f"thing {i}", 60, 12) for i in range(12)}
    placements = place_names(facets, np.arange(14), 2.0, words, sheet=Box(0, 0, 600, 600), taken=[])
    leaders = [shapely.LineString([p.leader, p.anchor]) for p in placements if p.leader is not None]
    assert len(leaders) == 12
    assert not any(one.crosses(other) for one, other in combinations(leaders, 2))


# Pictures


@needs_display
@pytest.mark.parametrize("size", [(640, 400), (400, 640)])
@pytest.mark.parametrize("name", VIEWS)
def test_a_still_has_its_size_and_shows_the_van(scene: Scene, name: str, size: tuple[int, int]) -> None:
    """Paper in the corners, many tones in the middle, a dark cut, and every name in sight placed."""
    still = render_still(scene, name, size, title="Test")
    picture = Image.open(BytesIO(still.png))
    assert picture.size == size
    pixels = np.asarray(picture.convert("RGB")).astype(int)
    paper = np.array([0xF7, 0xF3, 0xEA])
    assert all(np.abs(pixels[y, x] - paper).max() <= 2 for y in (0, -1) for x in (0, -1))
    subject = np.abs(pixels - paper).max(axis=2) > 20
    assert 0.1 < subject.mean() < 0.9
    assert pixels[subject].std() > 15
    assert_readable(still.placements, size)
    expected = {"bed"} if name == "right side" else {"bed", "galley"}
    assert expected <= {placement.name for placement in still.placements}


@needs_display
def test_a_name_points_at_its_own_thing(scene: Scene) -> None:
    """The pixel beside each anchor has the hue of the finish: what is drawn there is what the name says."""
    still = render_still(Scene(tuple(p for p in scene.pieces if p.kind == "module")), "corner", (800, 500))
    pixels = np.asarray(Image.open(BytesIO(still.png)).convert("RGB")).astype(float)
    finishes = {"galley": "birch", "cupboard": "oak", "bed": "mattress"}
    assert {placement.name for placement in still.placements} == set(finishes)
    for placement in still.placements:
        x, y = (round(v) for v in placement.anchor)
        found = np.median(pixels[y - 14 : y + 15, x - 14 : x + 15].reshape(-1, 3), axis=0)
        tones = {name: np.array([int(FINISHES[f][i : i + 2], 16) for i in (1, 3, 5)]) for name, f in finishes.items()}
        apart = {name: float(np.linalg.norm(found / found.sum() - tone / tone.sum())) for name, tone in tones.items()}
        assert min(apart, key=lambda name: apart[name]) == placement.name


@needs_display
def test_a_note_is_drawn_where_both_its_ends_are_seen(scene: Scene) -> None:
    """The galley's height is seen on the left side, end-on from above, and from the right the galley is cut away."""
    half = WIDTH / 2
    note = ((1000, -half + 550, 900), (1000, -half + 550, 0), "galley 900")
    views = ("above", "left side", "right side")
    shown = {name: render_still(scene, name, (500, 320), notes=[note]).notes for name in views}
    assert shown == {"above": (), "left side": ("galley 900",), "right side": ()}


@needs_display
def test_stills_are_written_one_for_each_view(scene: Scene, tmp_path: Path) -> None:
    """Files are named after their views, and progress says each."""
    said: list[str] = []
    paths = render_stills(scene, tmp_path / "new", ("above", "left side"), (400, 300), progress=said.append)
    assert [path.name for path in paths] == ["above.png", "left-side.png"]
    assert sorted(path.name for path in (tmp_path / "new").iterdir()) == ["above.png", "left-side.png"]
    assert all(Image.open(BytesIO(path.read_bytes())).size == (400, 300) for path in paths)
    assert [path.name in line for path, line in zip(paths, said, strict=True)] == [True, True]


# What is refused


def test_a_machine_that_cannot_draw_is_told_what_to_install(scene: Scene, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a driver the probe crashes in its own process, and one line names the packages."""
    stills._probe.cache_clear()
    monkeypatch.setenv("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")
    monkeypatch.setenv("__EGL_VENDOR_LIBRARY_FILENAMES", "/nonexistent")
    monkeypatch.delenv("DISPLAY", raising=False)
    try:
        with pytest.raises(PictureError, match=r"libegl1.*libgl1.*xvfb"):
            render_still(scene, "above")
    finally:
        stills._probe.cache_clear()


def test_bad_requests_name_the_mend(scene: Scene, tmp_path: Path) -> None:
    """Unknown views, kinds and finishes name the nearest; impossible sizes and empty scenes say so."""
    with pytest.raises(InputError, match="did you mean 'corner'"):
        render_stills(scene, tmp_path, ("cornr",))
    with pytest.raises(InputError, match="pixels a side"):
        render_stills(scene, tmp_path, size=(10, 99999))
    box = Solid.box((0, 0, 0), (1, 1, 1), "box")
    with pytest.raises(InputError, match="did you mean 'module'"):
        Piece("box", "modul", box)  # type: ignore[arg-type]
    with pytest.raises(InputError, match="did you mean 'birch'"):
        Piece("box", "module", box, "birsh")
    with pytest.raises(InputError, match="nothing to draw"):
        Scene((Piece("box", "module", Solid.empty()),))
    assert not list(tmp_path.iterdir())


def test_every_kind_and_finish_has_a_color() -> None:
    """All are ``#rrggbb``, and no two finishes alike."""
    box = Solid.box((0, 0, 0), (1, 1, 1), "box")
    colors = [Piece("box", kind, box).color for kind in KINDS] + [Piece("b", "module", box, f).color for f in FINISHES]
    assert all(len(color) == 7 and int(color[1:], 16) >= 0 for color in colors)
    assert len(set(FINISHES.values())) == len(FINISHES)
