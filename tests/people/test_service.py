"""What a hand reaches and the eyes see, in vans whose answers are worked by hand: one unit either side of each limit.

The box van's walls stand upright at half-breadth 800; its only doorway is in the rear. A pump 300 wide and high stands with its
face at the centerline's left side and has a zone for a hand before it.
"""

from __future__ import annotations

from collections import Counter
from itertools import product
from math import sqrt
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapely

from tumblehome.people.ground import Floor
from tumblehome.people.person import SOURCE, Person
from tumblehome.people.service import Hand, Places, check_service, postures
from tumblehome.solids import Solid
from vans import BOX, layout, module, van

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from tumblehome.checks import Finding
    from tumblehome.fitout import Layout

PERSON = Person.of(95)
SMALL = PERSON.small
ARM = SMALL.reach_forward - SMALL.body_depth / 2
HALF = PERSON.body_depth / 2
"""So far from whatever is beside it the middle of a body stays."""
HAND = PERSON.hand_breadth
LESS = 0.3
"""mm by which circles are taken to be less than they are."""
DOORS = '[[doorways]]\nname = "rear doors"\nside = "rear"\nbreadths = [-600, 600]\nheights = [0, 1700]'


def pump(up: float, room: float = 200.0, **fields: Any) -> str:
    """A pump whose hand's place is ``up`` above the floor, ``room`` / 2 before its face at breadth -400."""
    zone = {"name": "hand", "at": "face", "room": room, "hand": True}
    return module("pump", 200, 400, 200, station=1500, against="left", hung=up - 100, zones=[zone], **fields)


def asked(*modules: str, doors: str = DOORS) -> Finding:
    (found,) = check_service(Floor(plan(*modules, doors=doors)), PERSON)
    return found


def plan(*modules: str, doors: str = DOORS) -> Layout:
    return layout(van(BOX, doors), *modules)


def test_what_one_who_stands_or_kneels_measures() -> None:
    """ANSUR II, 5th percentile of women: 1525 tall; the eyes are 105 below the top, as when sitting (803 - 698)."""
    standing, kneeling, crawling = postures(SMALL)
    assert standing.eyes == pytest.approx(1525 - (803 - 698))
    assert standing.shoulder - kneeling.shoulder == pytest.approx(350)
    assert crawling.shoulder == pytest.approx(1525 - 803 - 350)


@pytest.mark.parametrize(("over", "word"), [(-1.0, "standing"), (1.0, "kneeling")])
def test_how_low_one_who_stands_reaches(over: float, word: str) -> None:
    """Straight down beside the pump: who stands before it has the middle of the body at least half its depth from its face,
    where the hand's place is 100."""
    across = HALF - 100
    deep = sqrt((ARM - LESS) ** 2 - across**2)
    found = asked(pump(postures(SMALL)[0].shoulder - deep - over - LESS * (over < 0)))
    assert found.words().startswith(f"seen and reached by one {word}")
    assert found.source.startswith(SOURCE)


@pytest.mark.parametrize("over", [-1.0, 1.0])
def test_how_far_off_it_may_be(over: float) -> None:
    """At the height of the shoulders; a table 1700 high keeps the body off, and the hand's place lies between the two."""
    standing = postures(SMALL)[0]
    far = ARM - LESS + over
    block = module("block", 1000, far - HALF + 100, 900, station=1100, breadth=-400, faces="right")
    found = asked(pump(standing.shoulder), block)
    if over < 0:
        assert found.verdict in ("clear", "tight")
        assert found.value == pytest.approx(far, abs=0.5)
    else:
        assert (found.verdict, found.cause) == ("tight", "block")
        assert "buried behind block" in found.words()


@pytest.mark.parametrize("over", [-1.0, 1.0])
def test_a_hand_passes_below_a_shelf(over: float) -> None:
    """A shelf overhangs the hand's place by 10: half a hand below it there is room for one."""
    shoulder = postures(SMALL)[0].shoulder
    shelf = module("shelf", 2000, 500, 30, station=800, breadth=-790, faces="right", hung=shoulder + HAND / 2 - over)
    found = asked(pump(shoulder), shelf)
    assert (found.cause, found.words().startswith("seen and reached")) == (
        ("shelf", False) if over > 0 else (None, True)
    )


