"""Laws of the studies on random shells, and their numbers against travel, rays and the solid kernel's own booleans."""

from __future__ import annotations

import itertools
from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import assume
from hypothesis import strategies as st
from scipy.spatial import ConvexHull

from references import as_trimesh, embree_hits, is_free
from strategies import OTHER_SIDE, Plan, law, millimeters, plans
from tumblehome.body.parts import Recess
from tumblehome.fitout import Layout, Module
from tumblehome.fitout.module import Frame, solid_of
from tumblehome.room import room_of
from tumblehome.studies import Study, effects_on
from tumblehome.studies.wall import Wall
from tumblehome.sweep import Prism
from tumblehome.tolerances import CONTACT
from vans import EXACT, near

if TYPE_CHECKING:
    from collections.abc import Iterator

    from hypothesis.strategies import DrawFn

    from tumblehome.body import Shell
    from tumblehome.studies import Profile

Body = tuple[Prism, ...]
SIGN = {"left": -1.0, "right": 1.0}
BRACKET = 1e-4
"""Millimeters on either side of an answer at which the kernel's booleans must say free and not free."""
RAYS = 5e-3
"""Millimeters: embree casts in single precision, good to about 1e-3 mm in a van."""
OFF = np.array([0.0137, 0.0, 0.0219])
"""Moves a body off every whole number, so that none of its faces is flush with one of the shell's."""
NEAR = 1e-5
"""Millimeters beside a jump at which the stretch on that side decides."""

Case = tuple[Plan, Body, str]


@st.composite
def cases(draw: DrawFn) -> Case:
    """A shell, a side, and on the centerline a box, a turned box or a stack of two, narrower than where parts begin.

    Most stand before a part, small enough for it where it is a recess.
    """
    plan = draw(plans())
    (x0, x1), (z0, z1) = plan.shell.stations, plan.shell.heights
    wide, deep, high = draw(millimeters(50, 600)), draw(millimeters(20, 200)), draw(millimeters(50, 700))
    foot = max(0.0, np.ceil(z0)) + draw(millimeters(0, max(20.0, np.floor(z1) - 500)))
    middle = draw(millimeters(np.ceil(x0 + 350), np.floor(x1 - 350)))
    part: Any = draw(st.sampled_from([None, *plan.parts, *(p for p in plan.parts if isinstance(p, Recess))]))
    if part is not None:
        middle = sum(part.stations) / 2 + draw(st.integers(-20, 20))
    side = getattr(part, "side", None) or draw(st.sampled_from(sorted(SIGN)))
    if isinstance(part, Recess):
        wide, high = 0.6 * (part.stations[1] - part.stations[0]), 0.6 * (part.heights[1] - part.heights[0])
        foot = part.heights[0] + 0.2 * high
    at = np.array([middle, 0.0])
    outline = np.array([(-wide, -deep), (wide, -deep), (wide, deep), (-wide, deep)]) / 2
    shape = draw(st.sampled_from(["box", "turned", "stack"]))
    if shape == "turned":
        turn = np.radians(draw(st.integers(-80, 80)))
        outline @= np.array([(np.cos(turn), np.sin(turn)), (-np.sin(turn), np.cos(turn))])
    body = [Prism(outline + at, foot, foot + high)]
    if shape == "stack":
        upper = outline * draw(st.sampled_from([0.5, 0.8])) + draw(st.sampled_from([0.0, 0.1, -0.1])) * np.array(
            [wide, deep]
        )
        body.append(Prism(upper + at, foot + high, foot + high + draw(millimeters(50, 500))))
    return plan, tuple(prism.moved(OFF) for prism in body), side


CASES = cases()


def outermost(body: Body, side: str) -> float:
    return max(float((SIGN[side] * prism.outline[:, 1]).max()) for prism in body)


def travelled(shell: Shell, body: Body, side: str) -> float | None:
    """How far out a body's back comes when it travels from where it is, or None where it is not free."""
    room = room_of(shell)
    journey = room.journey(body, 1)
    if journey.fouled or not all(room.holds(prism.center) for prism in body):
        return None
    reached = journey.reach(SIGN[side])
    return None if reached is None else outermost(body, side) + reached.distance


def moved(body: Body, by: float) -> Body:
    return tuple(prism.moved((by, 0.0, 0.0)) for prism in body)


