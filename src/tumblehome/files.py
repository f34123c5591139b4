"""Files as data: read one whole with one clear line when it cannot be, and replace one in a single step.

Nothing here decides what a file means. TOML keeps the line of every key, so that a later fault can point at it.
"""

from __future__ import annotations

import errno
import os
import re
import stat
import tomllib
from contextlib import contextmanager, suppress
from dataclasses import field
from functools import cached_property
from pathlib import Path, PureWindowsPath
from typing import TYPE_CHECKING, Any, TypeAlias

from tumblehome.errors import InputError, nearest
from tumblehome.lengths import UNITS
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = [
    "MAX_BYTES", "TomlFile", "inside", "is_there", "output_file", "output_folder", "parse_toml", "read_text", "read_toml",
    "replace_file",
]  # fmt: skip

MAX_BYTES = 20_000_000
"""Bytes of text read unless told otherwise: a thousand times a long layout, and still read in well under a second."""

KeyPath: TypeAlias = "tuple[str | int, ...]"


def read_text(path: Path | str, what: str, *, max_bytes: int = MAX_BYTES) -> str:
    """Read a whole text file in UTF-8, with or without a byte order mark.

    Parameters
    ----------
    path : Path or str
        As the user named it; errors repeat it so.
    what : str
        What the file is, for the message: ``"layout file"``.
    max_bytes : int
        Refuse a larger file.

    Returns
    -------
    str
        The text without its byte order mark; line ends are left as they are.

    Raises
    ------
    InputError
        When the file is missing, a folder, a pipe or device, unreadable, empty, too large, binary, or in another encoding.
    """
    try:
        kind = os.stat(path).st_mode
        if not (stat.S_ISREG(kind) or stat.S_ISDIR(kind)):  # opening a pipe that nobody writes to would wait for ever
            raise InputError(f"is a pipe or device; save the {what} as a file and name that", file=path)
        with open(path, "rb") as file:
            data = file.read(max_bytes + 1)
    except (OSError, ValueError) as error:  # ValueError: a NUL or a lone surrogate in the name
        raise InputError(_why_unread(error, Path(path), what), file=path) from error
    if len(data) > max_bytes:
        raise InputError(f"is larger than {max_bytes:,} bytes; is this the right {what}?", file=path)
    if b"\0" in data:
        raise InputError(f"is not text (it holds NUL bytes); save the {what} as UTF-8 text", file=path)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = error.object.count(b"\n", 0, error.start) + 1  # the object lacks the mark, which holds no line end
        wrong = f"byte 0x{error.object[error.start]:02x} is not UTF-8; save the {what} in the encoding UTF-8"
        raise InputError(wrong, file=path, line=line) from error
    if not text.strip():
        raise InputError(f"is empty; write the {what} or name another", file=path)
    return text


def _why_unread(error: OSError | ValueError, path: Path, what: str) -> str:
    match error:
        case FileNotFoundError():
            return f"no such {what}; check the name{_neighbor(path)}"
        case IsADirectoryError():
            return f"is a folder; name the {what} in it"
        case NotADirectoryError():
            return f"no such {what}; a file stands where its name has a folder"
        case PermissionError():
            return f"may not be read; give yourself permission to read the {what}"
        case OSError():
            return f"cannot be read: {_reason(error)}; check the disk or name another {what}"
        case _:
            return f"no file can have this name; check the name of the {what}"


def _neighbor(path: Path) -> str:
    """Return a hint at the file of the same folder whose name comes closest."""
    try:
        return nearest(path.name, os.listdir(path.parent))
    except OSError:
        return ""


def _reason(error: OSError) -> str:
    return (error.strerror or type(error).__name__).lower()


@dataclass(frozen=True)
class TomlFile:
    """A TOML file: its path as the user named it, its text, and what `tomllib` reads in it."""

    path: Path
    text: str = field(repr=False)
    data: dict[str, Any]

    @property
    def unit(self) -> str | None:
        """The unit of length that the file declares for its bare numbers, None where it declares none."""
        unit = self.data.get("unit")
        return unit if isinstance(unit, str) and unit in UNITS else None

    def line_of(self, key_path: KeyPath) -> int | None:
        """Return the line, counted from 1, where a key stands.

        Parameters
        ----------
        key_path : tuple of str or int
            Such as ``("modules", 2, "height")``; numbers count the elements of an array from 0.

        Returns
        -------
        int or None
            The line of the key, table or array element; failing that, of the closest thing that holds it (a missing
            key gives its table). None when the file has none of these.
        """
        known = (self._starts.get(key_path[:length]) for length in range(len(key_path), 0, -1))
        return next((self.text.count("\n", 0, at) + 1 for at in known if at is not None), None)

    @cached_property
    def _starts(self) -> dict[KeyPath, int]:
        from tumblehome.tomlspans import Spans  # noqa: PLC0415  (only faults ask for lines)

        return Spans(self.text).starts


