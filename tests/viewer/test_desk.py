"""The plan on the workbench: steps back, texts at fault, the file that others change too."""

from __future__ import annotations

import os
import tempfile
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from desks import PLAN, VAN, comments, desk, places
from tumblehome.checks import check_modes
from tumblehome.errors import InputError
from tumblehome.fitout import load_modes
from tumblehome.viewer.desk import Desk
from tumblehome.viewer.editing import Move, Nudge, Push, Retype, SetText
from tumblehome.viewer.keeping import Conflict, News
from vans import BOX, module, near, plan, shell, van

if TYPE_CHECKING:
    from collections.abc import Callable


class Clock:
    """A clock that is set by hand."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def bench(tmp_path: Path) -> Desk:
    return desk(tmp_path)


def told(bench: Desk) -> str:
    """Return the fault that the desk tells, empty when there is none."""
    return bench.fault or ""


def elsewhere(bench: Desk, change: Callable[[str], str]) -> None:
    """Change the file as another program would."""
    bench.path.write_bytes(change(bench.path.read_bytes().decode()).encode())


# ---- what it means ----


def test_layouts_and_findings_are_those_of_the_library(bench: Desk) -> None:
    bench.apply(Nudge("box", "x", 100.0))
    bench.save()
    layouts = load_modes(bench.path)
    assert [layout.mode for layout in bench.layouts] == ["day", "night"]
    assert bench.findings == check_modes(layouts)
    assert len(bench.findings) > 10
    assert places(bench) == {
        (layout.mode, each.name): [float(x) for corner in each.bounds for x in corner]
        for layout in layouts
        for each in layout.modules
    }


def test_what_changed_is_told_by_name(bench: Desk) -> None:
    bench.apply(Nudge("bench", "x", 5.0))
    assert bench.changed == {"bench", "cushion", "lamp"}
    bench.apply(Retype("bench", "mass", "3 kg"))
    assert bench.changed == set()
    bench.apply(Retype("box", "name", "crate"))
    assert bench.changed == {"box", "crate"}
    bench.undo()
    assert bench.changed == {"box", "crate"}
    assert bench.revision == 4


def test_a_bare_shell_is_looked_at_and_not_changed(tmp_path: Path) -> None:
    Path(tmp_path, "shell.toml").write_text(VAN, encoding="utf-8")
    bench = Desk(tmp_path / "shell.toml")
    assert (bench.is_layout, bench.layouts, bench.findings, bench.is_saved) == (False, (), [], True)
    assert bench.shell.name == shell(VAN).name
    refused: list[Callable[[], object]] = [
        partial(bench.apply, SetText("")),
        bench.save,
        bench.recover,
        partial(bench.keep, "mine"),
    ]
    for each in refused:
        with pytest.raises(InputError, match="bare shell"):
            each()
    assert bench.look() is None
    elsewhere(bench, lambda text: text.replace("2000, 700, 700", "2000, 650, 650"))
    assert bench.look() == News("taken from the disk", conflict=False)
    assert float(bench.shell.lined.half_breadth("left", (0, 1), (1999.9, 2000))) == pytest.approx(650, abs=0.1)
    elsewhere(bench, lambda text: text.replace("[offsets]", "[offset]"))
    assert bench.look()
    assert bench.fault
    assert bench.shell.heights[1] == near(2000)


def test_a_file_that_is_no_layout_is_refused_at_the_start(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such"):
        Desk(tmp_path / "layout.toml")
    with pytest.raises(InputError, match=r"layout\.toml:7: .*unknown key"):
        desk(tmp_path, PLAN.replace('name = "bench"', 'nam = "bench"').replace("# ---- left ----\n\n", ""))


# ---- steps back ----


def test_nudges_that_follow_within_a_second_are_one_step(tmp_path: Path) -> None:
    clock = Clock()
    bench = desk(tmp_path, clock=clock)
    for now, name in ((0, "box"), (0.9, "box"), (1.8, "box"), (3.0, "box"), (3.5, "table"), (3.6, "box")):
        clock.now = now
        bench.apply(Nudge(name, "x", 1.0))
    counted = 0
    while bench.can_undo:
        assert bench.undo_words in {"move box", "move table"}
        bench.undo()
        counted += 1
    assert counted == 4
    assert bench.text == PLAN
    bench.redo()
    assert places(bench)["day", "box"][0] == near(75 * 25.4 + 3)


def test_nudges_to_and_fro_leave_no_step(tmp_path: Path) -> None:
    bench = desk(tmp_path, clock=Clock())
    bench.apply(Nudge("box", "x", 25.4))
    bench.apply(Nudge("box", "x", -25.4))
    assert (bench.text, bench.can_undo, bench.undo_words, bench.is_saved) == (PLAN, False, "", True)
    bench.undo()
    bench.redo()
    assert bench.text == PLAN


def test_steps_back_are_without_limit(tmp_path: Path) -> None:
    bench = desk(tmp_path, plan(module("box", station=1000, breadth=0)), shell=van(BOX))
    start = bench.text
    for i in range(300):
        bench.apply(Move("box", x=1000.0 + i % 7, y=float(i % 11)))
    steps = 0
    while bench.can_undo:
        bench.undo()
        steps += 1
    assert (bench.text, steps) == (start, 299)  # the first one moves it nowhere


def test_a_new_edit_ends_what_could_be_done_again(bench: Desk) -> None:
    bench.apply(Nudge("box", "x", 1.0))
    bench.undo()
    bench.apply(Nudge("box", "y", 1.0))
    assert not bench.can_redo


# ---- texts at fault ----


def test_a_text_at_fault_keeps_the_last_good_layouts_and_says_the_line(bench: Desk) -> None:
    layouts, findings = bench.layouts, bench.findings
    bench.apply(SetText(PLAN.replace("deep = 16\n", "deep = 16 mm\n")))
    assert bench.fault
    assert "layout.toml:11: " in bench.fault
    assert "\n" not in bench.fault
    assert (bench.layouts, bench.findings) == (layouts, findings)
    with pytest.raises(InputError, match="mend it first"):
        bench.apply(Nudge("box", "x", 1.0))
    bench.apply(SetText(PLAN.replace('on = "bench"', 'on = "bemch"')))
    assert bench.fault is not None
    assert "layout.toml:24: modules.2.on: there is no 'bemch'; did you mean 'bench'?" in bench.fault
    bench.undo()
    bench.undo()
    assert bench.text == PLAN
    assert not told(bench)


def test_half_a_character_is_refused(bench: Desk) -> None:
    with pytest.raises(InputError, match="half a character"):
        bench.apply(SetText("\ud800"))
    assert not bench.can_undo


@cache
def shared() -> Desk:
    return desk(Path(tempfile.mkdtemp()))


pieces = st.sampled_from(
    [
        "[[modules]]\n", 'name = "x"\n', '"', "'", "}", "[", "=", "\\", "\r", "\0", "\u2028", "9" * 20, "nan", "-inf", "-",
        "[modes]\n", "1979-05-27", "{", "#",
        "wide = 1e300\n", 'on = "table"\n', "boxes = []\n", "outline = [[0, 0], [1, 1], [2, 2]]\n", "station = 0\n",
    ]
)  # fmt: skip


@given(st.one_of(st.text(max_size=60), st.lists(pieces, max_size=12).map("".join)))
@example("")
@example("shell = 1")
@example("x = " + "[" * 5000)
def test_any_text_may_be_set(text: str) -> None:
    _try(text)


@given(
    st.lists(
        st.tuples(st.integers(0, len(PLAN)), st.integers(0, 30), st.one_of(pieces, st.text(max_size=5))),
        min_size=1,
        max_size=3,
    )
)
@settings(max_examples=150)
def test_any_change_of_a_plan_may_be_set(cuts: list[tuple[int, int, str]]) -> None:
    text = PLAN
    for at, size, new in cuts:
        text = text[:at] + new + text[at + size :]
    _try(text)


@given(
    st.lists(st.tuples(st.sampled_from(PLAN.splitlines()), st.sampled_from(PLAN.splitlines())), min_size=1, max_size=4)
)
@settings(max_examples=100)
def test_any_lines_may_be_exchanged(pairs: list[tuple[str, str]]) -> None:
    lines = PLAN.splitlines()
    for one, other in pairs:
        lines = [other if line == one else line for line in lines]
    _try("\n".join(lines))


def _try(text: str) -> None:
    bench = shared()
    layouts = bench.layouts
    try:
        bench.apply(SetText(text))
    except InputError:
        assert bench.text == PLAN
    else:
        assert bench.text == text
        assert (bench.fault is None) or bench.layouts is layouts
    while bench.can_undo:
        bench.undo()
    assert bench.text == PLAN
    assert not told(bench)


# ---- the file ----


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"], ids=["plain", "marked"])
@pytest.mark.parametrize("line", ["\n", "\r\n"], ids=["lf", "crlf"])
def test_a_saved_file_differs_where_it_was_changed_and_undone_is_the_same_to_the_byte(
    tmp_path: Path, mark: bytes, line: str
) -> None:
    start = mark + PLAN.replace("\n", line).encode()
    Path(tmp_path, "shell.toml").write_text(VAN, encoding="utf-8")
    file = tmp_path / "layout.toml"
    file.write_bytes(start)
    file.chmod(0o640)
    bench = Desk(file)
    bench.apply(Nudge("galley", "y", -12.7))
    assert not bench.is_saved
    bench.save()
    assert Desk(file).text == bench.text
    assert file.read_bytes() == start.replace(b"face = 12", b'face = "11 1/2"')
    assert file.stat().st_mode & 0o777 == 0o640
    bench.undo()
    bench.save()
    assert file.read_bytes() == start


def test_a_change_elsewhere_is_taken_and_can_be_undone(bench: Desk) -> None:
    elsewhere(bench, lambda text: text.replace("face = 12", "face = 13"))
    assert bench.look() == News("taken from the disk", conflict=False)
    assert bench.look() is None
    assert bench.changed == {"galley", "tank"}
    assert (bench.is_saved, bench.can_undo) == (True, True)
    bench.undo()
    assert (bench.text, bench.is_saved) == (PLAN, False)
    bench.save()
    assert bench.path.read_bytes() == PLAN.encode()


def test_a_change_elsewhere_that_cannot_be_read_is_not_called_taken(bench: Desk) -> None:
    elsewhere(bench, lambda text: text.replace("face = 12", 'face = "12'))
    assert bench.look() == News("the file was changed on the disk", conflict=False)
    assert bench.fault
    assert bench.layouts


def test_changes_of_different_lines_are_joined(bench: Desk) -> None:
    bench.apply(Nudge("galley", "x", 25.4))
    elsewhere(bench, lambda text: text.replace("face = 12", "face = 13").replace("# looks back", "# looks to the rear"))
    bench.save()
    found = bench.path.read_text(encoding="utf-8")
    assert found == bench.text
    assert {"face = 13", "station = 31", "station = 46.5"} <= set(found.splitlines())
    assert comments(found) == comments(PLAN.replace("# looks back", "# looks to the rear"))


def test_changes_of_the_same_are_asked_about_and_nothing_is_written(bench: Desk) -> None:
    bench.apply(Nudge("galley", "x", 25.4))
    elsewhere(bench, lambda text: text.replace("station = 30", "station = 29"))
    on_disk, mine = bench.path.read_bytes(), bench.text
    news = bench.look()
    assert news is not None
    assert news.conflict
    assert bench.look() is None
    for _ in range(2):
        with pytest.raises(Conflict, match="which of the two"):
            bench.save()
    assert (bench.path.read_bytes(), bench.text) == (on_disk, mine)
    bench.keep("mine")
    bench.save()
    assert bench.path.read_bytes() == mine.encode()


def test_the_disks_may_be_kept_and_mine_comes_back_by_undo(bench: Desk) -> None:
    bench.apply(Nudge("galley", "x", 25.4))
    mine = bench.text
    elsewhere(bench, lambda text: text.replace("station = 30", "station = 29"))
    bench.look()
    bench.keep("disk")
    assert bench.is_saved
    assert bench.text == PLAN.replace("station = 30", "station = 29")
    bench.undo()
    assert bench.text == mine


def test_changes_that_contradict_each_other_in_different_lines_are_asked_about(bench: Desk) -> None:
    bench.apply(Push("table", "right"))  # it says no breadth any more
    elsewhere(
        bench,
        lambda text: text.replace("station = 100\n", "station = 100\nagainst = 'left'\n").replace(
            "breadth = -13\n", ""
        ),
    )
    news = bench.look()
    assert news is not None
    assert news.conflict


def test_a_change_of_names_here_and_a_use_of_the_old_name_there_is_asked_about(bench: Desk) -> None:
    bench.apply(Retype("box", "name", "crate"))
    elsewhere(bench, lambda text: text.replace('faces = "rear"          # looks back', 'on = "box"\nfaces = "rear"'))
    news = bench.look()
    assert news is not None
    assert news.conflict
    assert bench.fault is None


def test_a_conflict_that_goes_away_is_told(bench: Desk) -> None:
    bench.apply(Nudge("galley", "x", 25.4))
    elsewhere(bench, lambda text: text.replace("station = 30", "station = 29"))
    bench.look()
    elsewhere(bench, lambda _: PLAN)
    assert bench.look() == News("the file is again as it was", conflict=False)
    bench.save()
    assert bench.is_saved


def test_a_file_that_becomes_no_layout_keeps_the_last_good_one(bench: Desk) -> None:
    layouts = bench.layouts
    elsewhere(bench, lambda text: text.replace("face = 12", "fase = 12"))
    assert bench.look()
    assert bench.fault is not None
    assert "fase" in bench.fault
    assert bench.layouts == layouts
    elsewhere(bench, lambda _: PLAN.replace("face = 12", "face = 13"))
    assert bench.look()
    assert bench.fault is None


@pytest.mark.parametrize("data", [b"", b"\xff\xfe", b"a\0b"], ids=["empty", "no text", "zeros"])
def test_a_file_that_cannot_be_read_is_never_overwritten_unasked(bench: Desk, data: bytes) -> None:
    bench.apply(Nudge("galley", "x", 25.4))
    bench.path.write_bytes(data)
    news = bench.look()
    assert news is not None
    assert news.conflict
    with pytest.raises(Conflict):
        bench.save()
    with pytest.raises(InputError):
        bench.keep("disk")
    assert bench.path.read_bytes() == data
    bench.keep("mine")
    bench.save()
    assert bench.path.read_bytes() == bench.text.encode()


def test_a_file_that_is_gone_is_written_anew(bench: Desk) -> None:
    bench.path.unlink()
    news = bench.look()
    assert news is not None
    assert "gone" in news.words
    assert not bench.is_saved
    assert bench.look() is None
    bench.save()
    assert bench.path.read_bytes() == PLAN.encode()


def test_a_file_that_comes_back_as_it_was_is_no_conflict(bench: Desk) -> None:
    bench.path.unlink()
    assert bench.look()
    bench.path.write_bytes(PLAN.encode())
    assert bench.look() == News("the disk holds what is here", conflict=False)
    assert bench.is_saved
    assert bench.look() is None


def test_a_folder_that_cannot_be_written_is_told_and_loses_nothing(
    bench: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    bench.apply(Nudge("galley", "x", 25.4))
    with monkeypatch.context() as patched:
        patched.setattr(os, "replace", refuse)
        with pytest.raises(InputError, match="permission"):
            bench.save()
    assert not bench.is_saved
    assert bench.path.read_bytes() == PLAN.encode()
    bench.save()
    assert bench.is_saved


@given(st.lists(st.sampled_from(["mine", "theirs", "look", "save", "undo"]), max_size=12))
@settings(max_examples=60)
def test_whatever_happens_to_the_file_nobodys_last_word_is_overwritten_silently(happened: list[str]) -> None:
    """Mine are nudges of the box along x; theirs are other faces of the galley: they never touch the same line."""
    with tempfile.TemporaryDirectory() as folder:
        modules = (
            module("box", station=1000, breadth=0),
            module("galley", 900, None, 800, kind="scribed", face=300, against="left", station=2000),
        )
        bench = desk(Path(folder), plan(*modules), shell=van(BOX))
        theirs = 0
        for what in happened:
            match what:
                case "mine":
                    bench.apply(Nudge("box", "x", 1.0))
                case "theirs":
                    theirs += 1
                    elsewhere(bench, partial(_with_face, face=300 + theirs))
                case "look":
                    bench.look()
                case "save":
                    _save(bench)
                    if theirs and "undo" not in happened:
                        assert f"face = {300 + theirs}" in bench.path.read_text(encoding="utf-8")
                case "undo":
                    bench.undo()
        _save(bench)
        assert bench.path.read_bytes() == bench.text.encode()


def _save(bench: Desk) -> None:
    """Save; where theirs was undone and they changed it again, it is asked about, and mine is to hold."""
    on_disk = bench.path.read_bytes()
    try:
        bench.save()
    except Conflict:
        assert bench.path.read_bytes() == on_disk
        assert bench.can_redo or bench.can_undo
        bench.keep("mine")
        bench.save()


def _with_face(text: str, face: int) -> str:
    return "\n".join(f"face = {face}" if line.startswith("face") else line for line in text.split("\n"))
