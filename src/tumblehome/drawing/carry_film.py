"""The way out of the van as a moving picture: the plan, and the module on its way, slowly past its narrowest place."""

from __future__ import annotations

from functools import cached_property
from io import BytesIO
from math import ceil
from typing import TYPE_CHECKING, Final

import numpy as np
from PIL import Image, ImageChops, ImageColor, ImageDraw

from tumblehome.drawing.carry_drawing import draw_stage
from tumblehome.drawing.pages import to_png
from tumblehome.drawing.palette import ACCENT, MODULE, PAPER, SELECTED
from tumblehome.drawing.sheet import sheet_for
from tumblehome.errors import InputError
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from tumblehome.carrying import Carry, Path, Pose, Way
    from tumblehome.drawing.carry_drawing import Units

    Floats = NDArray[np.float64]

__all__ = ["film_carry"]

_PPI: Final = 96.0
"""Pixels to the inch of an A4 sheet."""
_FRAMES: Final = 70
"""About so many pictures."""
_LEAST_STEP: Final = 15.0
"""Two of them differ by at least this much travel of the farthest corner, mm."""
_SHOWN: Final = 60
"""For how long one is shown, ms."""
_HELD: Final = 1400
"""For how long it is shown where it rests, ms."""
_FINER: Final = 4
"""Shapes are drawn so many times finer than they are shown, so that their edges are smooth."""
_COLORS: Final = 200
"""So many colors of the drawing are told apart."""
_SHADES: Final = (0.0, 0.25, 0.5, 0.75, 1.0)
"""Of the edges of what moves these shares are told apart."""
_PINCH: Final = 1.2
"""How thick the line is that marks the narrowest place while the module passes it, mm of paper."""


def film_carry(carry: Carry, way: Way, units: Units = "mm") -> bytes:
    """Return an animated picture (GIF) of a way out: every pose lies on the way that was proven free.

    It rests where it starts, where it is tipped, if it is, at the narrowest place, which is then marked, and outside.

    Raises
    ------
    InputError
        For a way that does not pass.
    PictureError
        When the typesetter that draws the plan is not installed.
    """
    if way.path is None or way.outcome != "passes":
        raise InputError(f"no way out by the {way.doorway.name} was found, so that nothing moves; ask for a drawing")
    stage = draw_stage(carry, way, units)
    sheet = sheet_for(stage)
    film = _Film(
        Image.open(BytesIO(to_png(stage, 2 * _PPI))).convert("RGB").reduce(2)
    )  # small letters come out better so
    poses, held = _poses(way.path, way)

    def placed(points: Floats) -> Floats:
        pixels: Floats = sheet.to_paper(points) * (_PPI / 25.4)
        return pixels

    frames = []
    for i, pose in enumerate(poses):
        shapes = [placed(np.asarray(shape.exterior.coords)) for shape in way.path.shapes(pose)]
        frames.append(film.frame(shapes, placed(np.array(way.pinch.at)) if i == held and way.pinch else None))
    laid = [pose.layer in way.path.mover.layers.laid for pose in poses]
    tipped = [i for i in range(1, len(poses)) if laid[i] != laid[i - 1]]
    rests = {0, held, len(poses) - 1, *tipped, *(i - 1 for i in tipped)}
    return _written(frames, [_HELD if i in rests else _SHOWN for i in range(len(poses))])


def _poses(path: Path, way: Way) -> tuple[list[Pose], int | None]:
    """Return poses evenly along a way, and the number of the one at its narrowest place, which is among them."""
    far = sum(path.travel(a, b) for a, b in zip(path.poses, path.poses[1:], strict=False))
    poses = path.sampled(max(_LEAST_STEP, far / _FRAMES))
    if way.pinch is None:
        return poses, None
    at = way.pinch.pose
    near = min(range(len(poses)), key=lambda i: path.travel(poses[i], at) + 1e3 * (poses[i].layer != at.layer))
    return [*poses[:near], at, *poses[near + 1 :]], near


