"""One file that a client opens: how do the answers of the library become a page that needs nothing but itself?

The page computes no dimension. Every number in it was worked out and worded here; its script only chooses which one to show.
"""

from __future__ import annotations

import base64
import hashlib
import json
from functools import cache
from html import escape
from importlib.resources import files
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from tumblehome.checks import worst
from tumblehome.drawing import palette
from tumblehome.drawing.telling import telling_heights, telling_stations
from tumblehome.drawing.van import scene_of
from tumblehome.page.flat import flat_drawings, steps_through
from tumblehome.page.meshes import round_scene
from tumblehome.page.telling import told_modules
from tumblehome.page.widths import width_tables
from tumblehome.page.wording import Pool

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from tumblehome.checks import Finding
    from tumblehome.fitout import Layout

__all__ = ["build_page", "root_colors"]

Units = Literal["mm", "in"]

_STEP: Final = {"mm": 50.0, "in": 50.8}
"""The cuts are this far apart, mm: 50 mm, or 2 in."""
_SCRIPTS: Final = ("elements.js", "space.js", "placing.js", "round.js", "flat.js", "orbit.js", "page.js")
_COLORS: Final = {
    "paper": palette.PAPER, "air": palette.AIR, "ink": palette.INK, "quiet": palette.QUIET, "rule": palette.RULE,
    "steel": palette.STEEL, "lining": palette.LINING, "hatch": palette.LINING_HATCH, "member": palette.MEMBER,
    "recess": palette.RECESS, "recess-edge": palette.RECESS_EDGE, "module": palette.MODULE, "accent": palette.ACCENT,
    "person": palette.PERSON, "person-edge": palette.PERSON_EDGE,
    **{verdict: look.color for verdict, look in palette.VERDICTS.items()},
}  # fmt: skip


def build_page(
    layout: Layout,
    findings: Sequence[Finding],
    units: Units = "mm",
    *,
    progress: Callable[[str], None] | None = None,
) -> str:
    """Return a layout as one HTML document for the client. The same layout always gives the same text.

    Parameters
    ----------
    layout : Layout
    findings : all findings about it, as `tumblehome.checks.check` returns them
    units : "mm" or "in"; what is shown first, and whether the cuts are 50 mm or 2 in apart; the page can switch
    progress : called with a few words before each part of the work

    Raises
    ------
    InputError, KernelError
        When the shell or a module has no volume.
    """
    say = progress or (lambda _: None)
    say("meshing the van")
    scene = scene_of(layout, labels=False)
    step = _STEP[units]
    steps = steps_through(layout.shell, step)
    names = [module.name for module in layout.modules]
    pool = Pool()
    say("measuring the widths")
    widths = width_tables(layout, steps, pool)
    told = {
        "units": units,
        "title": layout.title,
        "van": layout.shell.name,
        "note": layout.note,
        "verdict": worst(list(findings)),
        "modules": told_modules(layout, findings),
        "round": round_scene(scene, names),
        "flat": flat_drawings(layout, findings, steps, say),
        "begin": [  # of two telling heights the upper one, where one reaches without stooping
            _step_at(telling_heights(layout, step)[-1:], steps.heights),
            _step_at(telling_stations(layout, findings, step), steps.stations),
        ],
        "heights": _axis(steps.heights, pool),
        "stations": _axis(steps.stations, pool),
        "widths": widths,
        "pool": pool.words,
    }
    return _document(layout, told)


def _step_at(telling: Sequence[float], steps: Sequence[float]) -> int:
    """Return the number of the step nearest to the middle one of some telling places, or of all steps where none tells."""
    middle = telling[(len(telling) - 1) // 2] if telling else steps[len(steps) // 2]
    return int(np.argmin(np.abs(np.asarray(steps) - middle)))


def _axis(values: Sequence[float], pool: Pool) -> dict[str, object]:
    return {"at": [round(value, 3) for value in values], "words": [pool.number(value) for value in values]}


def _document(layout: Layout, told: Mapping[str, object]) -> str:
    """Return the page around what it tells. Its script and style are named by their hashes, and nothing else may run."""
    style = root_colors() + _template("base.css") + _template("page.css")
    script = '"use strict";\n' + "\n".join(map(_template, _SCRIPTS))
    policy = (
        f"default-src 'none'; script-src '{_hash(script)}'; style-src '{_hash(style)}'; img-src data:; "
        "base-uri 'none'; form-action 'none'"
    )
    parts = {
        "policy": escape(policy),
        "title": escape(layout.title),
        "style": style,
        "marks": _template("marks.html").strip(),
        "script": script,
        "data": _as_data(told),
    }
    page = _template("page.html")
    for name, text in parts.items():
        before, after = page.split(f"<!--{name}-->" if name in _MARKED else f"%{name}%", 1)
        page = before + text + after
    return page


_MARKED: Final = frozenset({"style", "marks", "script", "data"})


def _as_data(told: Mapping[str, object]) -> str:
    """Return plain data as JSON that no tag or comment of HTML can end, whatever the names in it hold."""
    text = json.dumps(told, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e")


def root_colors() -> str:
    """Return the palette as the style sheet's variables."""
    return ":root{" + "".join(f"--{name}:{color};" for name, color in _COLORS.items()) + "}\n"


def _hash(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


@cache
def _template(name: str) -> str:
    return files("tumblehome.page").joinpath(name).read_text(encoding="utf-8")
