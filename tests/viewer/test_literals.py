"""Lengths as a file writes them, against exact fractions; the inch is 25.4 mm exactly (NIST Handbook 44, Appendix C)."""

from __future__ import annotations

import tomllib
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tumblehome.lengths import parse_length
from tumblehome.viewer.literals import angle_literal, length_literal

SAMPLES = (
    ('"22 1/2 in"', None), ('"22-1/2\\""', None), ("'22 1/2 in'", None), ("78", "in"), ('"53 1/4"', "in"), ("12.5", "in"),
    ('"5\' 3-1/2\\""', None), ('"5 ft 3 in"', "mm"), ('"570 mm"', None), ('"-1.9 m"', "mm"), ("1284", "mm"), ('"½ in"', None),
    ('"22 1/32 in"', None), ('"5\'"', None), ('"5.5 ft"', None), ("-13", "cm"), ("7", "ft"), (None, "in"), (None, None),
)  # fmt: skip

lengths = st.one_of(
    st.integers(-8000, 8000).map(float),
    st.integers(-5000, 5000).map(lambda sixteenths: float(Fraction(sixteenths, 16) * Fraction("25.4"))),
    st.floats(-8000, 8000).map(lambda mm: round(mm, 9)),
)


def _read(literal: str, unit: str | None) -> float:
    return parse_length(tomllib.loads(f"x = {literal}")["x"], unit=unit)


@given(st.sampled_from(SAMPLES), lengths)
def test_what_is_written_is_what_is_meant(sample: tuple[str | None, str | None], mm: float) -> None:
    literal = length_literal(mm, *sample)
    assert abs(_read(literal, sample[1]) - mm) <= 2.1e-8
    assert length_literal(mm, literal, sample[1]) == literal or abs(_read(literal, sample[1]) - mm) > 0


@given(st.sampled_from([each for each in SAMPLES if each[0]]), lengths)
def test_there_and_back_is_the_same_length(sample: tuple[str, str | None], by: float) -> None:
    start = _read(*sample)
    there = length_literal(start + by, *sample)
    assert abs(_read(length_literal(_read(there, sample[1]) - by, there, sample[1]), sample[1]) - start) <= 4.1e-8


@pytest.mark.parametrize(
    ("sample", "unit", "by", "wanted"),
    [
        ('"22 1/2 in"', None, "1/16", '"22 9/16 in"'),
        ('"22 1/2 in"', None, "1/2", '"23 in"'),
        ('"22-1/2\\""', None, "1/16", '"22-9/16\\""'),
        ("'22 1/2 in'", None, "1", "'23 1/2 in'"),
        ("78", "in", "1/16", '"78 1/16"'),
        ('"78 1/16"', "in", "-1/16", "78"),
        ("12.5", "in", "1/16", "12.5625"),
        ('"5\' 3-1/2\\""', None, "9", '"6\' 0-1/2\\""'),
        ('"5 ft 3 in"', None, "-60", '"0 ft 3 in"'),
        ('"-5 ft 3 in"', None, "60", '"-0 ft 3 in"'),
        ('"22 1/32 in"', None, "1/32", '"22 1/16 in"'),
    ],
)
def test_inches_stay_in_the_way_they_are_written(sample: str, unit: str | None, by: str, wanted: str) -> None:
    mm = Fraction(repr(_read(sample, unit))) + Fraction(by) * Fraction("25.4")
    assert length_literal(float(mm), sample, unit) == wanted


@pytest.mark.parametrize(
    ("sample", "unit", "mm", "wanted"),
    [
        ("1284", "mm", 1284.5, "1284.5"),
        ('"570 mm"', None, 571, '"571 mm"'),
        ('"1.9 m"', None, 1901, '"1.901 m"'),
        ("3", "cm", 31, "3.1"),
        ('"22 1/2 in"', None, 1, '"0.039370079 in"'),
        ('"0.039370079 in"', None, 12.7, '"1/2 in"'),
        ("5", "mm", 0, "0"),
        ("5", "mm", -1e-9, "0"),
        (None, None, 12.5, '"12.5 mm"'),
        (None, "in", 12.7, '"1/2"'),
    ],
)
def test_other_lengths_have_the_fewest_decimals(sample: str | None, unit: str | None, mm: float, wanted: str) -> None:
    assert length_literal(mm, sample, unit) == wanted


@given(st.floats(-360, 360))
def test_angles_are_written_to_a_millionth(degrees: float) -> None:
    assert abs(tomllib.loads(f"x = {angle_literal(degrees)}")["x"] - degrees) <= 5.1e-7
