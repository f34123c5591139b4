"""A study as plain data: lengths in mm, volumes in liters, curves by their breakpoints."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from tumblehome.cli.studytables import SHELF_STEP, corners, elsewhere, is_hung, shelves
from tumblehome.cli.wording import rounded
from tumblehome.studies import sentences

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tumblehome.cli.wording import Shown, Span
    from tumblehome.studies import Effect, Place, Study

__all__ = ["document"]


def document(study: Study, heights: Span, stations: Span, units: Shown) -> dict[str, object]:
    """Return everything that a study answers, the curve by height within heights, the one along the wall within stations."""
    module, layout = study.module, study.layout
    return {
        "layout": layout.name,
        "shell": layout.shell.name,
        "unit": "mm",
        "measured_to": layout.shell.measured_to,
        "module": module.name,
        "kind": module.kind,
        "side": study.side,
        "fouls": study.reason or None,
        **rounded({"foot": study.foot, "top": study.top, "deep": module.deep, "gap": module.gap}),
        **rounded({"back": study.back, "aisle": study.aisle}),
        "words": sentences(study, units),
        "effects": {"single": _effects(study.effects.single), "joint": _effects(study.effects.joint)},
        **_by_height(study, heights),
        "slide": _corners(study, study.slide.clipped(*stations)),
        "recesses": [_place(place) for place in study.drops],
        "better_nearby": rounded(asdict(study.better_nearby)) if study.better_nearby else None,
        "left_over": [{**rounded(asdict(box)), "liters": round(box.liters, 6)} for box in study.left_over],
        "inside": _inside(study, units),
        "elsewhere": [_place(place) for place in elsewhere(study)],
    }


def _by_height(study: Study, heights: Span) -> dict[str, object]:
    return {
        "by_top": _corners(study, study.by_top.clipped(*heights)),
        "by_underside": _corners(study, study.by_underside) if is_hung(study) else None,
        "greatest_height": _named(("high", "part"), study.greatest_height()),
        "greatest_depth": _named(
            ("deep", "part"), study.greatest_depth(study.top - study.foot) if study.is_square else None
        ),
        "begins": [_named(("top", "part"), each) for each in study.begins],
        "full_height": _named(("top", "cost", "part"), study.full_height),
    }


def _corners(study: Study, profile: Any) -> list[dict[str, object]]:  # noqa: ANN401
    return [rounded(asdict(corner)) for corner in corners(study, profile)]


def _effects(effects: Sequence[Effect]) -> list[dict[str, object]]:
    return [{"parts": list(effect.parts), "gain": round(effect.gain, 6)} for effect in effects]


def _place(place: Place) -> dict[str, object]:
    return {**rounded(asdict(place)), "play": round(place.play, 6), "collides": list(place.collides)}


def _named(names: Sequence[str], values: Sequence[object] | None) -> dict[str, object] | None:
    return None if values is None else rounded(dict(zip(names, values, strict=True)))


def _inside(study: Study, units: Shown) -> dict[str, object] | None:
    """Return what a scribed cabinet holds: its volume, what each part adds or takes, and its depths by height."""
    if study.module.kind != "scribed":
        return None
    inner = study.module.inner
    return {
        "liters": round(inner.volume / 1e6, 6) if inner else None,
        "parts": [rounded({"part": name, "liters": liters}) for name, liters in study.liters],
        "drawer_high": SHELF_STEP[units],
        "by_height": _corners(study, study.by_height.clipped(study.foot, study.top)),
        "shelves": [
            rounded({"height": at, "deep": deep, "drawer": drawer}) for at, deep, drawer in shelves(study, units)
        ],
    }
