"""How findings about people are worded."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tumblehome.checks.finding import Finding, verdict_of
from tumblehome.lengths import shown

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tumblehome.checks.finding import Verdict

__all__ = ["between", "fit", "joined", "said", "span"]


def span(least: float, most: float, units: str) -> str:
    """Return an interval of lengths with their units; one length where both are the same."""
    return shown(least, units) if least == most else f"{shown(least, units)} to {shown(most, units)}"


def between(parts: tuple[str, str]) -> str:
    """Say between which two parts a gate is, or in which doorway, or between which part's two sides."""
    one, other = parts
    return f"between {one} and {other}" if one != other else f"between the two sides of {one}"


def joined(names: Sequence[str], last: str = "and") -> str:
    """Return names as a sentence lists them."""
    return f" {last} ".join(filter(None, [", ".join(names[:-1]), names[-1]])) if names else ""


def said(words: Callable[[str], str]) -> dict[str, str]:
    """Return a sentence in each of the units."""
    return {units: words(units) for units in ("mm", "in")}


def fit(
    subject: str,
    question: str,
    value: float,
    limits: tuple[float, float],
    tolerance: float,
    what: str,
    *,
    source: str,
    cause: str | None = None,
    comfort: bool = False,
    shown_limit: bool = False,
    over: str = "",
) -> Finding:
    """Return the finding on a room that must hold a body, mm: clear for the larger, tight for the smaller only, else at fault.

    Parameters
    ----------
    limits : what the smaller and the larger body need
    comfort : whether too little of it is only uncomfortable, and so never at fault
    shown_limit : whether the sentence ends with what is needed
    over : "over " where more than the value was not asked about
    """
    least, most = limits

    def words(units: str) -> str:
        told = f"{over}{shown(value, units)} {what}" + (f" {shown(most, units)}" if shown_limit else "")
        if value >= most:
            return told if shown_limit or over else f"{told}, {shown(value - most, units)} to spare"
        if value >= least:
            return f"{told}, {shown(most - value, units)} too little for the largest"
        short = f"{shown(least - value, units)} too little"
        return f"{told}, {short}" if shown_limit else f"{told}, {short} even for the smallest"

    bad: Verdict = "tight" if comfort or value >= least else "fouls"
    verdict = verdict_of(value - most, tolerance) if value >= most else bad
    return Finding(
        subject, question, verdict, value, most, cause=cause, source=source, tolerance=tolerance, said=said(words)
    )
