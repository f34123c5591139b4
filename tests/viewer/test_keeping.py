"""Work that outlives the program: closed, stopped, and killed while it saves."""

from __future__ import annotations

import json
import os
import random
import re
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desks import PLAN, desk, places
from tumblehome.body import bundled_shells
from tumblehome.errors import InputError
from tumblehome.viewer.desk import Desk
from tumblehome.viewer.editing import Nudge
from tumblehome.viewer.keeping import Conflict, DiskFile, Recovery, Work, is_bundled
from vans import BOX, module, plan, van
from wedge import environment


@pytest.fixture(autouse=True)
def state(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give the user another folder for state."""
    folder = tmp_path_factory.mktemp("state")
    for name in ("XDG_STATE_HOME", "LOCALAPPDATA", "HOME"):
        monkeypatch.setenv(name, str(folder))
    return folder


def unsaved(folder: Path) -> list[str]:
    """Return the names of the files of unsaved work."""
    return sorted(path.name for path in kept(folder))


def kept(folder: Path) -> list[Path]:
    """Return the files of unsaved work in a folder, without the locks by which they are held."""
    return [path for path in folder.rglob("*unsaved*") if path.suffix != ".held"]


def test_unsaved_work_lies_beside_the_layout_until_it_is_saved(tmp_path: Path) -> None:
    bench = desk(tmp_path)
    assert unsaved(tmp_path) == []
    bench.apply(Nudge("box", "x", 25.4))
    assert unsaved(tmp_path) == [".layout.toml.unsaved"]
    bench.save()
    assert unsaved(tmp_path) == []
    bench.undo()
    assert unsaved(tmp_path) == [".layout.toml.unsaved"]
    bench.redo()
    assert unsaved(tmp_path) == []


def test_it_is_offered_at_the_next_start_and_never_loaded_unasked(tmp_path: Path) -> None:
    first = desk(tmp_path)
    first.apply(Nudge("box", "x", 25.4))
    first.apply(Nudge("galley", "x", 25.4))
    first.leave()
    second = Desk(first.path)
    assert (second.has_recovery, second.text, second.is_saved) == (True, PLAN, True)
    second.recover()
    assert (second.has_recovery, second.text, second.is_saved) == (False, first.text, False)
    assert second.undo_words == "recover unsaved work"
    assert len(unsaved(tmp_path)) == 1
    second.undo()
    assert second.text == PLAN
    second.redo()
    second.save()
    assert unsaved(tmp_path) == []
    assert not Desk(first.path).has_recovery


def test_it_may_be_asked_for_at_the_start_or_discarded(tmp_path: Path) -> None:
    first = desk(tmp_path)
    first.apply(Nudge("box", "x", 25.4))
    first.leave()
    again = Desk(first.path, recover=True)
    assert again.text == first.text
    again.leave()
    second = Desk(first.path)
    second.discard_recovery()
    assert not second.has_recovery
    assert unsaved(tmp_path) == []
    with pytest.raises(InputError, match="no unsaved work"):
        second.recover()
    assert Desk(first.path, recover=True).text == PLAN


def test_new_work_never_takes_the_place_of_what_is_still_offered(tmp_path: Path) -> None:
    first = desk(tmp_path)
    first.apply(Nudge("box", "x", 25.4))
    first.leave()
    second = Desk(first.path)
    second.apply(Nudge("galley", "x", 25.4))
    assert unsaved(tmp_path) == [".layout.toml.unsaved", ".layout.toml.unsaved-2"]
    second.save()
    assert unsaved(tmp_path) == [".layout.toml.unsaved"]
    second.leave()
    third = Desk(first.path)
    assert third.has_recovery
    third.recover()  # the file was saved meanwhile with the other one's work: the two are joined
    assert {"station = 31", "station = 76"} <= set(third.text.splitlines())


def test_the_work_of_a_program_that_still_runs_is_not_offered_nor_thrown_away(tmp_path: Path) -> None:
    first = desk(tmp_path)
    first.apply(Nudge("box", "x", 25.4))
    second = Desk(first.path, recover=True)
    assert (second.has_recovery, second.text) == (False, PLAN)
    second.discard_recovery()
    second.apply(Nudge("galley", "x", 25.4))
    assert unsaved(tmp_path) == [".layout.toml.unsaved", ".layout.toml.unsaved-2"]
    second.undo()
    first.leave()
    assert Desk(first.path, recover=True).text == first.text


def test_only_one_program_is_offered_the_same_work(tmp_path: Path) -> None:
    first = desk(tmp_path)
    first.apply(Nudge("box", "x", 25.4))
    first.leave()
    second, third = Desk(first.path), Desk(first.path)
    assert (second.has_recovery, third.has_recovery) == (True, False)
    second.leave()
    assert Desk(first.path).has_recovery


def test_what_is_saved_or_thrown_away_leaves_nothing_beside_the_layout(tmp_path: Path) -> None:
    first = desk(tmp_path)
    for end in (first.save, first.leave):
        first.apply(Nudge("box", "x", 25.4))
        end()
    Desk(first.path).discard_recovery()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["layout.toml", "shell.toml"]


def test_of_several_the_newest_is_offered_first_and_all_are_joined(tmp_path: Path) -> None:
    names = ["box", "galley", "bench"]
    benches = [desk(tmp_path)]
    benches += [Desk(benches[0].path) for _ in names[1:]]
    for i, (bench, name) in enumerate(zip(benches, names, strict=True), 1):
        bench.apply(Nudge(name, "x", 25.4))
        os.utime(next(tmp_path.glob(f".layout.toml.unsaved{f'-{i}' if i > 1 else ''}")), ns=(i * 10**9, i * 10**9))
    for bench in benches:
        bench.leave()
    (tmp_path / ".layout.toml.unsaved").unlink()  # the first one was saved or given up
    last = Desk(benches[0].path)
    assert last.recovery_time == 3
    last.recover()
    assert last.text == benches[2].text
    assert (last.has_recovery, last.recovery_time, last.recovery_replaces) == (True, 2, False)
    assert len(unsaved(tmp_path)) == 2
    last.recover()
    assert not last.has_recovery
    assert len(unsaved(tmp_path)) == 1
    for bench, name in zip(benches[1:], names[1:], strict=True):
        assert places(last)["day", name] == places(bench)["day", name]
    last.leave()
    assert Desk(last.path, recover=True).text == last.text


def test_of_two_that_contradict_each_other_the_older_takes_the_place_of_the_newer_and_says_so(tmp_path: Path) -> None:
    first = desk(tmp_path)
    second = Desk(first.path)
    first.apply(Nudge("box", "x", 25.4))
    second.apply(Nudge("box", "x", 50.8))
    first.leave()
    second.leave()
    last = Desk(first.path, recover=True)
    newer = last.text
    assert last.recovery_replaces
    last.recover()
    assert {newer, last.text} == {first.text, second.text}
    last.undo()
    assert last.text == newer


def test_what_the_layout_was_changed_to_meanwhile_is_joined_or_asked_about(tmp_path: Path) -> None:
    first = desk(tmp_path)
    first.apply(Nudge("galley", "x", 25.4))
    first.leave()
    first.path.write_text(PLAN.replace("face = 12", "face = 13"), encoding="utf-8")
    second = Desk(first.path, recover=True)
    assert second.look() is None
    assert {"face = 13", "station = 31"} <= set(second.text.splitlines())
    second.leave()
    first.path.write_text(PLAN.replace("station = 30", "station = 29"), encoding="utf-8")
    third = Desk(first.path, recover=True)
    news = third.look()
    assert news is not None
    assert news.conflict


def test_where_the_folder_cannot_be_written_it_lies_in_the_users_state_folder(tmp_path: Path, state: Path) -> None:
    """The superuser may write everywhere, so the name is taken by a folder instead."""
    bench = desk(tmp_path)
    blocked = tmp_path / ".layout.toml.unsaved.part"
    blocked.mkdir()
    bench.apply(Nudge("box", "x", 25.4))
    assert unsaved(state)[0].startswith("layout.toml-")
    bench.leave()
    again = Desk(bench.path)
    assert again.has_recovery
    again.recover()
    assert again.text == bench.text
    again.save()
    assert unsaved(state) == []


def test_unsaved_work_on_a_bundled_plan_lies_in_the_users_state_folder(state: Path) -> None:
    (bundled, *_) = bundled_shells().values()
    layout = bundled.with_name("layout.toml")
    beside = sorted(layout.parent.iterdir())
    keep_and_leave(layout, Work("mine", "began"))
    assert sorted(layout.parent.iterdir()) == beside
    (name,) = unsaved(state)
    assert re.fullmatch(r"layout\.toml-[0-9a-f]{16}\.unsaved", name)
    again = Recovery(layout)
    assert again.take() == Work("mine", "began")
    again.clear()
    assert unsaved(state) == []


def keep_and_leave(layout: Path, work: Work) -> None:
    """Keep unsaved work as a program does that then ends."""
    recovery = Recovery(layout)
    recovery.keep(work)
    recovery.leave()


@pytest.mark.skipif(sys.platform != "linux", reason="links need no permission there")
def test_a_bundled_plan_is_known_by_any_name(tmp_path: Path, state: Path) -> None:
    for name, file in bundled_shells().items():
        link = tmp_path / name
        link.symlink_to(file.parent, target_is_directory=True)
        assert is_bundled(link / "layout.toml")
        assert not is_bundled(tmp_path / "layout.toml")
        assert not is_bundled(file.parent / "own" / "layout.toml")
        keep_and_leave(link / "layout.toml", Work(name, ""))
        assert Recovery(file.with_name("layout.toml")).offered == Work(name, "")
    assert len(unsaved(state)) == len(bundled_shells()) > 1


@pytest.mark.parametrize(
    ("platform", "named", "below"),
    [
        ("linux", {}, ".local/state"),
        ("linux", {"XDG_STATE_HOME": "relative"}, ".local/state"),
        ("linux", {"XDG_STATE_HOME": "{home}/state"}, "state"),
        ("darwin", {"XDG_STATE_HOME": "{home}/state"}, "Library/Application Support"),
        ("win32", {"LOCALAPPDATA": "{home}/own"}, "own"),
        ("win32", {}, "AppData/Local"),
    ],
)
def test_the_users_state_folder_is_where_each_system_has_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, platform: str, named: dict[str, str], below: str
) -> None:
    """XDG Base Directory Specification 0.8, by which a relative path is ignored; elsewhere the systems' own conventions."""
    for name in ("XDG_STATE_HOME", "LOCALAPPDATA"):
        monkeypatch.delenv(name)
    for name, value in {"HOME": "{home}", **named}.items():
        monkeypatch.setenv(name, value.format(home=tmp_path))
    (bundled, *_) = bundled_shells().values()
    monkeypatch.setattr(sys, "platform", platform)
    keep_and_leave(bundled.with_name("layout.toml"), Work("mine", "began"))
    (file,) = kept(tmp_path)
    assert file.parent == tmp_path / below / "tumblehome"


def test_where_nothing_can_be_written_the_plan_can_still_be_changed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise OSError(30, "Read-only file system")

    monkeypatch.setattr(Path, "write_bytes", refuse)
    monkeypatch.setattr(Path, "mkdir", refuse)
    bench = desk_without_writing(tmp_path)
    bench.apply(Nudge("box", "x", 25.4))
    assert unsaved(tmp_path) == []
    assert not bench.is_saved


def desk_without_writing(folder: Path) -> Desk:
    (folder / "shell.toml").write_text(van(BOX), encoding="utf-8")
    (folder / "layout.toml").write_text(plan(module("box", station=1000, breadth=0)), encoding="utf-8")
    return Desk(folder / "layout.toml")


@given(
    st.binary(max_size=40)
    | st.sampled_from([b"{}", b"[]", b'{"text": 1, "began": 2, "sum": 3}', b'{"text": "x", "began": "y", "sum": "z"}'])
)
def test_a_torn_or_foreign_file_is_not_offered(data: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        layout = Path(folder, "layout.toml")
        Path(folder, ".layout.toml.unsaved").write_bytes(data)
        assert Recovery(layout).offered is None


@given(st.text(), st.text())
def test_work_comes_back_as_it_was(text: str, began: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        layout = Path(folder, "layout.toml")
        keep_and_leave(layout, Work(text, began))
        offered = Recovery(layout)
        assert offered.offered == Work(text, began)
        assert offered.take() == Work(text, began)


def test_a_file_that_changed_between_the_look_and_the_writing_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text("a = 1\n", encoding="utf-8")
    file = DiskFile(path, "file")
    path.write_text("a = 2\n", encoding="utf-8")
    with pytest.raises(Conflict, match="on the disk meanwhile"):
        file.save("a = 3\n")
    assert path.read_bytes() == b"a = 2\n"
    assert [each.name for each in tmp_path.iterdir()] == ["a.toml"]


# ---- killed ----

WORKER = """
import os, sys
from pathlib import Path
from tumblehome.viewer.desk import Desk
from tumblehome.viewer.editing import Nudge

def work(folder, told):
    bench = Desk(Path(folder, "layout.toml"), clock=iter(range(0, 10**9, 9)).__next__)
    for n in range(1, 10**6):
        bench.apply(Nudge("box", "x", 1.0))
        os.write(told, f"made {n}\\n".encode())
        bench.save()
        os.write(told, f"saved {n}\\n".encode())

for line in sys.stdin:  # one folder a line: a child works in it until it is killed
    folder = line.strip()
    child = os.fork()
    if child == 0:
        work(folder, os.open(os.path.join(folder, "told"), os.O_WRONLY | os.O_CREAT | os.O_APPEND))
    print(child, flush=True)
    os.waitpid(child, 0)
    print("ended", flush=True)
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that forks")
def test_killed_while_saving_fifty_times_nothing_is_lost(tmp_path: Path) -> None:
    """Whenever it is killed, the file is a whole one, and with the unsaved work beside it holds the last change that was made."""
    chance = random.Random(1)
    seen = set()
    command = [sys.executable, "-W", "ignore::DeprecationWarning", "-c", WORKER]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=environment()
    ) as nursery:
        assert nursery.stdin
        assert nursery.stdout
        for i in range(50):
            folder = tmp_path / str(i)
            folder.mkdir()
            (folder / "shell.toml").write_text(van(BOX), encoding="utf-8")
            (folder / "layout.toml").write_text(plan(module("box", station=1000, breadth=0)), encoding="utf-8")
            nursery.stdin.write(f"{folder}\n")
            nursery.stdin.flush()
            child = int(nursery.stdout.readline())
            told = folder / "told"
            ends = time.monotonic() + 30
            while not (told.exists() and "made 2" in told.read_text(encoding="utf-8")):
                assert time.monotonic() < ends, "the worker does not begin"
                time.sleep(0.001)
            time.sleep(chance.random() * 0.03)
            os.kill(child, signal.SIGKILL)
            assert nursery.stdout.readline() == "ended\n"
            seen.add(_check_nothing_is_lost(folder))
    assert len(seen) > 1, "it was always killed in the same state"


def _check_nothing_is_lost(folder: Path) -> str:
    lines = re.findall(r"(made|saved) (\d+)\n", (folder / "told").read_text(encoding="utf-8"))
    made = max(int(n) for what, n in lines if what == "made")
    saved = max((int(n) for what, n in lines if what == "saved"), default=0)
    on_disk = Desk(folder / "layout.toml")
    assert _count(on_disk) in range(saved, made + 2)
    has_recovery = on_disk.has_recovery
    on_disk.leave()
    taken = Desk(folder / "layout.toml", recover=True)
    assert _count(taken) in {made, made + 1}
    assert taken.fault is None
    return f"recovery {has_recovery}, {lines[-1][0]}"


def _count(bench: Desk) -> int:
    """Return how many nudges a plan holds."""
    return round(float(bench.layouts[0].module("box").bounds[0][0])) - 1000


def test_the_file_of_unsaved_work_holds_the_text_and_what_it_began_from(tmp_path: Path) -> None:
    bench = desk(tmp_path)
    bench.apply(Nudge("box", "x", 25.4))
    held = json.loads((tmp_path / ".layout.toml.unsaved").read_bytes())
    assert (held["text"], held["began"]) == (bench.text, PLAN)
