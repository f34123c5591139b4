"""In which modes of the van does a finding hold?"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from tumblehome.checks.motion import check_motions
from tumblehome.checks.run import Checker

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from tumblehome.checks.finding import Finding
    from tumblehome.fitout import Layout

__all__ = ["check_modes", "in_modes"]


def check_modes(
    layouts: Sequence[Layout], *, checker: Checker | None = None, progress: Callable[[str], None] | None = None
) -> list[Finding]:
    """Return every finding about a layout in all of its modes, and about the ways between them.

    Parameters
    ----------
    layouts : one a mode, as `load_modes` gives them
    checker : the one that checked this plan before, if it was checked: what has not changed is not asked again
    progress : called with each module's name before it is checked

    Returns
    -------
    list of Finding
        What says the same in several modes is one finding, and ``modes`` tells in which it holds.
    """
    ways = check_motions(layouts)
    found = (checker or Checker()).check(layouts, progress=progress)
    return in_modes({layout.mode: [*own, *ways[layout.mode]] for layout, own in zip(layouts, found, strict=True)})


def in_modes(found: Mapping[str, Sequence[Finding]]) -> list[Finding]:
    """Join the findings of several modes, by mode, into one list in which each tells in which modes it holds.

    A finding is the same in two modes when it says the same of the same. A plan that has only one state has no mode to tell.
    """
    if len(found) == 1:
        return [finding for findings in found.values() for finding in findings]
    held: dict[tuple[object, ...], list[str]] = {}
    first: dict[tuple[object, ...], Finding] = {}
    said = _said_of_each({id(finding): finding for findings in found.values() for finding in findings})
    for mode, findings in found.items():
        for finding in findings:
            key = said[id(finding)]
            first.setdefault(key, finding)
            held.setdefault(key, []).append(mode)
    return [finding.held_in(tuple(held[key])) for key, finding in first.items()]


def _said_of_each(findings: Mapping[int, Finding]) -> dict[int, tuple[object, ...]]:
    """Return what each finding says, in full where its bare facts are those of another one too."""
    facts = {i: (f.subject, f.question, f.verdict, f.cause, f.direction) for i, f in findings.items()}
    often = Counter(facts.values())
    return {i: (*facts[i], finding.words() if often[facts[i]] > 1 else "") for i, finding in findings.items()}
