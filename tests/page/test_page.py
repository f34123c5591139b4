"""The client's page as a text: it holds what the library says, needs nothing else, and no name can break it."""

from __future__ import annotations

import base64
import hashlib
import re
import subprocess
import sys
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapely

import tumblehome as th
from page.conftest import Parsed, wedge_in
from tumblehome.cli.main import main
from tumblehome.drawing import palette
from tumblehome.drawing.palette import contrast
from tumblehome.drawing.scene import Piece, Scene
from tumblehome.page import build_page
from tumblehome.page.flat import steps_through
from tumblehome.page.meshes import feature_edges, round_scene
from tumblehome.page.wording import NOTHING
from tumblehome.solids import Solid
from tumblehome.studies import sentences, study
from wedge import LAYOUT, SHELL, environment, half_breadth

if TYPE_CHECKING:
    from pathlib import Path

_HOSTILE = """</script><script>alert(1)</script> <!-- & "q" 'q' <img src=x onerror=alert(1)>"""


def unpacked(text: str, kind: str) -> Any:
    return np.frombuffer(base64.b64decode(text), dtype=f"<{kind}")


def table(data: Any, space: str, key: str) -> Any:
    values = unpacked(data["widths"][space][key], "u2")
    return values.reshape(len(data["heights"]["at"]), len(data["stations"]["at"]))


# ---- what it needs ----


def test_the_demo_is_small_enough_for_a_letter(demo_page: str) -> None:
    """At most 3 MB was promised; half of that is aimed at."""
    assert 100_000 < len(demo_page.encode()) < 1_500_000


def test_the_same_layout_gives_the_same_bytes_in_any_process(wedge_page: str, tmp_path: Path) -> None:
    wedge_in(tmp_path)
    out = tmp_path / "made" / "plan.html"
    command = [sys.executable, "-m", "tumblehome", "page", str(tmp_path), "-o", str(out)]
    subprocess.run(command, env=environment(PYTHONHASHSEED="1"), check=True, capture_output=True, timeout=60)
    assert out.read_bytes() == wedge_page.encode()


def test_it_names_nothing_outside_itself(demo_page: str) -> None:
    """No address but the name of the SVG language, and no attribute that fetches."""
    assert set(re.findall(r"\w+://[^\s\"'`]*", demo_page)) == {"http://www.w3.org/2000/svg"}
    fetching = {"src", "srcset", "href", "action", "poster", "data", "background"}
    values = [v for _, attrs in Parsed(demo_page).tags for key, v in attrs.items() if key in fetching]
    assert values
    assert all(value is not None and value.startswith(("#", "data:,")) for value in values)


def test_only_its_own_script_and_style_may_run(wedge_page: str) -> None:
    """The policy's hashes are those of the Content Security Policy standard: base64 of the text's SHA-256."""
    page = Parsed(wedge_page)
    for directive, body in (("script-src", page.script), ("style-src", page.style)):
        digest = base64.b64encode(hashlib.sha256(body.encode()).digest()).decode()
        assert f"{directive} 'sha256-{digest}';" in page.policy
    assert "default-src 'none'" in page.policy
    assert "unsafe" not in page.policy
    assert not [attrs for _, attrs in page.tags if any(key == "style" or key.startswith("on") for key in attrs)]


def test_importing_it_loads_no_renderer() -> None:
    unwanted = {"vtk", "vtkmodules", "pyvista", "matplotlib"}
    code = f"import sys, tumblehome.cli.page, tumblehome.page; print({unwanted} & {{*sys.modules}})"
    said = subprocess.run([sys.executable, "-c", code], env=environment(), check=True, capture_output=True, text=True)
    assert said.stdout.strip() == "set()"


# ---- names that would break it ----


