"""The lower envelope of segments and what is asked of it, against every segment asked one by one."""

from __future__ import annotations

import itertools
from fractions import Fraction
from math import inf, isclose

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from strategies import law
from tumblehome.studies import Piece, Profile, lower_envelope
from tumblehome.tolerances import CONTACT, EDGE
from vans import EXACT, near

Segment = tuple[float, float, float, float]
places = st.integers(0, 40)
whole = st.integers(-30, 30)


def segments(value: st.SearchStrategy[float], place: st.SearchStrategy[float]) -> st.SearchStrategy[list[Segment]]:
    one = (
        st.tuples(place, place, value, value)
        .map(lambda s: (min(s[:2]), max(s[:2]), s[2], s[3]))
        .filter(lambda s: s[1] - s[0] > 1e-3)
    )
    return st.lists(one, min_size=1, max_size=12)


on_a_grid = segments(whole, places)
"""Ends, crossings and whole segments that coincide come up often."""
anywhere = segments(st.floats(-900, 900), st.floats(-500, 4500))


def envelope(given_segments: list[Segment]) -> Profile:
    a, b, u, v = np.array(given_segments, dtype=float).T
    return lower_envelope(a, b, u, v, np.arange(len(a)))


def least(given_segments: list[Segment], t: Fraction) -> Fraction | None:
    """The least of all segments that reach over a place, in exact arithmetic."""
    found = []
    for segment in given_segments:
        a, b, u, v = map(Fraction, segment)
        if a <= t <= b:
            found.append(u + (v - u) * (t - a) / (b - a))
    return min(found, default=None)


def crossings(given_segments: list[Segment]) -> list[Fraction]:
    """Where two segments cross inside both, exactly."""
    found = []
    exact = [tuple(map(Fraction, segment)) for segment in given_segments]
    for i, (a, b, u, v) in enumerate(exact):
        for p, q, f, g in exact[:i]:
            s, r = (v - u) / (b - a), (g - f) / (q - p)
            if s != r:
                at = ((f - r * p) - (u - s * a)) / (s - r)
                if max(a, p) < at < min(b, q):
                    found.append(at)
    return found


def steepest(given_segments: list[Segment]) -> float:
    return max(abs(v - u) / (b - a) for a, b, u, v in given_segments)


@law(on_a_grid, examples=300, least=300)
def test_the_envelope_is_the_least_of_all_segments(given_segments: list[Segment]) -> None:
    """At every end and crossing, and between each two of them: brute force in rational numbers."""
    profile = envelope(given_segments)
    ends = {Fraction(end) for segment in given_segments for end in segment[:2]}
    knots = sorted(ends | set(crossings(given_segments)))
    middles = [(a + b) / 2 for a, b in itertools.pairwise(knots)]
    for t in (*knots, *middles):
        wanted, found = least(given_segments, t), profile.value(float(t))
        assert (wanted is None) == (found is None), t
        if wanted is not None:
            assert found == near(float(wanted))


@law(anywhere, st.lists(st.floats(-500, 4500), min_size=30, max_size=30), examples=100, least=100)
def test_no_segment_lies_below_it_and_its_cause_lies_on_it(given_segments: list[Segment], asked: list[float]) -> None:
    """One-sided everywhere, and with equality for the segment that it names."""
    profile = envelope(given_segments)
    slack = EXACT + steepest(given_segments) * 2 * CONTACT
    for t in (*asked, *(end for segment in given_segments for end in segment[:2])):
        wanted, piece = least(given_segments, Fraction(t)), profile.at(t)
        near = any(abs(t - end) <= 2 * CONTACT for segment in given_segments for end in segment[:2])
        if piece is None:
            assert wanted is None or near
            continue
        value = piece.at(min(max(t, piece.start), piece.end))
        if wanted is not None:
            assert value <= float(wanted) + slack
        a, b, u, v = given_segments[piece.cause]
        assert a - 2 * CONTACT <= t <= b + 2 * CONTACT
        assert value == pytest.approx(u + (v - u) * (min(max(t, a), b) - a) / (b - a), abs=slack)
        assert near or wanted is not None


