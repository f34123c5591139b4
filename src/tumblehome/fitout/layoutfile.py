"""Reading layouts: a TOML file that names its shell and places modules as a builder would say it."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import replace
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING

from tumblehome.body.partfields import UNITS_TO_MM
from tumblehome.body.shellfile import bundled_shells, load_shell
from tumblehome.errors import InputError, KernelError, LayoutError, nearest
from tumblehome.files import inside, is_there, read_toml
from tumblehome.fitout.layout import Company, Layout
from tumblehome.fitout.modes import read_modes
from tumblehome.fitout.modulefields import ZONES, ModuleFields
from tumblehome.fitout.placing import Builder
from tumblehome.records import dataclass
from tumblehome.room import room_of
from tumblehome.schema import Fields, choice, maybe, one_line, path_shown, read_fields, size, tables, text

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from tumblehome.body.shell import Shell
    from tumblehome.files import KeyPath, TomlFile
    from tumblehome.fitout.modes import Listed, Mode
    from tumblehome.fitout.module import Module
    from tumblehome.fitout.modulefields import BoxZoneFields, SwingFields

__all__ = ["LayoutReader", "load_layout", "load_modes"]

_PANEL = 18.0
"""Thickness of a cabinet's panels where the file states none, mm; common practice, no published source."""


class _LayoutHead(Fields):
    """Everything of a layout file but its modules."""

    name = one_line()
    shell = text()
    unit = maybe(choice(*UNITS_TO_MM))
    note = text("")
    panel = size(_PANEL)
    modules = tables()
    modes = tables()


def load_layout(source: Path | str, mode: str | None = None) -> Layout:
    """Read a layout and its shell, and put every module in its place.

    Parameters
    ----------
    source : path of a layout file, of a folder that holds ``layout.toml``, or the name of a bundled shell for its demo
    mode : the state of the van, such as "night"; the first of the file when left out

    Raises
    ------
    InputError
        For anything at fault in the files: where, what was found, what is allowed; or a mode that the file does not state.
    LayoutError
        For modules that contradict each other.
    """
    return LayoutReader().read(read_toml(_layout_path(source), "layout file"), (mode,))[0]


def load_modes(source: Path | str) -> tuple[Layout, ...]:
    """Read a layout in each of its modes, in the order of the file; only one where it states none.

    Raises as `load_layout` does. Modules that a mode does not change are the same objects in all of them.
    """
    return LayoutReader().read(read_toml(_layout_path(source), "layout file"))