def test_no_name_gets_out_of_its_text(wedge_page: str, tmp_path: Path) -> None:
    bad = _HOSTILE.replace('"', '\\"')

    def change(text: str) -> str:
        for name in ('"Wedge"', '"One box"', '"box"', '"rib left"', '"side door"'):
            text = text.replace(name, f'"{bad}{name[1:-1]}"')
        return text.replace('shell = "', f'note = "{bad}"\nshell = "')

    layout = wedge_in(tmp_path, change)
    plain = Parsed(wedge_page)
    page = Parsed(build_page(layout, th.check(layout)))
    assert [tag for tag, _ in page.tags] == [tag for tag, _ in plain.tags]
    assert page.script == plain.script
    assert page.title == f"{_HOSTILE}One box"
    data = page.data
    assert data["note"] == _HOSTILE
    assert data["van"] == f"{_HOSTILE}Wedge"
    assert data["modules"][0]["name"] == f"{_HOSTILE}box"
    assert f"{_HOSTILE}rib left" in data["widths"]["names"]
    assert not re.search("[<>&]", page.bodies[2])


# ---- what it says ----


def test_widths_are_those_of_the_closed_form(wedge_page: str) -> None:
    """The wedge is 900 mm half-broad at the floor and 700 at 2000: everywhere but at its rib."""
    data = Parsed(wedge_page).data
    stations = np.array(data["stations"]["at"])
    away = (stations < 999) | (stations > 1101)
    assert away.sum() > 40
    usable = table(data, "bare", "usable")
    for row, height in enumerate(data["heights"]["at"]):
        wanted = [f"{th.format_length(2 * half_breadth(height), unit)}" for unit in ("mm", "in")]
        assert {*usable[row, away]} == {usable[row, 0]}
        assert data["pool"][usable[row, 0]] == [f"{wanted[0]} mm", wanted[1]]


def test_every_number_is_the_librarys(demo: th.Layout, demo_page: str) -> None:
    """What a script is told at a crossing stands in the page, word by word, in both units."""
    data = Parsed(demo_page).data
    heights, stations, names = data["heights"]["at"], data["stations"]["at"], data["widths"]["names"]
    free = 0
    for h, s in [(h, s) for h in range(1, len(heights), 5) for s in range(2, len(stations), 7)]:
        for key, space in (("bare", demo.shell), ("fitted", demo)):
            found = th.width(space, height=heights[h], station=stations[s])
            shown = {k: table(data, key, k)[h, s] for k in ("usable", "left", "right", "why_left", "why_right")}
            if found.left is None or found.right is None or found.usable is None:
                assert shown["usable"] == NOTHING
                assert names[shown["why_left"]] == found.blocked_by
                continue
            free += 1
            for part, mm in (
                ("usable", found.usable),
                ("left", found.left.half_breadth),
                ("right", found.right.half_breadth),
            ):
                assert data["pool"][shown[part]] == [f"{th.format_length(mm, 'mm')} mm", th.format_length(mm, "in")]
            assert [names[shown[why]] for why in ("why_left", "why_right")] == [found.left.part, found.right.part]
    assert free > 80


def test_findings_and_studies_are_told_in_the_librarys_words(demo: th.Layout, demo_page: str) -> None:
    told = {module["name"]: module for module in Parsed(demo_page).data["modules"]}
    findings = th.check(demo)
    assert [*told] == [module.name for module in demo.modules]
    assert sum(len(module["findings"]) for module in told.values()) == len(findings)
    for finding in findings:
        row = [finding.verdict, finding.question, [finding.words("mm"), finding.words("in")]]
        assert row in told[finding.subject]["findings"]
    wanted = [sentences(study(demo, "refrigerator"), unit) for unit in ("mm", "in")]
    assert told["refrigerator"]["told"] == [list(pair) for pair in zip(*wanted, strict=True)]
    assert told["refrigerator"]["told"][0][0].startswith("Window recess 1 left gives 81")


