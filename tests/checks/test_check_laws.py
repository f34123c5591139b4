"""Laws of the checks over random layouts: mirror, shift, take away, enlarge, and the solid kernel's own booleans."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from math import inf
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strategies import law
from tumblehome.checks import Finding, check
from vans import EXACT, layout, member, module, near, recess

if TYPE_CHECKING:
    from hypothesis.strategies import DrawFn

    from tumblehome.fitout import Layout

CASES = 40
"""Random layouts for each law."""
FRACTIONS = (0.017, 0.131, 0.367, 0.771)
"""Added to where modules stand, one each: no two gaps between whole numbers and these are alike, so that no tie of two
nearest things has to be broken (by order, which a mirror turns round)."""
OTHER = {"left": "right", "right": "left"}
SWAPPED = {
    **OTHER,
    "left wall": "right wall",
    "right wall": "left wall",
    "rib left": "rib right",
    "rib right": "rib left",
}
SLIVER = 1e-2
"""mm3: a volume below this may be the kernel's rounding."""


@dataclass(frozen=True)
class Plan:
    """A random van and the modules in it, plain enough to be mirrored and shifted."""

    left: tuple[int, int]
    right: tuple[int, int]
    taper: int
    rib: tuple[int, int]
    block: tuple[int, int, int, int, int]
    recess: tuple[int, int]
    modules: tuple[dict[str, Any], ...]
    shift: float = 0.0
    mirrored: bool = False

    @property
    def van(self) -> str:
        """The shell file: two leaning, tapering walls, a rib, a block and a recess."""
        x = self.shift
        rows = {side: self._table(getattr(self, side)) for side in OTHER}
        (a, b), (u, v, w, long, high), (r0, r1) = self.rib, self.block, self.recess
        near, far = ("right", "left") if self.mirrored else ("left", "right")
        breadths = [-v - w, -v] if self.mirrored else [v, v + w]
        rows = {"left": rows[near], "right": rows[far]}
        tables = [f'{side} = """\n{text}\n"""' for side, text in rows.items()]
        return "\n".join(
            [
                'name = "random"\nunit = "mm"\nmeasured_to = 3\n[offsets]',
                *tables,
                member(f"rib {near}", "rib", side=near, stations=[a + x, a + 40 + x], depth=b),
                member("block", "block", stations=[u + x, u + long + x], breadths=breadths, heights=[0, high]),
                recess("recess", side=far, stations=[r0 + x, r0 + r1 + x], heights=[100, 1500], depth=40),
            ]
        )

    def _table(self, side: tuple[int, int]) -> str:
        foot, lean = side
        stations = f"height, {self.shift!r}, {3000 + self.shift!r}"
        return "\n".join(
            [stations, *(f"{z}, {foot - lean * z / 1900}, {foot - lean * z / 1900 - self.taper}" for z in (0, 1900))]
        )

    @property
    def lines(self) -> list[str]:
        """The modules' tables."""
        return [module(**self._placed(fields)) for fields in self.modules]

    def _placed(self, fields: dict[str, Any]) -> dict[str, Any]:
        moved = {**fields, "station": fields["station"] + self.shift}
        if not self.mirrored:
            return moved
        if "against" in moved:
            return {**moved, "against": OTHER[moved["against"]]}
        return {**moved, "breadth": -fields["breadth"] - fields["wide"]}

    def layout(self) -> Layout:
        return layout(self.van, *self.lines)

    def findings(self) -> list[Finding]:
        return check(self.layout())


@st.composite
def modules(draw: DrawFn, name: str, fraction: float, pushed: bool) -> dict[str, Any]:
    whole = st.integers
    fields: dict[str, Any] = {
        "name": name,
        "wide": draw(whole(100, 900)),
        "deep": draw(whole(100, 700)),
        "high": draw(whole(100, 1500)),
    }
    fields["station"] = draw(whole(0, 2500)) + fraction
    if pushed and draw(st.booleans()):
        fields["against"] = draw(st.sampled_from(["left", "right"]))
        fields["gap"] = draw(st.sampled_from([0, 7]))
    else:
        fields["breadth"] = draw(whole(-860, 300)) + fraction
    if draw(st.booleans()):
        fields["hung"] = draw(whole(0, 900)) + fraction
    return fields


@st.composite
def plans(draw: DrawFn, pushed: bool = True, count: int = 4) -> Plan:
    whole = st.integers
    drawn = [draw(modules(name, f, pushed)) for name, f in zip("abcd"[:count], FRACTIONS, strict=False)]
    return Plan(
        left=(draw(whole(780, 880)), draw(whole(1, 150))),
        right=(draw(whole(780, 880)), draw(whole(1, 150))),
        taper=draw(whole(1, 60)),
        rib=(draw(whole(100, 2800)), draw(whole(10, 80))),
        block=(
            draw(whole(100, 2000)),
            draw(whole(-600, 200)),
            draw(whole(50, 300)),
            draw(whole(50, 800)),
            draw(whole(50, 1200)),
        ),
        recess=(draw(whole(100, 1000)), draw(whole(600, 1800))),
        modules=tuple(drawn),
    )


def facts(finding: Finding, *, swap: bool = False) -> tuple[Any, ...]:
    """Return what a finding says but its place, left and right swapped on demand; numbers to be compared within EXACT.

    The recess is told as the wall that it is in: at their common edge either may be named.
    """

    def word(name: str | None) -> str:
        return "right wall" if name == "recess" else SWAPPED.get(name or "", name or "") if swap else name or ""

    moves = sorted((word(way), distance) for way, distance in finding.moves.items())
    numbers = (
        finding.value,
        finding.limit,
        finding.tolerance,
        finding.volume,
        finding.greatest_height,
        *(d for _, d in moves),
    )
    words = (
        finding.subject,
        finding.question,
        finding.verdict,
        word(finding.cause),
        word(finding.direction),
        finding.touching,
    )
    return (*words, tuple(way for way, _ in moves)), tuple(inf if n is None else n for n in numbers)