@given(on_a_grid)
def test_stretches_run_on_in_order_and_break_only_where_something_changes(given_segments: list[Segment]) -> None:
    profile = envelope(given_segments)
    knots = {float(end) for segment in given_segments for end in segment[:2]} | {
        float(t) for t in crossings(given_segments)
    }
    for piece in profile.pieces:
        assert piece.end - piece.start > EDGE
        for end in (piece.start, piece.end):
            assert any(isclose(end, knot, abs_tol=EXACT) for knot in knots)
    for one, other in zip(profile.pieces, profile.pieces[1:], strict=False):
        assert other.start >= one.end - EDGE
        straight = abs(one.high - other.low) < CONTACT and isclose(
            (one.high - one.low) * (other.end - other.start),
            (other.high - other.low) * (one.end - one.start),
            abs_tol=1e-9,
        )
        assert not (one.cause == other.cause and straight and other.start - one.end <= EDGE)


def test_three_lines_through_one_point_leave_the_steepest_behind_it() -> None:
    """Closed form, at crossings that no float holds exactly: all of a fan of lines meet at (1/3, 1/7)."""
    rng = np.random.default_rng(1)
    for _ in range(200):
        slopes = np.sort(rng.uniform(-50, 50, 5))
        low, high = 1 / 7 - slopes / 3, 1 / 7 + slopes * 2 / 3
        order = rng.permutation(5)
        profile = lower_envelope(np.zeros(5), np.ones(5), low[order], high[order], order)
        assert profile.value(0.9) == pytest.approx(1 / 7 + slopes[0] * (0.9 - 1 / 3), abs=1e-9)
        assert profile.value(0.1) == pytest.approx(1 / 7 + slopes[-1] * (0.1 - 1 / 3), abs=1e-9)
        assert profile.pieces[0].start == 0


def test_the_order_of_the_segments_does_not_matter() -> None:
    rng = np.random.default_rng(2)
    table = np.column_stack(
        [rng.uniform(0, 50, 40), rng.uniform(50, 100, 40), rng.uniform(0, 9, 40), rng.uniform(0, 9, 40)]
    )
    turned = table[rng.permutation(40)]
    one, other = envelope([tuple(row) for row in table]), envelope([tuple(row) for row in turned])
    assert [(p.start, p.end, p.low, p.high) for p in one.pieces] == [
        (p.start, p.end, p.low, p.high) for p in other.pieces
    ]


def test_empty_and_too_short() -> None:
    """Nothing there is another answer than zero."""
    none = lower_envelope([], [], [], [], [])
    assert none.is_empty
    assert lower_envelope([1], [1 + EDGE / 2], [0], [0], [0]).is_empty
    assert (none.at(0), none.value(0), none.least(0, 1), none.first_below(0)) == (None, None, None, None)
    assert none.running_least().is_empty
    assert none.running_least(backward=True).is_empty
    assert none.clipped(0, 1).is_empty
    assert none.stretches_above(0) == []


STEP = Profile((Piece(0, 10, 5, 5, 0), Piece(10, 20, 2, 4, 1), Piece(30, 40, 8, 6, 2)))
"""A jump down at 10, then a rise, a gap from 20 to 30, and a fall."""


def test_at_a_jump_the_lesser_value_and_in_a_gap_none() -> None:
    assert [STEP.value(t) for t in (-1, 0, 5, 10, 15, 20, 25, 30, 35, 41)] == [None, 5, 5, 2, 3, 4, None, 8, 7, None]
    assert STEP.span == near((0, 40))
    at = STEP.at(10)
    assert at is not None
    assert at.cause == 1


