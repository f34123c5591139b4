"""What does the van look like: opaque sectional pictures under soft light, drawn off screen into PNG files."""

from __future__ import annotations

import os
import subprocess
import sys
from functools import cache
from io import BytesIO
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.drawing.callouts import Placement, place_names
from tumblehome.drawing.camera import Camera
from tumblehome.drawing.lettering import Lettering, Note
from tumblehome.drawing.scene import VIEWS, Scene, Seen, View, view_of
from tumblehome.drawing.studio import photograph, what_is_where
from tumblehome.drawing.text import Box
from tumblehome.errors import InputError, PictureError
from tumblehome.files import output_folder, replace_file
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence
    from pathlib import Path

    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

__all__ = ["Still", "can_draw", "render_still", "render_stills"]

_SIZE: Final = (1600, 1000)
_LEAST_SIZE, _MOST_SIZE = 200, 8000  # pixels a side: below, no caption fits; above, drivers give up
_COST_OF_SIDES: Final = 1.35  # names stand beside the subject unless it shrinks by more than this for them
_SHORTEST_NOTE: Final = 0.05  # of the picture's height; shorter, a dimension is seen almost end-on
_NOTE_REACH: Final = 10.0  # mm between the end of a note and the thing that it measures


@dataclass(frozen=True)
class Still:
    """One picture.

    Attributes
    ----------
    png : bytes
        The PNG file.
    placements : tuple of Placement
        Where the names of what is seen stand, in pixels from the upper left corner.
    notes : tuple of str
        The texts of the dimension lines that it shows.
    """

    png: bytes
    placements: tuple[Placement, ...]
    notes: tuple[str, ...]


def render_stills(
    scene: Scene,
    folder: Path | str,
    views: Iterable[str] = tuple(VIEWS),
    size: tuple[int, int] = _SIZE,
    *,
    title: str = "",
    units: str = "millimeters",
    notes: Sequence[tuple[ArrayLike, ArrayLike, str]] = (),
    progress: Callable[[str], None] | None = None,
) -> list[Path]:
    """Draw views of a scene into PNG files named after them, and return their paths.

    Parameters
    ----------
    scene : Scene
        What to draw.
    folder : Path or str
        Made when it is not there.
    views : iterable of str
        Names of VIEWS.
    size : (width, height)
        In pixels.
    title, units : str
        For the caption.
    notes : sequence of (point a, point b, text), points (3,) float, mm
        Dimension lines; one is drawn in the views that show both its ends and have room for it.
    progress : callable
        Called with a line of words before each picture.

    Raises
    ------
    InputError
        For a view that there is not, an impossible size, or a note without ends; when the folder cannot be written.
    PictureError
        When this machine cannot draw, or a picture has no room for the names.
    """
    chosen = [view_of(scene, name, aspect=_checked(size)[0] / size[1]) for name in views]
    paths = []
    with output_folder(folder) as target:
        for view in chosen:
            path = target / f"{view.name.replace(' ', '-')}.png"
            if progress is not None:
                progress(f"drawing {path.name}")
            replace_file(path, render_still(scene, view, size, title=title, units=units, notes=notes).png)
            paths.append(path)
    return paths


