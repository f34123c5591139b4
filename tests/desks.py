"""A plan with all that an edit may meet: ways of writing lengths, modes, boxes, what stands on and in other things, comments."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from pathlib import Path

from tumblehome.viewer.desk import Desk
from vans import LEANING, recess, van

__all__ = ["NAMES", "PLAN", "VAN", "comments", "desk", "places", "said"]

VAN = van(LEANING, recess("window", side="left", depth=60, stations=[1500, 2300], heights=[800, 1500]), measured_to=3)

PLAN = """# A plan with everything in it.
name = "everything"     # its name
shell = "shell.toml"
unit = "in"

# ---- left ----

[[modules]]
name = "bench"          # against the wall
wide = "22 1/2"
deep = 16
high = "15 3/4 in"      # a chair's height
against = "left"        # pushed
station = "20 1/4"      # along
mass = "20 lb"

    # what one pulls
    [[modules.zones]]
    name = "drawer"     # out
    room = 10

[[modules]]
name = "cushion"
on = "bench"            # goes along
wide = "22-1/2\\""
deep = '14 in'
high = 3
against = "left"
station = "20 1/4"

[[modules]]
name = "lamp"
on = "cushion"
wide = "50 mm"
deep = "0.05 m"
high = "2' 1-1/2\\""
station = "26 in"       # told in inches
breadth = "-700 mm"     # told in millimeters

# ---- right ----

[[modules]]
name = "galley"
kind = "scribed"        # follows the wall
wide = 40
high = 34
face = 12
against = "right"
gap = "1/8"
station = 30

[[modules]]
name = "tank"
in = "galley"           # nested
wide = 12
deep = 9
high = 12
against = "right"
station = 45.5

[[modules]]
name = "shelf"
kind = "scribed"
wide = 30
high = 12
deep = "9 1/4"          # at the least
against = "left"
station = "60.25"
hung = "50 in"

[[modules]]
name = "table"
faces = "rear"          # looks back
station = 100
breadth = -13
boxes = [               # a top and a leg
    {wide = 26, deep = 22, high = 1, up = "27 1/2"},  # the top
    {wide = 3, deep = 3, high = "27 1/2", left = "11 1/2", fore = "9 1/2"},
]

[[modules]]
name = "box"
wide = 10
deep = 12
high = 14
yaw = 30
station = 75
breadth = 3
opening = {wide = 5, high = 6}   # inline
use = "bath"

# ---- modes ----

[[modes]]
name = "day"            # as listed

[[modes]]
name = "night"

    [[modes.changes]]
    module = "table"    # lower
    station = "110 1/2" # and further back
    boxes = [{wide = 26, deep = 22, high = 1, up = 12}, {wide = 3, deep = 3, high = 12, left = 11, fore = 9}]

    [[modes.changes]]
    module = "lamp"
    stowed = true       # in the bench
"""

NAMES = ("bench", "cushion", "lamp", "galley", "tank", "shelf", "table", "box")


def desk(folder: Path, text: str = PLAN, *, shell: str = VAN, **keys: object) -> Desk:
    """Open a plan that is written into a folder."""
    Path(folder, "shell.toml").write_text(shell, encoding="utf-8")
    file = Path(folder, "layout.toml")
    file.write_bytes(text.encode())
    return Desk(file, **keys)  # type: ignore[arg-type]


def comments(text: str) -> Counter[str]:
    """Return the comments of a text in which no string holds a #."""
    return Counter(found.strip() for found in re.findall(r"#[^\n]*", text))


def said(text: str, name: str) -> dict[str, object]:
    """Return what a text lists of a module."""
    found: dict[str, object] = next(each for each in tomllib.loads(text)["modules"] if each["name"] == name)
    return found


def places(bench: Desk) -> dict[tuple[str, str], list[float]]:
    """Return the corners of every module in every mode, mm."""
    return {
        (layout.mode, module.name): [float(x) for corner in module.bounds for x in corner]
        for layout in bench.layouts
        for module in layout.modules
    }
