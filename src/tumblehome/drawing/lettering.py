"""What is written over a picture: names with leaders, dimension lines, and the caption."""

from __future__ import annotations

from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
from PIL import Image as Images
from PIL import ImageDraw, ImageFont

from tumblehome.drawing import palette
from tumblehome.drawing.callouts import Placement, Words
from tumblehome.drawing.text import Box
from tumblehome.errors import PictureError
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray
    from PIL.Image import Image
    from PIL.ImageFont import FreeTypeFont

    Floats = NDArray[np.float64]

__all__ = ["Lettering", "Note"]

_FINE: Final = 3  # lines are drawn so many times larger and reduced, for smooth edges
_LETTER: Final = 17.0  # pixels of letter size in a picture of 1600 x 1000, which has this many pixels:
_USUAL: Final = 1.6e6
_TITLE: Final = 1.25  # size of the title against other letters
_DARK: Final = 110  # gray level, of 255, below which letters are pale


@dataclass(frozen=True, slots=True)
class Note:
    """A dimension line in the picture: its ends (2, 2) in pixels, and what it says."""

    ends: Floats
    text: str


@dataclass(frozen=True)
class Lettering:
    """The sizes of letters and lines that suit a picture of so many pixels."""

    width: int
    height: int

    @property
    def scale(self) -> float:
        """How much larger than in a picture of 1600 x 1000 everything is drawn."""
        return float(np.sqrt(self.width * self.height / _USUAL))

    @property
    def size(self) -> float:
        """Letter size in pixels."""
        return max(_LETTER * self.scale, 11.0)

    @property
    def margin(self) -> float:
        """Pixels that stay empty along the edge of the picture."""
        return 1.6 * self.size

    def words(self, name: str, *, bold: bool = False) -> Words:
        """Return a text with the room that it takes."""
        return Words(name, float(_font(self.size, bold=bold).getlength(name)), 1.1 * self.size)

    def frames(self, names: Sequence[Words]) -> list[Box]:
        """Return where the subject may stand: with the names beside it, or with them above and below it."""
        widest = max((w.width for w in names), default=0.0) + 3 * self.size
        top, bottom, side = self.margin, self.caption().top - self.size, self.margin + self.size
        row = 3.5 * self.size
        return [
            Box(side + widest, top, self.width - side - widest, bottom),
            Box(side, top + row, self.width - side, bottom - row),
        ]

    def caption(self) -> Box:
        """Return the strip along the lower edge that holds the caption."""
        bottom = self.height - self.margin
        return Box(0, bottom - 1.6 * self.size, self.width, bottom)

    def tags(self, notes: Sequence[Note], sheet: Box) -> list[tuple[Note, Box]]:
        """Return each note that has a free place for its text, with the box of that: on its line if it fits there."""
        tagged: list[tuple[Note, Box]] = []
        for note in notes:
            spots = self._spots(note, self.words(note.text, bold=True))
            free = [s for s in spots if sheet.contains(s) and not any(s.overlaps(box) for _, box in tagged)]
            tagged += [(note, box) for box in free[:1]]
        return tagged

    def track(self, note: Note) -> list[Box]:
        """Return small boxes along the line of a note, which names should keep off."""
        (a, b), step = note.ends, 0.5 * self.size
        count = int(np.linalg.norm(b - a) / step) + 2
        return [Box.around((float(x), float(y)), step, step) for x, y in np.linspace(a, b, count)]

    def _spots(self, note: Note, words: Words) -> list[Box]:
        w, h = words.width + self.size, 1.5 * self.size
        (a, b), along = note.ends, np.diff(note.ends, axis=0)[0]
        length = float(np.linalg.norm(along))
        across = np.array([along[1], -along[0]]) / max(length, 1e-9)
        reach = abs(across[0]) * w / 2 + abs(across[1]) * h / 2 + 0.3 * self.size
        fits = length > 1.6 * (w * abs(across[1]) + h * abs(across[0]))
        sides = (0.0, reach, -reach) if fits else (reach, -reach, 2 * reach, -2 * reach)
        places = [(a + t * (b - a) + s * across) for s in sides for t in (0.5, 0.35, 0.65, 0.2, 0.8)]
        return [Box.around((float(x), float(y)), w, h) for x, y in places]

    def draw(self, picture: Image, placements: Sequence[Placement], tagged: Sequence[tuple[Note, Box]]) -> None:
        """Draw names and notes onto an RGB picture."""
        leaders = [np.array([p.leader, p.anchor]) for p in placements if p.leader is not None]
        dimensions = [note.ends for note, _ in tagged]
        ticks = [_tick(ends, end, 4.5 * self.scale) for ends in dimensions for end in (0, 1)]
        self._lines(picture, leaders, [p.anchor for p in placements if p.leader is not None], 1.1, halo=0.4)
        self._lines(picture, [*dimensions, *ticks], [], 1.5, halo=0.7)
        pen = ImageDraw.Draw(picture)
        for note, box in tagged:
            pen.rounded_rectangle((box.left, box.top, box.right, box.bottom), 0.3 * self.size, fill=palette.PAPER)
            pen.text(box.center, note.text, palette.INK, _font(self.size, bold=True), anchor="mm")
        for placement in placements:
            ink = palette.INK if placement.leader or _is_light(picture, placement.box) else palette.AIR
            pen.text(placement.box.center, placement.name, ink, _font(self.size), anchor="mm")

    def write_caption(self, picture: Image, title: str, line: str) -> None:
        """Write title and line at the lower left of a picture, smaller where it is too narrow for them."""
        pen = ImageDraw.Draw(picture)
        gap = self.size if title else 0.0
        length = self.words(title, bold=True).width * _TITLE + gap + self.words(line).width
        size = self.size * min(1.0, (self.width - 2 * self.margin) / length)
        x, y = self.margin, self.height - self.margin
        pen.text((x, y), title, palette.INK, _font(_TITLE * size, bold=True), anchor="ls")
        x += _font(_TITLE * size, bold=True).getlength(title) + gap
        pen.text((x, y), line, palette.QUIET, _font(size), anchor="ls")

    def _lines(
        self, picture: Image, lines: Sequence[Floats], dots: Sequence[tuple[float, float]], weight: float, halo: float
    ) -> None:
        """Draw smooth ink lines and dots over a pale halo that sets them off from the picture."""
        if not lines:
            return
        for color, extra, strength in ((palette.PAPER, 1.8, halo), (palette.INK, 0.0, 1.0)):
            mask = Images.new("L", (self.width * _FINE, self.height * _FINE))
            pen = ImageDraw.Draw(mask)
            thick = round((weight + extra) * self.scale * _FINE)
            for line in lines:
                pen.line([(float(x), float(y)) for x, y in line * _FINE], 255, thick)
            for x, y in dots:
                pen.circle((x * _FINE, y * _FINE), (2.6 + extra / 2) * self.scale * _FINE, 255)
            cover = mask.reduce(_FINE).point([round(level * strength) for level in range(256)])
            picture.paste(color, (0, 0), cover)


def _tick(ends: Floats, end: int, reach: float) -> Floats:
    """Return the short slanted stroke through one end of a dimension line."""
    along = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
    slant = np.array([along[0] + along[1], along[1] - along[0]]) * reach
    return np.stack([ends[end] - slant, ends[end] + slant])


def _is_light(picture: Image, box: Box) -> bool:
    """Return whether dark letters read well on what lies under a box."""
    under = picture.crop((int(box.left), int(box.top), int(box.right) + 1, int(box.bottom) + 1)).convert("L")
    return float(np.asarray(under).mean()) > _DARK


@cache
def _font(size: float, *, bold: bool = False) -> FreeTypeFont:
    found = find_spec("matplotlib")  # comes with the renderer and carries the font; found without being imported
    if found is None or found.origin is None:
        raise PictureError("no font to write with: install the Python package matplotlib")
    folder = Path(found.origin).parent / "mpl-data" / "fonts" / "ttf"
    file = folder / ("DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf")
    return ImageFont.truetype(str(file), size)
