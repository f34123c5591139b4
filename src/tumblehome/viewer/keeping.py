"""How is work kept? A file that others may change too, and unsaved work that outlives the program."""

from __future__ import annotations

import json
import os
import re
import sys
from hashlib import sha256
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING, Final

from tumblehome.body import bundled_shells
from tumblehome.errors import InputError
from tumblehome.files import is_there, read_text, replace_file
from tumblehome.records import dataclass
from tumblehome.viewer.holding import Hold, held

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["Conflict", "DiskFile", "News", "OnDisk", "Recovery", "Work", "is_bundled"]

_MARK: Final = "\ufeff"
"""What some editors begin a file in UTF-8 with; it is kept, and is no part of the text."""


def is_bundled(path: Path) -> bool:
    """Return whether a file belongs to a van that comes with the package, which stays as it is."""
    folder = Path(os.path.realpath(path)).parent
    return folder in {Path(os.path.realpath(file)).parent for file in bundled_shells().values()}


class Conflict(InputError):  # noqa: N818  (the page asks about it; it is no mistake)
    """The file on the disk was changed where it was changed here too, and somebody has to say which of the two holds."""


@dataclass(frozen=True)
class News:
    """What a look at the disk brought: in words, and whether somebody has to choose."""

    words: str
    conflict: bool


@dataclass(frozen=True)
class OnDisk:
    """What a file holds: its text, or why it cannot be read; neither when there is no file."""

    text: str | None = None
    fault: str | None = None

    @property
    def is_gone(self) -> bool:
        """Whether there is no file."""
        return self.text is None and self.fault is None


class DiskFile:
    """A text file that others may change as well.

    ``known`` is what it held when it was last read or saved here: only that is ever replaced.
    """

    def __init__(self, path: Path, what: str) -> None:
        self.path, self._what = path, what
        self.known = OnDisk(read_text(path, what))
        self._marked = _is_marked(path)

    def now(self) -> OnDisk:
        """Return what it holds now."""
        try:
            return OnDisk(read_text(self.path, self._what))
        except InputError as fault:
            return OnDisk(fault=str(fault)) if is_there(self.path) else OnDisk()

    def save(self, text: str) -> None:
        """Replace the file in one step.

        Raises
        ------
        Conflict
            When it holds something else than is known; nothing is written then.
        InputError
            When it cannot be written.
        """
        now = self.now()
        if now != self.known and not now.is_gone:
            raise Conflict(now.fault or "was changed on the disk meanwhile; say which of the two holds", file=self.path)
        replace_file(self.path, (_MARK if self._marked else "") + text)
        self.known = OnDisk(text)


def _is_marked(path: Path) -> bool:
    with path.open("rb") as file:
        return file.read(3) == _MARK.encode()


@dataclass(frozen=True)
class Work:
    """Unsaved work: the text, and the text of the file that it began from."""

    text: str
    began: str


