"""Which boxes overlap, against a general-purpose spatial index."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import strategies as st
from rtree import index

from strategies import law
from tumblehome.body.boxes import overlapping

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


def _found(low: Floats, high: Floats) -> list[tuple[int, int]]:
    pairs = [np.column_stack(pair) for pair in overlapping(low, high)]
    return [(min(a, b), max(a, b)) for a, b in np.concatenate([np.empty((0, 2), dtype=int), *pairs]).tolist()]


def _indexed(low: Floats, high: Floats) -> set[tuple[int, int]]:
    """The same by an R-tree (libspatialindex), whose boxes are closed: those that touch overlap."""
    boxes = np.column_stack([low, high]).tolist()
    tree = index.Index(properties=index.Property(dimension=3))
    for i, box in enumerate(boxes):
        tree.insert(i, box)
    return {(i, j) for i, box in enumerate(boxes) for j in tree.intersection(box) if i < j}


@law(st.integers(1, 300), st.integers(0, 2**32 - 1), st.booleans(), st.sampled_from([0.0, 0.3, 3.0]), examples=60)
def test_each_pair_that_overlaps_or_touches_is_found_once(count: int, seed: int, whole: bool, largest: float) -> None:
    """Sizes over many powers of two; on whole numbers boxes touch, coincide and lack any extent."""
    some = np.random.default_rng(seed)
    low = some.random((count, 3)) * 8
    high = low + largest * some.random((count, 1)) ** 9 * some.random((count, 3))
    if whole:
        low, high = np.round(low), np.round(high)
    found = _found(low, high)
    assert len(found) == len(set(found))
    assert set(found) == _indexed(low, high)


@pytest.mark.parametrize("count", [0, 1, 2, 7, 8, 9, 16, 17, 100])
def test_boxes_in_one_place_all_overlap(count: int) -> None:
    """Of n things n (n - 1) / 2 pairs can be made."""
    same = np.ones((count, 3))
    assert len(set(_found(same, same))) == len(_found(same, same)) == count * (count - 1) // 2


def test_the_boxes_of_a_row_touch_their_neighbors_only() -> None:
    """A thousand cubes face to face: 999 faces are shared."""
    low = np.column_stack([np.arange(1000.0), np.zeros(1000), np.zeros(1000)])
    assert sorted(_found(low, low + 1)) == [(i, i + 1) for i in range(999)]
    assert _found(low, low + np.array([0.999, 1, 1])) == []


def test_more_pairs_than_are_descended_at_once_are_all_found() -> None:
    """Two thousand boxes about one point: 1,999,000 pairs."""
    half = np.random.default_rng(3).random((2000, 3)) + 1e-3
    assert sum(len(one) for one, _ in overlapping(-half, half)) == 1_999_000