def slide(shell: Shell, body: Body, side: str) -> Profile:
    """Its slide by travel, as far as the van goes."""
    low, high = shell.stations
    ends = [prism.outline[:, 0] for prism in body]
    profile = Wall.of(shell, SIGN[side]).by_station(body)
    return profile.clipped(low - min(e.min() for e in ends), high - max(e.max() for e in ends))


def out(profile: Profile, t: float) -> float:
    """The value, or no room at all where something spans the van."""
    value = profile.value(t)
    return -np.inf if value is None or value <= CONTACT else value


def places_in(profile: Profile) -> list[float]:
    """Just behind the start, in the middle and just before the end of each stretch long enough."""
    return [
        t
        for p in profile.pieces
        if p.end - p.start > 3 * NEAR
        for t in (p.start + NEAR, (p.start + p.end) / 2, p.end - NEAR)
    ]


def as_study(shell: Shell, body: Body, side: str) -> Study:
    low, high = np.min([p.bounds[0] for p in body], axis=0), np.max([p.bounds[1] for p in body], axis=0)
    wide, deep, tall = (float(v) for v in high - low)
    one = Module("m", "rigid", body, body, solid_of(body, "m"), (), Frame.facing(0.0), wide, deep, tall, against=side)
    return Study(Layout("random", shell, (one,)), one, side)


def swept(body: Body, side: str, back: float) -> Body:
    """All that a body passes over on its way from the centerline until its back is somewhere."""
    way = np.array([0.0, SIGN[side] * (back - outermost(body, side))])
    found = []
    for prism in body:
        corners = np.concatenate([prism.outline, prism.outline + way])
        found.append(Prism(corners[ConvexHull(corners).vertices], prism.bottom, prism.top))
    return tuple(found)


@law(CASES, examples=60, least=30)
def test_the_slide_is_how_far_it_travels_at_every_station(case: Case) -> None:
    """Within every stretch, and hard by either side of every jump; so it jumps only where it says so."""
    plan, body, side = case
    shell = plan.shell
    profile = slide(shell, body, side)
    for one, other in zip(profile.pieces, profile.pieces[1:], strict=False):
        assert other.start - one.end < 1e-6
    checked = 0
    for t in places_in(profile):
        wanted, value = travelled(shell, moved(body, t), side), profile.value(t)
        assert value is not None
        if wanted is None:
            assert value < outermost(body, side) + EXACT
        else:
            assert value == near(wanted)
            checked += 1
    assume(checked > 2)


