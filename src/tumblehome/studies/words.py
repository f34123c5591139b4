"""A study in a client's words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tumblehome.lengths import format_length, format_volume

if TYPE_CHECKING:
    from tumblehome.studies.give import Effect
    from tumblehome.studies.study import Study

__all__ = ["sentences"]


def sentences(study: Study, units: str = "mm") -> list[str]:
    """Say what a module's place gives it and costs it, a sentence for each part; lengths in "mm" or "in"."""
    if study.module.kind == "scribed":
        told = [_volume(name, liters, units) for name, liters in study.liters]
    else:
        effects = (*study.effects.single, *study.effects.joint)
        told = [_effect(effect, units) for effect in effects if _worth(study, effect)]
    full = study.full_height
    if full is not None and full[1] > study.layout.shell.measured_to:
        told.append(f"Run up to {_shown(full[0], units)}, it would cost {_shown(full[1], units)} more: {full[2]}.")
    nearby = study.better_nearby
    if nearby is not None:
        way = "rearward" if nearby[0] > 0 else "forward"
        told.append(f"Moved {_shown(abs(nearby[0]), units)} {way} it would gain {_shown(nearby[1], units)}.")
    return told or ["Nothing of the shell gives it room here or costs it any."]


def _worth(study: Study, effect: Effect) -> bool:
    """Whether an effect is more than the measuring of its parts."""
    return abs(effect.gain) > study.layout.shell.tolerance_of(effect.parts)


def _effect(effect: Effect, units: str) -> str:
    many = len(effect.parts) > 1
    subject = " and ".join([", ".join(effect.parts[:-1]), effect.parts[-1]]) + " together" if many else effect.parts[0]
    verb = ("give" if effect.gain > 0 else "cost") + ("" if many else "s")
    return f"{subject[0].upper()}{subject[1:]} {verb} {_shown(abs(effect.gain), units)}."


def _volume(name: str, liters: float, units: str) -> str:
    verb = "adds" if liters > 0 else "takes"
    return f"{name[0].upper()}{name[1:]} {verb} {format_volume(abs(liters), 'gal' if units == 'in' else 'L')}."


def _shown(mm: float, units: str) -> str:
    return format_length(mm, units) + ("" if units == "in" else " mm")