def read_toml(path: Path | str, what: str = "TOML file") -> TomlFile:
    """Read a TOML file; `what` names it in messages, as in `read_text`.

    Raises InputError as `read_text` does, and with the line and the reason when the file is not sound TOML (a key that
    stands twice, a quote that is never closed).
    """
    return parse_toml(read_text(path, what), path)


def parse_toml(text: str, path: Path | str) -> TomlFile:
    """Read a text as the TOML file at a path would be read, which need not exist; raises as `read_toml` does."""
    try:
        return TomlFile(Path(path), text, tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise _broken(str(error), text, path) from error
    except RecursionError as error:
        raise InputError("nests arrays or tables too deeply; flatten them", file=path) from error
    except ValueError as error:  # an integer of thousands of digits, which int() refuses
        raise InputError("holds a number with too many digits; shorten it", file=path) from error


_PLACE = re.compile(r"(?P<reason>.*) \(at (?:line (?P<line>\d+), column (?P<column>\d+)|end of document)\)", re.DOTALL)
_TABLE_TWICE = (
    "this table stands twice; join the two, or write each table of a list in double brackets, as in [[modules]]"
)
_PLAIN_WORDS = (  # how tomllib's reason begins, and what to do about it
    ("Cannot overwrite a value", "this key stands twice in its table; keep one of the two"),
    ("Duplicate inline table key", "this key stands twice in its table; keep one of the two"),
    ("Cannot declare", _TABLE_TWICE),
    ("Cannot", "this table was closed earlier or is no table; write all of its keys in one place"),
    ("Expected newline", 'more follows the value; put text and lengths in quotes, with in for inch: "22 1/2 in"'),
    ("Expected '='", "a key without a value; write: key = value"),
    ("Invalid value", "no value here; write a number, true, false, or text in quotes"),
    ("Illegal character '\\n'", "a quote is opened and not closed on its line; close it"),
    ("Expected \"'''\"", "three quotes are opened and never closed; close them"),
    ("Unterminated string", "a quote is opened and never closed; close it"),
    ("Unclosed array", "a [ is opened and never closed; close it"),
    ("Unclosed inline table", "a { is opened and not closed on its line; close it"),
    ("Unescaped '\\'", "a backslash in double quotes must be doubled; use single quotes instead"),
    ("Invalid statement", "neither key = value, nor a [table], nor a # comment"),
)


_SLIPS = tuple(  # what a whole line looks like that has one of the usual slips in it, and what to do about it
    (re.compile(rf"{line}\s*(#.*)?"), mend)
    for line, mend in (
        (r"[^#\"']*[“”„].*", 'a curly quote; write straight ones: "22 1/2 in"'),
        (
            r"[^#=]*=\s*(?P<one>[+-]?\d+),\s*(?P<other>\d+)",
            "a comma between two numbers; write {one}.{other} with a point, or [{one}, {other}] for two lengths",
        ),
        (r"[^#=]*=\s*[+-]?(\.\d+|\d+\.)", "a point wants a digit on either side; write it like 0.5"),
    )
)


def _broken(message: str, text: str, path: Path | str) -> InputError:
    """Return tomllib's complaint in plain words, with its line."""
    found = _PLACE.fullmatch(message)
    reason = found["reason"] if found else message
    end = text.rstrip().count("\n") + 1
    line = min(int(found["line"]), end) if found and found["line"] else end
    here = text.split("\n")[line - 1].strip()
    known = [*_slips(reason, here), *(words for start, words in _PLAIN_WORDS if reason.startswith(start))]
    words = known[0] if known else f"not sound TOML: {reason[:1].lower()}{reason[1:]}"
    return InputError(words, file=path, line=line)


def _slips(reason: str, line: str) -> Iterator[str]:
    """Yield what the line that a reason stands for tells better than the reason."""
    if reason.startswith("Cannot overwrite") and line.startswith("["):
        yield _TABLE_TWICE
    if reason.startswith(("Invalid value", "Expected newline")):
        found = ((slip.fullmatch(line), mend) for slip, mend in _SLIPS)
        yield from (mend.format(**slip.groupdict()) for slip, mend in found if slip)


def is_there(path: Path) -> bool:
    """Whether a file or folder of this name exists; False too for a name that no file can have."""
    try:
        return path.exists()
    except (OSError, ValueError):
        return False


def inside(folder: Path | str, name: object) -> Path:
    """Return the file that a data file names, which must lie in that data file's folder or below it.

    Parameters
    ----------
    folder : Path or str
        The folder of the data file.
    name : str
        The name written in it, relative to the folder; anything but text is refused. It means the same on every
        system, so a drive letter or a backslash counts as on Windows.

    Returns
    -------
    Path
        `folder` / `name`; it need not exist.

    Raises
    ------
    InputError
        When the name is empty, absolute, climbs with ``..``, or leads out through a symbolic link.
    """
    pure = PureWindowsPath(name) if isinstance(name, str) else PureWindowsPath()
    mend = "name a file in the same folder or below it"
    if not pure.parts:
        raise InputError(f"{name!r} names no file; {mend}")
    if pure.anchor or ".." in pure.parts:
        raise InputError(f"{name!r} leaves the folder of the file that names it; {mend}")
    path = Path(folder, *pure.parts)
    try:
        stays = path.resolve().is_relative_to(Path(folder).resolve())
    except (OSError, RuntimeError, ValueError) as error:  # RuntimeError: links in a circle; ValueError: a NUL
        raise InputError(f"{name!r} cannot be followed to a file; {mend}") from error
    if not stays:
        raise InputError(f"{name!r} is a link that leaves the folder of the file that names it; {mend}")
    return path


def replace_file(path: Path | str, data: bytes | str) -> None:
    """Write a file in one step: whoever reads it finds the old content or the new, never a part.

    Parameters
    ----------
    path : Path or str
        The file. One that exists keeps its permissions; a symbolic link stays, and the file it leads to is replaced.
    data : bytes or str
        The whole content; text is written as UTF-8.

    Raises
    ------
    InputError
        When it cannot be written. The old file is then untouched and nothing is left beside it.
    """
    try:
        target, old = _target(path)
        with _temporary(target.parent, data.encode() if isinstance(data, str) else data) as temporary:
            if old is not None:
                os.chmod(temporary, stat.S_IMODE(old))
            os.replace(temporary, target)
    except (OSError, ValueError) as error:
        raise InputError(f"cannot write the file: {_why_unwritten(error)}", file=path) from error


def _target(path: Path | str) -> tuple[Path, int | None]:
    """Return the file that a path leads to, and its mode where it is there; raises InputError where it is no file."""
    target = Path(os.path.realpath(path))
    old = target.stat().st_mode if target.exists() else None
    if old is not None and not stat.S_ISREG(old):
        raise InputError(
            "cannot write the file: a folder or device has its name; choose another name, or name a file in it",
            file=path,
        )
    return target, old


@contextmanager
def output_folder(path: Path | str) -> Iterator[Path]:
    """Give a folder to write in, made with those above it unless it is there, proven to take a file.

    What was made is removed again where nothing was written in it, however the work ended. Raises InputError when it cannot
    be made or written.
    """
    folder = Path(path)
    made = [each for each in (folder, *folder.parents) if not is_there(each)]
    try:
        _make(path)
        yield folder
    finally:
        for each in made:
            with suppress(OSError, ValueError):  # what holds a file stays
                each.rmdir()


@contextmanager
def output_file(path: Path | str) -> Iterator[Path]:
    """Give a file to write, its folder as `output_folder` gives it; raises InputError, too, where a folder has its name."""
    with output_folder(Path(path).parent):
        try:
            _target(path)
        except (OSError, ValueError) as error:
            raise InputError(f"cannot write the file: {_why_unwritten(error)}", file=path) from error
        yield Path(path)


def _make(folder: Path | str) -> None:
    try:
        Path(folder).mkdir(parents=True, exist_ok=True)
        with _temporary(Path(folder), b"\n"):
            pass
    except (OSError, ValueError) as error:
        raise InputError(f"cannot write in this folder: {_why_unwritten(error)}", file=folder) from error


@contextmanager
def _temporary(folder: Path, data: bytes) -> Iterator[Path]:
    """Give a new file in `folder` that holds `data`, safely on the disk; what is left of it afterwards is removed."""
    path = folder / f".{os.urandom(8).hex()}.part"
    try:
        with open(path, "xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        yield path
    finally:
        path.unlink(missing_ok=True)


_WRITE_MENDS = {
    errno.ENOSPC: "make room on the disk or write elsewhere",
    errno.EFBIG: "the system allows no file so large; write elsewhere",
    errno.EACCES: "give yourself permission to write there or write elsewhere",
    errno.EPERM: "give yourself permission to write there or write elsewhere",
    errno.EROFS: "write elsewhere",
    errno.ENOENT: "make the folder first or correct its name",
    errno.ENOTDIR: "a file stands where its name has a folder; choose another name",
    errno.EEXIST: "a file has the folder's name; choose another name",
    errno.ENAMETOOLONG: "choose a shorter name",
}


def _why_unwritten(error: OSError | ValueError) -> str:
    if isinstance(error, OSError):
        return f"{_reason(error)}; {_WRITE_MENDS.get(error.errno or 0, 'write elsewhere')}"
    return "its name or text holds characters that cannot be written; remove them"
