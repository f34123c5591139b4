"""Body sizes: the survey's own figures, and the law that a larger percentile is larger."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from importlib.resources import files
from itertools import pairwise

import pytest

from tumblehome.errors import InputError
from tumblehome.people.person import PERCENTILES, Person

SIZES = [field.name for field in fields(Person) if field.name != "percentile"]


def test_the_published_figures() -> None:
    """ANSUR II (2012), NATICK/TR-15/007: stature, breadth over the deltoids, sitting height, hollow of the knee; men, women."""
    man, woman = Person.of(95, "man"), Person.of(95, "woman")
    assert (man.stature, woman.stature) == (1870.0, 1740.0)
    assert (man.shoulder_breadth, woman.shoulder_breadth) == (567.0, 499.0)
    assert (man.sitting_height, woman.sitting_height) == (977.0, 912.0)
    assert (Person.of(5, "man").stature, Person.of(5, "woman").stature) == (1648.0, 1525.0)


def test_the_larger_of_both_is_taken_above_the_median_and_the_smaller_below() -> None:
    for percentile in PERCENTILES:
        both, man, woman = (Person.of(percentile, sex) for sex in (None, "man", "woman"))
        for name in SIZES:
            of_each = getattr(man, name), getattr(woman, name)
            assert getattr(both, name) == (max(of_each) if percentile >= 50 else min(of_each))


@pytest.mark.parametrize("sex", ["man", "woman", None])
def test_a_larger_percentile_is_larger_in_everything(sex: str | None) -> None:
    people = [Person.of(percentile, sex) for percentile in PERCENTILES]  # type: ignore[arg-type]
    for small, large in pairwise(people):
        for name in SIZES:
            assert getattr(small, name) <= getattr(large, name)


def test_the_small_one_is_at_the_other_end() -> None:
    assert Person.of(95).small == Person.of(5)
    assert Person.of(50).small.percentile == 50


def test_one_who_stoops_is_as_broad_and_lower() -> None:
    tall = Person.of(95)
    low = tall.scaled(0.75)
    assert low.shoulder_height == pytest.approx(0.75 * tall.shoulder_height)
    assert (low.shoulder_breadth, low.body_depth) == (tall.shoulder_breadth, tall.body_depth)


def test_the_table_names_its_source() -> None:
    table = json.loads(files("tumblehome.people").joinpath("body_sizes.json").read_text(encoding="utf-8"))
    assert "ANSUR II" in table["source"]


@pytest.mark.parametrize("percentile", [0, 94, 100, -5])
def test_a_percentile_that_is_not_in_the_table_is_refused(percentile: int) -> None:
    with pytest.raises(InputError, match="allowed: 1, 5, 50, 95, 99"):
        Person.of(percentile)


def test_another_word_for_the_sex_is_refused() -> None:
    with pytest.raises(InputError, match="allowed: woman, man"):
        Person.of(95, "child")  # type: ignore[arg-type]


@pytest.mark.parametrize("size", [0.0, -1.0, float("nan"), float("inf")])
def test_a_size_that_nobody_has_is_refused(size: float) -> None:
    with pytest.raises(InputError, match="hip_breadth"):
        replace(Person.of(50), hip_breadth=size)


@pytest.mark.parametrize("percentile", PERCENTILES)
def test_the_small_one_is_never_larger(percentile: int) -> None:
    """The table's ends, 1 to 99 and 5 to 95, whichever of them was asked for."""
    person = Person.of(percentile)
    assert person.small.percentile == min(percentile, 100 - percentile)
    assert all(getattr(person.small, field.name) <= getattr(person, field.name) for field in fields(person))
