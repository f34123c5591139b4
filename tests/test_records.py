"""The project's dataclass against the standard library's: whatever one does with a record, both do the same."""

from __future__ import annotations

import copy
import dataclasses
import pickle
from functools import cached_property
from inspect import signature
from typing import TYPE_CHECKING, Any

import pytest

from tumblehome import records

if TYPE_CHECKING:
    from collections.abc import Callable

Decorate = Any
"""A decorator that takes ``frozen`` and ``eq``."""


def point_and_path(decorate: Decorate) -> tuple[Any, Any]:
    """Two classes, the second derived from the first, as a decorator makes them."""

    @decorate(frozen=True)
    class Point:
        """A place."""

        x: float
        y: float = 0.0
        note: str = dataclasses.field(default="", repr=False)

        @property
        def double(self) -> float:
            """Twice its x."""
            return 2 * self.x

    @decorate(frozen=True)
    class Path(Point):
        """Places."""

        over: list[int] = dataclasses.field(default_factory=list)
        slow: bool = dataclasses.field(default=False, kw_only=True)

        @cached_property
        def count(self) -> int:
            """How many places."""
            return len(self.over)

    return Point, Path


OWN, PEER = point_and_path(records.dataclass), point_and_path(dataclasses.dataclass)


@records.dataclass(frozen=True)
class Kept:
    """One that can be found by its name."""

    a: int
    b: tuple[int, ...] = ()


@records.dataclass(frozen=True, eq=False)
class Alone:
    """One that is equal to itself only."""

    a: int


MADE: dict[str, Callable[[Any, Any], Any]] = {
    "by place": lambda point, _: point(1.0, 2.0, "n"),
    "by name": lambda point, _: point(y=2.0, x=1.0),
    "both ways": lambda point, _: point(1.0, note="n"),
    "of defaults": lambda point, _: point(1.0),
    "derived": lambda _, path: path(1.0, 2.0, "n", [3], slow=True),
    "derived of defaults": lambda _, path: path(1.0),
    "replaced": lambda point, _: dataclasses.replace(point(1.0), y=5.0),
    "copied": lambda _, path: copy.copy(path(1.0, over=[1])),
    "copied deeply": lambda _, path: copy.deepcopy(path(1.0, over=[1])),
}

REFUSED: dict[str, Callable[[Any, Any], Any]] = {
    "nothing where something is needed": lambda point, _: point(),
    "too much": lambda point, _: point(1.0, 2.0, "n", 4),
    "an unknown name": lambda point, _: point(1.0, z=3.0),
    "an unknown name for a missing one": lambda point, _: point(y=1.0, z=3.0),
    "one twice": lambda point, _: point(1.0, x=2.0),
    "one twice among all": lambda point, _: point(1.0, 2.0, "n", x=2.0),
    "by place what wants its name": lambda _, path: path(1.0, 2.0, "n", [], True),
    "an unknown name in a replacement": lambda point, _: dataclasses.replace(point(1.0), z=3.0),
}


@pytest.mark.parametrize("make", MADE.values(), ids=MADE)
def test_what_is_made_tells_the_same(make: Callable[[Any, Any], Any]) -> None:
    own, peer = make(*OWN), make(*PEER)
    assert repr(own) == repr(peer)
    assert dataclasses.asdict(own) == dataclasses.asdict(peer)
    assert own.double == peer.double
    assert own == make(*OWN)
    assert own != peer
    assert own != 1


@pytest.mark.parametrize("make", REFUSED.values(), ids=REFUSED)
def test_what_is_refused_is_refused_with_the_same_error(make: Callable[[Any, Any], Any]) -> None:
    for pair in (OWN, PEER):
        with pytest.raises(TypeError):
            make(*pair)


def test_a_refusal_tells_the_names() -> None:
    with pytest.raises(TypeError, match="Kept takes a, b; found 0 without a name and c"):
        Kept(c=1)  # type: ignore[call-arg]


def test_equal_values_are_equal_and_hash_alike_in_one_class_only() -> None:
    for point, path in (OWN, PEER):
        assert hash(point(1.0)) == hash(point(1.0, 0.0))
        assert len({point(1.0), point(1.0), point(2.0)}) == 2
        assert point(1.0) != path(1.0)
        with pytest.raises(TypeError):
            hash(path(1.0))


def test_who_is_compared_by_identity_equals_itself_only() -> None:
    one, other = Alone(1), Alone(1)
    assert one == one  # noqa: PLR0124
    assert one != other
    assert len({one, other}) == 2


def test_nothing_is_set_or_deleted() -> None:
    for point, path in (OWN, PEER):
        for made in (point(1.0), path(1.0)):
            with pytest.raises(dataclasses.FrozenInstanceError):
                made.x = 2.0
            with pytest.raises(dataclasses.FrozenInstanceError):
                del made.x
            assert made.x == 1.0


def test_each_gets_a_default_of_its_own() -> None:
    for _, path in (OWN, PEER):
        one, other = path(1.0), path(1.0)
        assert one.over == other.over == []
        assert one.over is not other.over
        assert path(1.0, over=[1, 2]).count == 2


def test_the_library_sees_the_same_fields() -> None:
    pairs: list[tuple[Any, Any]] = list(zip(OWN, PEER, strict=True))
    for own, peer in pairs:
        told = [[(f.name, f.type, f.kw_only) for f in dataclasses.fields(each)] for each in (own, peer)]
        assert told[0] == told[1]
        assert own.__match_args__ == peer.__match_args__
        asked = [[(p.name, p.kind, p.default) for p in signature(each).parameters.values()] for each in (own, peer)]
        assert [each[:2] for each in asked[0]] == [each[:2] for each in asked[1]]
        assert dataclasses.is_dataclass(own)


def test_it_is_kept_and_found_again() -> None:
    assert pickle.loads(pickle.dumps(Kept(1, (2, 3)))) == Kept(1, (2, 3))


def test_what_is_written_out_stays() -> None:
    @records.dataclass(frozen=True)
    class Named:
        """One that says how it is shown and compared."""

        a: int

        def __repr__(self) -> str:
            return "shown"

        def __eq__(self, other: object) -> bool:
            return True

        def __hash__(self) -> int:
            return 7

    assert repr(Named(1)) == "shown"
    assert Named(1) == Named(2)
    assert hash(Named(1)) == 7


def test_what_is_made_is_checked() -> None:
    @records.dataclass(frozen=True)
    class Size:
        """One that is above zero."""

        a: int

        def __post_init__(self) -> None:
            if self.a <= 0:
                raise ValueError("give a size above zero")

    assert Size(1).a == 1
    with pytest.raises(ValueError, match="above zero"):
        dataclasses.replace(Size(1), a=0)


def test_what_may_change_is_the_librarys() -> None:
    @records.dataclass
    class Open:
        """One that may change."""

        a: int

    made = Open(1)
    made.a = 2
    assert made == Open(2)
