"""A van whose every width is known in closed form, in files as a builder writes them; and what a program answers."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

import tumblehome

SHELL = """
name = "Wedge"
unit = "{unit}"
measured_to = "3 mm"

[offsets]
half_breadths = '''
  , 0 mm, 3000 mm
0 mm, 900 mm, 900 mm
2000 mm, 700 mm, 700 mm
'''

[[members]]
kind = "rib"
name = "rib left"
side = "left"
stations = ["1000 mm", "1100 mm"]
depth = "50 mm"

[[doorways]]
name = "side door"
side = "right"
stations = ["200 mm", "900 mm"]
heights = ["0 mm", "1500 mm"]
"""

LAYOUT = """
name = "One box"
shell = "shell.toml"
unit = "{unit}"

[[modules]]
name = "box"
wide = "600 mm"
deep = "400 mm"
high = "1000 mm"
station = "2000 mm"
breadth = "{breadth}"
mass = "20 kg"
holds = "10 L"
"""


@dataclass(frozen=True)
class Answer:
    """What a run said, and its exit status."""

    status: int
    out: str
    err: str


def half_breadth(height: float) -> float:
    """Half-breadth of the wedge's walls in mm: 900 at the floor, 700 at 2000."""
    return 900.0 - height / 10.0


def environment(**more: str) -> dict[str, str]:
    """Return the environment for a program of its own that finds this package."""
    return {**os.environ, "PYTHONPATH": str(Path(tumblehome.__file__).parents[1]), **more}