@dataclass(frozen=True, eq=False)
class _Film:
    """A picture (RGB) before which something moves."""

    picture: Image.Image

    @cached_property
    def _colors(self) -> NDArray[np.uint8]:
        """Its most frequent colors and those of what moves, (n, 3): they hold in every frame."""
        counted = self.picture.getcolors(self.picture.width * self.picture.height) or []
        most = [color for _, color in sorted(counted, key=lambda entry: entry[0], reverse=True)[:_COLORS]]
        accent, module, paper = (np.array(ImageColor.getrgb(color)) for color in (ACCENT, MODULE, PAPER))
        between = [a + (b - a) * share for a, b in ((accent, module), (accent, paper)) for share in _SHADES]
        return np.array([*most, *between], dtype=np.uint8)

    @cached_property
    def _still(self) -> NDArray[np.uint8]:
        return self._numbered(np.asarray(self.picture))

    def _numbered(self, pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
        """Return for each pixel (h, w, 3) the number of the color that is nearest to its own."""
        packed = pixels.astype(np.int64) @ np.array([1 << 16, 1 << 8, 1])
        found, where = np.unique(packed, return_inverse=True)
        own = np.stack([found >> 16, found >> 8 & 255, found & 255], axis=1)
        apart = ((own[:, None] - self._colors.astype(np.int64)) ** 2).sum(axis=2)
        numbers: NDArray[np.uint8] = apart.argmin(axis=1).astype(np.uint8)[where].reshape(packed.shape)
        return numbers

    def frame(self, shapes: Sequence[Floats], pinch: Floats | None) -> Image.Image:
        """Return it with shapes, rings in pixels, before it, and the line of a narrow place before those."""
        drawn = self.picture.copy()
        _draw(drawn, shapes, SELECTED)
        if pinch is not None:
            _line(drawn, pinch, _PINCH)
        numbers = self._still.copy()
        box = ImageChops.difference(drawn, self.picture).getbbox()
        if box:
            numbers[box[1] : box[3], box[0] : box[2]] = self._numbered(np.asarray(drawn.crop(box)))
        frame = Image.fromarray(numbers, "P")
        frame.putpalette(self._colors.tobytes())
        return frame


def _draw(frame: Image.Image, rings: Sequence[Floats], weight: float) -> None:
    """Paint a shape of several rings, in pixels, onto a picture: filled, with one edge about all of it."""
    width = weight * _PPI / 25.4
    low = np.floor(np.min([ring.min(axis=0) for ring in rings], axis=0) - width).astype(int)
    high = np.ceil(np.max([ring.max(axis=0) for ring in rings], axis=0) + width).astype(int)
    size = tuple(((high - low) * _FINER).tolist())
    for color, grown in ((ACCENT, width / 2), (MODULE, -width / 2)):
        mask = Image.new("L", size)
        pen = ImageDraw.Draw(mask)
        for ring in rings:
            corners = [(float(x), float(y)) for x, y in (_grown(ring, grown) - low) * _FINER]
            pen.polygon(corners, fill=255)
        soft = mask.resize(tuple((high - low).tolist()), Image.Resampling.BOX)
        frame.paste(color, tuple(low.tolist()), soft)


def _grown(ring: Floats, by: float) -> Floats:
    """Return a convex closed ring with every side moved outward by so many pixels."""
    corners = ring[:-1]
    middle = corners.mean(axis=0)
    after = np.roll(corners, -1, axis=0)
    run = after - corners
    normals = np.column_stack([run[:, 1], -run[:, 0]]) / np.hypot(*run.T)[:, None]
    normals *= np.sign(np.einsum("ij,ij->i", normals, corners - middle))[:, None]
    before = np.roll(normals, 1, axis=0)
    moved: Floats = corners + by * (normals + before) / (1 + np.einsum("ij,ij->i", normals, before))[:, None]
    return moved


def _line(frame: Image.Image, ends: Floats, weight: float) -> None:
    """Paint a line between two pixels onto a picture."""
    low, high = np.floor(ends.min(axis=0) - 8).astype(int), np.ceil(ends.max(axis=0) + 8).astype(int)
    mask = Image.new("L", tuple(((high - low) * _FINER).tolist()))
    pen, wide = ImageDraw.Draw(mask), ceil(weight * _PPI / 25.4 * _FINER)
    (a, b), (c, d) = ((ends - low) * _FINER).tolist()
    pen.line([(a, b), (c, d)], fill=255, width=wide)
    for x, y in ((a, b), (c, d)):
        pen.ellipse((x - 1.4 * wide, y - 1.4 * wide, x + 1.4 * wide, y + 1.4 * wide), fill=255)
    frame.paste(ACCENT, tuple(low.tolist()), mask.resize(tuple((high - low).tolist()), Image.Resampling.BOX))


def _written(frames: Sequence[Image.Image], durations: Sequence[int]) -> bytes:
    """Return pictures as one animated GIF whose colors are the same in all of them."""
    first, *rest = frames
    made = BytesIO()
    first.save(made, "GIF", save_all=True, append_images=rest, duration=list(durations), loop=0, disposal=1)
    return made.getvalue()
