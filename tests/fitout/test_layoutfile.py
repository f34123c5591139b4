"""Layout files: one clear line for every fault in one."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from faults import Edit, edits, in_inches, refused
from tumblehome.body.shellfile import bundled_shells
from tumblehome.checks import check
from tumblehome.errors import InputError, LayoutError, TumblehomeError
from tumblehome.fitout import load_layout
from vans import BOX, member, van

if TYPE_CHECKING:
    from tumblehome.fitout import Layout

SHELL = van(
    BOX,
    member("step", "step", stations=[0, 600], height=120),
    member("rib", "rib", side="left", stations=[1000, 1040], depth=30),
    '[[doorways]]\nname = "side door"\nside = "right"\nstations = [900, 1600]\nheights = [0, 1700]',
)

SOUND = """name = "test plan"
shell = "shell.toml"
unit = "mm"
panel = 15

[[modules]]
name = "refrigerator"
wide = 580
deep = 620
high = 1290
against = "left"
gap = 10
station = 1260
yaw = 5
mass = "45 kg"
holds = "60 L"
finish = "enamel"

    [[modules.zones]]
    name = "door"
    kind = "swing"
    hinge = "left"
    radius = 500

    [[modules.zones]]
    name = "hatch"
    at = "top"
    room = 200

[[modules]]
name = "galley"
kind = "scribed"
wide = 900
deep = 450
high = 910
against = "right"
station = 1700

[[modules]]
name = "tank"
wide = 400
deep = 300
high = 310
in = "galley"
against = "right"
station = 1800

[[modules]]
name = "pot"
wide = 200
deep = 210
high = 220
on = "galley"
station = 1900
breadth = 500

[[modules]]
name = "bench"
outline = [[0, 0], [900, 0], [900, 500], [300, 600]]
high = 400
station = 2800
breadth = -300