def test_steps_are_whole_multiples_within_the_van(wedge: th.Layout) -> None:
    for step in (50.0, 50.8):
        steps = steps_through(wedge.shell, step)
        assert len(steps.heights) == len(np.arange(step, 2000 - 1e-9, step))
        assert len(steps.stations) == len(np.arange(step, 3000 - 1e-9, step))
        assert np.allclose(np.array(steps.heights) / step, np.arange(1, len(steps.heights) + 1))


# ---- drawings ----


def outlines(path: str) -> Any:
    """Return the region of path data as a shapely one, by the even-odd rule."""
    region = shapely.Polygon()
    for ring in re.findall(r"M([^Mz]*)z", path):
        start, steps = ring.split("l")
        first = np.array(re.findall(r"-?\d+", start), dtype=float)
        rest = np.array(re.findall(r"-?\d+", steps), dtype=float).reshape(-1, 2)
        points = np.concatenate([[first], first + np.cumsum(rest, axis=0)])
        region = region.symmetric_difference(shapely.make_valid(shapely.Polygon(points)))
    return region


def test_drawings_show_the_cut_to_within_their_simplification(demo: th.Layout, demo_page: str) -> None:
    """A line within 0.8 mm, in whole millimeters, may be off by 0.8 + sqrt(1/2) mm along its length."""
    data = Parsed(demo_page).data
    for key, axis, name in (("plans", "heights", "height"), ("sections", "stations", "station")):
        drawings, values = data["flat"][key], data[axis]["at"]
        assert len(drawings) == len(values)
        for at in range(0, len(values), 9):
            air = next(path for kind, _, path in drawings[at]["a"] if kind == "air")
            cut = th.section(demo.shell, **{name: values[at]}, side="above").polygons
            length = sum(polygon.length for polygon in cut)
            assert outlines(air).area == pytest.approx(sum(polygon.area for polygon in cut), abs=1.51 * length)


def test_left_is_left_and_up_is_up(wedge_page: str) -> None:
    """The box stands left: below the middle of a plan, whose right side is on top, and at the left of a section."""
    data = Parsed(wedge_page).data
    at = {axis: data[axis]["at"] for axis in ("heights", "stations")}
    plan = data["flat"]["plans"][at["heights"].index(500.0)]
    section = data["flat"]["sections"][at["stations"].index(2200.0)]
    seen = [outlines(next(path for kind, _, path in drawing["a"] if kind == "module")) for drawing in (plan, section)]
    assert seen[0].bounds == (2000, 100, 2400, 700)
    assert seen[1].bounds == (-700, -1000, -100, 0)


# ---- the round ----


def volume(corners: Any, faces: Any) -> float:
    """Volume by the divergence theorem."""
    a, b, c = (corners[faces[:, i]].astype(float) for i in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)


def area(corners: Any, faces: Any) -> float:
    a, b, c = (corners[faces[:, i]].astype(float) for i in range(3))
    return float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2)


def test_every_mesh_is_closed_and_nothing_is_lost(demo: th.Layout, demo_page: str) -> None:
    """A closed mesh runs along each edge as often one way as the other; all parts together fill what the scene fills."""
    told = Parsed(demo_page).data["round"]
    filled, doubt = 0.0, 0.0
    for mesh in told["meshes"]:
        corners = unpacked(mesh["corners"], "i2").reshape(-1, 3) * told["grain"]
        faces = np.concatenate([unpacked(seam[1], "u4") for seam in mesh["seams"]]).reshape(-1, 3)
        edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
        way = np.where(edges[:, 0] < edges[:, 1], 1, -1)
        _, which = np.unique(np.sort(edges, axis=1), axis=0, return_inverse=True)
        assert (np.bincount(which.ravel(), weights=way) == 0).all(), mesh["kind"]
        if mesh["kind"] != "person":
            filled += volume(corners, faces)
            doubt += area(corners, faces) * told["grain"]
    scene = th.scene_of(demo)
    wanted = sum(piece.solid.volume for piece in scene.pieces if piece.kind != "person")
    assert len(told["meshes"]) > len(scene.pieces)
    assert doubt < 0.01 * wanted
    assert filled == pytest.approx(wanted, abs=doubt)


