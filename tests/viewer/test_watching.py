"""A shell that others change while a plan in it is open: in upright walls a module that is pushed out stands where they are."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest
import trimesh

from desks import desk
from tumblehome.body import bundled_shells
from tumblehome.errors import InputError
from tumblehome.files import read_toml
from tumblehome.viewer.desk import Desk
from tumblehome.viewer.editing import Nudge, SetText
from tumblehome.viewer.keeping import News
from tumblehome.viewer.watching import ShellWatch
from vans import BOX, module, near, plan, van

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tumblehome.files import TomlFile

NARROW = "height, 0, 4000\n0, 750, 750\n1900, 750, 750"
"""Upright walls like BOX, 50 nearer to the middle on each side."""

WIDE = "height, 0, 4000\n0, 900, 900\n1900, 900, 900"

PLAN = plan(module("box", against="left", station=1000))
NEWS = News("the shell has changed on the disk", conflict=False)
HEAD = 'name = "test van"\nunit = "mm"\nmeasured_to = 3\n'
AXES = 'unit = "mm"\nrearward = "+x"\nright = "+y"\nup = "+z"\n'


def _block(path: Path, low: tuple[float, float, float], high: tuple[float, float, float]) -> None:
    """Write a box as a closed mesh."""
    trimesh.creation.box(bounds=(low, high)).export(path)


def _table(half: float) -> str:
    return f"height, 0, 4000\n0, {half:g}, {half:g}\n1900, {half:g}, {half:g}\n"


def _offsets(folder: Path, half: float) -> None:
    (folder / "offsets.csv").write_text(_table(half), encoding="utf-8")


def _left(folder: Path, half: float) -> None:
    (folder / "left.csv").write_text(_table(half), encoding="utf-8")


def _body(folder: Path, half: float) -> None:
    _block(folder / "body.ply", (0, -half, 0), (4000, 900, 1900))


def _beam(folder: Path, half: float) -> None:
    _block(folder / "beam.stl", (500, -900, 0), (2500, -half, 1900))


def _itself(folder: Path, half: float) -> None:
    (folder / "shell.toml").write_text(van(_table(half)), encoding="utf-8")


OTHER_FILES: dict[str, tuple[str, Callable[[Path, float], None]]] = {
    "the shell file": (van(BOX), _itself),
    "a table of offsets": (HEAD + '[offsets]\nhalf_breadths = "offsets.csv"\n', _offsets),
    "a table of one side": (HEAD + f'[offsets]\nleft = "left.csv"\nright = """\n{BOX}\n"""\n', _left),
    "a mesh of the body": (HEAD + f'[mesh]\nfile = "body.ply"\n{AXES}', _body),
    "a mesh of a member": (
        van(WIDE, f'[[members]]\nkind = "mesh"\nname = "beam"\nfile = "beam.stl"\n{AXES}'),
        _beam,
    ),
}  # fmt: skip
"""Shells that are read from several files, and how one of them is written anew for walls or a beam that far out."""


def _breadth(bench: Desk) -> float:
    return float(bench.layouts[0].module("box").bounds[0][1])


def _told(bench: Desk) -> str:
    """Return the fault that the desk tells, empty when there is none."""
    return bench.fault or ""


def _written(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")


@pytest.mark.parametrize("name", OTHER_FILES)
def test_every_file_that_the_shell_is_read_from_is_watched(tmp_path: Path, name: str) -> None:
    text, write = OTHER_FILES[name]
    write(tmp_path, 800)
    bench = desk(tmp_path, PLAN, shell=text)
    assert _breadth(bench) == near(-800)
    assert bench.look() is None
    write(tmp_path, 750)
    assert bench.look() == NEWS
    assert _breadth(bench) == near(-750)
    assert bench.changed == {"box"}
    assert (bench.text, bench.is_saved, bench.can_undo) == (PLAN, True, False)
    assert bench.shell is bench.layouts[0].shell
    assert bench.look() is None


@pytest.mark.parametrize("name", OTHER_FILES)
def test_a_shell_that_becomes_invalid_keeps_the_last_good_one_until_it_is_mended(tmp_path: Path, name: str) -> None:
    text, write = OTHER_FILES[name]
    write(tmp_path, 800)
    bench = desk(tmp_path, PLAN, shell=text)
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}
    write(tmp_path, 750)
    (changed,) = [path for path, data in before.items() if path.read_bytes() != data]
    changed.write_bytes(b"no such thing\n")
    assert bench.look() == NEWS
    assert changed.name in _told(bench)
    assert "\n" not in _told(bench)
    assert _breadth(bench) == near(-800)
    assert bench.look() is None
    with pytest.raises(InputError, match="mend it first"):
        bench.apply(Nudge("box", "x", 1.0))
    changed.unlink()
    assert bench.look() == NEWS
    assert changed.name in _told(bench)
    write(tmp_path, 750)
    assert bench.look() == NEWS
    assert not _told(bench)
    assert _breadth(bench) == near(-750)
    bench.apply(Nudge("box", "x", 1.0))


def test_what_was_undone_stands_in_the_new_shell_too(tmp_path: Path) -> None:
    bench = desk(tmp_path, PLAN, shell=van(BOX))
    bench.apply(Nudge("box", "x", 100.0))
    _written(tmp_path / "shell.toml", van(NARROW))
    assert bench.look() == NEWS
    bench.undo()
    assert (_breadth(bench), bench.is_saved) == (near(-750), True)
    bench.redo()
    assert _breadth(bench) == near(-750)
    assert not bench.is_saved


def test_plan_and_shell_may_change_together(tmp_path: Path) -> None:
    bench = desk(tmp_path, PLAN, shell=van(BOX))
    _written(tmp_path / "shell.toml", van(NARROW))
    _written(bench.path, PLAN.replace("1000", "1500"))
    assert bench.look() == News("taken from the disk", conflict=False)
    assert [float(x) for x in bench.layouts[0].module("box").bounds[0]] == near([1500, -750, 0])
    assert bench.look() is None


def test_a_plan_that_others_changed_is_still_asked_about(tmp_path: Path) -> None:
    bench = desk(tmp_path, PLAN, shell=van(BOX))
    bench.apply(Nudge("box", "x", 100.0))
    _written(bench.path, PLAN.replace("1000", "1500"))
    assert bench.look() == News("the file was changed on the disk where it was changed here", conflict=True)
    _written(tmp_path / "shell.toml", van(NARROW))
    assert bench.look() == News(NEWS.words, conflict=True)
    bench.keep("mine")
    _written(tmp_path / "shell.toml", van(BOX))
    assert bench.look() == NEWS


def test_a_shell_that_a_plan_names_too_early_is_seen_when_it_comes(tmp_path: Path) -> None:
    bench = desk(tmp_path, PLAN, shell=van(BOX))
    bench.apply(SetText(PLAN.replace("shell.toml", "other.toml")))
    assert "other.toml" in _told(bench)
    _written(tmp_path / "other.toml", van(NARROW))
    assert bench.look() == NEWS
    assert (_told(bench), _breadth(bench)) == ("", near(-750))


def test_a_text_at_fault_is_mended_in_the_newest_shell(tmp_path: Path) -> None:
    bench = desk(tmp_path, PLAN, shell=van(BOX))
    bench.apply(SetText(PLAN + "\n["))
    _written(tmp_path / "shell.toml", van(NARROW))
    assert bench.look() == NEWS
    assert "layout.toml" in _told(bench)
    assert _breadth(bench) == near(-800)
    bench.undo()
    assert (_told(bench), _breadth(bench)) == ("", near(-750))


def test_a_bare_shells_table_is_watched_too(tmp_path: Path) -> None:
    text, write = OTHER_FILES["a table of offsets"]
    write(tmp_path, 800)
    _written(tmp_path / "shell.toml", text)
    bench = Desk(tmp_path / "shell.toml")
    write(tmp_path, 750)
    assert bench.look() == NEWS
    assert float(bench.shell.void.bounds[1][1]) == near(750)
    (tmp_path / "offsets.csv").unlink()
    assert bench.look() == NEWS
    assert "offsets.csv" in _told(bench)
    write(tmp_path, 750)
    assert bench.look() == NEWS
    assert not _told(bench)


def test_nothing_is_read_while_nothing_changes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    read: list[Path] = []

    def noted(path: Path, what: str = "TOML file") -> TomlFile:
        read.append(path)
        return read_toml(path, what)

    text, write = OTHER_FILES["a table of offsets"]
    write(tmp_path, 800)
    bench = desk(tmp_path, PLAN, shell=text)
    for asked in ("tumblehome.body.shellfile", "tumblehome.viewer.watching"):
        monkeypatch.setattr(f"{asked}.read_toml", noted)
    for _ in range(5):
        assert bench.look() is None
    assert read == []
    os.utime(tmp_path / "offsets.csv", ns=(1, 1))
    assert bench.look() == NEWS
    assert tmp_path / "shell.toml" in read


def test_all_that_a_name_may_mean_is_watched(tmp_path: Path) -> None:
    """A file beside the plan, a folder there, or a bundled shell: the first that is there is meant."""
    (name, *_) = bundled_shells()
    watch = ShellWatch()
    watch.add_named(name, tmp_path)
    assert not watch.has_changed
    (tmp_path / name).mkdir()
    assert not watch.has_changed
    _written(tmp_path / name / "shell.toml", van(BOX))
    assert watch.has_changed


@pytest.mark.parametrize("name", [None, 7, [], "", "..", "/", "../other.toml", "a\0b", "\ud800", "x" * 9999])
def test_a_name_of_no_file_is_no_trouble(tmp_path: Path, name: object) -> None:
    watch = ShellWatch()
    watch.add_named(name, tmp_path)
    assert not watch.has_changed