def render_still(
    scene: Scene,
    view: View | str,
    size: tuple[int, int] = _SIZE,
    *,
    title: str = "",
    units: str = "millimeters",
    notes: Sequence[tuple[ArrayLike, ArrayLike, str]] = (),
) -> Still:
    """Draw one view; parameters and errors as for `render_stills`."""
    _require_display()
    width, height = _checked(size)
    shown = view_of(scene, view, aspect=width / height) if isinstance(view, str) else view
    seen = scene.seen(shown)
    if not seen:
        raise InputError(f"view '{shown.name}': every piece is cut away")
    lettering = Lettering(width, height)
    names = {i + 1: lettering.words(s.piece.name) for i, s in enumerate(seen) if s.piece.label}
    points = np.concatenate([s.vertices for s in seen])
    beside, above = (Camera.framing(shown, points, frame, size) for frame in lettering.frames(list(names.values())))
    camera = beside if beside.half_height < _COST_OF_SIDES * above.half_height else above
    facets, owners, depths = what_is_where(seen, camera)
    sheet = Box(0, 0, width, height).grown(-lettering.margin)
    tagged = lettering.tags(_shown_notes(notes, seen, camera, depths), sheet)
    taken = [lettering.caption(), *(box for _, box in tagged)]
    tracks = [box for note, _ in tagged for box in lettering.track(note)]
    placements = place_names(facets, owners, width / facets.shape[1], names, sheet=sheet, taken=taken, crossable=tracks)
    picture = photograph(seen, camera)
    lettering.draw(picture, placements, tagged)
    lettering.write_caption(picture, title, f"{shown.words} · {units}")
    png = BytesIO()
    picture.save(png, "PNG")
    return Still(png.getvalue(), tuple(placements), tuple(note.text for note, _ in tagged))


def can_draw() -> bool:
    """Return whether this machine can draw off screen; asked once, in a process of its own, which may crash."""
    return _probe() == 0


def _require_display() -> None:
    if not can_draw():
        raise PictureError(
            "this machine cannot draw 3D pictures: it has no off-screen OpenGL; on Debian install libegl1 and libgl1, "
            "or libgl1 and xvfb and run the command under xvfb-run"
        )


_PROBE: Final = """
import vtkmodules.vtkRenderingOpenGL2
from vtkmodules.vtkRenderingCore import vtkRenderWindow
window = vtkRenderWindow()
window.SetOffScreenRendering(1)
window.SetSize(8, 8)
window.Render()
raise SystemExit(not window.SupportsOpenGL())
"""


@cache
def _probe() -> int:
    """Return the exit status of a process that draws off screen: without a driver, the renderer crashes in it."""
    if sys.platform.startswith("linux") and not os.environ.get("DISPLAY"):
        # Without it, the renderer complains of the missing X server before it goes on without.
        os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")
    try:
        command = [sys.executable, "-c", _PROBE]
        probe = subprocess.run(command, capture_output=True, timeout=60, check=False)  # noqa: S603  (our own program)
    except (OSError, subprocess.TimeoutExpired):
        return 1
    return probe.returncode


def _checked(size: tuple[int, int]) -> tuple[int, int]:
    width, height = size
    if not (_LEAST_SIZE <= width <= _MOST_SIZE and _LEAST_SIZE <= height <= _MOST_SIZE):
        raise InputError(f"a picture is {_LEAST_SIZE} to {_MOST_SIZE} pixels a side, found {width} x {height}")
    return width, height


def _shown_notes(
    notes: Sequence[tuple[ArrayLike, ArrayLike, str]], seen: Sequence[Seen], camera: Camera, depths: Floats
) -> list[Note]:
    """Return the notes, flattened to pixels, of which both ends are in sight and touch what is left, and not end-on."""
    shown = []
    for a, b, text in notes:
        points = np.array([a, b], dtype=float)
        if points.shape != (2, 3) or not np.isfinite(points).all():
            raise InputError(f"note '{text}': its ends must be two points of three finite numbers")
        ends, distances = camera.project(points)
        is_long = np.linalg.norm(ends[1] - ends[0]) > _SHORTEST_NOTE * camera.size[1]
        cells = ends * depths.shape[1] / camera.size[0]
        in_sight = all(_in_sight(cell, distance, depths) for cell, distance in zip(cells, distances, strict=True))
        if is_long and in_sight and all(any(each.touches(p, _NOTE_REACH) for each in seen) for p in points):
            shown.append(Note(ends, text))
    return shown


def _in_sight(cell: Floats, distance: float, depths: Floats) -> bool:
    """Return whether nothing hides a point in a cell of the picture, or at least not in all cells next to it."""
    x, y = np.floor(cell).astype(int)
    around = depths[max(y - 1, 0) : max(y + 2, 0), max(x - 1, 0) : max(x + 2, 0)]
    return bool((distance < around + _NOTE_REACH).any())
