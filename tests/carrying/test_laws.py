"""Laws of carrying on random plans, and a slow, obvious answer beside them."""

from __future__ import annotations

from collections import Counter, deque
from itertools import pairwise, product

import numpy as np
import shapely

from corridors import asked, box, layers, path
from tumblehome.carrying.search import may_pass, search

WIDE, DEEP = 260.0, 150.0
ROOM = (1500.0, 1000.0)
START, GOAL = (180.0, 500.0), (1950.0, 500.0)


def random_plan(seed: int, *, without: int | None = None, mirrored: bool = False) -> shapely.Geometry:
    """A room with boxes standing about, a doorway in its right wall and free ground beyond it."""
    rng = np.random.default_rng(seed)
    corners = rng.uniform((350, -50), (1350, 950), (5, 2))
    sizes = rng.uniform(60, 420, (5, 2))
    opening = rng.uniform(160, 420)
    boxes = [shapely.box(*c, *(c + s)) for i, (c, s) in enumerate(zip(corners, sizes, strict=True)) if i != without]
    room = shapely.difference(shapely.box(0, 0, *ROOM), shapely.union_all(boxes), grid_size=1e-3)
    door = shapely.box(ROOM[0] - 1, 500 - opening / 2, ROOM[0] + 60, 500 + opening / 2)
    plan = shapely.union_all([room, door, shapely.box(ROOM[0] + 50, -500, ROOM[0] + 1400, 1500)], grid_size=1e-3)
    return shapely.transform(plan, lambda xy: xy * (1, -1) + (0, 1000)) if mirrored else plan


def slow(plan: shapely.Geometry, wide: float, deep: float, step: float, turns: int) -> bool:
    """Whether a flood over a grid of poses gets from start to goal."""
    x = np.arange(START[0] % step, ROOM[0] + 800, step)
    y = np.arange(START[1] % step, 1000, step)
    free = np.zeros((len(x), len(y), turns), dtype=bool)
    half = np.array([(-wide, -deep), (wide, -deep), (wide, deep), (-wide, deep)]) / 2
    shapely.prepare(plan)
    places = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1)
    for k in range(turns):
        a = np.pi * k / turns
        turned = half @ np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]]).T
        free[:, :, k] = shapely.covers(plan, shapely.polygons(places[:, :, None, :] + turned))
    first = (int(np.abs(x - START[0]).argmin()), int(np.abs(y - START[1]).argmin()), 0)
    last = (int(np.abs(x - GOAL[0]).argmin()), int(np.abs(y - GOAL[1]).argmin()))
    if not free[first]:
        return False
    seen, queue = {first}, deque([first])
    while queue:
        i, j, k = queue.popleft()
        if (i, j) == last:
            return True
        for di, dj, dk in ((1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1)):
            n = (i + di, j + dj, (k + dk) % turns)
            if 0 <= n[0] < len(x) and 0 <= n[1] < len(y) and free[n] and n not in seen:
                seen.add(n)
                queue.append(n)
    return False


def test_a_grid_of_poses_bounds_the_answer_from_one_side_each() -> None:
    """A grid's way for a thing larger by what lies between two poses is a way; where even a thing smaller by that has none
    on a grid, there is none."""
    step, turns, met = 25.0, 30, Counter[str]()
    slack = step / 2 + np.hypot(WIDE, DEEP) / 2 * np.pi / turns / 2
    for seed in range(8):
        plan = random_plan(seed)
        verdict = asked(plan, box(WIDE, DEEP), START, GOAL).verdict
        if slow(plan, WIDE + 2 * slack, DEEP + 2 * slack, step, turns):
            assert verdict == "passes"
            met["passes"] += 1
        elif not slow(plan, WIDE - 4 * slack, DEEP - 4 * slack, step, turns):
            assert verdict == "blocked"
            met["blocked"] += 1
    assert min(met["passes"], met["blocked"]) >= 2, met


def test_a_larger_thing_never_gets_further_and_with_less_about_a_thing_never_less_far() -> None:
    order, changed = {"blocked": 0, "undecided": 1, "passes": 2}, 0
    for seed in range(12):
        plan = random_plan(seed)
        verdicts = [order[asked(plan, box(WIDE + by, DEEP + by), START, GOAL).verdict] for by in (-60, 0, 60, 120)]
        assert all(a >= b for a, b in pairwise(verdicts))
        emptier = [order[asked(random_plan(seed, without=i), box(WIDE, DEEP), START, GOAL).verdict] for i in range(5)]
        assert all(verdict >= verdicts[1] for verdict in emptier)
        changed += len(set(verdicts)) > 1 or max(emptier) > verdicts[1]
    assert changed >= 4


def test_what_the_disc_in_a_thing_rules_out_has_no_way() -> None:
    """A thing holds the disc whose diameter is its lesser side, so it gets nowhere that a disc does not."""
    met = Counter[tuple[str, bool]]()
    for seed, (wide, deep) in product(range(30), ((WIDE, DEEP), (220.0, 210.0))):
        plan, thing = layers(random_plan(seed)), box(wide, deep)
        answer = search(plan, thing, shapely.Point(START), np.array(GOAL))
        met[answer.verdict, may_pass(plan, thing, shapely.Point(START), np.array(GOAL))] += 1
    assert met["passes", False] == 0
    assert min(met["passes", True], met["blocked", False]) >= 5


def test_a_mirrored_plan_has_the_same_answer() -> None:
    verdicts = Counter[str]()
    for seed in range(10):
        here = asked(random_plan(seed), box(WIDE, DEEP), START, GOAL).verdict
        assert asked(random_plan(seed, mirrored=True), box(WIDE, DEEP), START, GOAL).verdict == here
        verdicts[here] += 1
    assert len(verdicts) > 1


def test_ways_are_free_between_their_poses_and_backwards() -> None:
    """Samples of the motion lie in the plan, slow and obvious; and the way in is the way out reversed."""
    found = 0
    for seed in range(12):
        plan = random_plan(seed)
        if asked(plan, box(WIDE, DEEP), START, GOAL).verdict != "passes":
            continue
        found += 1
        way = path(plan, box(WIDE, DEEP), START, GOAL)
        assert way.is_free
        assert all(way.mover.is_free(b, a) for a, b in pairwise(way.poses))
        roomy = plan.buffer(1e-4)
        shapely.prepare(roomy)
        poses = way.sampled(3.0)
        assert len(poses) > 100
        assert all(roomy.covers(shape) for pose in poses for shape in way.shapes(pose))
        assert (poses[0].x, poses[0].y) == START
        assert (poses[-1].x, poses[-1].y) == GOAL
        for passed in way.passed:
            ((_, beside),) = way.mover.parts(0)
            least = min(shapely.distance(way.shapes(p)[0], beside.walls[passed.name]) for p in poses)
            assert least - 2.0 <= passed.margin <= least + 1e-9
    assert found >= 3


def test_a_way_through_a_wall_is_not_free() -> None:
    way = path(random_plan(1, without=0), box(60, 40), START, GOAL)
    a, b = way.poses[0], way.poses[-1]
    assert not way.mover.is_free(a, b.moved_to((ROOM[0], 20.0)))
    assert not any(
        way.mover.is_free(p, q) for p, q in product(way.poses[:1], way.poses[-1:]) if p.angle != q.angle and p.x != q.x
    )
