"""In which modes of the van does a finding hold?"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from tumblehome.checks.motion import check_motions
from tumblehome.checks.run import check

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from tumblehome.checks.finding import Finding
    from tumblehome.fitout import Layout

__all__ = ["check_modes", "in_modes"]


def check_modes(layouts: Sequence[Layout], *, progress: Callable[[str], None] | None = None) -> list[Finding]:
    """Return every finding about a layout in all of its modes, and about the ways between them.

    Parameters
    ----------
    layouts : one a mode, as `load_modes` gives them
    progress : called with each module's name before it is checked

    Returns
    -------
    list of Finding
        What says the same in several modes is one finding, and ``modes`` tells in which it holds.
    """
    ways = check_motions(layouts)
    return in_modes({layout.mode: [*check(layout, progress=progress), *ways[layout.mode]] for layout in layouts})


def in_modes(found: Mapping[str, Sequence[Finding]]) -> list[Finding]:
    """Join the findings of several modes, by mode, into one list in which each tells in which modes it holds.

    A finding is the same in two modes when it says the same of the same. A plan that has only one state has no mode to tell.
    """
    if len(found) == 1:
        return [finding for findings in found.values() for finding in findings]
    same: dict[tuple[object, ...], Finding] = {}
    for mode, findings in found.items():
        for finding in findings:
            key = (
                finding.subject,
                finding.question,
                finding.verdict,
                finding.cause,
                finding.direction,
                finding.words(),
            )
            known = same.get(key, finding)
            same[key] = replace(known, modes=(*known.modes, mode))
    return list(same.values())