def test_edges_are_drawn_where_faces_turn() -> None:
    """A box has twelve; a prism over a regular 32-gon turns by 11.25 degrees along its sides, so that only its rims count."""
    corners, faces = Solid.box((0, 0, 0), (1000, 500, 200), "box").mesh()
    assert len(feature_edges(corners, faces)) == 12
    angle = np.arange(32) * 2 * np.pi / 32
    ring = 500 * np.column_stack([np.cos(angle), np.sin(angle)])
    assert len(feature_edges(*Solid.prism(ring, 0, 100, "drum").mesh())) == 64


def test_roof_and_walls_come_apart() -> None:
    """A hollow box falls into roof, curb, two sides and four end corners, each with its share of the volume."""
    hollow = Solid.box((0, -500, 0), (2000, 500, 1000), "body") - Solid.box((100, -400, 100), (1900, 400, 900), "room")
    told: Any = round_scene(Scene((Piece("walls", "shell", hollow),)), [])
    shares = {}
    for mesh in told["meshes"]:
        corners = unpacked(mesh["corners"], "i2").reshape(-1, 3) * told["grain"]
        faces = np.concatenate([unpacked(seam[1], "u4") for seam in mesh["seams"]]).reshape(-1, 3)
        shares[mesh["region"]] = volume(corners, faces)
        assert {seam[0] for seam in mesh["seams"]} <= {"", "roof", "curb", *shares, *_REGIONS}
    assert shares.keys() == _REGIONS
    assert shares["roof"] == pytest.approx(2000 * 1000 * 100, rel=1e-3)
    assert shares["left"] == pytest.approx(shares["right"], rel=1e-3)
    assert shares["front-left"] == pytest.approx(40 * 500 * 900, rel=1e-3)
    assert sum(shares.values()) == pytest.approx(hollow.volume, rel=1e-3)


_REGIONS = {"roof", "curb", "left", "right", "front-left", "front-right", "rear-left", "rear-right"}


# ---- the look ----


def test_contrast_is_enough_to_read() -> None:
    """WCAG 2.2, success criteria 1.4.3 (text, 4.5 : 1) and 1.4.11 (edges of controls, 3 : 1)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)  # the well-known gray just below the limit
    words = [palette.INK, palette.QUIET, *(look.color for look in palette.VERDICTS.values())]
    for ground in (palette.PAPER, palette.AIR, palette.MODULE):
        assert min(contrast(color, ground) for color in words) >= 4.5
        assert min(contrast(color, ground) for color in ("#857D6C", palette.ACCENT)) >= 3


# ---- the command ----


@pytest.mark.parametrize(("breadth", "status"), [("-700 mm", 0), ("-850 mm", 1)])
def test_the_exit_status_says_whether_it_fouls(tmp_path: Path, breadth: str, status: int) -> None:
    """The box is 1000 mm high, and there the wall stands at 800."""
    (tmp_path / "shell.toml").write_text(SHELL.format(unit="mm"))
    (tmp_path / "layout.toml").write_text(LAYOUT.format(breadth=breadth, unit="mm"))
    assert main(["page", str(tmp_path), "-o", str(tmp_path / "plan.html"), "--units", "in"]) == status
    data = Parsed((tmp_path / "plan.html").read_text(encoding="utf-8")).data
    assert data["units"] == "in"
    assert data["stations"]["at"][0] == 50.8
    assert (data["modules"][0]["verdict"] == "fouls") == bool(status)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["layout.toml", "plan.html", "shell.toml"]


def test_a_page_that_cannot_be_written_is_one_clear_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    wedge_in(tmp_path)
    assert main(["page", str(tmp_path), "-o", str(tmp_path / "shell.toml" / "plan.html")]) == 2
    said = capsys.readouterr()
    assert not said.out
    assert len(said.err.splitlines()) == 1
    assert "a file " in said.err