class Recovery:
    """Unsaved work on a file, kept beside it under a hidden name.

    Where that cannot be written, or beside a bundled plan, it is kept in the user's state folder, under the file's name and
    a hash of its whole path.

    Each program that works on the file keeps its own, under the first name that is free, and holds it for as long as it
    runs. ``offered`` is the newest work of one that has ended, until it is taken or discarded; meanwhile it is held, too, so
    that no other program is offered it.
    """

    def __init__(self, path: Path) -> None:
        self._path = Path(os.path.realpath(path))
        self._is_bundled = is_bundled(path)
        self._own: Hold | None = None
        self._offer: Hold | None = None
        self._taken: list[Hold] = []
        self.offered: Work | None = None
        self._find()

    @property
    def when(self) -> float:
        """Of which moment the work is that is offered, seconds since 1970; 0 where that is not known."""
        return _when(self._offer.path) / 1e9 if self._offer else 0.0

    def keep(self, work: Work) -> None:
        """Put unsaved work where the next start finds it; where nothing can be written it is kept only here."""
        data = json.dumps({"text": work.text, "began": work.began, "sum": _sum(work)}).encode()
        if self._own and _put(self._own.path, data):
            self._forget_taken()
            return
        for hold in self._free():
            if _put(hold.path, data):
                self.clear()
                self._own = hold
                return
            hold.let_go()

    def clear(self) -> None:
        """Forget the unsaved work of this program: it is saved, or there is none."""
        if self._own:
            _drop(self._own)
            self._own = None
        self._forget_taken()

    def take(self) -> Work:
        """Return the work that is offered and make it this program's own; raises InputError when there is none.

        It stays where it is until it is kept again, joined with what this program keeps, or saved.
        """
        if self.offered is None or self._offer is None:
            raise InputError("there is no unsaved work of an earlier time", file=self._path)
        work = self.offered
        if self._own:
            self._taken.append(self._offer)
        else:
            self._own = self._offer
        self._offer = None
        self._find()
        return work

    def discard(self) -> None:
        """Throw the work away that is offered; an older one may be offered then."""
        if self._offer:
            _drop(self._offer)
            self._offer = None
        self._find()

    def leave(self) -> None:
        """Leave all unsaved work to whoever comes next."""
        for hold in (self._own, self._offer, *self._taken):
            if hold:
                hold.let_go()
        self._own = self._offer = self.offered = None
        self._taken.clear()

    def _forget_taken(self) -> None:
        for hold in self._taken:
            _drop(hold)
        self._taken.clear()

    def _find(self) -> None:
        """Offer the newest work that can be read and that no program holds."""
        self.offered = None
        ours = {hold.path for hold in (self._own, *self._taken) if hold}
        kept = [path for folder, name in self._places() for path in _kept(folder, name) if path not in ours]
        for path in sorted(kept, key=_when, reverse=True):
            hold = held(path)
            if hold and (work := _read(path)):
                self.offered, self._offer = work, hold
                return
            if hold:
                hold.let_go()

    def _free(self) -> Iterator[Hold]:
        """Yield a free name in each folder that may serve, held."""
        for folder, name in self._places():
            if folder != self._path.parent and not _make(folder):
                continue
            yield next(hold for path in _numbered(folder, name) if (hold := _held_if_free(path)))

    def _places(self) -> Iterator[tuple[Path, str]]:
        if not self._is_bundled:
            yield self._path.parent, f".{self._path.name}"
        yield _state_folder(), f"{self._path.name}-{sha256(os.fsencode(self._path)).hexdigest()[:16]}"


def _numbered(folder: Path, name: str) -> Iterator[Path]:
    return (folder / f"{name}.unsaved{'' if i == 1 else f'-{i}'}" for i in count(1))


def _held_if_free(path: Path) -> Hold | None:
    """Return a hold of a name under which nothing is kept, or None."""
    hold = None if path.exists() else held(path)
    if hold and path.exists():
        hold.let_go()
        return None
    return hold


def _drop(hold: Hold) -> None:
    """Throw away what is held, and let go of it."""
    _remove(hold.path)
    hold.let_go()


def _kept(folder: Path, name: str) -> list[Path]:
    """Return the files of unsaved work in a folder."""
    numbered = re.compile(re.escape(f"{name}.unsaved") + r"(-\d+)?")
    try:
        return [path for path in folder.iterdir() if numbered.fullmatch(path.name)]
    except OSError:
        return []


def _when(path: Path) -> int:
    """Return when a file was written, ns since 1970; 0 where that is not known."""
    try:
        return path.stat().st_mtime_ns
    except OSError:
        return 0


def _state_folder() -> Path:
    """Return where programs keep what is worth keeping but is no document of the user's."""
    home = Path.home()
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or home / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = home / "Library" / "Application Support"
    else:  # XDG Base Directory Specification 0.8, by which a relative path is none
        given = Path(os.environ.get("XDG_STATE_HOME", ""))
        base = given if given.is_absolute() else home / ".local" / "state"
    return base / "tumblehome"


def _make(folder: Path) -> bool:
    """Make a folder unless it is there; return whether it is."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError):
        return False
    return True


def _put(path: Path, data: bytes) -> bool:
    """Replace a file in one step, without waiting for the disk: this is done at every step of a drag. Return whether it was."""
    part = path.with_name(f"{path.name}.part")
    try:
        part.write_bytes(data)
        part.replace(path)
    except (OSError, ValueError):
        _remove(part)
        return False
    return True


def _read(path: Path) -> Work | None:
    try:
        data = json.loads(path.read_bytes())
        work = Work(data["text"], data["began"])
        return work if data["sum"] == _sum(work) else None
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None  # torn, or not ours


def _sum(work: Work) -> str:
    return sha256(f"{work.began}\0{work.text}".encode()).hexdigest()


def _remove(path: Path) -> None:
    try:
        path.unlink(missing_ok=True)
    except OSError:
        return
