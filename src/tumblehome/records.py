"""The standard library's dataclass, for classes whose instances never change: its methods are shared instead of compiled.

The library compiles six functions for each such class, which took a tenth of the time in which a command answers. Fields,
defaults, inheritance, ``replace``, ``fields`` and what a type checker sees are the library's own here, too; only the methods
are made over a tuple of names. What asks for more than ``frozen`` and ``eq`` is handed on to the library as it is. Every
field is given as an instance is made, or has a default.
"""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable
    from dataclasses import dataclass
    from inspect import Signature

__all__ = ["dataclass"]

if not TYPE_CHECKING:  # so that a type checker sees the library's own

    def dataclass(cls: Any = None, /, *, frozen: bool = False, eq: bool = True, **options: Any) -> Any:
        """Do what the library's decorator of this name does."""
        if cls is None:
            return lambda decorated: dataclass(decorated, frozen=frozen, eq=eq, **options)
        if not frozen or options:
            return dataclasses.dataclass(cls, frozen=frozen, eq=eq, **options)
        written = set(vars(cls))
        made = dataclasses.dataclass(cls, init=False, repr=False, eq=False)
        methods = [_init(made), _repr(made), *_fixed(made), *(_compared(made) if eq else ())]
        for method in methods:
            if method.__name__ not in written:
                setattr(made, method.__name__, method)
        made.__signature__ = _SignatureOfFields()
        return made


def _init(cls: Any) -> Callable[..., None]:
    fields = dataclasses.fields(cls)
    names = tuple(field.name for field in fields if not field.kw_only)
    known = (*names, *(field.name for field in fields if field.kw_only))
    defaults = {field.name: field.default for field in fields if field.default is not dataclasses.MISSING}
    makers = {f.name: f.default_factory for f in fields if f.default_factory is not dataclasses.MISSING}
    is_checked = hasattr(cls, "__post_init__")

    def __init__(self: Any, *given: Any, **named: Any) -> None:
        values, count = self.__dict__, len(given)
        if count < len(known):
            values.update(defaults, **{name: make() for name, make in makers.items()})
            values.update(named)
        values.update(zip(names, given, strict=False))
        if len(values) != len(known) or count > len(names) or (named and not named.keys() <= set(known[count:])):
            words = f"found {count} without a name and {', '.join(named) or 'none with one'}"
            raise TypeError(f"{cls.__name__} takes {', '.join(known)}; {words}")
        if is_checked:
            self.__post_init__()

    return __init__


def _repr(cls: Any) -> Callable[[Any], str]:
    shown = tuple(field.name for field in dataclasses.fields(cls) if field.repr)

    def __repr__(self: Any) -> str:
        return f"{type(self).__qualname__}({', '.join(f'{name}={getattr(self, name)!r}' for name in shown)})"

    return __repr__


def _fixed(cls: Any) -> tuple[Callable[..., None], ...]:
    def __setattr__(self: Any, name: str, value: object) -> None:  # noqa: ARG001
        raise dataclasses.FrozenInstanceError(f"cannot assign to '{name}' of {cls.__name__}")

    def __delattr__(self: Any, name: str) -> None:  # noqa: ARG001
        raise dataclasses.FrozenInstanceError(f"cannot delete '{name}' of {cls.__name__}")

    return __setattr__, __delattr__


def _compared(cls: Any) -> tuple[Callable[..., Any], ...]:
    """Return by what two are equal whose values are."""
    names = tuple(field.name for field in dataclasses.fields(cls) if field.compare)

    def values(thing: object) -> tuple[object, ...]:
        return tuple([getattr(thing, name) for name in names])

    def __eq__(self: object, other: object) -> bool:
        return values(self) == values(other) if type(other) is type(self) else NotImplemented

    def __hash__(self: object) -> int:
        return hash(values(self))

    return __eq__, __hash__


class _SignatureOfFields:
    """What ``help`` and ``inspect.signature`` tell of a class: worked out when they ask."""

    def __get__(self, thing: object, cls: Any) -> Signature:
        from inspect import Parameter, Signature  # noqa: PLC0415  (takes a while to load, and is seldom asked)

        return Signature([
            Parameter(field.name, kind, default=_default_of(field), annotation=field.type)
            for kind, keyed in ((Parameter.POSITIONAL_OR_KEYWORD, False), (Parameter.KEYWORD_ONLY, True))
            for field in dataclasses.fields(cls)
            if field.kw_only == keyed
        ])  # fmt: skip


def _default_of(field: dataclasses.Field[Any]) -> object:
    if field.default is not dataclasses.MISSING:
        return field.default
    from inspect import Parameter  # noqa: PLC0415  (as above)

    return Parameter.empty if field.default_factory is dataclasses.MISSING else field.default_factory()
