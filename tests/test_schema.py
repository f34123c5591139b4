"""The fields of data files: units, kinds of value, and how a wrong one is told."""

from __future__ import annotations

import tomllib
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from faults import Edit, edits
from tumblehome.errors import InputError
from tumblehome.files import TomlFile
from tumblehome.schema import (
    Fields,
    degrees,
    kilograms,
    length,
    liters,
    maybe,
    named,
    read_fields,
    size,
    span,
    table,
    tables_of,
    thickness,
)  # fmt: skip
from tumblehome.tolerances import SMALLEST

TO_MM = {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "in": Fraction("25.4"), "ft": Fraction("304.8")}
"""NIST Handbook 44, Appendix C."""


class Leaf(Fields):
    """A table inside another."""

    depth = size()
    from_ = named("from", length(0.0))


class Trunk(Fields):
    """A table with a field of every kind."""

    wide = size(1.0)
    away = length(1.0)
    thick = thickness(1.0)
    between = maybe(span())
    mass = kilograms(1.0)
    volume = liters(1.0)
    turn = degrees(0.0)
    leaf = maybe(table(Leaf))
    leaves = maybe(tables_of(Leaf))


def toml(text: str) -> TomlFile:
    return TomlFile(Path("trunk.toml"), text, tomllib.loads(text))


def read(text: str, unit: str | None = "mm") -> Trunk:
    file = toml(text)
    return read_fields(Trunk, file.data, file, unit=unit)


@given(st.sampled_from(sorted(TO_MM)), st.integers(1, 500), st.sampled_from(["wide", "away", "thick"]))
def test_a_bare_number_takes_the_unit_of_its_file_and_a_text_its_own(unit: str, number: int, field: str) -> None:
    """The exact fraction of a millimeter, rounded once to a float, is the answer."""
    assert getattr(read(f"{field} = {number}", unit), field) == float(number * TO_MM[unit])
    assert getattr(read(f'{field} = "{number} in"', unit), field) == float(number * TO_MM["in"])


def test_spans_take_the_unit_of_their_file_and_may_mix_units() -> None:
    """25.4 mm to the inch: NIST Handbook 44, Appendix C."""
    assert read("between = [1, 2]", "in").between == (25.4, 50.8)
    assert read('between = ["1 in", 60]').between == (25.4, 60)
    assert read('between = [-5, "0 mm"]').between == (-5, 0)


def test_masses_and_volumes_always_name_their_unit() -> None:
    """0.45359237 kg to the pound, 3.785411784 L to the gallon: NIST Handbook 44, Appendix C."""
    trunk = read('mass = "2 lb"\nvolume = "2 gal"')
    assert (trunk.mass, trunk.volume) == pytest.approx((2 * 0.45359237, 2 * 3.785411784), rel=1e-15)


@pytest.mark.parametrize(
    ("field", "value"),
    [("thick", 0), ("away", 0), ("away", -3), ("turn", -360), ("turn", 360), ("wide", SMALLEST)],
)
def test_the_ends_of_what_is_allowed_are_allowed(field: str, value: float) -> None:
    assert getattr(read(f"{field} = {value!r}"), field) == value


SOUND = """wide = 10
away = -10
thick = 0
between = [1, 2]
mass = "3 kg"
volume = "4 L"
turn = 45

[leaf]
depth = 5

[[leaves]]
depth = 6

[[leaves]]
depth = 7
"from" = 1
"""


