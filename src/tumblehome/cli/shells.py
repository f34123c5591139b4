"""``tumblehome shells``: which vans come with the program."""

from collections import Counter

import tumblehome as th
from tumblehome.cli.options import AsJson, Units, UnitsShown
from tumblehome.cli.sources import find
from tumblehome.cli.terminal import say, say_data, table
from tumblehome.cli.wording import length_shown, rounded, volume_shown

__all__ = ["shells"]

_BELT = 1200.0
"""The height above the floor at which a van's width is told beside that at the floor, mm."""
_STEP = 200.0
_COUNTED = ("ribs", "bows", "recesses", "housings", "doorways")
_HEADER = ("name", "length", "wide at floor", "wide higher up", "high", "volume", "measured to", *_COUNTED)


def shells(units: UnitsShown = None, as_json: AsJson = False) -> None:
    """List the vans that come with the program.

    All are invented. Length and height are those of the void on its centerline; widths are taken at half its length.

    \b
        tumblehome shells --units in
    """  # noqa: D301
    found = {name: th.load_shell(path) for name, path in th.bundled_shells().items()}
    facts = {name: _facts(shell) for name, shell in found.items()}
    if as_json:
        say_data([{"name": name, **rounded(fact)} for name, fact in facts.items()])
        return
    rows = [_row(name, fact, units, str(th.bundled_shells()[name])) for name, fact in facts.items()]
    say(table(_HEADER, rows, right=range(1, len(_HEADER))))


def _facts(shell: "th.Shell") -> dict[str, float | None]:
    run = th.free_run(shell, 0.0) or shell.stations
    middle, higher = sum(run) / 2, _higher_up(shell)
    height = float(shell.void.slice(1, 0.0).bounds()[2])  # its plane is (z, x): the greatest first coordinate
    return {
        "length": run[1] - run[0],
        "width_at_floor": th.width(shell, height=0.0, station=middle).usable,
        "width_higher_up": th.width(shell, height=higher, station=middle).usable,
        "higher_up": higher,
        "height": height,
        "volume": shell.void.volume / 1e6,
        "measured_to": shell.measured_to,
        **_counts(shell),
    }


def _higher_up(shell: "th.Shell") -> float:
    """Return the belt's height, or in a low van a round one that lies well below its roof, mm."""
    return min(_BELT, _STEP * int(0.8 * shell.heights[1] / _STEP))


def _counts(shell: "th.Shell") -> dict[str, int]:
    kinds = Counter(part.kind for part in shell.parts)
    ribs = sum(kinds[kind] for kind in ("rib", "pillar", "hoop"))
    counted = (ribs, kinds["bow"], kinds["recess"], kinds["housing"], len(shell.doorways))
    return dict(zip(_COUNTED, counted, strict=True))


def _row(name: str, fact: dict[str, float | None], chosen: Units | None, path: str) -> tuple[str, ...]:
    units = find(path).units(chosen)
    higher = f"{length_shown(fact['width_higher_up'], units)} at {length_shown(fact['higher_up'], units)}"
    return (
        name,
        *(length_shown(fact[key], units) for key in ("length", "width_at_floor")),
        higher,
        length_shown(fact["height"], units),
        volume_shown(fact["volume"] or 0.0, units),
        length_shown(fact["measured_to"], units),
        *(f"{fact[key]:.0f}" for key in _COUNTED),
    )