def same(one: list[Finding], other: list[Finding], *, swap: bool = False) -> None:
    """Expect two lists of findings to say the same."""
    firsts, seconds = sorted(facts(f) for f in one), sorted(facts(f, swap=swap) for f in other)
    assert [words for words, _ in firsts] == [words for words, _ in seconds]
    for (words, numbers), (_, others) in zip(firsts, seconds, strict=True):
        assert numbers == pytest.approx(others, abs=EXACT, rel=1e-9), words


def test_random_layouts_meet_every_verdict_often() -> None:
    """The laws below are not about nothing."""
    verdicts: Counter[str] = Counter()
    shells: Counter[str] = Counter()

    @settings(max_examples=6 * CASES)
    @given(plans())
    def meet(plan: Plan) -> None:
        findings = plan.findings()
        verdicts.update(f.verdict for f in findings)
        shells.update(f.cause for f in findings if f.cause)

    meet()
    assert min(verdicts[v] for v in ("clear", "tight", "fouls")) >= 15
    assert set("abcd") | {
        "left wall",
        "right wall",
        "block",
        "recess",
        "rib left",
        "front",
        "rear",
        "roof",
        "floor",
    } <= set(shells)


@law(plans(), examples=CASES)
def test_mirroring_swaps_left_and_right_and_changes_no_number(plan: Plan) -> None:
    same(plan.findings(), replace(plan, mirrored=True).findings(), swap=True)


WAYS = {"front": (0, -1), "rear": (0, 1), "left": (1, -1), "right": (1, 1), "down": (2, -1), "up": (2, 1)}


@law(plans(), examples=CASES)
def test_every_finding_points_at_its_place(plan: Plan) -> None:
    """A foul's place lies in the module; a gap's at its distance from the module's side, within the module's outline."""
    one = plan.layout()
    for found in check(one):
        if found.question == "place":  # of many parts at once
            continue
        assert found.where is not None
        low, high = one.module(found.subject).bounds
        for axis in range(3):
            inside = low[axis] - EXACT <= found.where[axis] <= high[axis] + EXACT
            if found.direction is None or WAYS[found.direction][0] != axis:
                assert inside
                continue
            sense = WAYS[found.direction][1]
            assert found.value is not None
            assert found.where[axis] == near((high if sense > 0 else low)[axis] + sense * found.value)


@law(plans(), st.sampled_from([-1234.5, 0.125, 700.0]), examples=CASES)
def test_moving_everything_along_the_van_changes_no_number(plan: Plan, shift: float) -> None:
    shifted = replace(plan, shift=shift).findings()
    findings = plan.findings()
    same(findings, shifted)
    places = [(f.where, g.where) for f, g in zip(findings, shifted, strict=True)]
    assert all((a is None) == (b is None) for a, b in places)


@law(plans(), st.integers(0, 3), examples=CASES)
def test_taking_a_module_away_never_turns_clear_into_fouls(plan: Plan, taken: int) -> None:
    left = tuple(m for i, m in enumerate(plan.modules) if i != taken)
    before = {(f.subject, f.question): f for f in plan.findings()}
    for after in replace(plan, modules=left).findings():
        earlier = before.get((after.subject, after.question))
        if after.verdict == "fouls":
            assert earlier is not None
            assert earlier.verdict == "fouls"


def least_margin(findings: list[Finding], subject: str) -> float:
    """Return the least margin among what was found of a module; a foul that no move clears is the worst of all."""
    own = [f for f in findings if f.subject == subject]
    return min(
        (-inf if f.margin is None and f.verdict == "fouls" else inf if f.margin is None else f.margin for f in own),
        default=inf,
    )


@law(plans(pushed=False), st.sampled_from(["wide", "deep", "high"]), st.integers(1, 400), examples=CASES)
def test_a_larger_module_never_gains_margin(plan: Plan, size: str, more: int) -> None:
    """The last module, so that it is the one to tell of every overlap."""
    grown = (*plan.modules[:-1], {**plan.modules[-1], size: plan.modules[-1][size] + more})
    before, after = plan.findings(), replace(plan, modules=grown).findings()
    name = plan.modules[-1]["name"]
    assert least_margin(after, name) <= least_margin(before, name) + EXACT


@law(plans(count=2), examples=2 * CASES)
def test_the_answer_agrees_with_the_booleans_of_the_kernel(plan: Plan) -> None:
    """Exactly what sticks out of the void, or into another module, fouls: volumes by booleans, verdicts by travel."""
    one = plan.layout()
    findings = check(one)
    for m in one.modules:
        outside = (m.solid - one.shell.void).volume
        fouls = any(f.subject == m.name and f.question == "walls" and f.verdict == "fouls" for f in findings)
        assert outside > 0 if fouls else outside < SLIVER
    a, b = one.modules
    shared = (a.solid & b.solid).volume
    told = [f for f in findings if f.question == "neighbors" and f.verdict == "fouls"]
    assert len(told) <= 1
    assert shared > 0 if told else shared < SLIVER


@law(plans(), examples=CASES)
def test_checking_again_says_the_same(plan: Plan) -> None:
    one = plan.layout()
    findings = check(one)
    assert findings == check(one) == check(plan.layout())