@edits(
    zero_size=("wide = 10", "wide = 0", "wide", ("0",)),
    least_size=("wide = 10", f"wide = {SMALLEST / 2!r}", "wide", ("at least 0.001 mm",)),
    negative_size=("wide = 10", "wide = -1", "wide", ("-1",)),
    nan_size=("wide = 10", "wide = nan", "wide", ("nan",)),
    nothing_in_quotes=("wide = 10", 'wide = ""', "wide", ()),
    true_size=("wide = 10", "wide = true", "wide", ("found true", "a number with its unit")),
    time_for_a_length=("away = -10", "away = 07:32:00", "away", ("found datetime.time",)),
    long_list_for_a_length=("away = -10", f"away = {list(range(30))}", "away", ("found [0, 1, 2", "...")),
    infinite_length=("away = -10", "away = inf", "away", ("inf",)),
    negative_thickness=("thick = 0", "thick = -0.5", "thick", ("-0.5", "may be 0 but not negative")),
    falling_span=("between = [1, 2]", "between = [2, 1]", "between", ("found [2, 1]", "greater")),
    flat_span=("between = [1, 2]", "between = [1, 1]", "between", ("greater",)),
    span_of_three=("between = [1, 2]", "between = [1, 2, 3]", "between", ("two lengths",)),
    span_as_text=("between = [1, 2]", 'between = "1:2"', "between", ("found '1:2'", "two lengths")),
    span_of_tables=("between = [1, 2]", "between = [{}, 2]", "between", ("found {}",)),
    nan_span=("between = [1, 2]", "between = [1, nan]", "between", ("nan",)),
    bare_mass=('mass = "3 kg"', "mass = 3", "mass", ("unit",)),
    negative_mass=('mass = "3 kg"', 'mass = "-3 kg"', "mass", ("-3 kg", "below zero")),
    length_for_a_volume=('volume = "4 L"', 'volume = "4 m"', "volume", ("`m`", "L, ml, gal")),
    degrees_as_text=("turn = 45", 'turn = "45"', "turn", ("found '45'", "-360 to 360")),
    degrees_beyond=("turn = 45", "turn = 360.5", "turn", ("found 360.5",)),
    nan_degrees=("turn = 45", "turn = nan", "turn", ("found nan",)),
    unknown_key=("wide = 10", "wied = 10", "wied", ("unknown key", "did you mean 'wide'?", "allowed: wide, away")),
    far_key=("wide = 10", "qqqq = 10", "qqqq", ("unknown key; allowed:",)),
    unknown_inner_key=("depth = 5", "dept = 5", "leaf.dept", ("did you mean 'depth'?", "allowed: depth, from")),
    unknown_key_of_an_element=("depth = 7", "dept = 7", "leaves.2.dept", ("did you mean 'depth'?",)),
    missing_inner_key=("depth = 6\n", "", "leaves.1.depth", ("missing",), "[[leaves]]\n\n"),
    wrong_inner_value=("depth = 7", 'depth = "seven"', "leaves.2.depth", ("seven",)),
    key_by_the_name_in_the_program=(
        '"from" = 1',
        "from_ = 1",
        "leaves.2.from_",
        ("unknown key", "did you mean 'from'?"),
    ),
    misspelled_table=("[leaf]\ndepth = 5\n", "[leave]\n", "leave", ("unknown key",)),
)
def test_a_fault_names_file_line_key_what_was_found_and_what_is_allowed(edit: Edit) -> None:
    text, line = edit.of(SOUND)
    with pytest.raises(InputError) as caught:
        read(text)
    fault = caught.value
    assert (fault.file, fault.line, fault.key) == (Path("trunk.toml"), line, edit.key)
    assert str(fault).startswith(f"trunk.toml:{line}: {edit.key}: ")
    assert len(str(fault).splitlines()) == 1
    for word in edit.words:
        assert word in str(fault)


def test_an_unknown_key_is_told_before_the_one_that_is_missing() -> None:
    """It often explains it: a misspelled key is both."""
    file = toml("dept = 5")
    with pytest.raises(InputError, match="unknown key; did you mean 'depth'"):
        read_fields(Leaf, file.data, file, unit="mm")


def test_a_bare_number_without_a_unit_of_the_file_is_refused() -> None:
    for text in ("wide = 10", "away = 10", "thick = 10", "between = [1, 2]"):
        with pytest.raises(InputError, match="unit"):
            read(text, None)


def test_the_place_of_the_table_is_told() -> None:
    file = toml("[[a]]\n[[a.b]]\n[[a.b]]\ndepth = 0\n")
    with pytest.raises(InputError) as caught:
        read_fields(Leaf, file.data["a"][0]["b"][1], file, ("a", 0, "b", 1), "mm")
    assert (caught.value.line, caught.value.key) == (4, "a.1.b.2.depth")


def test_what_is_read_is_fixed() -> None:
    trunk = read(SOUND)
    with pytest.raises(AttributeError, match="fixed"):
        trunk.wide = 3


ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=60) | st.dates() | st.times(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)


@given(st.sampled_from(sorted(Trunk.fields)), ANYTHING, st.sampled_from([None, *TO_MM]))
def test_anything_is_read_or_refused_in_one_line(field: str, value: Any, unit: str | None) -> None:
    file = toml("")
    try:
        trunk = read_fields(Trunk, {field: value}, file, unit=unit)
    except InputError as fault:
        assert len(str(fault).splitlines()) == 1  # noqa: PT017  (any other error fails the test by itself)
    else:
        numbers = getattr(trunk, field)
        assert field in {"leaf", "leaves"} or abs(max(numbers, key=abs) if field == "between" else numbers) < float(
            "inf"
        )