class LayoutReader:
    """Reads layouts, and remembers what it read last: a shell, or a module that stands as it did, is the same object again."""

    def __init__(self) -> None:
        self._shells: dict[Path, Shell] = {}
        self._kept: _Made = {}

    def read(self, file: TomlFile, modes: Sequence[str | None] | None = None) -> tuple[Layout, ...]:
        """Return the layout that a file states, in some of its modes (None for the first) or in all; raises as `load_layout`."""
        head = read_fields(_LayoutHead, file.data, file, unit=file.unit)
        stated = read_modes(head.modules, head.modes, file, head.unit)
        gone = {mode.name: mode.stowed for mode in stated}
        wanted = stated if modes is None else [_mode_named(name, stated, file) for name in modes]
        shell = self._shell_of(head, file)
        fresh: _Made = {}
        read_of = cache(lambda listed: _Read.of(listed, file, head.unit))  # most modules are the same in all modes
        layouts = tuple(
            self._layout(mode, [read_of(listed) for listed in mode.modules], head, shell, file, fresh, gone)
            for mode in wanted
        )
        self._kept = fresh
        company = Company.of(shell, (layout.modules for layout in layouts))
        return tuple(replace(layout, company=company) for layout in layouts)

    def _shell_of(self, head: _LayoutHead, file: TomlFile) -> Shell:
        try:
            path = _shell_path(head.shell, file.path.parent)
            if path not in self._shells:
                self._shells[path] = load_shell(path)
        except InputError as fault:
            raise fault.at(file=file.path, line=file.line_of(("shell",)), key="shell") from fault
        return self._shells[path]

    def _layout(
        self,
        mode: Mode,
        read: list[_Read],
        head: _LayoutHead,
        shell: Shell,
        file: TomlFile,
        fresh: _Made,
        gone: Mapping[str, set[str]],
    ) -> Layout:
        order = _in_order(read, shell, file)
        placed: dict[str, Module] = {}
        builder = Builder(shell, head.panel, room_of(shell), placed)
        for i in order:
            entry, hosts = read[i], (shell, *(placed[n].solid for n in read[i].fields.leans_on if n in placed))
            key = (entry.said, head.unit, head.panel, *map(id, hosts))
            bare = self._once(fresh, key, hosts, partial(_placed, builder, entry, file))
            key = (entry.zoned, head.unit, id(bare))
            placed[entry.name] = self._once(fresh, key, (bare,), partial(_with_zones, bare, entry, file))
        stowed = {
            entry.name: tuple(other for other, absent in gone.items() if entry.name not in absent)
            for entry in read
            if entry.name in gone[mode.name]
        }
        ways = {entry.name: entry.way for entry in read if entry.way and entry.name not in stowed}
        modules = tuple(placed[entry.name] for entry in read if entry.name not in stowed)
        return Layout(head.name, shell, modules, head.note, file.path, mode.name, ways, stowed)

    def _once(self, fresh: _Made, key: object, rests_on: tuple[object, ...], make: Callable[[], Module]) -> Module:
        """Return the module of a key, made where it was not made before; what it rests on stays as long as it does."""
        if key not in fresh:
            fresh[key] = self._kept.get(key) or (make(), rests_on)
        return fresh[key][0]


_Made = dict[object, tuple["Module", tuple[object, ...]]]
"""Modules by what they are made of, each with what is told by its identity there."""


@dataclass(frozen=True, eq=False)
class _Read:
    """A module's fields as they hold in one mode, its zones, where they are said; the fields as one text, the zones as another."""

    fields: ModuleFields
    zones: list[SwingFields | BoxZoneFields]
    where: KeyPath
    way: str
    said: str
    zoned: str

    @classmethod
    def of(cls, listed: Listed, file: TomlFile, unit: str | None) -> _Read:
        fields = read_fields(ModuleFields, listed.data, file, listed.where, unit)
        zones = _zones(fields, listed.where, file, unit)
        said = repr({key: value for key, value in listed.data.items() if key != "zones"})
        return cls(fields, zones, listed.where, listed.way, said, repr(listed.data.get("zones")))

    @property
    def name(self) -> str:
        return self.fields.name

    def key(self, *below: str) -> str:
        """Return how a message names it, or one of its keys."""
        return path_shown((*self.where, *below)) if below else f"{path_shown(self.where)} '{self.name}'"


def _with_zones(module: Module, read: _Read, file: TomlFile) -> Module:
    with _told(read, file):
        size = (module.wide, module.deep, module.high)
        return replace(module, zones=tuple(zone.zone(module.frame, *size) for zone in read.zones))


def _placed(builder: Builder, read: _Read, file: TomlFile) -> Module:
    with _told(read, file):
        return builder.place(read.fields)


@contextmanager
def _told(read: _Read, file: TomlFile) -> Iterator[None]:
    """Say of a fault to which module it belongs, and where that is said."""
    try:
        yield
    except InputError as fault:
        raise fault.at(file=file.path, line=file.line_of(read.where), key=read.key(), unit=file.unit) from fault
    except KernelError as fault:
        raise LayoutError(
            f"has no volume, or is too thin for one ({fault})",
            file=file.path, line=file.line_of(read.where), key=read.key(),
        ) from fault  # fmt: skip


