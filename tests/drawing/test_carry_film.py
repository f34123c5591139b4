"""The moving picture of a way out: its frames lie on the way that was found, and it is a file that one sends."""

from __future__ import annotations

from io import BytesIO

import numpy as np
import pytest
from PIL import Image, ImageColor, ImageSequence

import tumblehome as th
from tumblehome.carrying import Carry, carry
from tumblehome.drawing.carry_drawing import draw_stage
from tumblehome.drawing.carry_film import film_carry
from tumblehome.drawing.palette import ACCENT, MODULE
from tumblehome.drawing.sheet import sheet_for
from tumblehome.errors import InputError
from vans import BOX, layout, module, van

PPI = 96.0


def found(wide: float) -> Carry:
    """A box 500 x 400 and a doorway in the rear of a van 4000 long."""
    door = (
        f'[[doorways]]\nname = "rear doors"\nside = "rear"\nbreadths = [{-wide / 2}, {wide / 2}]\nheights = [0, 1600]'
    )
    return carry(layout(van(BOX, door), module("box", station=1200, breadth=-250)), "box")


def filmed(one: Carry) -> list[Image.Image]:
    """The frames of the best way; each knows for how many ms it is shown."""
    return [frame.copy() for frame in ImageSequence.Iterator(Image.open(BytesIO(film_carry(one, one.best))))]


def accented(frame: Image.Image) -> np.ndarray:
    """The pixels (n, 2), as (x, y), that have the color of what moves."""
    pixels = np.asarray(frame.convert("RGB")).astype(int)
    y, x = np.nonzero((np.abs(pixels - ImageColor.getrgb(ACCENT)) <= 2).all(axis=2))
    return np.column_stack([x, y])


def test_it_moves_from_its_place_to_the_outside() -> None:
    """The module's outline in the first frame is its place, 500 x 400 about (1400, 0); in the last it is wholly outside."""
    one = found(430)
    frames = filmed(one)
    sheet = sheet_for(draw_stage(one, one.best))
    assert len(frames) > 20
    spans = []
    for frame in (frames[0], frames[-1]):
        points = sheet.to_model((accented(frame) + 0.5) * 25.4 / PPI)
        spans.append((points.min(axis=0), points.max(axis=0)))
    pixel = sheet.scale * 25.4 / PPI
    turned = sorted(spans[0][1] - spans[0][0])
    assert turned == pytest.approx([400, 500], abs=4 * pixel)
    assert (spans[0][0] + spans[0][1]) / 2 == pytest.approx((1400, 0), abs=2 * pixel)
    assert spans[1][0][0] > 4000 - 2 * pixel


def test_it_rests_at_the_narrowest_place_which_is_marked() -> None:
    frames = filmed(found(430))
    held = [i for i, frame in enumerate(frames) if frame.info["duration"] > 1000]
    assert len(held) == 3
    assert (held[0], held[2]) == (0, len(frames) - 1)
    assert len(accented(frames[held[1]])) > 1.1 * len(accented(frames[held[1] - 1]))
    assert frames[0].info["loop"] == 0


def test_what_moves_is_filled() -> None:
    one = found(430)
    sheet = sheet_for(draw_stage(one, one.best))
    assert one.best.path is not None
    x, y = sheet.to_paper([one.best.path.poses[-1].at])[0] * PPI / 25.4
    assert filmed(one)[-1].convert("RGB").getpixel((int(x), int(y))) == ImageColor.getrgb(MODULE)


def test_nothing_moves_where_there_is_no_way() -> None:
    one = found(380)
    with pytest.raises(InputError, match="nothing moves"):
        film_carry(one, one.best)


def test_the_demo_is_a_small_file_whose_bytes_are_the_same_each_time() -> None:
    one = carry(th.load_layout("low-plover"), "refrigerator")
    made = film_carry(one, one.best)
    assert made == film_carry(one, one.best)
    assert made.startswith(b"GIF89a")
    assert len(made) < 1_000_000
