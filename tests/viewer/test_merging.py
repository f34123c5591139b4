"""Two changes of one text joined: laws, and what `git merge-file` makes of the same where it finds no conflict."""

from __future__ import annotations

import shutil
import subprocess
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tumblehome.viewer.merging import merged

if TYPE_CHECKING:
    from pathlib import Path

texts = st.lists(st.sampled_from(["a", "b", "c", "", "d"]), max_size=9).map(
    lambda lines: "".join(f"{x}\n" for x in lines)
)
near = st.tuples(texts, st.sampled_from(["", "tail", "tail\n"])).map("".join)


@given(near, near)
def test_one_change_alone_is_taken_whole(began: str, changed: str) -> None:
    assert merged(began, changed, began) == changed
    assert merged(began, began, changed) == changed
    assert merged(began, changed, changed) == changed


@given(near, near, near)
def test_it_does_not_matter_whose_is_whose(began: str, mine: str, theirs: str) -> None:
    assert merged(began, mine, theirs) == merged(began, theirs, mine)


@given(st.lists(st.integers(0, 30), min_size=2, max_size=12, unique=True), st.data())
def test_changes_of_different_lines_are_both_there(lines: list[int], data: st.DataObject) -> None:
    """Neighboring lines count as different ones."""
    split = data.draw(st.integers(1, len(lines) - 1))
    began = [f"line {i}\n" for i in range(31)]
    mine, theirs, both = list(began), list(began), list(began)
    for i in lines[:split]:
        mine[i] = both[i] = f"mine {i}\n"
    for i in lines[split:]:
        theirs[i] = both[i] = f"theirs {i}\n"
    assert merged("".join(began), "".join(mine), "".join(theirs)) == "".join(both)


@pytest.mark.parametrize(
    ("began", "mine", "theirs"),
    [
        ("a\n", "b\n", "c\n"),  # the same line
        ("a\nb\n", "a\nx\nb\n", "a\ny\nb\n"),  # added in the same place
        ("a\nb\nc\n", "a\nc\n", "a\nB\nc\n"),  # removed and changed
        ("a\nb\nc\n", "", "a\nb\nx\nc\n"),
    ],
)
def test_what_touches_the_same_is_not_joined(began: str, mine: str, theirs: str) -> None:
    assert merged(began, mine, theirs) is None


def _changed(changes: dict[int, str]) -> str:
    """Return numbered lines, some of them removed, put otherwise, or with one more before them."""
    ways = {"gone": "", "other": "other {0}\n", "more": "more {0}\nline {0}\n", "": "line {0}\n"}
    return "".join(ways[changes.get(i, "")].format(i) for i in range(16))


@pytest.mark.skipif(shutil.which("git") is None, reason="needs git as the reference")
def test_git_finds_the_same_where_it_finds_no_conflict(tmp_path: Path) -> None:
    """Git finds more conflicts: it does not join changes of neighboring lines."""
    agreed: list[str] = []
    some = st.dictionaries(st.integers(0, 15), st.sampled_from(["gone", "other", "more"]), min_size=1, max_size=3)

    @given(some, some)
    @settings(max_examples=60)
    def compare(mine: dict[int, str], theirs: dict[int, str]) -> None:
        texts = {"mine": _changed(mine), "began": _changed({}), "theirs": _changed(theirs)}
        for name, text in texts.items():
            (tmp_path / name).write_text(text, encoding="utf-8")
        command = ["git", "merge-file", "-p", *texts]
        found = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
        if found.returncode == 0:
            agreed.append(found.stdout)
            assert merged(texts["began"], texts["mine"], texts["theirs"]) == found.stdout

    compare()
    assert len(set(agreed)) > 20
