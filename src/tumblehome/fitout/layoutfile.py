"""Reading layouts: a TOML file that names its shell and places modules as a builder would say it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from tumblehome.body.partfields import UNITS_TO_MM
from tumblehome.body.shellfile import bundled_shells, load_shell
from tumblehome.cuts.reach import room_of
from tumblehome.errors import InputError, KernelError, LayoutError, nearest
from tumblehome.files import TomlFile, inside, is_there, read_toml
from tumblehome.fitout.layout import Layout
from tumblehome.fitout.modulefields import ZONES, ModuleFields
from tumblehome.fitout.placing import Builder
from tumblehome.schema import Fields, choice, maybe, read_fields, size, tables, text

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from tumblehome.body.shell import Shell
    from tumblehome.fitout.module import Module
    from tumblehome.fitout.modulefields import BoxZoneFields, SwingFields

__all__ = ["load_layout"]

_PANEL = 18.0
"""Thickness of a cabinet's panels where the file states none, mm; common practice, no published source."""


class _LayoutHead(Fields):
    """Everything of a layout file but its modules."""

    name = text()
    shell = text()
    unit = maybe(choice(*UNITS_TO_MM))
    note = text("")
    panel = size(_PANEL)
    modules = tables()


def load_layout(source: Path | str) -> Layout:
    """Read a layout and its shell, and put every module in its place.

    Parameters
    ----------
    source : path of a layout file, of a folder that holds ``layout.toml``, or the name of a bundled shell for its demo

    Raises
    ------
    InputError
        For anything at fault in the files: where, what was found, what is allowed.
    LayoutError
        For modules that contradict each other.
    """
    file = read_toml(_layout_path(source), "layout file")
    unit = file.data.get("unit")
    head = read_fields(_LayoutHead, file.data, file, unit=unit if isinstance(unit, str) else None)
    shell = _shell_of(head, file)
    read = [_read_module(data, i, file, head) for i, data in enumerate(head.modules)]
    order = _in_order(read, shell, file)
    placed: dict[str, Module] = {}
    builder = Builder(shell, head.panel, room_of(shell), placed)
    for i in order:
        try:
            placed[read[i].name] = builder.place(read[i], _zones(read[i], i, file, head))
        except InputError as fault:
            raise fault.at(
                file=file.path, line=file.line_of(("modules", i)), key=f"modules.{i + 1} '{read[i].name}'"
            ) from fault
        except KernelError as fault:
            raise LayoutError(
                f"has no volume, or is too thin for one ({fault})",
                file=file.path, line=file.line_of(("modules", i)), key=f"modules.{i + 1} '{read[i].name}'",
            ) from fault  # fmt: skip
    return Layout(head.name, shell, tuple(placed[m.name] for m in read), head.note, file.path)


def _layout_path(source: Path | str) -> Path:
    path = Path(source)
    if is_there(path) and path.is_dir():
        return path / "layout.toml"
    bundled = bundled_shells()
    if not is_there(path) and str(source) in bundled:
        return bundled[str(source)].parent / "layout.toml"
    return path


def _shell_of(head: _LayoutHead, file: TomlFile) -> Shell:
    try:
        return load_shell(_shell_path(head.shell, file.path.parent))
    except InputError as fault:
        raise fault.at(file=file.path, line=file.line_of(("shell",)), key="shell") from fault


def _shell_path(name: str, folder: Path) -> Path:
    """Return the file that a layout means by its shell: beside it or, where none is there, bundled."""
    bundled = bundled_shells()
    beside = inside(folder, name)
    if is_there(beside) or name.endswith(".toml"):
        return beside
    if name in bundled:
        return bundled[name]
    known = ", ".join(bundled)
    raise InputError(f"there is no file and no bundled shell '{name[:40]}'{nearest(name, bundled)}; bundled: {known}")


def _read_module(data: Mapping[str, Any], i: int, file: TomlFile, head: _LayoutHead) -> ModuleFields:
    return read_fields(ModuleFields, data, file, ("modules", i), head.unit)


def _zones(fields: ModuleFields, i: int, file: TomlFile, head: _LayoutHead) -> list[SwingFields | BoxZoneFields]:
    read: list[SwingFields | BoxZoneFields] = []
    for j, data in enumerate(fields.zones):
        where = ("modules", i, "zones", j)
        kind = data.get("kind", "box")
        if not isinstance(kind, str) or kind not in ZONES:
            line = file.line_of((*where, "kind")) or file.line_of(where)
            key = f"modules.{i + 1}.zones.{j + 1}.kind"
            raise InputError(
                f"found {kind!r}; allowed: swing, box{nearest(str(kind), ZONES)}", file=file.path, line=line, key=key
            )
        read.append(read_fields(ZONES[kind], data, file, where, head.unit))
    return read


def _in_order(read: list[ModuleFields], shell: Shell, file: TomlFile) -> Iterator[int]:
    """Yield the numbers of the modules so that each follows what it stands on or in."""
    index = _names(read, shell, file)
    members = [part.name for part in shell.parts if not part.gives]
    done: set[int] = set()

    def visit(i: int, chain: tuple[int, ...]) -> Iterator[int]:
        if i in done:
            return
        if i in chain:
            ring = " -> ".join(f"'{read[k].name}'" for k in (*chain[chain.index(i) :], i))
            raise LayoutError(
                f"stands on or in itself: {ring}",
                file=file.path,
                line=file.line_of(("modules", i)),
                key=f"modules.{i + 1}",
            )
        for key, name in (("on", read[i].on), ("in", read[i].in_)):
            if name is None or (key == "on" and name in {"floor", *members}):
                continue
            if name not in index:
                known = [*index, "floor", *members] if key == "on" else list(index)
                line = file.line_of(("modules", i, key))
                raise LayoutError(
                    f"there is no '{name}'{nearest(name, known)}",
                    file=file.path,
                    line=line,
                    key=f"modules.{i + 1}.{key}",
                )
            yield from visit(index[name], (*chain, i))
        done.add(i)
        yield i

    for i in range(len(read)):
        yield from visit(i, ())


def _names(read: list[ModuleFields], shell: Shell, file: TomlFile) -> dict[str, int]:
    index: dict[str, int] = {}
    taken = dict.fromkeys((*shell.void.surface.names, *(door.name for door in shell.doorways)), "a part of the shell")
    for i, fields in enumerate(read):
        if fields.name in index or fields.name in taken:
            owner = taken.get(fields.name, f"module {index.get(fields.name, 0) + 1}")
            line = file.line_of(("modules", i, "name"))
            raise LayoutError(
                f"the name '{fields.name}' is taken by {owner}", file=file.path, line=line, key=f"modules.{i + 1}.name"
            )
        index[fields.name] = i
    return index