@law(CASES, examples=40, least=20)
def test_rays_never_find_anything_before_the_slide(case: Case) -> None:
    """From the centerline plane out through points all over its back, by embree: one-sided, whatever the grid misses."""
    plan, body, side = case
    shell = plan.shell
    profile, mesh = slide(shell, body, side), as_trimesh(shell.void)
    free = [t for t in places_in(profile) if travelled(shell, moved(body, t), side) is not None]
    assume(free)
    for t in free[:: max(1, len(free) // 6)]:
        value = profile.value(t)
        assert value is not None
        for prism in moved(body, t):
            (x0, _, z0), (x1, _, z1) = prism.bounds
            x, z = (
                grid.ravel()
                for grid in np.meshgrid(np.linspace(x0 + 0.01, x1 - 0.01, 25), np.linspace(z0 + 0.01, z1 - 0.01, 25))
            )
            hit = embree_hits(mesh, np.column_stack([x, np.zeros_like(x), z]), (0.0, SIGN[side], 0.0))
            behind = outermost(body, side) - back_of(prism, side, x)
            assert value <= (hit + behind).min() + RAYS


def back_of(prism: Prism, side: str, x: Any) -> Any:
    """Half-breadth of a prism's back at some stations: the outer one of its outline's edges there."""
    best = np.full(len(x), -np.inf)
    for a, b in zip(prism.outline, np.roll(prism.outline, -1, axis=0), strict=True):
        if abs(b[0] - a[0]) > 1e-9:
            share = (x - a[0]) / (b[0] - a[0])
            y = SIGN[side] * (a[1] + share * (b[1] - a[1]))
            best = np.where((share >= 0) & (share <= 1), np.maximum(best, y), best)
    return best


@law(CASES, examples=40, least=20)
def test_booleans_of_the_kernel_bracket_the_slide(case: Case) -> None:
    """All it passes over on its way out is free 1e-4 before the answer, and is not 1e-4 behind it."""
    plan, body, side = case
    shell = plan.shell
    profile = slide(shell, body, side)
    middles = [(p.start + p.end) / 2 for p in profile.pieces if p.end - p.start > 3 * NEAR]
    free = [t for t in middles if is_free(moved(body, t), shell.void)]
    assume(free)
    for t in free[:8]:
        value = profile.value(t)
        assert value is not None
        assert is_free(swept(moved(body, t), side, value - BRACKET), shell.void)
        assert not is_free(swept(moved(body, t), side, value + BRACKET), shell.void)


@law(CASES, st.lists(st.floats(0.02, 0.98), min_size=8, max_size=8), examples=60, least=25)
def test_depth_by_top_is_how_far_the_grown_body_travels(case: Case, shares: list[float]) -> None:
    """Cut off, or its topmost boxes run up, at many heights and on either side of every breakpoint."""
    plan, body, side = case
    one = as_study(plan.shell, body, side)
    assume(not one.by_top.is_empty)
    low, high = one.by_top.span
    assume(low < one.foot + EXACT)
    heights = (
        [low + share * (high - low) for share in shares]
        + [p.end - NEAR for p in one.by_top.pieces]
        + [p.start + NEAR for p in one.by_top.pieces]
    )
    checked = 0
    for top in heights:
        grown = tuple(
            replace(p, top=top if p.top == one.top or p.top > top else p.top) for p in body if p.bottom < top - NEAR
        )
        wanted, value = travelled(plan.shell, grown, side), one.by_top.value(top)
        assert value is not None
        if wanted is not None:
            assert value == near(wanted + outermost(body, side) - outermost(grown, side))
            checked += 1
    assume(checked > 2)


@law(CASES, examples=60, least=20)
def test_depth_by_underside_is_how_far_the_grown_body_travels(case: Case) -> None:
    plan, body, side = case
    one = as_study(plan.shell, body, side)
    assume(not one.by_underside.is_empty)
    checked = 0
    for foot in places_in(one.by_underside):
        grown = tuple(
            replace(p, bottom=foot if p.bottom == one.foot or p.bottom < foot else p.bottom)
            for p in body
            if p.top > foot + NEAR
        )
        wanted, value = travelled(plan.shell, grown, side), one.by_underside.value(foot)
        assert value is not None
        if wanted is not None:
            assert value == near(wanted + outermost(body, side) - outermost(grown, side))
            checked += 1
    assume(checked > 2)


@law(CASES, st.sampled_from(["longer", "taller", "lower"]), st.floats(1, 300), examples=50, least=40)
def test_a_larger_body_never_gains(case: Case, way: str, more: float) -> None:
    plan, body, side = case
    grown = tuple(larger(prism, way, more) for prism in body)
    before, after = slide(plan.shell, body, side), slide(plan.shell, grown, side)
    for t in (*places_in(before), *places_in(after)):
        if after.span[0] < t < after.span[1]:
            assert out(after, t) <= out(before, t) + EXACT


def larger(prism: Prism, way: str, more: float) -> Prism:
    if way == "longer":
        both = np.concatenate([prism.outline, prism.outline + np.array([more, 0.0])])
        return Prism(both[ConvexHull(both).vertices], prism.bottom, prism.top)
    return replace(prism, top=prism.top + more) if way == "taller" else replace(prism, bottom=prism.bottom - more)


@law(CASES, examples=60, least=30)
def test_a_taller_body_is_never_let_further_out(case: Case) -> None:
    plan, body, side = case
    one = as_study(plan.shell, body, side)
    values = [v for p in one.by_top.pieces for v in (p.low, p.high)]
    assert all(b <= a + EXACT for a, b in itertools.pairwise(values))
    undersides = [v for p in one.by_underside.pieces for v in (p.low, p.high)]
    assert all(b >= a - EXACT for a, b in itertools.pairwise(undersides))
    assume(one.ceiling[0] > one.top and one.by_top.span[0] < one.foot + EXACT)
    assert one.by_top.value(one.top) == near(one.effects.reach)


MET: Counter[str] = Counter()
"""What effects the law below met."""


@pytest.fixture(scope="module", autouse=True)
def _not_empty() -> Iterator[None]:
    """The random cases held members and recesses that matter."""
    yield
    if MET:
        assert min(MET["gift"], MET["cost"]) >= 5, MET


@law(CASES, examples=150, least=80)
def test_each_effect_is_what_the_shell_without_it_says(case: Case) -> None:
    """And whatever part is not told changes nothing when it alone is removed. Another route: travel in a shell built anew."""
    plan, body, side = case
    shell = plan.shell
    reach = travelled(shell, body, side)
    assume(reach is not None)
    assert reach is not None
    found = effects_on(shell, body, SIGN[side])
    assert found.reach == near(reach)
    members = {part.name for part in shell.parts if not part.gives}
    for effect in (*found.single, *found.joint):
        assert (effect.gain < 0) == (effect.parts[0] in members)
        without = travelled(shell.without(*effect.parts), body, side)
        assert without is not None
        assert reach - without == near(effect.gain)
        MET["gift" if effect.gain > 0 else "cost"] += 1
    told = {name for effect in (*found.single, *found.joint) for name in effect.parts}
    for part in shell.parts:
        if part.name not in told:
            assert travelled(shell.without(part.name), body, side) == near(reach)


@law(CASES, examples=60, least=50)
def test_taking_a_part_away_shows_its_sign_all_along_the_wall(case: Case) -> None:
    """Without a member it slides nowhere further in, without a recess nowhere further out."""
    plan, body, side = case
    shell = plan.shell
    with_all = slide(shell, body, side)
    for part in shell.parts:
        without = slide(shell.without(part.name), body, side)
        for t in places_in(with_all):
            lesser, greater = (without, with_all) if part.gives else (with_all, without)
            assert out(lesser, t) <= out(greater, t) + EXACT


@law(CASES, examples=60, least=50)
def test_mirroring_the_van_swaps_its_walls(case: Case) -> None:
    plan, body, side = case
    turned = tuple(Prism(prism.outline[::-1] * (1, -1), prism.bottom, prism.top) for prism in body)
    one, other = slide(plan.shell, body, side), slide(plan.mirrored.shell, turned, OTHER_SIDE[side])
    for t in (*places_in(one), *places_in(other)):
        assert out(one, t) == near(out(other, t))
    here, there = effects_on(plan.shell, body, SIGN[side]), effects_on(plan.mirrored.shell, turned, -SIGN[side])
    assert here.reach == near(there.reach)
    assert {e.parts: e.gain for e in here.single} == {
        parts: near(gain) for parts, gain in {e.parts: e.gain for e in there.single}.items()
    }


@law(CASES, st.sampled_from([-1234.5, 0.125, 700.0]), examples=40, least=30)
def test_moving_the_van_changes_nothing(case: Case, by: float) -> None:
    plan, body, side = case
    one, other = slide(plan.shell, body, side), slide(plan.shifted(by).shell, moved(body, by), side)
    for t in (*places_in(one), *places_in(other)):
        assert out(one, t) == near(out(other, t))


@law(CASES, examples=30, least=20)
def test_a_place_is_free_all_along_and_ends_where_it_is_not(case: Case) -> None:
    """Pushed out to a hair less than what the place asks for, at its ends and middle; beyond an end the wall is nearer."""
    plan, body, side = case
    one = as_study(plan.shell, body, side)
    assume(not one.slide.is_empty)
    values = sorted(min(p.low, p.high) for p in one.slide.pieces)
    needed = values[len(values) // 2]
    assume(needed > outermost(body, side))
    room, front = room_of(plan.shell), min(float(prism.outline[:, 0].min()) for prism in body)
    low, high = one.slide.span
    for place in (p for p in one.places(needed) if p.side == side and p.play > 3 * NEAR):
        way = SIGN[side] * (needed - EXACT - outermost(body, side))
        for at in (place.start + NEAR, (place.start + place.end) / 2, place.end - NEAR):
            there = tuple(prism.moved((at - front, way, 0.0)) for prism in body)
            assert not [m for axis in range(3) for m in room.journey(there, axis).fouled]
        for end, beyond in ((place.start, -1e-3), (place.end, 1e-3)):
            if low + 2e-3 < end < high - 2e-3:
                value = one.slide.value(end + beyond)
                assert value is not None
                assert value < needed
