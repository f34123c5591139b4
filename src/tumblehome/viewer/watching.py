"""Has a shell changed on the disk: its file, or one of those that this is read from?"""

from __future__ import annotations

import stat
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from tumblehome.body import bundled_shells
from tumblehome.errors import InputError
from tumblehome.files import inside, read_toml

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["ShellWatch"]

_Stamp: TypeAlias = "tuple[int, int, int] | None"
"""When a file was written, how long and which it is; None where there is none."""


class ShellWatch:
    """The shells that were named here, with every file that they are read from.

    A shell is to be named before it is read: what changes while it is read is then seen, too. Which texts of a shell file
    name files is not known here; each may, and those that name none cost next to nothing.
    """

    def __init__(self) -> None:
        self._known: dict[Path, dict[Path, _Stamp]] = {}

    def add(self, shell: Path) -> None:
        """Watch a shell file, which need not be there, nor be sound."""
        if shell not in self._known:
            own = {shell: _stamp(shell)}
            self._known[shell] = own | {path: _stamp(path) for path in _named_in(shell)}

    def add_named(self, name: object, folder: Path) -> None:
        """Watch all that a layout in a folder may mean by its shell's name: a file, a folder, a bundled shell."""
        if not isinstance(name, str):
            return
        with suppress(InputError):
            beside = inside(folder, name)
            for path in (beside, beside / "shell.toml"):
                self.add(path)
        if name in (bundled := bundled_shells()):
            self.add(bundled[name])

    @property
    def has_changed(self) -> bool:
        """Whether a file is another one than when it was named, came, or is gone."""
        return any(_stamp(path) != was for files in self._known.values() for path, was in files.items())


def _stamp(path: Path) -> _Stamp:
    try:
        found = path.stat()
    except (OSError, ValueError):
        return None
    return (found.st_mtime_ns, found.st_size, found.st_ino) if stat.S_ISREG(found.st_mode) else None


def _named_in(shell: Path) -> set[Path]:
    """Return what the texts of a shell file would be as files beside it."""
    named = set[Path]()
    with suppress(InputError):
        for text in set(_texts(read_toml(shell).data)):
            with suppress(InputError):
                named.add(inside(shell.parent, text))
    return named


def _texts(data: object) -> Iterator[str]:
    match data:
        case str():
            yield data
        case dict():
            for value in data.values():
                yield from _texts(value)
        case list():
            for value in data:
                yield from _texts(value)
