"""Does the program that keeps a file still run? It holds the file for as long, and the system lets go however it ends."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from typing import TYPE_CHECKING
from weakref import finalize

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["Hold", "held"]

if sys.platform == "win32":
    import msvcrt

    def _lock(file: int) -> None:
        msvcrt.locking(file, msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _lock(file: int) -> None:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)


class Hold:
    """A file that this program holds, until it lets go or ends.

    What is locked is another file beside it, as the file itself is replaced at every change. Where nothing can be written
    or locked there is no such file, and nobody else is kept off.
    """

    def __init__(self, path: Path, lock: int | None = None) -> None:
        self.path = path
        self._unlock = None if lock is None else finalize(self, os.close, lock)

    def let_go(self) -> None:
        """Leave the file to others."""
        if self._unlock and self._unlock.alive:
            lock = _beside(self.path)
            _remove(lock)  # while it is locked: nobody else may hold it now by a name that is about to go
            self._unlock()
            if sys.platform == "win32":  # where an open file cannot be removed
                _remove(lock)


def held(path: Path) -> Hold | None:
    """Take hold of a file, whether it is there yet or not; return None while another one holds it."""
    while True:
        try:
            lock = os.open(_beside(path), os.O_CREAT | os.O_RDWR, 0o600)
        except (OSError, ValueError):
            return Hold(path)
        try:
            _lock(lock)
        except OSError as refused:
            os.close(lock)
            return None if isinstance(refused, (BlockingIOError, PermissionError)) else Hold(path)
        if _is_same(path, lock):
            return Hold(path, lock)
        os.close(lock)  # whoever held it has removed it meanwhile


def _beside(path: Path) -> Path:
    return path.with_name(f"{path.name}.held")


def _is_same(path: Path, lock: int) -> bool:
    try:
        return os.path.samestat(_beside(path).stat(), os.fstat(lock))
    except OSError:
        return False


def _remove(path: Path) -> None:
    with suppress(OSError):
        path.unlink(missing_ok=True)
