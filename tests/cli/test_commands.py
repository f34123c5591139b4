"""Each command's answers, held against the closed form of a wedge: half-breadth 900 mm at the floor, 700 mm at 2000."""

from __future__ import annotations

import json
import math
import re
import tomllib
from typing import TYPE_CHECKING

import pytest

import tumblehome as th
from tumblehome.cli.options import picture_size
from tumblehome.drawing.scene import VIEWS
from vans import member
from wedge import half_breadth

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from wedge import Answer

    Ask = Callable[..., Answer]
    Van = Callable[..., Path]

LEAN = math.degrees(math.atan(0.1))
RIB = 50.0 * math.hypot(1.0, 0.1)  # a depth square to the wall, taken level


# ---- width ----


@pytest.mark.parametrize("height", [0.0, 500.0, 1000.0, 1999.0])
def test_a_width_at_a_point_is_the_closed_form(van: Van, ask: Ask, height: float) -> None:
    document = json.loads(ask("width", van(), "--height", f"{height}mm", "--station", "2.5 m", "--json").out)
    (place,) = document["widths"]
    assert document["unit"] == "mm"
    assert document["free_run"] is None
    assert place["usable"] == pytest.approx(2 * half_breadth(height), abs=1e-6)
    for side in ("left", "right"):
        assert place[side]["half_breadth"] == pytest.approx(half_breadth(height), abs=1e-6)
        assert place[side]["part"] == f"{side} wall"
        assert place[side]["lean"] == pytest.approx(LEAN, abs=1e-6)


def test_throughout_heights_the_highest_counts_and_the_rib_narrows_the_free_run(van: Van, ask: Ask) -> None:
    document = json.loads(ask("width", van(), "--heights", "200:1200mm", "--json").out)
    assert [place["stations"] for place in document["widths"]] == [[x, x] for x in range(0, 3001, 200)]
    free = [place for place in document["widths"] if place["stations"] != [1000.0, 1000.0]]
    assert [place["usable"] for place in free] == pytest.approx([2 * half_breadth(1200)] * 15, abs=1e-6)
    run = document["free_run"]
    assert run["stations"] == pytest.approx([0.0, 3000.0], abs=1e-6)
    assert run["left"]["part"] == "rib left"
    assert run["left"]["half_breadth"] == pytest.approx(half_breadth(1200) - RIB, abs=1e-6)
    assert run["right"]["half_breadth"] == pytest.approx(half_breadth(1200), abs=1e-6)


def test_up_the_walls_a_width_never_grows(van: Van, ask: Ask) -> None:
    document = json.loads(ask("width", van(), "--station", "2.5 m", "--json").out)
    usable = [place["usable"] for place in document["widths"]]
    assert len(usable) == 11
    assert usable == sorted(usable, reverse=True)


def test_an_interval_and_its_ends_agree_at_a_single_place(van: Van, ask: Ask) -> None:
    one = ask("width", van(), "--height", "1 m", "--station", "2 m", "--json")
    same = ask("width", van(), "--heights", "1:1 m", "--stations", "2:2 m", "--json")
    assert json.loads(one.out) == json.loads(same.out)


def test_units_change_what_is_shown_and_never_what_is_computed(van: Van, ask: Ask) -> None:
    in_mm, in_inches = (
        ("width", van(), "--height", "1 m", "--units", "mm"),
        ("width", van(), "--height", "1 m", "--units", "in"),
    )
    assert ask(*in_mm, "--station", "2 m", "--json") == ask(*in_inches, "--station", "2 m", "--json")
    shown = ask(*in_inches, "--station", "2 m").out.splitlines()[-1]
    lengths = [th.parse_length(text) for text in re.findall(r'[\d /]+"', shown)]
    assert lengths == pytest.approx([2000.0, 1600.0, 800.0, 800.0], abs=25.4 / 32)


@pytest.mark.parametrize(("unit", "sign"), [("in", '"'), ("ft", '"'), ("mm", " mm"), ("cm", " mm"), ("m", " mm")])
def test_the_unit_shown_is_the_one_that_the_file_declares(van: Van, ask: Ask, unit: str, sign: str) -> None:
    last = ask("width", van(unit=unit), "--height", "1 m", "--station", "2 m").out.splitlines()[-1]
    assert last.count(sign) == 4