@pytest.mark.parametrize("over", [-1.0, 1.0])
def test_a_board_bars_the_sight_where_the_arm_passes_below_it(over: float) -> None:
    """The flattest line of sight is that of the farthest place: it rises from the hand's place by what the eyes are above the
    shoulders over an arm's length, so that at the board's far side, 161 away, it is this high. A tray covers the floor: it is
    stepped over, but nobody kneels there; and what is fixed beside the pump leaves nobody room before the board."""
    standing = postures(SMALL)[0]
    sight = (standing.eyes - standing.shoulder) * 161 / (ARM - LESS)
    assert sight - 1 > HAND / 2
    board = module(
        "board", 2000, 1, 300, station=800, breadth=-140, faces="right", hung=standing.shoulder + sight - over
    )
    tray = module("tray", 2990, 1598, 100, station=500, breadth=-799, faces="right")
    sides = [module(f"fill {s}", 800, 400, 1899, station=s, against="left", fixed=True) for s in (1500 - 801, 1701)]
    found = asked(pump(standing.shoulder), board, tray, *sides)
    assert (found.cause, found.words().startswith("seen and reached")) == (
        ("board", False) if over > 0 else (None, True)
    )


@pytest.mark.parametrize("over", [-1.0, 1.0])
def test_a_hand_needs_its_breadth(over: float) -> None:
    found = asked(pump(900, room=HAND - over))
    if over > 0:
        assert (found.verdict, found.cause) == ("fouls", "pump")
        assert "no room for a hand" in found.words()
    else:
        assert found.verdict in ("clear", "tight")


def test_what_buries_it_is_named_the_fewest_first() -> None:
    """A chest across the way buries it; so do a low crate and a shelf together, which are two."""
    chest = module("chest", 900, 700, 1700, station=1150, breadth=-400, faces="right")
    assert asked(pump(900), chest).cause == "chest"
    halves = [
        module(n, 900, 700, 850, station=1150, breadth=-400, faces="right", hung=h)
        for n, h in (("crate", 0), ("box", 851))
    ]
    both = asked(pump(860), *halves)
    assert both.cause == "box and crate"
    assert both.words().startswith("buried behind box and crate; without, seen and reached")


def test_what_is_fixed_is_never_taken_out() -> None:
    chest = module("chest", 900, 700, 1700, station=1150, breadth=-400, faces="right", fixed=True)
    found = asked(pump(900), chest)
    assert (found.verdict, found.cause) == ("fouls", None)
    assert "never" in found.words()


def test_what_stands_on_what_buries_it_goes_with_it() -> None:
    chest = module("chest", 900, 700, 1500, station=1150, breadth=-400, faces="right")
    lamp = module("lamp", 100, 100, 100, on="chest", station=1500, breadth=0, faces="right")
    assert asked(pump(900), chest, lamp).cause == "chest and lamp"


def test_somebody_who_cannot_get_there_reaches_nothing() -> None:
    """A screen across the van, as high as the van: nobody gets behind it until it is out."""
    screen = module("screen", 1598, 50, 1899, station=2800, breadth=-799, faces="front")
    assert asked(pump(900)).verdict == "clear"
    assert asked(pump(900), screen).cause == "screen"


def test_on_hands_and_knees_one_reaches_below_what_hangs_low() -> None:
    """A platform 700 above the floor, over all of the van behind 1000: who kneels upright does not fit below it."""
    platform = module("platform", 1598, 2990, 30, station=1000, breadth=-799, faces="front", hung=700)
    assert "on hands and knees" in asked(pump(300), platform).words()
    lower = module("platform", 1598, 2990, 30, station=1000, breadth=-799, faces="front", hung=450)
    assert asked(pump(300), lower).cause == "platform"


