"""How large are the people who use the van?"""

from __future__ import annotations

import json
from dataclasses import fields
from functools import cache
from importlib.resources import files
from math import inf
from typing import Any, Final, Literal

from tumblehome.errors import InputError
from tumblehome.records import dataclass

__all__ = ["PERCENTILES", "SOURCE", "Person", "Sex"]

Sex = Literal["woman", "man"]

PERCENTILES: Final = (1, 5, 50, 95, 99)
"""The percentiles that the table of body sizes holds."""
SOURCE: Final = "ANSUR II (2012), report NATICK/TR-15/007"
"""Where body sizes come from, as findings name it."""

_NAMES: Final = {
    "stature": "stature", "shoulder_breadth": "bideltoidbreadth", "hip_breadth": "hipbreadth",
    "hip_breadth_sitting": "hipbreadthsitting", "elbow_breadth": "forearmforearmbreadth", "chest_depth": "chestdepth",
    "belly_depth": "abdominalextensiondepthsitting", "waist_height": "waistheightomphalion",
    "shoulder_height": "acromialheight", "sitting_height": "sittingheight", "eye_height_sitting": "eyeheightsitting",
    "popliteal_height": "poplitealheight", "knee_height_sitting": "kneeheightsitting",
    "buttock_popliteal": "buttockpopliteallength", "buttock_knee": "buttockkneelength",
    "thigh_clearance": "thighclearance", "elbow_rest": "elbowrestheight", "leg_length": "functionalleglength",
    "reach_forward": "thumbtipreach", "reach_overhead_sitting": "overheadfingertipreachsitting",
    "hand_breadth": "handbreadth",
}  # fmt: skip
"""What this program calls a size, and what the survey calls it."""


@dataclass(frozen=True)
class Person:
    """The sizes of a body, each of its own percentile: nobody is so in all of them, and that is the careful side. All in mm.

    Heights are above the floor on which one stands, bare feet; ``sitting_height``, ``eye_height_sitting``, ``elbow_rest`` and
    ``reach_overhead_sitting`` above the seat; ``popliteal_height`` is that of the hollow of the knee of one who sits,
    ``buttock_popliteal`` the length from the back to there, ``buttock_knee`` to the knee, ``leg_length`` from the back
    along the outstretched leg to the sole. ``shoulder_breadth`` is taken over the deltoids, ``belly_depth`` is that of one
    who sits. Soldiers were measured, who are leaner than most people: take depths and hips as low.
    """

    percentile: int
    stature: float
    shoulder_breadth: float
    hip_breadth: float
    hip_breadth_sitting: float
    elbow_breadth: float
    chest_depth: float
    belly_depth: float
    waist_height: float
    shoulder_height: float
    sitting_height: float
    eye_height_sitting: float
    popliteal_height: float
    knee_height_sitting: float
    buttock_popliteal: float
    buttock_knee: float
    thigh_clearance: float
    elbow_rest: float
    leg_length: float
    reach_forward: float
    reach_overhead_sitting: float
    hand_breadth: float

    def __post_init__(self) -> None:
        """Refuse a size that nobody has."""
        for field in fields(self):
            size = getattr(self, field.name)
            if not 0 < size < inf:
                raise InputError(f"{field.name} of a person is {size}; give a size above zero, in mm")

    @classmethod
    def of(cls, percentile: int = 95, sex: Sex | None = None) -> Person:
        """Return the body of a percentile: of a woman, of a man, or the larger of the two in every size (below 50 the smaller).

        Raises
        ------
        InputError
            For a percentile that the table does not hold, or another word for the sex.
        """
        if percentile not in PERCENTILES:
            raise InputError(f"there is no percentile {percentile}; allowed: {', '.join(map(str, PERCENTILES))}")
        if sex not in ("woman", "man", None):
            raise InputError(f"found '{sex}'; allowed: woman, man")
        column = PERCENTILES.index(percentile)
        outer = max if percentile >= 50 else min
        sizes = _table()["sizes"]
        both: tuple[Sex, ...] = (sex,) if sex else ("woman", "man")
        taken = {name: outer(float(sizes[key][each][column]) for each in both) for name, key in _NAMES.items()}
        return cls(percentile, **taken)

    @property
    def small(self) -> Person:
        """The body at the other end of the table, never the larger one: what is to be reached must be in reach of it."""
        return Person.of(min(self.percentile, 100 - self.percentile))

    @property
    def body_depth(self) -> float:
        """How deep it is from front to back: the greater of chest and belly, mm."""
        return max(self.chest_depth, self.belly_depth)

    def scaled(self, share: float) -> Person:
        """Return a body of the same breadths and depths whose heights are so much of its own: one that stoops."""
        low = {name: getattr(self, name) * share for name in ("stature", "waist_height", "shoulder_height")}
        kept = {field.name: getattr(self, field.name) for field in fields(self)}
        return Person(**(kept | low))


@cache
def _table() -> dict[str, Any]:
    text = files("tumblehome.people").joinpath("body_sizes.json").read_text(encoding="utf-8")
    table: dict[str, Any] = json.loads(text)
    return table
