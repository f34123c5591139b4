"""A finding: one answered question, made in one place and shown by many."""

from __future__ import annotations

from dataclasses import field, replace
from functools import cached_property
from typing import Any, Final, Literal

from tumblehome.lengths import rounded_down, rounded_up, shown, volume_words
from tumblehome.records import dataclass

__all__ = ["VERDICTS", "Finding", "Verdict", "move_words", "verdict_of", "worst"]

Verdict = Literal["clear", "tight", "fouls"]
VERDICTS: Final[tuple[Verdict, ...]] = ("clear", "tight", "fouls")

_MOVES: Final = {
    "front": "forward",
    "rear": "rearward",
    "left": "to the left",
    "right": "to the right",
    "up": "up",
    "down": "down",
}


@dataclass(frozen=True)
class Finding:
    """One answered question about one module.

    Attributes
    ----------
    subject : the module; question : what was asked of it
    verdict : "clear", "tight" (the margin is within the measuring tolerance: measure again) or "fouls"
    value : what was found, mm; limit : what is needed, mm; margin : value less limit
    where : (x, y, z) mm, or None; direction : towards the cause, one of the six, or None
    cause : the named part or module, or None
    source : where the limit comes from
    tolerance : the measuring tolerance that the margin was held against, mm
    volume : of what fouls, L
    moves : for each direction the shortest move that clears everything, mm; None where no move does
    sensible_moves : the directions among them that a builder could use
    greatest_height : the greatest height at which it would clear where it stands, mm, or None
    greatest_across : which of its sizes in plan, "wide" or "deep", is too much for the run that is free there, and that run, mm
    touching : whether the two touch, by intent or because one was built to the other
    said : the sentence in each of the units, where a finding tells more than a margin; it judges none then
    modes : the modes of the van in which it holds; none for a plan that has only one state
    """

    subject: str
    question: str
    verdict: Verdict
    value: float | None = None
    limit: float = 0.0
    where: tuple[float, float, float] | None = None
    direction: str | None = None
    cause: str | None = None
    source: str = "geometry of the shell and layout files"
    tolerance: float = 0.0
    volume: float = 0.0
    moves: dict[str, float | None] = field(default_factory=dict)
    sensible_moves: tuple[str, ...] = ()
    greatest_height: float | None = None
    greatest_across: tuple[str, float] | None = None
    touching: bool = False
    said: dict[str, str] = field(default_factory=dict)
    modes: tuple[str, ...] = ()

    @property
    def margin(self) -> float | None:
        """What is left over, mm; negative where it fouls; None where nothing is judged."""
        return None if self.value is None or self.said else self.value - self.limit

    @property
    def ways(self) -> list[tuple[float, str]]:
        """The moves that clear and that a builder could use, the shortest first: mm, and one of the six directions."""
        return sorted((mm, way) for way, mm in self.moves.items() if mm is not None and way in self.sensible_moves)

    def words(self, units: str = "mm") -> str:
        """Say the finding in a sentence, lengths and volumes in the units asked for ("mm" or "in")."""
        if self.said:
            return self.said[units]
        if self.verdict == "fouls":
            return self._foul_words(units)
        if self.cause is None or self.value is None:
            return "nothing in its way"
        if self.touching:
            return f"touches {self.cause}"
        side = f" {_TOWARDS[self.direction]}" if self.direction else ""
        if self.verdict != "tight":
            return f"{shown(self.value, units)} to {self.cause}{side}"
        measured = f"measured to {shown(self.tolerance, units)}: measure again"
        return f"{_down(self.value, units)} to {self.cause}{side}, {measured}"

    def _foul_words(self, units: str) -> str:
        if self.cause is None:
            return "stands outside the interior"
        parts = [f"into {self.cause}" + (f" by {volume_words(self.volume, units)}" if self.volume >= 0.005 else "")]
        if self.value is not None and self.value >= 0 and self.limit:
            parts.append(f"{_down(self.value, units)} free of {shown(self.limit, units)}")
        mends = [f"move {move_words(distance, way, units)}" for distance, way in self.ways[:2]]
        if self.greatest_height is not None:
            mends.append(f"make it at most {_down(self.greatest_height, units)} high")
        if self.greatest_across is not None:
            word, most = self.greatest_across
            mends.append(f"make it at most {_down(most, units)} {word}")
        return "; ".join([*parts, "clears if you " + ", or ".join(mends)] if mends else parts)

    def held_in(self, modes: tuple[str, ...]) -> Finding:
        """Return the same finding as one that holds in some modes; asked again, the same one."""
        if modes not in self._held:
            self._held[modes] = replace(self, modes=modes)
        return self._held[modes]

    @cached_property
    def _held(self) -> dict[tuple[str, ...], Finding]:
        return {}

    def as_dict(self) -> dict[str, Any]:
        """Return it as plain data for programs; lengths in mm, volume in L."""
        names = ("subject", "question", "verdict", "value", "limit", "margin", "where", "direction", "cause", "source")
        plain: dict[str, Any] = {name: getattr(self, name) for name in names}
        plain |= {"tolerance": self.tolerance, "volume": self.volume, "moves": self.moves}
        plain |= {
            "greatest_height": self.greatest_height,
            "greatest_across": self.greatest_across,
            "touching": self.touching,
            "words": self.words(),
        }
        return plain | {"modes": list(self.modes)}


_MARKS: Final = {"mm": 0.1, "in": 25.4 / 16}
"""To what lengths are rounded, mm."""
_TOWARDS: Final = {
    "front": "ahead",
    "rear": "behind",
    "left": "on the left",
    "right": "on the right",
    "up": "above",
    "down": "below",
}


def move_words(mm: float, way: str, units: str) -> str:
    """Say a move towards one of the six directions, "30.4 mm forward", rounded up, so that it clears."""
    return f"{shown(rounded_up(mm, _MARKS[units]), units)} {_MOVES[way]}"


def _down(mm: float, units: str) -> str:
    return shown(rounded_down(mm, _MARKS[units]), units)


def verdict_of(margin: float, tolerance: float) -> Verdict:
    """Return the verdict on a margin that is not negative: tight below the measuring tolerance."""
    return "tight" if margin < tolerance else "clear"


def worst(findings: list[Finding]) -> Verdict:
    """Return the worst verdict among findings; clear when there are none."""
    return max((f.verdict for f in findings), key=VERDICTS.index, default="clear")