def test_from_outside_of_a_doorway() -> None:
    """Boxes fill the rear but for the pump, whose hand's place lies 100 before the doorway."""
    zone = {"name": "hand", "at": "face", "room": 200, "hand": True}
    rear = module("pump", 200, 300, 200, station=3500, breadth=-100, faces="rear", hung=1000, zones=[zone])
    fill = module("fill", 1598, 400, 1899, station=3000, breadth=-799, faces="front")
    sides = [module(n, 690, 490, 1899, station=3505, breadth=b, faces="rear") for n, b in (("l", -799), ("r", 109))]
    assert "outside of the rear doors" in asked(rear, fill, *sides).words()


def test_taking_a_module_out_never_buries_anything() -> None:
    """A law, on vans with boxes about: what is reached with some is reached with any of them gone."""
    boxes = [
        module(f"box {i}", 300, 300, high, station=1000 + 200 * i, breadth=b, faces="right", hung=h)
        for i, (b, h, high) in enumerate(((-390, 0, 800), (-100, 300, 500), (100, 0, 1200), (-300, 1100, 400)))
    ]
    checked = 0
    for up in (250, 600, 900, 1200):
        whole = asked(pump(up), *boxes)
        if whole.words().startswith("seen"):
            for i in range(len(boxes)):
                assert asked(pump(up), *boxes[:i], *boxes[i + 1 :]).words().startswith("seen")
                checked += 1
    assert checked >= 4


def test_the_solid_kernel_is_a_witness_of_every_place() -> None:
    """What a cube as wide as the hand sweeps is the hull of its ends, a line of sight a hull as thin as a hair: where both are free
    of everything there is a place, and nowhere else; on random vans, but for places within a millimeter of the limit."""
    rng, met = np.random.default_rng(5), Counter[tuple[bool, bool]]()
    level = postures(SMALL)[0].shoulder
    for low, high in [(500, 1400), (level - 5, level + 5)] * 20:
        up = float(rng.uniform(low, high))
        boxes = [_random_box(f"box {i}", rng) for i in range(3)] + [_random_board("board", up, rng)]
        one = layout(van(BOX, DOORS), pump(up), *boxes)
        hand = Hand(Places(Floor(one), PERSON), one.module("pump"), one.module("pump").zones[0])
        free = one.shell.opened("rear doors").void
        for module_ in one.modules:
            free -= module_.solid
        for posture in postures(SMALL):
            places = shapely.intersection(hand.places.of(posture, frozenset()), hand.disc(posture))
            spots = hand.spots(posture)
            for at in _points(places, rng):
                if spots.boundary.distance(at) > 1.0:
                    reached = _is_free(free, hand.at, (at.x, at.y, posture.shoulder), HAND)
                    seen = _is_free(free, hand.at, (at.x, at.y, posture.eyes), 0.01)
                    assert spots.contains(at) == (reached and seen)
                    met[reached, seen] += 1
    assert min(met[True, True], met[False, True], met[True, False]) > 5, met


def _random_box(name: str, rng: np.random.Generator) -> str:
    wide, deep, high = rng.uniform((50, 50, 50), (300, 500, 700))
    station, breadth, hung = rng.uniform((1100, -390, 0), (2000, 300, 1100))
    return module(name, wide, deep, high, station=station, breadth=breadth, faces="right", hung=hung)


def _random_board(name: str, up: float, rng: np.random.Generator) -> str:
    """What hangs a little more than half a hand above the hand's place: it bars the sight rather than the arm."""
    breadth, over = rng.uniform((-220, 50), (-120, 90))
    return module(name, 700, 5, 250, station=1250, breadth=breadth, faces="right", hung=up + over)


def _points(region: shapely.Geometry, rng: np.random.Generator) -> list[shapely.Point]:
    """Random points of a region, at most twenty."""
    if region.is_empty:
        return []
    x0, y0, x1, y1 = region.bounds
    tried = (shapely.Point(at) for at in rng.uniform((x0, y0), (x1, y1), (40, 2)))
    return [at for at in tried if region.contains(at)][:20]


def _is_free(free: Solid, one: ArrayLike, other: ArrayLike, size: float) -> bool:
    cube = np.array(list(product((-size / 2, size / 2), repeat=3)))
    swept = Solid.hull(np.concatenate([np.asarray(one) + cube, np.asarray(other) + cube]), "swept")
    return (swept - free).volume < 1e-6 * swept.volume
