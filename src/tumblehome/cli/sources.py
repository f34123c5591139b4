"""What a builder names on the command line: a file, a folder or a bundled name; a shell or a layout."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import tumblehome as th
from tumblehome.errors import InputError, nearest
from tumblehome.files import inside, is_there, read_toml
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tumblehome.cli.options import Units
    from tumblehome.files import TomlFile

__all__ = ["SourceFile", "find"]


@dataclass(frozen=True)
class SourceFile:
    """A shell or layout file."""

    file: TomlFile

    @property
    def path(self) -> Path:
        """Where it is."""
        return self.file.path

    @property
    def is_layout(self) -> bool:
        """Whether it is a layout: it has a key ``shell``, or modules and wants one."""
        return not {"shell", "modules"}.isdisjoint(self.file.data)

    def units(self, chosen: Units | None) -> Literal["mm", "in"]:
        """Return what lengths are shown in: the choice, or else what the file is written in, or else its shell."""
        word = chosen.value if chosen else self.file.data.get("unit") or self._unit_of_shell()
        return "in" if word in {"in", "ft"} else "mm"

    def _unit_of_shell(self) -> object:
        """Return the unit that the layout's shell declares; None where no shell can be read, which loading it tells."""
        name = self.file.data.get("shell")
        if not isinstance(name, str):
            return None
        try:
            beside = inside(self.path.parent, name)
            path = beside if is_there(beside) else th.bundled_shells().get(name, beside)
            return read_toml(path, "shell file").data.get("unit")
        except InputError:
            return None

    def layout(self, mode: str | None = None) -> th.Layout:
        """Load the layout in a mode, the first when None; raises InputError when it is a shell or has no such mode."""
        return self._read((mode,))[0]

    def layouts(self, mode: str | None = None) -> tuple[th.Layout, ...]:
        """Load the layout in all of its modes, or in one; raises as `layout` does."""
        return self._read(None if mode is None else (mode,))

    def _read(self, modes: Sequence[str | None] | None) -> tuple[th.Layout, ...]:
        from tumblehome.fitout.layoutfile import LayoutReader  # noqa: PLC0415  (loads what only layouts need)

        if not self.is_layout:
            words = "is a shell, with nothing built into it; name a layout file, which has a key 'shell'"
            raise InputError(words, file=self.path)
        return LayoutReader().read(self.file, modes)

    def shell(self) -> th.Shell:
        """Load the shell, or the layout's shell."""
        return self.layout().shell if self.is_layout else th.load_shell(self.path)


def find(given: str) -> SourceFile:
    """Find what was named.

    A folder or bundled name means its layout when it has one, else its shell. What has a key ``shell``, or modules, is a layout.

    Raises
    ------
    InputError
        When there is no such thing, with the nearest name, or it is a table or no TOML file.
    """
    path = _path(given)
    if path.suffix.lower() == ".csv":
        raise InputError("is a table, and no shell or layout; name the .toml file that names it", file=path)
    return SourceFile(read_toml(path, "shell or layout file"))


def _path(given: str) -> Path:
    path = Path(given)
    try:
        if path.is_dir():
            return _within(path)
        is_file_name = path.exists() or path.suffix or len(path.parts) != 1
    except OSError:  # a name too long, a folder that may not be entered: reading it says so in words
        return path
    if is_file_name:
        return path
    bundled = th.bundled_shells()
    if given in bundled:
        return _within(bundled[given].parent)
    known = ", ".join(bundled)
    hint = nearest(given, [*bundled, *_beside(path.parent)])
    raise InputError(f"there is no file, folder or bundled shell '{given}'{hint}; bundled: {known}")


def _beside(folder: Path) -> Iterator[str]:
    """Yield the names of the files and folders in a folder that may hold a shell or a layout."""
    with suppress(OSError):
        yield from (each.name for each in folder.iterdir() if each.is_dir() or each.suffix == ".toml")


def _within(folder: Path) -> Path:
    for name in ("layout.toml", "shell.toml"):
        if (folder / name).exists():
            return folder / name
    words = (
        "this folder holds neither layout.toml nor shell.toml; name another, or begin one with: tumblehome new FOLDER"
    )
    raise InputError(words, file=folder)