def _mode_named(name: str | None, modes: Sequence[Mode], file: TomlFile) -> Mode:
    if name is None:
        return modes[0]
    known = [mode.name for mode in modes if mode.name]
    for mode in modes:
        if mode.name == name:
            return mode
    stated = f"; it states: {', '.join(known)}" if known else "; it states none"
    raise InputError(f"the file has no mode '{name}'{nearest(name, known)}{stated}", file=file.path)


def _layout_path(source: Path | str) -> Path:
    path = Path(source)
    if is_there(path) and path.is_dir():
        return path / "layout.toml"
    bundled = bundled_shells()
    if not is_there(path) and str(source) in bundled:
        return bundled[str(source)].parent / "layout.toml"
    return path


def _shell_path(name: str, folder: Path) -> Path:
    """Return the file that a layout means by its shell: beside it or, where none is there, bundled."""
    bundled = bundled_shells()
    beside = inside(folder, name)
    if is_there(beside) or name.endswith(".toml"):
        return beside
    if name in bundled:
        return bundled[name]
    known = ", ".join(bundled)
    hint = nearest(name, [*bundled, *(file.name for file in sorted(folder.glob("*.toml")))])
    raise InputError(f"there is no file and no bundled shell '{name[:40]}'{hint}; bundled: {known}")


def _zones(fields: ModuleFields, where: KeyPath, file: TomlFile, unit: str | None) -> list[SwingFields | BoxZoneFields]:
    read: list[SwingFields | BoxZoneFields] = []
    for j, data in enumerate(fields.zones):
        place = (*where, "zones", j)
        kind = data.get("kind", "box")
        if not isinstance(kind, str) or kind not in ZONES:
            line = file.line_of((*place, "kind")) or file.line_of(place)
            key = path_shown((*place, "kind"))
            raise InputError(
                f"found {kind!r}; allowed: swing, box{nearest(str(kind), ZONES)}", file=file.path, line=line, key=key
            )
        read.append(read_fields(ZONES[kind], data, file, place, unit))
    return read


def _in_order(read: list[_Read], shell: Shell, file: TomlFile) -> Iterator[int]:
    """Yield the numbers of the modules so that each follows what it stands on or in."""
    index = _names(read, shell, file)
    bearing = [part.name for part in shell.parts if part.bears]
    done: set[int] = set()

    def visit(i: int, chain: tuple[int, ...]) -> Iterator[int]:
        if i in done:
            return
        own = read[i]
        if i in chain:
            ring = " -> ".join(f"'{read[k].name}'" for k in (*chain[chain.index(i) :], i))
            raise LayoutError(
                f"stands on or in itself: {ring}",
                file=file.path,
                line=file.line_of(own.where),
                key=path_shown(own.where),
            )
        for key, name in (("on", own.fields.on), ("in", own.fields.in_)):
            if name is None or (key == "on" and name in {"floor", *bearing}):
                continue
            if name not in index:
                known = [*index, "floor", *bearing] if key == "on" else list(index)
                line = file.line_of((*own.where, key))
                raise LayoutError(
                    f"there is no '{name}'{nearest(name, known)}", file=file.path, line=line, key=own.key(key)
                )
            yield from visit(index[name], (*chain, i))
        done.add(i)
        yield i

    for i in range(len(read)):
        yield from visit(i, ())


def _names(read: list[_Read], shell: Shell, file: TomlFile) -> dict[str, int]:
    index: dict[str, int] = {}
    taken = dict.fromkeys((*shell.void.surface.names, *(door.name for door in shell.doorways)), "a part of the shell")
    for i, own in enumerate(read):
        if own.name in index or own.name in taken:
            owner = taken.get(own.name, f"module {index.get(own.name, 0) + 1}")
            line = file.line_of((*own.where, "name"))
            raise LayoutError(
                f"the name '{own.name}' is taken by {owner}", file=file.path, line=line, key=own.key("name")
            )
        index[own.name] = i
    return index
