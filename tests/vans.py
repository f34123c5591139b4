"""Vans whose every distance has a closed form, written as the files that a builder would write."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

import pytest

from tumblehome.body.shellfile import load_shell
from tumblehome.fitout import load_modes

if TYPE_CHECKING:
    from tumblehome.body.shell import Shell
    from tumblehome.fitout import Layout

__all__ = [
    "BOX", "EXACT", "LEANING", "ROOFED", "TAPERED",
    "in_modes", "layout", "leaning", "member", "mode", "module", "near", "plan", "recess", "shell", "van",
]  # fmt: skip

Size: TypeAlias = "float | str | None"

EXACT = 1e-6
"""Millimeters: what is promised on shells of flat faces."""

BOX = "height, 0, 4000\n0, 800, 800\n1900, 800, 800"
"""Upright walls: half-breadth 800, height 1900, stations 0 to 4000."""

LEANING = "height, 0, 4000\n0, 900, 900\n2000, 700, 700"
"""Walls that lean in 1 in 10 and meet a flat roof at 2000; see ``leaning``."""

TAPERED = "height, 0, 4000\n0, 900, 700\n1900, 900, 700"
"""Upright walls that close in towards the rear: half-breadth 900 - x / 20."""

ROOFED = "height, 0, 4000\n0, 900, 900\n1500, 800, 800\n1800, 300, 300"
"""Leaning walls below a roof that slopes 3 in 5 from 1500 to 1800: half-breadth 800 - (z - 1500) 5 / 3 there."""


def near(value: Any) -> Any:
    """Return what is equal to a number, or to an array of them, within EXACT."""
    return pytest.approx(value, abs=EXACT)


def leaning(height: float) -> float:
    """Return the half-breadth of the leaning van at a height."""
    return 900 - height / 10


def van(offsets: str, *parts: str, measured_to: float = 3, lining: float = 0, floor: float = 0) -> str:
    """Return a shell file."""
    return "\n".join(
        [
            f'name = "test van"\nunit = "mm"\nmeasured_to = {measured_to!r}',
            f'[offsets]\nhalf_breadths = """\n{offsets}\n"""',
            f"[lining]\nwalls = {lining!r}\nroof = {lining!r}\nfloor = {floor!r}",
            *parts,
        ]
    )


def member(name: str, kind: str, **fields: Any) -> str:
    """Return a member's table."""
    return _table("members", name=name, kind=kind, **fields)


def recess(name: str, **fields: Any) -> str:
    """Return a recess's table."""
    return _table("recesses", name=name, **fields)


def module(name: str, wide: Size = 500, deep: Size = 400, high: Size = 700, **fields: Any) -> str:
    """Return a module's table; a size of None is left out, and ``in_`` stands for the key ``in``."""
    sizes = {key: size for key, size in (("wide", wide), ("deep", deep), ("high", high)) if size is not None}
    return _table("modules", name=name, **sizes, **{key.rstrip("_"): value for key, value in fields.items()})


def plan(*modules: str, **head: Any) -> str:
    """Return a layout file."""
    lines = {"name": "test plan", "shell": "shell.toml", "unit": "mm", **head}
    return "\n".join([*(f"{key} = {_toml(value)}" for key, value in lines.items()), *modules])


def shell(text: str) -> Shell:
    """Load a shell file from its text."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder, "shell.toml")
        file.write_text(text, encoding="utf-8")
        return load_shell(file)


def mode(name: str, *changes: dict[str, Any]) -> str:
    """Return a mode's table with its changes, each the key ``module`` and what is said again."""
    return "\n".join([_table("modes", name=name), *(_table("modes.changes", **change) for change in changes)])


def layout(van_text: str, *modules: str, **head: Any) -> Layout:
    """Load modules into a van, in its first mode."""
    return in_modes(van_text, *modules, **head)[0]


def in_modes(van_text: str, *modules: str, **head: Any) -> tuple[Layout, ...]:
    """Load modules and modes into a van, one layout a mode."""
    with tempfile.TemporaryDirectory() as folder:
        Path(folder, "shell.toml").write_text(van_text, encoding="utf-8")
        file = Path(folder, "layout.toml")
        file.write_text(plan(*modules, **head), encoding="utf-8")
        return load_modes(file)


def _table(table: str, **fields: Any) -> str:
    return "\n".join([f"[[{table}]]", *(f"{key} = {_toml(value)}" for key, value in fields.items())])


def _toml(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {_toml(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(map(_toml, value)) + "]"
    return repr(float(value)) if isinstance(value, float) else json.dumps(value)
