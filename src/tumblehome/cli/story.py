"""The end of the demo: who can get out at supper, and whether the refrigerator ever can."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import tumblehome as th
from tumblehome.cli.terminal import Progress, mark, say
from tumblehome.cli.wording import length_shown
from tumblehome.files import replace_file

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from tumblehome.carrying import Carry
    from tumblehome.cli.wording import Shown
    from tumblehome.fitout import Layout

__all__ = ["tell_carrying", "tell_getting_out"]

_SEAT: Final = "cushions facing forward"
_CARRIED: Final = "refrigerator"
_WIDER: Final = 20.0
"""What a wider refrigerator measures more, mm."""


def tell_getting_out(layouts: Sequence[Layout], units: Shown) -> None:
    """Tell from where the one on the inner seat gets out, mode by mode."""
    from tumblehome.people.person import Person  # noqa: PLC0415  (loads what few commands need)
    from tumblehome.people.run import people  # noqa: PLC0415

    say(f"\nCan the one on the {_SEAT} get out?")
    for found in people(layouts, Person.of(95)):
        if found.subject == _SEAT and found.question == "getting out":
            say(f"  {mark(found.verdict)} {' and '.join(found.modes)}: {found.words(units)}")


def tell_carrying(layouts: Sequence[Layout], folder: Path, units: Shown) -> list[Path]:
    """Tell whether the refrigerator comes out with the table out, with it stowed, and if it were wider; draw the way out."""
    from tumblehome.carrying import carry, sentences  # noqa: PLC0415  (loads what few commands need)
    from tumblehome.cli.wider import wider  # noqa: PLC0415  (as above)

    table_out, stowed = layouts[1], layouts[-1]
    cases = {
        f"with the table out ({table_out.mode})": table_out,
        f"with the table stowed ({stowed.mode})": stowed,
        f"{length_shown(_WIDER, units)} wider, the table stowed": wider(stowed, _CARRIED, _WIDER),
    }
    say(f"\nCan the {_CARRIED} come out again?")
    progress, told = Progress(), []
    for words, layout in cases.items():
        found = carry(layout, _CARRIED, progress=progress)
        progress.done()
        say(f"  {mark(found.verdict)} {words}")
        for line in sentences(found, units)[: 2 if found.verdict == "clear" else 1]:
            say(f"      {line}")
        told.append(found)
    return _drawn(told[1], folder, units)


def _drawn(found: Carry, folder: Path, units: Shown) -> list[Path]:
    from tumblehome.drawing.carry_drawing import draw_carry  # noqa: PLC0415  (loads what only pictures need)
    from tumblehome.drawing.carry_film import film_carry  # noqa: PLC0415  (as above)

    drawing, film = (folder / f"{_CARRIED}-comes-out.{suffix}" for suffix in ("svg", "gif"))
    th.save(draw_carry(found, found.best, units), drawing)
    replace_file(film, film_carry(found, found.best, units))
    return [drawing, film]