@pytest.mark.parametrize(
    ("asked", "there"),
    [
        (["--height=-1 in", "--station", "2 m"], "no interior at height -25.4 mm; it has heights 0 to 2000 mm"),
        (["--height", "1 m", "--station=-200mm"], "no interior at station -200 mm; it has stations 0 to 3000 mm"),
        (["--height", "2000.1mm"], "no interior at height 2000.1 mm; it has heights 0 to 2000 mm"),
        (["--station", "3000.1mm"], "it has stations 0 to 3000 mm"),
        (["--heights", "1:3 m"], "no interior at height 1000 to 3000 mm; it has heights 0 to 2000 mm"),
        (["--stations=-1:1 m", "--units", "in"], 'station -39 3/8" to 39 3/8"; it has stations 0" to 118 1/16"'),
    ],
)
def test_a_width_where_there_is_no_interior_is_refused_with_what_there_is(
    van: Van, ask: Ask, asked: list[str], there: str
) -> None:
    """The wedge is 2000 high and 3000 long; 3000 mm are 118.11 in."""
    answer = ask("width", van(), *asked)
    assert (answer.status, answer.out) == (2, "")
    assert there in answer.err


@pytest.mark.parametrize(
    "asked", [("--height", "2 m"), ("--station", "3 m"), ("--height", '78 11/16"'), ("--station", '118 1/16"')]
)
@pytest.mark.parametrize("command", ["width", "section"])
def test_the_last_height_and_station_are_answered(van: Van, ask: Ask, command: str, asked: tuple[str, str]) -> None:
    """Those that a refusal names, too: 2000 mm are 78.74 in."""
    assert ask(command, van(), *asked).status == 0


def test_where_the_centerline_is_not_free_that_is_said_and_no_number(van: Van, ask: Ask) -> None:
    path = van() / "shell.toml"
    block = member(
        "crate", "block", stations=["1.9 m", "2.1 m"], breadths=["-0.1 m", "0.1 m"], heights=["0 m", "0.5 m"]
    )
    path.write_text(f"{path.read_text()}\n{block}\n")
    answer = ask("width", path, "--height", "200mm", "--station", "2 m")
    assert answer.status == 0
    assert "nothing free: crate" in answer.out
    document = json.loads(ask("width", path, "--height", "200mm", "--station", "2 m", "--json").out)
    assert document["widths"][0]["usable"] is None


def test_the_width_chart_is_drawn_where_it_was_asked_for(van: Van, ask: Ask, tmp_path: Path) -> None:
    answer = ask("width", van(), "--chart", tmp_path / "widths.svg")
    assert (answer.status, answer.out) == (0, f"wrote {tmp_path / 'widths.svg'}\n")
    assert (tmp_path / "widths.svg").read_text().rstrip().endswith("</svg>")


# ---- section ----


def test_a_plan_tells_its_area_and_its_free_run(van: Van, ask: Ask) -> None:
    out = ask("section", van(), "--height", "1 m").out
    rib = (100.0 * RIB) / 1e6
    area = float(re.search(r"area ([\d.]+) m²", out)[1])  # type: ignore[index]
    assert area == pytest.approx(1.6 * 3.0 - rib, abs=5e-4)
    assert "in 1 piece" in out
    assert "stations 0 to 3000 mm" in out
    assert "rib left at station" in out


def test_a_cross_section_tells_its_area_and_the_widths_up_the_wall(van: Van, ask: Ask) -> None:
    lines = ask("section", van(), "--station", "2 m").out.splitlines()
    assert lines[1] == "area 3.200 m² in 1 piece"  # of a trapezoid: (1.8 + 1.4) / 2 x 2
    shown = [tuple(map(float, re.findall(r"([\d.]+) mm", line))) for line in lines if "left wall" in line]
    assert shown == [
        (z, 2 * half_breadth(z), half_breadth(z), half_breadth(z)) for z in (0, 400, 800, 1200, 1600, 2000)
    ]


@pytest.mark.parametrize(("suffix", "start"), [("svg", b"<"), ("pdf", b"%PDF-"), ("png", b"\x89PNG"), ("dxf", b"  0")])
def test_a_section_is_drawn_as_its_suffix_says(van: Van, ask: Ask, tmp_path: Path, suffix: str, start: bytes) -> None:
    drawn = tmp_path / f"cut.{suffix}"
    answer = ask("section", van(), "--station", "2 m", "-o", drawn, "--paper", "A4", "--scale", "20")
    assert (answer.status, answer.err, answer.out) == (0, "", f"wrote {drawn}\n")
    assert drawn.read_bytes().startswith(start)


