"""Modes: the states of the van, such as day, night and road, and what of the listed modules each of them changes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from tumblehome.errors import InputError, nearest
from tumblehome.fitout.modulefields import ModuleFields
from tumblehome.schema import Fields, choice, one_line, path_shown, read_fields, tables, text

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from tumblehome.files import KeyPath, TomlFile

__all__ = ["WAYS", "Listed", "Mode", "read_modes"]

WAYS: Final = ("carried", "slides", "turns", "folds")
"""How a module gets from its place in the first mode to that in another: by hand, in a straight line, about an upright
axis, or about a level one."""

_INSTEAD: Final = (
    {"on": ("hung", "in"), "hung": ("on", "in"), "in": ("on", "hung")},
    {"boxes": ("wide", "deep", "high", "outline"), "outline": ("boxes", "wide", "deep")},
    {"wide": ("boxes", "outline"), "deep": ("boxes", "outline", "face"), "face": ("deep",)},
)
"""What a change says in place of what the listing says: these keys of the listing no longer hold."""


class _ModeHead(Fields):
    """A mode as the file states it."""

    name = one_line()
    changes = tables()


class _ChangeHead(Fields):
    """What a change says of itself; its other keys are the module's own, said again."""

    module = text()
    way = choice(*WAYS, default="carried")


class Listed:
    """A module's table as it holds in one mode, and where in the file it is said."""

    def __init__(self, data: Mapping[str, Any], where: KeyPath, way: str = ""):
        self.data, self.where, self.way = data, where, way

    @property
    def leans_on(self) -> set[object]:
        """The names that its place depends on."""
        return {name for name in (self.data.get("on"), self.data.get("in")) if isinstance(name, str)}


class Mode:
    """A state of the van: its name, and every listed module as it is then."""

    def __init__(self, name: str, modules: Sequence[Listed]):
        self.name, self.modules = name, tuple(modules)

    @property
    def stowed(self) -> set[str]:
        """The names of the modules that are stowed, or stand on or in one that is."""
        gone: set[object] = set()
        while True:
            more = {m.data.get("name") for m in self.modules if m.data.get("stowed") is True or m.leans_on & gone}
            if more == gone:
                return {str(name) for name in gone}
            gone = more


def read_modes(
    modules: Sequence[Mapping[str, Any]], modes: Sequence[Mapping[str, Any]], file: TomlFile, unit: str | None
) -> tuple[Mode, ...]:
    """Return the modes of a layout file, the one without a name when it states none.

    Parameters
    ----------
    modules, modes : the file's tables
    file : for the line of a fault
    unit : what a bare number means

    Raises
    ------
    InputError
        For two modes of one name, a change of a module that is not listed, one that is changed twice, or unknown keys.
    """
    listed = [Listed(data, ("modules", i)) for i, data in enumerate(modules)]
    if not modes:
        return (Mode("", listed),)
    read: list[Mode] = []
    for m, data in enumerate(modes):
        head = read_fields(_ModeHead, data, file, ("modes", m), unit)
        if head.name in {mode.name for mode in read}:
            where = ("modes", m, "name")
            raise InputError(
                f"there are two modes '{head.name}'; name one of them otherwise",
                file=file.path, line=file.line_of(where), key=path_shown(where),
            )  # fmt: skip
        read.append(Mode(head.name, _changed(listed, head.changes, file, m)))
    return tuple(read)


def _changed(listed: Sequence[Listed], changes: Sequence[Mapping[str, Any]], file: TomlFile, m: int) -> list[Listed]:
    index = {str(entry.data.get("name")): i for i, entry in enumerate(listed)}
    held = list(listed)
    for c, data in enumerate(changes):
        where = ("modes", m, "changes", c)
        head = _change_head(data, file, where)
        if head.module not in index or held[index[head.module]] is not listed[index[head.module]]:
            known = head.module in index
            wrong = (
                "is changed twice in this mode; join the two"
                if known
                else f"is not listed{nearest(head.module, index)}"
            )
            path = (*where, "module")
            raise InputError(f"'{head.module}' {wrong}", file=file.path, line=file.line_of(path), key=path_shown(path))
        i = index[head.module]
        said = {key: value for key, value in data.items() if key not in {"module", "way"}}
        held[i] = Listed(_said_again(listed[i].data, said), where, head.way)
    return held


def _change_head(data: Mapping[str, Any], file: TomlFile, where: KeyPath) -> _ChangeHead:
    """Return what a change says of itself; raises InputError for a key that neither it nor a module has."""
    known = [*_ChangeHead.known_keys(), *(key for key in ModuleFields.known_keys() if key != "name")]
    for key in data:
        if key not in known:
            path = (*where, key)
            raise InputError(
                f"unknown key{nearest(key, known)}; allowed: {', '.join(known)}",
                file=file.path, line=file.line_of(path), key=path_shown(path),
            )  # fmt: skip
    own = {key: value for key, value in data.items() if key in _ChangeHead.known_keys()}
    return read_fields(_ChangeHead, own, file, where)


def _said_again(listed: Mapping[str, Any], said: Mapping[str, Any]) -> dict[str, Any]:
    """Return a module's table with some keys said again, less the keys that those take the place of."""
    gone = {key for group in _INSTEAD for own, others in group.items() if own in said for key in others}
    gone |= _place_instead(listed, said)
    return {key: value for key, value in listed.items() if key not in gone or key in said} | dict(said)


def _place_instead(listed: Mapping[str, Any], said: Mapping[str, Any]) -> set[str]:
    """Return what no longer holds of where the listing pushes a module."""
    axis = {"left": "breadth", "right": "breadth", "front": "station", "rear": "station"}
    if "against" in said:
        return {axis.get(str(said["against"]), "")}
    pushed = axis.get(str(listed.get("against")), "")
    return {"against", "gap"} if pushed in said else set()
