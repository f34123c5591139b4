"""A study in a client's words: what its place gives it, what it costs, its full height, a better place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from tumblehome.lengths import format_length, volume_words
from tumblehome.records import dataclass
from tumblehome.studies.liters import liters_of
from tumblehome.tolerances import CONTACT

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tumblehome.studies.give import Effect
    from tumblehome.studies.study import Study

__all__ = ["PlaceWords", "sentences"]

_NOTABLE: Final = 1.0
"""What a part adds to a scribed module or takes from it is told in a phrase from this on, L; in sentences all of it is."""


def sentences(study: Study, units: str = "mm") -> list[str]:
    """Say what a module's place gives it and costs it, a sentence for each part; lengths in "mm" or "in".

    First what it is given, then what it is cost; then from which height on members would stop it, what its full height would
    cost, and where it would stand better.
    Millimeters are whole where the shell is measured no better than to 1 mm.
    """
    told = [*_barred(study), *(_effect(study, effect, units) for effect in _worth_telling(study))]
    liters = study.liters if study.module.kind == "scribed" else ()
    told += [_volume(*part, units) for part in sorted(liters, key=lambda part: part[1] < 0)]
    told += [*_begins(study, units), *_full_height(study, units), *_better(study, units)]
    return [f"{words[0].upper()}{words[1:]}." for words in told] or [
        "Nothing of the shell gives it room here or costs it any."
    ]


@dataclass(frozen=True, eq=False)
class PlaceWords:
    """What matters most of a module's place: what gives it most, what costs it most, and a better place nearby.

    Attributes
    ----------
    study : Study
    effects : at most one gift and one cost of a rigid module
    liters : at most one part each that adds to a scribed module or takes from it, at least 1 L
    """

    study: Study
    effects: tuple[Effect, ...]
    liters: tuple[tuple[str, float], ...]

    @classmethod
    def of(cls, study: Study) -> PlaceWords:
        """Return what there is to say of a module's place."""
        effects, module = _worth_telling(study), study.module
        scribed = module.kind == "scribed"
        liters = liters_of(study.layout.shell, module, _NOTABLE) if scribed else ()
        gift, cost = (next((e for e in effects if sign * e.gain > 0), None) for sign in (1, -1))
        added, taken = (next((part for part in liters if sign * part[1] > 0), None) for sign in (1, -1))
        return cls(study, tuple(e for e in (gift, cost) if e), tuple(part for part in (added, taken) if part))

    @property
    def parts(self) -> tuple[str, ...]:
        """The parts that are told first."""
        names = [effect.parts for effect in self.effects] + [(name,) for name, _ in self.liters]
        return names[0] if names else ()

    def words(self, units: str) -> str:
        """Say it in a phrase, lengths in "mm" or "in"; "" where there is nothing to say."""
        told = [*_barred(self.study), *(_effect(self.study, effect, units) for effect in self.effects)]
        told += [_volume(*part, units) for part in self.liters]
        better = self.study.better_nearby
        if better:
            told.append(f"{_shown(self.study, better.gain, units)} better {_way(self.study, better.move, units)}")
        return "; ".join(told)


def _worth_telling(study: Study) -> list[Effect]:
    """Return the effects on a rigid module that exceed the measuring of their parts: gifts first, and of each single ones.

    Where something bars it, however shallow it were made, there is no depth to tell.
    """
    if study.module.kind == "scribed" or any(_barred(study)):
        return []
    tolerance_of = study.layout.shell.tolerance_of
    effects = (*study.effects.single, *study.effects.joint)
    return sorted((e for e in effects if abs(e.gain) > tolerance_of(e.parts)), key=lambda effect: effect.gain < 0)


def _barred(study: Study) -> Iterator[str]:
    """Yield what bars a rigid module where it stands, however shallow it were made."""
    if study.module.kind == "rigid" and study.effects.reach <= CONTACT:
        yield f"{study.effects.stopped_by} bars it here, however shallow"


def _effect(study: Study, effect: Effect, units: str) -> str:
    many = len(effect.parts) > 1
    subject = " and ".join([", ".join(effect.parts[:-1]), effect.parts[-1]]) + " together" if many else effect.parts[0]
    verb = ("give" if effect.gain > 0 else "cost") + ("" if many else "s")
    return f"{subject} {verb} {_shown(study, abs(effect.gain), units)}"


def _volume(name: str, liters: float, units: str) -> str:
    return f"{name} {'adds' if liters > 0 else 'takes'} {volume_words(abs(liters), units)}"


def _begins(study: Study, units: str) -> Iterator[str]:
    """Yield from which heights of its top on members matter that do not yet."""
    heights = [f"{name} at {_shown(study, at, units)}" for at, name in study.begins]
    if heights:
        yield f"made taller, it would begin to meet {', '.join(heights)}"


def _full_height(study: Study, units: str) -> Iterator[str]:
    full = study.full_height
    if full is not None and full[1] > study.layout.shell.measured_to:
        up, cost = (_shown(study, value, units) for value in full[:2])
        yield f"run up to {up}, it would cost {cost} more: {full[2]}"


def _better(study: Study, units: str) -> Iterator[str]:
    """Yield where it would gain, and what by."""
    better, shell = study.better_nearby, study.layout.shell
    if better is None:
        return
    recesses = {part.name for part in shell.parts if part.gives}
    inside = [f"in {better.part}"] if better.part in recesses else []
    clear = [f"clear of {better.past}"] if better.past else []
    why = ", ".join([*inside, *clear]) or f"where the {better.part} is further out"
    yield f"moved {_way(study, better.move, units)} it would gain {_shown(study, better.gain, units)}, {why}"


def _way(study: Study, move: float, units: str) -> str:
    return f"{_shown(study, abs(move), units)} {'rearward' if move > 0 else 'forward'}"


def _shown(study: Study, mm: float, units: str) -> str:
    """Write a length no finer than the shell is measured."""
    if units == "in":
        return format_length(mm, units)
    return f"{format_length(round(mm) if study.layout.shell.measured_to >= 1 else mm, units)} mm"