# ---- check ----


def test_the_table_shows_what_the_document_says(van: Van, ask: Ask) -> None:
    folder = van("-801 mm")
    document = json.loads(ask("check", folder, "--json").out)
    answer = ask("check", folder)
    assert answer.status == 1
    for finding in document["findings"]:
        assert re.search(
            rf"{finding['verdict']} +(box +)?{finding['question']} +{re.escape(finding['words'])}", answer.out
        )
    assert "One box: 1 fouls, 0 tight, 0 clear. 1 module, 20 kg, and tanks for 10 L." in answer.out
    assert document["counts"] == {"fouls": 1, "tight": 0, "clear": 0}
    assert document["mass"] == 20.0


def test_the_worst_of_a_module_comes_first(ask: Ask) -> None:
    lines = ask("check", "long-heron").out.splitlines()
    first = [line for line in lines if "upper cabinet left  " in line]
    assert "fouls" in first[0]


def test_a_folder_a_file_and_a_bundled_name_are_found(van: Van, ask: Ask, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = van()
    assert ask("check", folder) == ask("check", folder / "layout.toml")
    monkeypatch.chdir(folder)
    assert ask("check", ".").status == 0
    assert ask("check", "box-otter").status == 0


# ---- modes ----

MODES = """
[[modes]]
name = "day"

[[modes]]
name = "night"

    [[modes.changes]]
    module = "box"
    breadth = "-900 mm"
"""


def test_check_asks_in_every_mode_and_tells_in_which_a_finding_holds(van: Van, ask: Ask) -> None:
    path = van() / "layout.toml"
    path.write_text(path.read_text() + MODES)
    assert ask("check", path, "--mode", "day").status == 0
    assert ask("check", path, "--mode", "night").status == 1
    both = ask("check", path)
    document = json.loads(ask("check", path, "--json").out)
    assert both.status == 1
    assert document["modes"] == ["day", "night"]
    assert {f["question"]: f["modes"] for f in document["findings"] if f["verdict"] == "fouls"} == {"walls": ["night"]}
    assert re.search(r"fouls +box +walls +night +into left wall", both.out)
    assert "in 2 modes" in both.out


@pytest.mark.parametrize("command", ["check", "section", "width", "page", "render"])
def test_a_mode_that_no_file_states_is_refused(van: Van, ask: Ask, tmp_path: Path, command: str) -> None:
    more: dict[str, list[object]] = {
        "section": ["--height", "1 m", "-o", tmp_path / "a.svg"],
        "width": ["--height", "1 m", "--built"],
    }
    out: dict[str, list[object]] = {"page": ["-o", tmp_path / "a.html"], "render": ["-o", tmp_path / "pictures"]}
    path = van() / "layout.toml"
    path.write_text(path.read_text() + MODES)
    refused = ask(command, path, "--mode", "nigth", *more.get(command, []), *out.get(command, []))
    assert refused.status == 2
    assert "no mode 'nigth'; did you mean 'night'?" in refused.err


def test_a_drawing_says_of_which_mode_it_is(van: Van, ask: Ask, tmp_path: Path) -> None:
    path = van() / "layout.toml"
    path.write_text(path.read_text() + MODES)
    out = tmp_path / "plan.svg"
    assert ask("section", path, "--height", "500mm", "--mode", "night", "-o", out).status == 0
    assert "One box, night" in out.read_text()


# ---- new, shells, version ----


def test_new_writes_templates_that_check_out(ask: Ask, tmp_path: Path) -> None:
    begun = ask("new", tmp_path / "my van")
    assert begun.status == 0
    assert f"tumblehome check '{tmp_path / 'my van'}'" in begun.out
    assert sorted(path.name for path in (tmp_path / "my van").iterdir()) == ["layout.toml", "offsets.csv", "shell.toml"]
    assert ask("check", tmp_path / "my van").status == 0


def test_new_overwrites_nothing(ask: Ask, tmp_path: Path) -> None:
    (tmp_path / "layout.toml").write_text("mine")
    refused = ask("new", tmp_path)
    assert refused.status == 2
    assert "layout.toml already there" in refused.err
    assert [path.name for path in tmp_path.iterdir()] == ["layout.toml"]
    assert (tmp_path / "layout.toml").read_text() == "mine"


def test_shells_lists_every_bundled_shell_with_what_its_file_holds(ask: Ask) -> None:
    listed = {row["name"]: row for row in json.loads(ask("shells", "--json").out)}
    table = ask("shells").out.splitlines()
    assert set(listed) == set(th.bundled_shells())
    assert len(listed) >= 3
    assert [line.split()[0] for line in table[1:]] == list(listed)
    for name, path in th.bundled_shells().items():
        written = tomllib.loads(path.read_text(encoding="utf-8"))
        kinds = [member["kind"] for member in written["members"]]
        assert listed[name]["doorways"] == len(written["doorways"])
        assert listed[name]["ribs"] == sum(kind in {"rib", "pillar", "hoop"} for kind in kinds)
        assert listed[name]["bows"] == kinds.count("bow")
        assert listed[name]["height"] < 2500


def test_the_version_is_the_package_s(ask: Ask) -> None:
    assert ask("--version").out == f"tumblehome {th.__version__}\n"


# ---- help and bad input ----


@pytest.mark.parametrize("command", ["new", "shells", "section", "width", "check", "render", "demo"])
def test_help_teaches_with_an_example(ask: Ask, command: str) -> None:
    answer = ask(command, "--help")
    assert answer.status == 0
    assert re.search(rf"^ +tumblehome {command}", answer.out, re.MULTILINE)
    assert answer.out.isascii()


def test_render_helps_with_the_name_of_every_still(ask: Ask) -> None:
    told = " ".join(ask("render", "--help").out.split())
    assert [name for name in VIEWS if name not in told] == []


def test_width_says_what_the_chart_is_of(ask: Ask) -> None:
    told = " ".join(ask("width", "--help").out.split())
    assert "Draw all widths of the shell, with --built of what the layout leaves" in told


def test_without_a_command_the_program_explains_itself(ask: Ask) -> None:
    answer = ask()
    assert answer.status == 0
    assert "tumblehome demo" in answer.out


WRONG = [
    (["section", "VAN", "--height", "48"], "--height: '48' has no unit; write it, as in --height \"48 in\""),
    (["width", "VAN", "--station=-12.5"], "'-12.5' has no unit"),
    (["width", "VAN", "--heights", "30:48"], "'30:48' has no unit; write it, as in --heights \"30:48 in\""),
    (["width", "VAN", "--height", "48 inchs"], "did you mean 'inches'"),
    (["width", "VAN", "--height", "1,219 mm"], "nothing for thousands"),
    (["width", "VAN", "--heights", "48:30 in"], "runs backwards"),
    (["width", "VAN", "--heights", "48 in"], "write two lengths"),
    (["width", "VAN", "--height", ""], "empty"),
    (["width", "VAN", "--height", "1 m", "--heights", "1:2 m"], "--height or --heights, not both"),
    (["width", "VAN"], "give a height, a station or both"),
    (["width", "VAN", "--height", "1 m", "--units", "ft"], "'ft'"),
    (["section", "VAN"], "give a height or a station"),
    (["section", "VAN", "--height", "1 m", "--station", "1 m"], "one of the two"),
    (["section", "VAN", "--height", "3 m"], "heights 0 to 2000 mm"),
    (["section", "VAN", "--station", "-1 m", "--units", "in"], 'stations 0" to 118 1/16"'),
    (["section", "VAN", "--station", "9 m", "-o", "VAN/x.svg"], "3000"),
    (["section", "VAN", "--station", "1 m", "-o", "VAN/x.gif"], ".svg"),
    (["section", "VAN", "--station", "1 m", "-o", "VAN/no/x.svg"], "make the folder first"),
    (["section", "VAN", "--station", "1 m", "-o", "VAN/x.svg", "--paper", "A33"], "did you mean 'A3'"),
    (["section", "VAN", "--station", "1 m", "--scale", "0"], "found '0'; write a whole number from 1 to 999999"),
    (["section", "VAN", "--station", "1 m", "--scale", "10"], "--scale: is for a drawing; name its file with -o"),
    (["section", "VAN", "--station", "1 m", "--paper", "A4"], "--paper: is for a drawing; name its file with -o"),
    (["section", "VAN", "--station", "1 m", "--mode", "night"], "--mode: is for a drawing; name its file with -o"),
    (["section", "VAN/shell.toml", "--station", "1 m", "-o", "VAN/x.svg", "--mode", "night"], "is a shell"),
    (["render", "VAN", "-o", "VAN/x", "--no-stills", "--view", "above"], "--view: names a still; leave this out"),
    (["new", ""], "the name of the folder is empty; write one, as in: tumblehome new my-van"),
    (
        ["section", "VAN", "--station", "1 m", "--scale", "1:20"],
        "--scale: found '1:20'; write a whole number from 1 to 999999, as in --scale 20",
    ),
    (
        ["people", "VAN", "--percentile", "abc"],
        "--percentile: found 'abc'; write a whole number from 0 to 99, as in --percentile 95",
    ),
    (["people", "VAN", "--percentile", "42"], "no percentile 42; allowed: 1, 5, 50, 95, 99"),
    (["check", "VAN/shell.toml"], "is a shell"),
    (["check", "VAN/empty"], "tumblehome new"),
    (["check", "long-hern"], "did you mean 'long-heron'"),
    (["width", "VAN/offsets.csv", "--height", "1 m"], "is a table, and no shell or layout; name the .toml file"),
    (["study", "VAN", "tall", "box"], "a name with a space in it stands in quotes"),
    (["check", "VAN/layuot.toml"], "did you mean 'layout.toml'"),
    (["check", "VAN/broken.toml"], "broken.toml:1:"),
    (["check", "VAN/unknown.toml"], "did you mean 'station'"),
    (["check"], "see: tumblehome check --help"),
    (["render", "VAN", "-o", "VAN/x", "--size", "50x50"], "200 to 8000 pixels"),
    (["check", "VAN", "--jsn"], "--json"),
    (["chekc", "VAN"], "check"),
    (["render", "VAN"], "see: tumblehome render --help"),
    (["render", "VAN", "-o", "VAN/x", "--size", "1600"], "as in 1600x1000"),
    (["render", "VAN", "-o", "VAN/x", "--format", "gif"], "svg"),
    (["render", "VAN", "-o", "VAN/layout.toml"], "choose another name"),
    (["render", "VAN/shell.toml", "-o", "VAN/x"], "is a shell"),
    (["check", "x" * 300], "cannot be read"),
    (["new", "x" * 300], "choose a shorter name"),
    (["new"], "see: tumblehome new --help"),
    (["new", "VAN/shell.toml"], "choose another name"),
]


@pytest.mark.parametrize(("arguments", "mend"), WRONG, ids=[" ".join(arguments) for arguments, _ in WRONG])
def test_bad_input_is_told_in_one_line_that_names_the_mend(van: Van, ask: Ask, arguments: list[str], mend: str) -> None:
    folder = van()
    (folder / "empty").mkdir()
    (folder / "broken.toml").write_text('shell = "shell.toml\n')
    layout = (folder / "layout.toml").read_text()
    (folder / "unknown.toml").write_text(layout.replace("station =", "statoin ="))
    answer = ask(*(argument.replace("VAN", str(folder)) for argument in arguments))
    assert answer.status == 2
    assert answer.out == ""
    assert answer.err.startswith("tumblehome: ")
    assert answer.err.count("\n") == 1
    assert mend in answer.err


@pytest.mark.parametrize("name", ["a\\nb", "a\\u001b[31mb", "a\\u0007b"])
def test_control_characters_of_a_file_never_reach_the_terminal(van: Van, ask: Ask, name: str) -> None:
    folder = van()
    layout = folder / "layout.toml"
    layout.write_text(layout.read_text().replace('shell = "shell.toml"', f'shell = "{name}"'))
    told = ask("check", folder).err
    assert told.count("\n") == 1
    assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f]", told)


@pytest.mark.parametrize(
    ("given", "size"), [("1600x1000", (1600, 1000)), (" 800 x 600 ", (800, 600)), ("800×600", (800, 600))]
)
def test_a_picture_s_size_is_read(given: str, size: tuple[int, int]) -> None:
    assert picture_size(given) == size


def test_a_folder_misspelled_is_known_by_the_name_that_comes_closest(
    van: Van, ask: Ask, monkeypatch: pytest.MonkeyPatch
) -> None:
    here = van()
    folder = here / "mein Kübelwagen"
    folder.mkdir()
    for name in ("shell.toml", "layout.toml"):
        (here / name).rename(folder / name)
    monkeypatch.chdir(here)
    assert "did you mean 'mein Kübelwagen'?" in ask("check", "mein Kubelwagen").err
    assert ask("check", "mein Kübelwagen").status == 0