[[modules]]
name = "stack"
boxes = [{wide = 300, deep = 320, high = 100}, {wide = 300, deep = 330, high = 50, up = 100}]
hung = 1200
station = 100
breadth = -700
"""

OF = {name: f'[[modules]]\nname = "{name}"' for name in ("refrigerator", "galley", "tank", "pot", "bench", "stack")}


def folder_with(folder: Path, text: str | bytes, name: str = "layout.toml", shell: str = SHELL) -> Path:
    (folder / "shell.toml").write_text(shell, encoding="utf-8")
    path = folder / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def tell(folder: Path, edit: Edit, sound: str = SOUND) -> InputError:
    text, line = edit.of(sound)
    path = folder_with(folder, text)
    return refused(lambda: load_layout(path), path, line, edit.key, *edit.words)


@edits(
    of_a_module=('name = "tank"', 'name = "water\\ntank"', "modules.3.name", ("no line end",)),
    of_a_zone=(
        'name = "tank"\n',
        'name = "tank"\nzones = [{name = "a\\tb", room = 1}]\n',
        "modules.3.zones.1.name",
        ("tab",),
        "zones = [",
    ),
    of_a_mode=(
        "breadth = -700",
        'breadth = -700\n[[modes]]\nname = "a\\nb"',
        "modes.1.name",
        ("no line end",),
        'name = "a\\n',
    ),
    of_the_plan=('name = "test plan"', 'name = "test\\u0085plan"', "name", ("control character",)),
)
def test_a_name_fits_into_one_line(tmp_path: Path, edit: Edit) -> None:
    tell(tmp_path, edit)


def test_the_sound_file_is_sound(tmp_path: Path) -> None:
    layout = load_layout(folder_with(tmp_path, SOUND))
    assert [m.name for m in layout.modules] == list(OF)
    assert load_layout(tmp_path).name == "test plan"


def test_bundled_shells_have_a_demo_layout_of_their_own() -> None:
    bundled = bundled_shells()
    assert bundled
    for name in bundled:
        layout: Layout = load_layout(name)
        assert layout.shell.file == bundled[name]
        assert layout.modules


@edits(
    missing_name=('name = "test plan"\n', "", "name", ("missing",), ""),
    number_for_a_name=('name = "test plan"', "name = 5", "name", ("found 5", "a text in quotes")),
    missing_shell=('shell = "shell.toml"\n', "", "shell", ("missing",), ""),
    number_for_a_shell=('shell = "shell.toml"', "shell = 5", "shell", ("found 5",)),
    unknown_bundled_shell=(
        'shell = "shell.toml"',
        'shell = "box-oter"',
        "shell",
        ("no bundled shell 'box-oter'", "did you mean 'box-otter'?"),
    ),
    shell_without_its_suffix=('shell = "shell.toml"', 'shell = "shell"', "shell", ("did you mean 'shell.toml'?",)),
    shell_outside_the_folder=('shell = "shell.toml"', 'shell = "../shell.toml"', "shell", ("leaves the folder",)),
    shell_at_an_absolute_path=('shell = "shell.toml"', 'shell = "/tmp/shell.toml"', "shell", ("leaves the folder",)),
    misspelled_key=('unit = "mm"', 'units = "mm"', "units", ("unknown key", "did you mean 'unit'?")),
    duplicate_key=('unit = "mm"', 'unit = "mm"\nunit = "in"', "", ("twice",), 'unit = "in"'),
    broken=("panel = 15", "panel = 15 mm", "", ("quotes",)),
    decimal_comma=("panel = 15", "panel = 15,5  # plywood", "", ("write 15.5 with a point",)),
    no_brackets=("panel = 15", "panel = 15, 20", "", ("[15, 20] for two lengths",)),
    curly_quotes=("panel = 15", "panel = “15 mm”", "", ("straight", '"22 1/2 in"')),
    no_digit_before_the_point=("panel = 15", "panel = .5", "", ("0.5",)),
    no_digit_after_the_point=("panel = 15", "panel = 15.", "", ("a digit on either side",)),
    no_shell=('shell = "shell.toml"\n', "", "shell", ("missing",), ""),
    unknown_unit=('unit = "mm"', 'unit = "millimeter"', "unit", ("found 'millimeter'", "mm, cm, m, in, ft")),
    list_for_a_unit=('unit = "mm"', 'unit = ["mm"]', "unit", ("found ['mm']",)),
    zero_panel=("panel = 15", "panel = 0", "panel", ("0",)),
    negative_panel=("panel = 15", "panel = -1", "panel", ("-1",)),
    no_unit_for_the_panel=('unit = "mm"\n', "", "panel", ("unit",), "panel = 15"),
    number_for_a_note=("panel = 15", "panel = 15\nnote = 3", "note", ("found 3", "a text in quotes"), "note = 3"),
)
def test_faults_of_the_head(tmp_path: Path, edit: Edit) -> None:
    tell(tmp_path, edit)


def test_modules_misspelled(tmp_path: Path) -> None:
    head = SOUND[: SOUND.index("[[modules]]")]
    path = folder_with(tmp_path, head + '[[module]]\nname = "m"\n')
    refused(lambda: load_layout(path), path, head.count("\n") + 1, "module", "unknown key", "did you mean 'modules'?")


@edits(
    missing_name=('name = "pot"\n', "", "modules.4.name", ("missing",), "[[modules]]\nwide = 200"),
    empty_name=('name = "pot"', 'name = ""', "modules.4.name", ("found ''", "at least 1 letter")),
    misspelled_key=("gap = 10", "gpa = 10", "modules.1.gpa", ("unknown key", "did you mean 'gap'?")),
    key_of_another_program=(
        "gap = 10",
        "color = 10",
        "modules.1.color",
        ("unknown key", "allowed: name, kind", " in,"),
    ),
    duplicate_key=("gap = 10", "gap = 10\ngap = 11", "", ("twice",), "gap = 11"),
    zero_wide=("wide = 580", "wide = 0", "modules.1.wide", ("0",)),
    negative_deep=("deep = 620", "deep = -620", "modules.1.deep", ("-620",)),
    nan_high=("high = 1290", "high = nan", "modules.1.high", ("nan",)),
    infinite_high=("high = 1290", "high = inf", "modules.1.high", ("inf",)),
    text_for_a_size=("high = 1290", 'high = "tall"', "modules.1.high", ("tall",)),
    true_for_a_size=("high = 1290", "high = true", "modules.1.high", ("found true",)),
    list_for_a_size=("high = 1290", "high = [1290]", "modules.1.high", ("found [1290]",)),
    table_for_a_size=("high = 1290", "high = {mm = 1290}", "modules.1.high", ("found {'mm': 1290}",)),
    two_units_in_one_size=("high = 1290", 'high = "4 ft 290 mm"', "modules.1.high", ("4 ft 290 mm",)),
    mass_for_a_size=("high = 1290", 'high = "12 kg"', "modules.1.high", ("`kg`", "mm, cm, m, in, ft")),
    size_for_a_mass=('mass = "45 kg"', 'mass = "45 mm"', "modules.1.mass", ("`mm`", "kg, g, lb, oz")),
    bare_mass=('mass = "45 kg"', "mass = 45", "modules.1.mass", ("unit",)),
    negative_mass=('mass = "45 kg"', 'mass = "-45 kg"', "modules.1.mass", ("-45",)),
    bare_volume=('holds = "60 L"', "holds = 60", "modules.1.holds", ("unit",)),
    mass_for_a_volume=('holds = "60 L"', 'holds = "60 kg"', "modules.1.holds", ("`kg`", "L, ml, gal")),
    negative_gap=("gap = 10", "gap = -10", "modules.1.gap", ("-10", "negative")),
    text_for_degrees=("yaw = 5", 'yaw = "5 degrees"', "modules.1.yaw", ("degrees as a number",)),
    nan_degrees=("yaw = 5", "yaw = nan", "modules.1.yaw", ("nan", "-360 to 360")),
    too_many_degrees=("yaw = 5", "yaw = 361", "modules.1.yaw", ("found 361",)),
    unknown_side=(
        'against = "left"',
        'against = "port"',
        "modules.1.against",
        ("found 'port'", "left, right, front, rear"),
    ),
    misspelled_side=('against = "left"', 'against = "lefft"', "modules.1.against", ("did you mean 'left'?",)),
    unknown_kind=(
        'kind = "scribed"',
        'kind = "scribe"',
        "modules.2.kind",
        ("rigid, scribed", "did you mean 'scribed'?"),
    ),
    unknown_finish=(
        'finish = "enamel"',
        'finish = "enamle"',
        "modules.1.finish",
        ("found 'enamle'", "did you mean 'enamel'?"),
    ),
    number_for_contents=("yaw = 5", "yaw = 5\ncontents = 7", "modules.1.contents", ("found 7",), "contents = 7"),
    missing_size=("high = 1290\n", "", "modules.1", ("needs high",), OF["refrigerator"]),
    missing_station=("gap = 10\nstation = 1260", "gap = 10", "modules.1", ("'station'",), OF["refrigerator"]),
    missing_breadth=("station = 1900\nbreadth = 500", "station = 1900", "modules.4", ("'breadth'",), OF["pot"]),
    breadth_of_what_is_pushed=(
        "gap = 10",
        "gap = 10\nbreadth = 3",
        "modules.1",
        ("'breadth'", "against the left"),
        OF["refrigerator"],
    ),
    face_of_a_rigid_one=(
        "gap = 10",
        "gap = 10\nface = 300",
        "modules.1",
        ("'face' is for scribed",),
        OF["refrigerator"],
    ),
    two_depths=("deep = 450", "deep = 450\nface = 300", "modules.2", ("one of the two",), OF["galley"]),
    no_depth=("deep = 450\n", "", "modules.2", ("how deep it is",), OF["galley"]),
    scribed_to_the_front=(
        'high = 910\nagainst = "right"',
        'high = 910\nagainst = "front"',
        "modules.2",
        ("left or the right",),
        OF["galley"],
    ),
    scribed_and_turned=("high = 910", "high = 910\nyaw = 3", "modules.2", ("no yaw",), OF["galley"]),
    scribed_inside=("high = 910", 'high = 910\nin = "tank"', "modules.2", ("does not go with in",), OF["galley"]),
    boxes_and_wide=("hung = 1200", "hung = 1200\nwide = 3", "modules.6", ("boxes does not go with wide",), OF["stack"]),
    no_boxes=(
        "boxes = [{wide = 300, deep = 320, high = 100}, {wide = 300, deep = 330, high = 50, up = 100}]",
        "boxes = []",
        "modules.6.boxes",
        ("at least 1",),
    ),
    box_without_a_size=("deep = 320, high = 100}", "high = 100}", "modules.6.boxes.1.deep", ("missing",), "boxes = ["),
    box_misspelled=(
        "deep = 320",
        "depe = 320",
        "modules.6.boxes.1.depe",
        ("unknown key", "did you mean 'deep'?"),
        "boxes = [",
    ),
    box_negative=("deep = 320", "deep = -320", "modules.6.boxes.1.deep", ("-320",), "boxes = ["),
    box_below_the_foot=("up = 100", "up = -100", "modules.6.boxes.2.up", ("-100", "negative"), "boxes = ["),
    boxes_that_are_numbers=(
        "boxes = [{wide = 300, deep = 320, high = 100},",
        "boxes = [7,",
        "modules.6.boxes.1",
        ("found 7", "a table"),
        "boxes = [",
    ),
    outline_of_two=(
        "[[0, 0], [900, 0], [900, 500], [300, 600]]",
        "[[0, 0], [900, 0]]",
        "modules.5.outline",
        ("at least 3",),
        "outline =",
    ),
    outline_point_of_three=("[900, 500]", "[900, 500, 3]", "modules.5.outline.3", ("at most 2",), "outline ="),
    outline_of_words=("[900, 500]", '[900, "wide"]', "modules.5.outline.3.2", ("wide",), "outline ="),
    outline_that_crosses_itself=(
        "[900, 0], [900, 500]",
        "[900, 500], [900, 0]",
        "modules.5.outline",
        ("crosses itself",),
        "outline =",
    ),
    outline_without_area=(
        "[[0, 0], [900, 0], [900, 500], [300, 600]]",
        "[[0, 0], [900, 0], [300, 0]]",
        "modules.5.outline",
        ("no area",),
        "outline =",
    ),
    outline_without_a_height=("high = 400\n", "", "modules.5", ("needs high",), OF["bench"]),
    on_and_hung=('on = "galley"', 'on = "galley"\nhung = 3', "modules.4", ("state one",), OF["pot"]),
    on_and_in=('on = "galley"', 'on = "galley"\nin = "galley"', "modules.4", ("state one",), OF["pot"]),
)
def test_faults_of_modules(tmp_path: Path, edit: Edit) -> None:
    tell(tmp_path, edit)


@edits(
    unknown_kind=(
        'kind = "swing"',
        'kind = "swng"',
        "modules.1.zones.1.kind",
        ("found 'swng'", "swing, box", "did you mean 'swing'?"),
    ),
    list_for_a_kind=('kind = "swing"', 'kind = ["swing"]', "modules.1.zones.1.kind", ("found ['swing']",)),
    missing_hinge=(
        'hinge = "left"\n',
        "",
        "modules.1.zones.1.hinge",
        ("missing",),
        '[[modules.zones]]\n    name = "door"',
    ),
    unknown_hinge=('hinge = "left"', 'hinge = "top"', "modules.1.zones.1.hinge", ("found 'top'", "left, right")),
    zero_radius=("radius = 500", "radius = 0", "modules.1.zones.1.radius", ("0",)),
    too_far=("radius = 500", "angle = 181", "modules.1.zones.1.angle", ("found 181", "above 0 and at most 180")),
    not_at_all=("radius = 500", "angle = 0", "modules.1.zones.1.angle", ("found 0",)),
    further_than_round=("radius = 500", "angle = 400", "modules.1.zones.1.angle", ("above 0 and at most 180",)),
    nan_angle=("radius = 500", "angle = nan", "modules.1.zones.1.angle", ("nan",)),
    unknown_place=(
        'at = "top"',
        'at = "bottom"',
        "modules.1.zones.2.at",
        ("found 'bottom'", "face, back, left, right, top"),
    ),
    missing_room=("room = 200\n", "", "modules.1.zones.2.room", ("missing",), '[[modules.zones]]\n    name = "hatch"'),
    negative_room=("room = 200", "room = -200", "modules.1.zones.2.room", ("-200",)),
    misspelled=("room = 200", "roem = 200", "modules.1.zones.2.roem", ("unknown key", "did you mean 'room'?")),
    missing_name=(
        'name = "hatch"\n',
        "",
        "modules.1.zones.2.name",
        ("missing",),
        '[[modules.zones]]\n        at = "top"',
    ),
    begins_beyond_the_module=("room = 200", "room = 200\n    left = 600", "modules.1", ("wide",), OF["refrigerator"]),
    begins_above_the_module=("radius = 500", "up = 1400", "modules.1", ("high",), OF["refrigerator"]),
)
def test_faults_of_zones(tmp_path: Path, edit: Edit) -> None:
    tell(tmp_path, edit)


@edits(
    two_of_one_name=(
        'name = "pot"',
        'name = "tank"',
        "modules.4.name",
        ("'tank' is taken by module 3",),
        'name = "tank"\nwide = 200',
    ),
    name_of_a_member=('name = "pot"', 'name = "rib"', "modules.4.name", ("'rib' is taken by a part of the shell",)),
    name_of_a_wall=('name = "pot"', 'name = "left wall"', "modules.4.name", ("taken by a part of the shell",)),
    name_of_a_doorway=('name = "pot"', 'name = "side door"', "modules.4.name", ("taken by a part of the shell",)),
    name_of_the_floor=('name = "pot"', 'name = "floor"', "modules.4.name", ("taken by a part of the shell",)),
    on_something_missing=(
        'on = "galley"',
        'on = "gallery"',
        "modules.4.on",
        ("there is no 'gallery'", "did you mean 'galley'?"),
    ),
    in_something_missing=(
        'in = "galley"',
        'in = "gally"',
        "modules.3.in",
        ("there is no 'gally'", "did you mean 'galley'?"),
    ),
    in_the_floor=('in = "galley"', 'in = "floor"', "modules.3.in", ("there is no 'floor'",)),
    in_a_member=('in = "galley"', 'in = "step"', "modules.3.in", ("there is no 'step'",)),
    on_a_wall=('on = "galley"', 'on = "left wall"', "modules.4.on", ("there is no 'left wall'",)),
    on_itself=('on = "galley"', 'on = "pot"', "modules.4", ("itself", "'pot' -> 'pot'"), OF["pot"]),
    in_itself=('in = "galley"', 'in = "tank"', "modules.3", ("itself", "'tank' -> 'tank'"), OF["tank"]),
    in_a_ring=("high = 910", 'high = 910\non = "pot"', "modules.2", ("'galley' -> 'pot' -> 'galley'",), OF["galley"]),
    taller_than_the_van=(
        "high = 1290",
        "high = 1901",
        "modules.1 'refrigerator'",
        ("1901 mm high, larger than the van's", "1900 mm high"),
        OF["refrigerator"],
    ),
    longer_than_the_van=(
        "wide = 580",
        "wide = 4400",
        "modules.1 'refrigerator'",
        ("larger than the van's",),
        OF["refrigerator"],
    ),
    outside_behind=(
        "station = 2800",
        "station = 4800",
        "modules.5 'bench'",
        ("outside the van at stations 4800 to", "0 to 4000"),
        OF["bench"],
    ),
    outside_beside=(
        "breadth = -300",
        "breadth = 900",
        "modules.5 'bench'",
        ("outside the van at breadths 900", "-800 to 800"),
        OF["bench"],
    ),
    outside_above=(
        "hung = 1200",
        "hung = 1900",
        "modules.6 'stack'",
        ("outside the van at heights 1900", "0 to 1900"),
        OF["stack"],
    ),
    pushed_from_outside=(
        "station = 1260",
        "station = 5260",
        "modules.1 'refrigerator'",
        ("outside the van at stations 5260",),
        OF["refrigerator"],
    ),
    gap_wider_than_the_van=(
        "gap = 10",
        "gap = 3000",
        "modules.1 'refrigerator'",
        ("outside the van",),
        OF["refrigerator"],
    ),
    scribed_outside=("station = 1700", "station = 4700", "modules.2 'galley'", ("no right wall",), OF["galley"]),
    scribed_deeper_than_the_van=("deep = 450", "deep = 900", "modules.2 'galley'", ("centerline",), OF["galley"]),
    scribed_face_beyond_the_wall=(
        "deep = 450",
        "face = 900",
        "modules.2 'galley'",
        ("half-breadth 900",),
        OF["galley"],
    ),
    scribed_above_the_roof=(
        "high = 910",
        "high = 910\nhung = 2000",
        "modules.2 'galley'",
        ("no right wall",),
        OF["galley"],
    ),
    in_what_has_no_inside=(
        'in = "galley"',
        'in = "pot"\npanel = 15',
        "modules.3 'tank'",
        ("'pot' has no inside", "thinner than its panels"),
        OF["tank"],
    ),
    in_another_of_the_parent_s_place=(
        'in = "galley"\nagainst = "right"\nstation = 1800',
        'in = "galley"\nagainst = "right"\nstation = 8800',
        "modules.3 'tank'",
        ("outside",),
        OF["tank"],
    ),
)
def test_modules_that_contradict_the_van_or_each_other(tmp_path: Path, edit: Edit) -> None:
    sound = SOUND.replace("high = 220", "high = 20") if "no inside" in edit.words[0] else SOUND
    assert isinstance(tell(tmp_path, edit, sound), LayoutError) or "no right wall" in edit.words


INCHES = in_inches(SOUND)


@edits(
    wide=(
        "wide = 23.2",
        "wide = 176",
        "modules.1",
        ('measures 176" wide, 24 13/16" deep', '160" long, 64" wide and 76" high'),
        OF["refrigerator"],
    ),
    outside=("station = 112", "station = 192.25", "modules.5", ('stations 192 1/4" to ', '0" to 160"'), OF["bench"]),
    face=("deep = 18", "deep = 34.25", "modules.2", ('half-breadth -2 1/4"', 'the centerline and 31 3/8"'), OF["galley"]),
    zone=("radius = 20", "radius = 20\n    up = 52.5", "modules.1", ('begins at 52 1/2" of 51 5/8"',), OF["refrigerator"]),
    opening=(
        "high = 51.6",
        'high = 51.6\nuse = "bath"\nopening = {wide = 24}',
        "modules.1",
        ('is 23 3/16" wide and 51 5/8" high',),
        OF["refrigerator"],
    ),
    too_small=("gap = 0.4", "wide = 1e-9", "modules.1.wide", ('at least 0.00003937"',)),
)  # fmt: skip
def test_a_plan_in_inches_is_refused_in_inches(tmp_path: Path, edit: Edit) -> None:
    sound = INCHES.replace("wide = 23.2\n", "") if edit.old == "gap = 0.4" else INCHES
    text, line = edit.of(sound)
    path = folder_with(tmp_path, text, shell=in_inches(SHELL))
    fault = refused(lambda: load_layout(path), path, line, edit.key, *edit.words)
    assert " mm" not in str(fault)


def test_each_file_is_refused_in_its_own_unit(tmp_path: Path) -> None:
    """An inch shell under a plan in millimeters, and the other way round."""
    shell = SHELL.replace('unit = "mm"', 'unit = "in"').replace("1900, 800, 800", "-19, 800, 800")
    shell = shell.replace("measured_to = 3\n", "measured_to = 0.12\n")
    with pytest.raises(InputError, match='height -19" follows 0"'):
        load_layout(folder_with(tmp_path, SOUND, shell=shell))
    plan = SOUND.replace('unit = "mm"', 'unit = "in"')
    with pytest.raises(LayoutError, match=r'stations 1260" to .*0" to 157 1/2"'):
        load_layout(folder_with(tmp_path, plan))


def test_missing_shell_file(tmp_path: Path) -> None:
    path = folder_with(tmp_path, SOUND)
    (tmp_path / "shell.toml").unlink()
    refused(lambda: load_layout(path), tmp_path / "shell.toml", None, "shell", "no such shell file")


@edits(fault_of_the_shell=("measured_to = 3", "measured_to = 0", "measured_to", ("0",)))
def test_a_fault_of_the_shell_is_told_by_its_own_file_and_line(tmp_path: Path, edit: Edit) -> None:
    text, line = edit.of(SHELL)
    path = folder_with(tmp_path, SOUND, shell=text)
    refused(lambda: load_layout(path), tmp_path / "shell.toml", line, edit.key, *edit.words)


def test_a_fault_of_a_mesh_is_told_by_its_own_name_through_the_layout(tmp_path: Path) -> None:
    mesh = 'name = "v"\nmeasured_to = "3 mm"\n[mesh]\nfile = "b.stl"\nunit = "mm"\nrearward = "+x"\nright = "+y"\nup = "+z"\n'
    path = folder_with(tmp_path, SOUND, shell=mesh)
    refused(lambda: load_layout(path), tmp_path / "b.stl", None, "mesh", "does not exist")


@pytest.mark.parametrize(
    ("data", "line", "word"),
    [
        (b"", None, "is empty"),
        (b"\x89PNG\r\n\x1a\n\0\0", None, "is not text"),
        (SOUND.replace("test plan", "caf\u00e9").encode("latin-1"), 1, "0xe9 is not UTF-8"),
        (SOUND.encode("utf-16"), None, "is not text"),
    ],
)
def test_layouts_that_are_no_text(tmp_path: Path, data: bytes, line: int | None, word: str) -> None:
    path = folder_with(tmp_path, data)
    refused(lambda: load_layout(path), path, line, "", word)


def test_a_missing_layout_names_the_nearest(tmp_path: Path) -> None:
    folder_with(tmp_path, SOUND, "layout.toml")
    path = tmp_path / "layuot.toml"
    refused(lambda: load_layout(path), path, None, "", "no such layout file", "did you mean 'layout.toml'?")


def test_a_layout_of_100_megabytes_is_refused_unread(tmp_path: Path) -> None:
    """A sparse file takes no room on the disk; nothing so large is a layout."""
    path = folder_with(tmp_path, "")
    with path.open("r+b") as file:
        file.truncate(100_000_000)
    refused(lambda: load_layout(path), path, None, "", "larger than 20,000,000 bytes")


def test_the_module_asked_for_by_a_wrong_name(tmp_path: Path) -> None:
    layout = load_layout(folder_with(tmp_path, SOUND))
    with pytest.raises(
        LayoutError,
        match=r"no module 'galey'; did you mean 'galley'\?; there are: refrigerator, galley, tank",
    ):
        layout.module("galey")


WORDS = [
    "nan",
    "-1",
    "0",
    "true",
    "[]",
    "[1, 2]",
    '"x"',
    '""',
    "{}",
    "[[1]]",
    "1e300",
    "-inf",
    '"5 mm"',
    "5",
    "1979-05-27",
    "[{}]",
    "9" * 30,
    "700",
    '"tank"',
    '"floor"',
    '"right"',
    "1e-9",
]


@settings(max_examples=200)
@given(st.data())
def test_any_value_for_any_key_is_read_or_refused_in_one_line(data: st.DataObject) -> None:
    """No value of any type, however wrong, is told by another error or in more than one line; what is read can be checked."""
    lines = SOUND.splitlines()
    keyed = [i for i, line in enumerate(lines) if " = " in line]
    for at in data.draw(st.lists(st.sampled_from(keyed), min_size=1, max_size=2, unique=True)):
        lines[at] = lines[at].split(" = ")[0] + " = " + data.draw(st.sampled_from(WORDS))
    with tempfile.TemporaryDirectory() as folder:
        path = folder_with(Path(folder), "\n".join(lines))
        try:
            check(load_layout(path))
        except TumblehomeError as fault:
            assert len(str(fault).splitlines()) == 1  # noqa: PT017  (any other error fails the test by itself)
            assert "layout.toml" in str(fault)  # noqa: PT017
