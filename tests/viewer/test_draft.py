"""Changes of a TOML text, against what `tomllib` of the standard library reads before and after."""

from __future__ import annotations

import tomllib
from copy import deepcopy
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desks import PLAN, comments
from tumblehome.viewer.draft import Draft, quoted

TRICKY = '''
title = "a # that is no comment"  # but this is one
[a."b c".d]
'e' = """three
quotes # no comment
""" # after three quotes
f.g = {h = [1, {i = "}"}], "j k" = ']'}   # dotted
list = [
  1, # one
  "two", # two
  [3, 3.5],
]
[[t]]
n = 0
  [[t.u]]
  m = 1
  [t.v]
  w = 1979-05-27T07:32:00Z
[[t]]
n = 2
[last]
end = true'''


REMARKS = ("# but this is one", "# after three quotes", "# dotted", "# one", "# two")


def _keeps_remarks(text: str, changed: str) -> bool:
    return all(remark in changed for remark in REMARKS) if text == TRICKY else comments(text) == comments(changed)


def _paths(data: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Return the paths of all values that are neither tables nor lists."""
    if isinstance(data, dict):
        return [found for key, value in data.items() for found in _paths(value, (*path, key))]
    if isinstance(data, list):
        return [found for i, value in enumerate(data) for found in _paths(value, (*path, i))]
    return [path]


def _at(data: Any, path: tuple[Any, ...]) -> Any:
    for step in path:
        data = data[step]
    return data


@pytest.mark.parametrize("text", [PLAN, TRICKY, PLAN.replace("\n", "\r\n")], ids=["plan", "tricky", "crlf"])
def test_every_value_is_found_and_can_be_written_alone(text: str) -> None:
    data = tomllib.loads(text)
    paths = _paths(data)
    assert len(paths) > 12
    for path in paths:
        draft = Draft(text)
        literal = draft.literal(path)
        assert literal is not None
        assert tomllib.loads(f"x = {literal}")["x"] == _at(data, path)
        draft.write(path, '"new"')
        wanted = deepcopy(data)
        _at(wanted, path[:-1])[path[-1]] = "new"
        assert tomllib.loads(draft.result) == wanted
        assert _keeps_remarks(text, draft.result)


@pytest.mark.parametrize("text", [PLAN, TRICKY, PLAN.replace("\n", "\r\n")], ids=["plan", "tricky", "crlf"])
def test_every_key_can_be_renamed_dropped_and_followed_by_another(text: str) -> None:
    data = tomllib.loads(text)
    paths = [path for path in _paths(data) if isinstance(path[-1], str) and path[-2:] != ("f", "g")]
    assert len(paths) > 8
    for path in paths:
        table = path[:-1]
        renamed, dropped, grown = (Draft(text) for _ in range(3))
        renamed.rename(path, "novel", "7")
        dropped.drop(path)
        grown.add(table, "novel", "7", path[-1])
        wanted = [deepcopy(data) for _ in range(3)]
        for each in wanted[:2]:
            del _at(each, table)[path[-1]]
        for each in (wanted[0], wanted[2]):
            _at(each, table)["novel"] = 7
        for draft, each in zip((renamed, dropped, grown), wanted, strict=True):
            assert tomllib.loads(draft.result) == each
            assert _keeps_remarks(text, draft.result)


def test_keys_are_added_where_nothing_is_yet() -> None:
    draft = Draft("[a]\n[b] # b\nc = {}\n\n[d]")
    for table in (("a",), ("b", "c"), ("d",)):
        draft.add(table, "x", "1")
    assert draft.result == "[a]\nx = 1\n[b] # b\nc = {x = 1}\n\n[d]\nx = 1\n"


def test_a_table_is_copied_and_removed_with_what_belongs_to_it() -> None:
    for text in (PLAN, PLAN.replace("\n", "\r\n"), PLAN.rstrip()):
        data = tomllib.loads(text)
        for i, each in enumerate(data["modules"]):
            draft = Draft(text)
            draft.copy(("modules", i), "name", '"copy"')
            wanted = deepcopy(data)
            wanted["modules"].insert(i + 1, deepcopy(each) | {"name": "copy"})
            assert tomllib.loads(draft.result) == wanted
            draft = Draft(text)
            draft.remove(("modules", i))
            del wanted["modules"][i : i + 2]
            assert tomllib.loads(draft.result) == wanted | {
                "modules": [*data["modules"][:i], *data["modules"][i + 1 :]]
            }
            assert {"# ---- left ----", "# ---- right ----", "# ---- modes ----"} <= set(comments(draft.result))


def test_a_table_of_an_inline_list_is_copied_and_removed() -> None:
    text = "t = [{n = 1}, {n = 2, m = [1, 2]},\n  {n = 3} ] # three\n"
    for i, left in ((0, [2, 3]), (1, [1, 3]), (2, [1, 2])):
        removed, copied = Draft(text), Draft(text)
        removed.remove(("t", i))
        assert [each["n"] for each in tomllib.loads(removed.result)["t"]] == left
        copied.copy(("t", i), "n", "9")
        found = tomllib.loads(copied.result)["t"]
        assert [each["n"] for each in found] == [*range(1, i + 2), 9, *range(i + 2, 4)]
        assert found[i + 1].get("m") == found[i].get("m")


@given(st.text(st.characters(exclude_categories=["Cs"])), st.sampled_from(['"', "'"]))
def test_any_text_is_quoted_so_that_it_reads_back(text: str, sample: str) -> None:
    assert tomllib.loads(f"x = {quoted(text, sample)}")["x"] == text


def test_dropping_the_last_of_an_inline_table_leaves_it_sound() -> None:
    draft = Draft("a = {b = 1, c = 2}\n")
    draft.drop(("a", "c"))
    assert draft.result == "a = {b = 1}\n"
