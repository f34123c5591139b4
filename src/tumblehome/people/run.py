"""All questions about people in a layout."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from tumblehome.checks.modes import in_modes
from tumblehome.people.aisle import check_aisle
from tumblehome.people.bath import check_bath
from tumblehome.people.beds import check_beds
from tumblehome.people.doors import check_doors
from tumblehome.people.egress import check_egress
from tumblehome.people.exits import check_exits
from tumblehome.people.ground import Floor
from tumblehome.people.headroom import check_headroom
from tumblehome.people.passing import check_passing
from tumblehome.people.seats import check_seats
from tumblehome.people.service import check_service
from tumblehome.people.tables import check_tables

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from tumblehome.checks.finding import Finding
    from tumblehome.fitout import Layout
    from tumblehome.people.gauge import Gauge
    from tumblehome.people.person import Person

__all__ = ["people"]

_QUESTIONS: Final[tuple[Callable[[Layout, Person], Iterable[Finding]], ...]] = (
    check_beds, check_seats, check_tables, check_bath,
)  # fmt: skip
"""What is asked of a layout beside its aisle and its ways out."""


def people(
    layouts: Sequence[Layout],
    person: Person,
    gauges: Sequence[Gauge] = (),
    *,
    progress: Callable[[str], None] | None = None,
) -> list[Finding]:
    """Return every finding about people in a layout, mode by mode.

    Parameters
    ----------
    layouts : one a mode, as `load_modes` gives them
    person : whom it must hold
    gauges : of rules, to be held against the aisle too
    progress : called with a few words before each part of the work
    """
    return in_modes({layout.mode: list(_found(layout, person, gauges, progress)) for layout in layouts})


def _found(
    layout: Layout, person: Person, gauges: Sequence[Gauge], progress: Callable[[str], None] | None
) -> list[Finding]:
    if progress:
        progress(f"walking through {layout.title}")
    opened, closed = Floor(layout), Floor(layout, closed=True)
    found = [*check_aisle(opened, person, gauges), *check_passing(closed, person), *check_headroom(closed, person)]
    found += [*check_exits(opened, person), *check_egress(opened)]
    found += [*check_doors(closed, person), *check_service(opened, person)]
    return found + [finding for question in _QUESTIONS for finding in question(layout, person)]