def test_least_between_two_places() -> None:
    """A stretch that is only touched at one end does not count, a single place does."""
    for low, high, wanted in ((0, 40, 2), (0, 10, 5), (10, 20, 2), (12, 18, 2.4), (35, 99, 6), (31, 32, 7.6)):
        found = STEP.least(low, high)
        assert found is not None
        assert found[0] == pytest.approx(wanted)
    for low, high in ((21, 29), (50, 60), (-9, -1), (9, 1)):
        assert STEP.least(low, high) is None
    point = STEP.least(10, 10)
    assert point is not None
    assert (point[0], point[1].cause) == (2, 1)


def test_clipped_to_a_range() -> None:
    assert STEP.clipped(5, 15).pieces == (Piece(5, 10, 5, 5, 0), Piece(10, 15, 2, 3, 1))
    for low, high in ((20, 30), (50, 60), (15, 15), (16, 14)):
        assert STEP.clipped(low, high).is_empty


def test_first_below() -> None:
    """At the start, at a jump, inside a fall, behind a gap; a value that is just reached is not below."""
    firsts: list[tuple[float, tuple[float, int] | None]] = [
        (6, (0, 0)),
        (5, (10, 1)),
        (3, (10, 1)),
        (2, None),
        (1, None),
    ]
    for value, wanted in firsts:
        found = STEP.first_below(value)
        assert (None if found is None else (found[0], found[1].cause)) == wanted
    fall = Profile((Piece(0, 10, 8, 8, 0), Piece(10, 30, 8, 4, 1)))
    for value, place in ((8, 10), (7, 15), (5, 25)):
        found = fall.first_below(value)
        assert found is not None
        assert found[0] == pytest.approx(place)


def test_first_below_stays_within_its_stretch_where_the_fall_is_within_the_noise() -> None:
    value = 5.0
    fall = Profile((Piece(0, 10, value - 0.9 * CONTACT, value - 1.1 * CONTACT, 0),))
    found = fall.first_below(value)
    assert found is not None
    assert 0 <= found[0] <= 10


def test_stretches_above() -> None:
    """Joined where they meet; cut at the place where a slope passes the value; a gap parts them."""
    for value, wanted in (
        (1, [(0, 20), (30, 40)]),
        (3, [(0, 10), (15, 20), (30, 40)]),
        (5, [(0, 10), (30, 40)]),
        (7, [(30, 35)]),
        (9, []),
    ):
        found = STEP.stretches_above(value)
        assert np.array(found).reshape(-1, 2) == near(np.array(wanted, dtype=float).reshape(-1, 2))


@law(on_a_grid, whole, examples=150, least=100)
def test_stretches_above_are_those_of_the_value(given_segments: list[Segment], level: int) -> None:
    profile = envelope(given_segments)
    runs = profile.stretches_above(level)
    assert all(b <= c for (_, b), (c, _) in itertools.pairwise(runs))
    for piece in profile.pieces:
        for share in (0.25, 0.5, 0.75):
            t = piece.start + share * (piece.end - piece.start)
            within = any(a - EXACT <= t <= b + EXACT for a, b in runs)
            value = piece.at(t)
            if abs(value - level) > EXACT:
                assert within == (value > level)


@law(on_a_grid, examples=150, least=150)
def test_the_running_least_never_rises_and_is_the_least_so_far(given_segments: list[Segment]) -> None:
    profile = envelope(given_segments)
    forward, backward = profile.running_least(), profile.running_least(backward=True)
    so_far = inf
    for piece in forward.pieces:
        assert piece.low <= so_far + EXACT
        assert piece.high <= piece.low + EXACT
        so_far = piece.high
        middle = (piece.start + piece.end) / 2
        before = profile.least(-inf, middle)
        assert before is not None
        assert piece.at(middle) == near(before[0])
    for piece in backward.pieces:
        assert piece.high >= piece.low - EXACT
        middle = (piece.start + piece.end) / 2
        after = profile.least(middle, inf)
        assert after is not None
        assert piece.at(middle) == near(after[0])
    for one in (forward, backward):
        assert one.span == near(profile.span)
        assert sum(p.end - p.start for p in one.pieces) == near(sum(p.end - p.start for p in profile.pieces))
