"""Files: one clear line for everything that cannot be read or written, and never half a file.

The references are the operating system itself (limits, permissions and devices that are really there) and `tomllib`.
"""

from __future__ import annotations

import errno
import os
import resource
import shutil
import stat
import subprocess
import sys
import tempfile
import tomllib
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tumblehome import files
from tumblehome.errors import InputError
from tumblehome.files import inside, output_file, output_folder, read_text, read_toml, replace_file

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator


def ask_for(give: Callable[[Path | str], AbstractContextManager[Path]], path: Path | str) -> None:
    """Ask for an output folder or file that is to be refused."""
    with give(path):
        pass


@contextmanager
def refused(*words: str, file: Path | str | None = None, line: int | None = None) -> Iterator[None]:
    """Expect one InputError of one line that holds all the words and knows its place."""
    with pytest.raises(InputError) as caught:
        yield
    text = str(caught.value)
    assert len(text.splitlines()) == 1
    for word in words:
        assert word in text
    assert (caught.value.file, caught.value.line) == (file, line)
    assert file is None or text.startswith(str(file))


@pytest.fixture
def ordinary_user() -> Iterator[Path]:
    """Give a folder that everybody may enter, and remove it afterwards."""
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o755)
    yield folder
    folder.chmod(0o755)
    shutil.rmtree(folder)


@contextmanager
def without_privilege() -> Iterator[None]:
    """Act as a user without any rights for a while; whoever is not root already does."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)  # "nobody"
    try:
        yield
    finally:
        os.seteuid(0)


# Reading text


@given(st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"])), st.booleans())
def test_text_is_read_as_written(text: str, with_mark: bool) -> None:
    """Python's codec is the reference; line ends stay, and a byte order mark is no part of the text."""
    data = ("\ufeff" if with_mark else "").encode() + b"x" + text.encode()
    with tempfile.NamedTemporaryFile() as file:
        file.write(data)
        file.flush()
        assert read_text(file.name, "note") == "x" + text


def test_missing_file_names_the_nearest(tmp_path: Path) -> None:
    (tmp_path / "layout.toml").write_text("a = 1")
    path = tmp_path / "layuot.toml"
    with refused("no such layout file", "did you mean 'layout.toml'?", file=path):
        read_text(path, "layout file")
    path = tmp_path / "no" / "such" / "folder.toml"
    with refused("no such layout file", "check the name", file=path):
        read_text(path, "layout file")


def test_folder_in_place_of_a_file(tmp_path: Path) -> None:
    with refused("is a folder; name the shell file in it", file=tmp_path):
        read_text(tmp_path, "shell file")


def test_what_is_no_regular_file_is_refused_at_once(tmp_path: Path) -> None:
    """Nobody writes to the pipe: to open it would wait for ever."""
    os.mkfifo(tmp_path / "pipe.toml")
    for path in (tmp_path / "pipe.toml", Path(os.devnull)):
        with refused("is a pipe or device; save the shell file as a file", file=path):
            read_text(path, "shell file")


def test_file_in_place_of_a_folder(tmp_path: Path) -> None:
    (tmp_path / "a").write_text("x")
    path = tmp_path / "a" / "b.toml"
    with refused("a file stands where its name has a folder", file=path):
        read_text(path, "shell file")


def test_impossible_names() -> None:
    """A NUL ends a name for every system, and half of a surrogate pair is no character."""
    for path in ("a\0b", "\ud800"):
        with refused("check the name of the shell file", file=path):
            read_text(path, "shell file")


@pytest.mark.parametrize("data", [b"", b" \n\t\r\n", b"\xef\xbb\xbf", b"\xef\xbb\xbf\n"])
def test_empty_file(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "empty.csv"
    path.write_bytes(data)
    with refused("is empty; write the table of offsets", file=path):
        read_text(path, "table of offsets")


@pytest.mark.parametrize("data", [b"\x89PNG\0\0", "name = 1".encode("utf-16"), "name = 1".encode("utf-32")])
def test_binary_file(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "binary.toml"
    path.write_bytes(data)
    with refused("is not text", "save the shell file as UTF-8 text", file=path):
        read_text(path, "shell file")


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_other_encoding_names_the_line(tmp_path: Path, mark: bytes) -> None:
    path = tmp_path / "latin.toml"
    path.write_bytes(mark + "a = 1\r\nb = 2\r\nname = 'Größe'".encode("latin-1"))
    with refused("0xf6 is not UTF-8", "save the shell file in the encoding UTF-8", file=path, line=3):
        read_text(path, "shell file")


def test_too_large_file_is_refused_at_one_byte_over(tmp_path: Path) -> None:
    path = tmp_path / "large.toml"
    path.write_bytes(b"x" * 1000)
    assert len(read_text(path, "shell file", max_bytes=1000)) == 1000
    with refused("is larger than 999 bytes", "is this the right shell file?", file=path):
        read_text(path, "shell file", max_bytes=999)


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="needs a device without end")
def test_endless_device_is_refused() -> None:
    with refused("is a pipe or device", file="/dev/zero"):
        read_text("/dev/zero", "shell file")


def test_unreadable_file(ordinary_user: Path) -> None:
    path = ordinary_user / "secret.toml"
    path.write_text("a = 1")
    path.chmod(0)
    with without_privilege(), refused("may not be read", "permission to read the shell file", file=path):
        read_text(path, "shell file")


@pytest.mark.skipif(not Path("/proc/self/mem").exists(), reason="needs a file whose reading fails")
def test_fault_of_the_disk() -> None:
    """The first page of a process is never mapped, so the system answers with an input/output error."""
    with refused("cannot be read: input/output error", "check the disk", file="/proc/self/mem"):
        read_text("/proc/self/mem", "shell file")


# TOML and its lines

LAYOUT = (
    """\
# a made-up galley
name = "galley"
note = '''
[not.a.table]
height = 1 # not a comment, and '' is no end
'''
quote = \"\"\"a \\\"\"\" b
modules = 3\"\"\"\"\"

[defaults]
finish.color = "sand" ; finish."top # left".'x.y' = 1
""".replace(" ; ", "\n")
    + """\
rows = [ # heights
    [1, 2.5, "]"], [3, 4, '#'],

    [5, 1979-05-27 07:32:00, {a = "}", b = [ # }, "
        1]}], # last
]

[[modules]]
name = "sink"
[[modules]]
name = "stove"
size = { width = 600, "the depth" = { at = "{" } }
after = 1
[[modules.zones]]
kind = "door"
  [[ modules . "zones" ]]   # the second
kind = "drawer"
[modules.finish]
gloss = 2
[[modules]]
zones = [
  {kind = "lid", height = 5},
  {kind = "hand"},
]
[a.b.c]
d = 1
[a]
e = 1
"""
)


@pytest.mark.parametrize(
    ("key_path", "start"),
    [
        (("name",), 'name = "galley"'),
        (("note",), "note ="),
        (("quote",), "quote ="),
        (("defaults",), "[defaults]"),
        (("defaults", "finish"), "finish.color"),
        (("defaults", "finish", "color"), "finish.color"),
        (("defaults", "finish", "top # left", "x.y"), 'finish."top'),
        (("defaults", "rows"), "rows ="),
        (("defaults", "rows", 0, 2), "    [1,"),
        (("defaults", "rows", 1), "    [1,"),
        (("defaults", "rows", 2, 2, "b"), "    [5,"),
        (("defaults", "rows", 2, 2, "b", 0), "        1]}]"),
        (("modules", 0, "name"), 'name = "sink"'),
        (("modules", 0, "height"), "[[modules]]"),
        (("modules", 1, "name"), 'name = "stove"'),
        (("modules", 1, "size", "width"), "size ="),
        (("modules", 1, "size", "the depth", "at"), "size ="),
        (("modules", 1, "after"), "after ="),
        (("modules", 1, "zones", 0, "kind"), 'kind = "door"'),
        (("modules", 1, "zones", 1), "  [[ modules"),
        (("modules", 1, "zones", 1, "kind"), 'kind = "drawer"'),
        (("modules", 1, "finish", "gloss"), "gloss ="),
        (("modules", 2, "zones", 1, "kind"), '  {kind = "hand"'),
        (("modules", 2, "zones"), "zones ="),
        (("a", "b", "c", "d"), "d = 1"),
        (("a",), "[a]"),
        (("a", "e"), "e = 1"),
    ],
)
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_lines_of_a_layout(tmp_path: Path, key_path: files.KeyPath, start: str, end: str) -> None:
    """The first line that begins so, found by looking."""
    path = tmp_path / "layout.toml"
    path.write_bytes(LAYOUT.replace("\n", end).encode())
    expected = next(n for n, text in enumerate(LAYOUT.splitlines(), 1) if text.startswith(start))
    assert read_toml(path).line_of(key_path) == expected


def test_lines_of_what_is_not_there(tmp_path: Path) -> None:
    path = tmp_path / "layout.toml"
    path.write_text(LAYOUT)
    layout = read_toml(path)
    assert layout.line_of(()) is None
    assert layout.line_of(("height",)) is None
    assert layout.line_of(("modules", 9, "height")) == layout.line_of(("modules", 0))
    assert layout.data == tomllib.loads(LAYOUT)
    assert layout.path == path


keys = st.text("ab.#\"' ", min_size=1, max_size=3)
trees = st.recursive(
    st.none(),
    lambda inner: st.dictionaries(keys, inner, max_size=3) | st.lists(inner, max_size=3),
    max_leaves=12,
)
noise = st.sampled_from(["", "\n", '# [x] = "\n', "\n  # it's\n", "''' no"])


class _Writer:
    """Writes TOML in which every number is the line that it stands on, in every way that a table can be written."""

    def __init__(self, draw: Callable[..., Any]) -> None:
        self.draw, self.text = draw, ""

    def table(self, prefix: tuple[str, ...], tree: dict[str, Any]) -> None:
        inner = {key: value for key, value in tree.items() if self.is_plain(value)}
        for key, value in inner.items():
            self.blank()
            self.text += self.key(key) + " = "
            self.value(value)
            self.text += self.draw(st.sampled_from(["\n", " # ]} '\n"]))
        for key, value in tree.items():
            if key not in inner:
                self.headed((*prefix, key), value)

    def headed(self, path: tuple[str, ...], value: Any) -> None:
        name = self.draw(st.sampled_from([".", " . "])).join(self.key(key) for key in path)
        for item in value if isinstance(value, list) else [value]:
            self.blank()
            self.text += f"[[{name}]]\n" if isinstance(value, list) else f"[{name}]\n"
            self.table(path, item)

    def is_plain(self, value: Any) -> bool:
        """Arrays of tables may be written with headers or not; the rest of the arrays may not."""
        if isinstance(value, list):
            return not value or not all(isinstance(item, dict) for item in value) or bool(self.draw(st.booleans()))
        return not isinstance(value, dict)

    def value(self, value: Any) -> None:
        if isinstance(value, dict):
            self.text += "{ " + ", ".join(f"{self.key(key)} = 'z}}'" for key in value) + " }"
        elif isinstance(value, list):
            self.text += "["
            for item in value:
                self.blank(inside=True)
                self.value(item)
                self.text += ", "
            self.blank(inside=True)
            self.text += "]"
        else:
            self.text += str(self.line())

    def blank(self, *, inside: bool = False) -> None:
        text = self.draw(noise)
        if text == "''' no":
            text = "" if inside else f"{self.key('n' + str(len(self.text)))} = '''\n[[no]]\nno = \"\n'''\n"
        self.text += text

    def key(self, key: str) -> str:
        quoted = '"' + key.replace('"', '\\"') + '"'
        return key if key.isalnum() and self.draw(st.booleans()) else quoted

    def line(self) -> int:
        return self.text.count("\n") + 1


def _numbers(value: Any, path: files.KeyPath = ()) -> Iterator[tuple[files.KeyPath, int]]:
    """Walk what tomllib read; give the path of every number."""
    if isinstance(value, int):
        yield path, value
    elif isinstance(value, (dict, list)):
        for key, item in value.items() if isinstance(value, dict) else enumerate(value):
            yield from _numbers(item, (*path, key))


@given(st.data(), st.dictionaries(keys, trees, min_size=1, max_size=4))
def test_every_number_that_is_its_line_is_found_there(data: st.DataObject, tree: dict[str, Any]) -> None:
    """The file tells its own lines: tomllib reads each number, and the number is the line it was written on."""
    writer = _Writer(data.draw)
    writer.table((), tree)
    found = files.TomlFile(Path("x.toml"), writer.text, tomllib.loads(writer.text))
    numbers = list(_numbers(found.data))
    assume(numbers)
    for path, number in numbers:
        assert found.line_of(path) == number, (path, writer.text)


@pytest.mark.parametrize(
    ("text", "line", "mend"),
    [
        ("a = 1\nb = 2\na = 3", 3, "this key stands twice in its table; keep one"),
        ("a = { b = 1, b = 2 }", 1, "this key stands twice in its table; keep one"),
        ('a = """b\n\nc = .5\n', 3, "a quote is opened and never closed"),
        ("a = .5", 1, "a digit on either side"),
        ("a = 35,5", 1, "write 35.5 with a point"),
        ("[a]\nx = 1\n\n[a]\ny = 1\n", 4, "this table stands twice; join the two"),
        ("[a]\nx = 1\n\n[[a]]\ny = 1\n", 4, "a list in double brackets, as in [[modules]]"),
        ("a = [1]\n[[a]]\n", 2, "write all of its keys in one place"),
        ("a = 1\nwidth = 22 1/2 in\n", 2, 'put text and lengths in quotes, with in for inch: "22 1/2 in"'),
        ('a = 1\nwidth = "22 1/2""\n', 2, "put text and lengths in quotes"),
        ("a = 1\nb\n", 2, "write: key = value"),
        ("a = 1\nb =\nc = 3", 2, "write a number, true, false, or text in quotes"),
        ("a = 1\nb = wood\n", 2, "text in quotes"),
        ('a = "one\nb = 2\n', 1, "close it"),
        ("a = 1\nb = '''x\n\ny\n", 4, "close them"),
        ("a = 1\nb = [1, 2\n", 2, "close it"),
        ("a = 1\nb = { c = 1\n", 2, "close it"),
        ('a = "C:\\wood"', 1, "use single quotes"),
        ("a = 1\n= 2\n", 2, "key = value"),
        ("a = 1\n[b\nc = 1", 2, "']'"),
        ("a = 1979-02-30\n", 1, "date"),
    ],
)
def test_broken_toml_names_line_and_mend(tmp_path: Path, text: str, line: int, mend: str) -> None:
    path = tmp_path / "broken.toml"
    path.write_text(text)
    with refused(mend, file=path, line=line):
        read_toml(path)


def test_toml_beyond_the_reader(tmp_path: Path) -> None:
    path = tmp_path / "broken.toml"
    path.write_text("a = " + "[" * 5000 + "]" * 5000)
    with refused("flatten", file=path):
        read_toml(path)
    path.write_text("a = " + "9" * 5000)
    with refused("shorten it", file=path):
        read_toml(path)


def _outcome(question: Callable[..., Any], *arguments: object) -> Any:
    """Return the answer or the refusal; whatever else is raised fails the test."""
    try:
        return question(*arguments)
    except InputError as error:
        return error


@given(st.text(max_size=60) | st.text("[]{}=.,#'\"\\ \nab1", max_size=30))
def test_any_text_is_toml_or_one_clear_line(text: str) -> None:
    with tempfile.NamedTemporaryFile() as file:
        file.write(text.encode("utf-8", "replace"))
        file.flush()
        found = _outcome(read_toml, file.name)
    if isinstance(found, InputError):
        assert len(str(found).splitlines()) == 1
    else:
        assert all(1 <= found.line_of((key,)) <= text.count("\n") + 1 for key in found.data)


# Names in a data file


@pytest.mark.parametrize(
    "name", ["offsets.csv", "meshes/ribs.stl", "./offsets.csv", "meshes\\ribs.stl", "..offsets.csv"]
)
def test_names_inside_stay_inside(tmp_path: Path, name: str) -> None:
    found = inside(tmp_path, name)
    assert found.resolve().is_relative_to(tmp_path.resolve())
    assert found == tmp_path / name.replace("\\", "/")


@pytest.mark.parametrize(
    "name",
    [
        "/etc/hostname",
        "../x.csv",
        "a/../../x.csv",
        "a/..",
        "..",
        "C:\\x.csv",
        "C:x.csv",
        "\\x.csv",
        "..\\x.csv",
        "//a/b",
    ],
)
def test_names_that_leave_are_refused(tmp_path: Path, name: object) -> None:
    with refused("leaves the folder", "name a file in the same folder or below it"):
        inside(tmp_path, name)


@pytest.mark.parametrize("name", ["", ".", "./", None, 3, ["a"]])
def test_names_of_nothing_are_refused(tmp_path: Path, name: object) -> None:
    with refused("names no file", "name a file in the same folder or below it"):
        inside(tmp_path, name)


def test_links_that_lead_out_are_refused(tmp_path: Path) -> None:
    home, other = tmp_path / "home", tmp_path / "homely"  # the second begins like the first and is not in it
    home.mkdir()
    other.mkdir()
    (other / "x.csv").write_text("1")
    (home / "out").symlink_to(other)
    (home / "x.csv").symlink_to(other / "x.csv")
    (home / "gone.csv").symlink_to(other / "gone.csv")
    for name in ("out/x.csv", "x.csv", "gone.csv"):
        with refused("is a link that leaves", "name a file in the same folder"):
            inside(home, name)


def test_links_that_stay_are_followed(tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    (home / "real.csv").write_text("1")
    (home / "alias.csv").symlink_to("real.csv")
    (tmp_path / "door").symlink_to(home)
    assert inside(home, "alias.csv").read_text() == "1"
    assert inside(tmp_path / "door", "real.csv").read_text() == "1"


def test_links_in_a_circle_never_lead_out(tmp_path: Path) -> None:
    """From Python 3.13 on such a name resolves to itself, which lies inside; before, it is refused."""
    (tmp_path / "a").symlink_to("b")
    (tmp_path / "b").symlink_to("a")
    found = _outcome(inside, tmp_path, "a")
    assert found == tmp_path / "a" or "name a file in the same folder" in str(found)


# Replacing files


@given(st.binary() | st.text(st.characters(exclude_categories=["Cs"])))
def test_content_is_written_as_given(data: bytes | str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "x"
        for _ in range(2):
            replace_file(path, data)
            assert path.read_bytes() == (data.encode() if isinstance(data, str) else data)
            assert os.listdir(folder) == ["x"]


def test_permissions_and_links_stay(tmp_path: Path) -> None:
    real, link, fresh = tmp_path / "real", tmp_path / "link", tmp_path / "fresh"
    real.write_text("old")
    real.chmod(0o640)
    link.symlink_to("real")
    replace_file(link, "new")
    assert link.is_symlink()
    assert real.read_text() == "new"
    assert stat.S_IMODE(real.stat().st_mode) == 0o640
    replace_file(fresh, "new")
    ordinary = tmp_path / "ordinary"
    ordinary.touch()
    assert fresh.stat().st_mode == ordinary.stat().st_mode


def _under_limit(path: Path, limit: int) -> str:
    """Replace a file with 100,000 bytes in a process that the system lets write files of `limit` bytes at most."""
    code = (
        "import resource, sys; from tumblehome import errors, files\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[2]),) * 2)\n"
        "try: files.replace_file(sys.argv[1], b'n' * 100_000)\n"
        "except errors.InputError as error: print(error)\n"
    )
    source = str(Path(files.__file__).parents[1])
    arguments = [sys.executable, "-c", code, str(path), str(limit)]
    return subprocess.run(
        arguments, env={**os.environ, "PYTHONPATH": source}, capture_output=True, text=True, check=True
    ).stdout


@pytest.mark.parametrize("limit", [0, 1, 8192, 65_536, 99_999])
def test_writing_that_breaks_off_leaves_the_old_file(tmp_path: Path, limit: int) -> None:
    """The system itself stops the writing part of the way."""
    path = tmp_path / "plan.svg"
    path.write_bytes(b"old")
    answer = _under_limit(path, limit)
    assert answer.startswith(f"{path}: cannot write the file: ")
    assert "write elsewhere" in answer
    assert answer.count("\n") == 1
    assert path.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["plan.svg"]


def test_writing_just_within_the_limit_succeeds(tmp_path: Path) -> None:
    """The guard of the test above: the same process can write."""
    path = tmp_path / "plan.svg"
    path.write_bytes(b"old")
    assert _under_limit(path, 100_000) == ""
    assert path.read_bytes() == b"n" * 100_000


def test_full_disk_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Some disks take the bytes and only say at the last moment that they have no room for them."""

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    path = tmp_path / "plan.svg"
    path.write_bytes(b"old")
    monkeypatch.setattr(os, "fsync", full)
    with refused("no space left on device", "make room on the disk or write elsewhere", file=path):
        replace_file(path, b"new")
    with refused("no space left on device", "make room on the disk or write elsewhere", file=tmp_path):
        ask_for(output_folder, tmp_path)
    assert path.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["plan.svg"]


def test_interrupted_writing_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Control-C at the last moment before the replacement."""
    path = tmp_path / "plan.svg"
    path.write_bytes(b"old")

    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", interrupted)
    with pytest.raises(KeyboardInterrupt):
        replace_file(path, b"new")
    assert path.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["plan.svg"]


def test_writing_into_a_missing_folder(tmp_path: Path) -> None:
    path = tmp_path / "no" / "plan.svg"
    with refused("cannot write the file: no such file", "make the folder first", file=path):
        replace_file(path, "new")
    assert not path.parent.exists()


def test_writing_below_a_file(tmp_path: Path) -> None:
    (tmp_path / "a").write_text("old")
    path = tmp_path / "a" / "plan.svg"
    with refused("a file stands where its name has a folder", file=path):
        replace_file(path, "new")
    assert (tmp_path / "a").read_text() == "old"


def test_writing_over_a_folder_or_device(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    for path in (tmp_path / "a", Path(os.devnull)):
        before = path.stat().st_mode
        with refused("a folder or device has its name; choose another name", file=path):
            replace_file(path, "new")
        assert path.stat().st_mode == before
    assert os.listdir(tmp_path) == ["a"]


def test_writing_under_a_name_too_long(tmp_path: Path) -> None:
    path = tmp_path / ("x" * 300)
    with refused("choose a shorter name", file=path):
        replace_file(path, "new")
    assert os.listdir(tmp_path) == []


def test_writing_the_longest_name(tmp_path: Path) -> None:
    """255 bytes is the longest name on common disks: the temporary file has a name of its own."""
    path = tmp_path / ("x" * 255)
    replace_file(path, "new")
    assert path.read_text() == "new"


def test_writing_what_cannot_be_written(tmp_path: Path) -> None:
    path = tmp_path / "plan.svg"
    for name, text in ((path, "\ud800"), (f"{path}\0", "new")):
        with refused("characters that cannot be written; remove them", file=name):
            replace_file(name, text)
    assert os.listdir(tmp_path) == []


def test_writing_in_a_read_only_folder(ordinary_user: Path) -> None:
    path = ordinary_user / "plan.svg"
    path.write_text("old")
    ordinary_user.chmod(0o555)
    with without_privilege():
        with refused("permission denied; give yourself permission to write there", file=path):
            replace_file(path, "new")
        with refused("cannot write in this folder: permission denied", file=ordinary_user):
            ask_for(output_folder, ordinary_user)
    assert path.read_text() == "old"
    assert os.listdir(ordinary_user) == ["plan.svg"]


# Output folders


def test_an_output_folder_is_made_empty_and_gone_again_where_nothing_was_written(tmp_path: Path) -> None:
    folder = tmp_path / "a" / "b"
    for _ in range(2):
        with output_folder(folder) as made:
            assert made == folder
            assert os.listdir(folder) == []
        assert os.listdir(tmp_path) == []


def test_an_output_folder_that_holds_something_stays(tmp_path: Path) -> None:
    (tmp_path / "there").mkdir()
    with output_folder(tmp_path / "there"):
        pass
    with output_folder(tmp_path / "a" / "b") as made:
        replace_file(made / "plan.svg", "new")
    assert sorted(os.listdir(tmp_path)) == ["a", "there"]
    assert os.listdir(tmp_path / "a" / "b") == ["plan.svg"]


@pytest.mark.parametrize("interruption", [KeyboardInterrupt, InputError])
def test_an_interruption_leaves_no_empty_output_folder(tmp_path: Path, interruption: type[BaseException]) -> None:
    for give in (output_folder, output_file):
        with pytest.raises(interruption), give(tmp_path / "a" / "b" / "c"):
            raise interruption("stop")
        assert os.listdir(tmp_path) == []


def test_an_output_file_is_refused_before_the_work(tmp_path: Path) -> None:
    (tmp_path / "pages").mkdir()
    with refused("a folder or device has its name; choose another name", file=tmp_path / "pages"):
        ask_for(output_file, tmp_path / "pages")
    with refused("characters that cannot be written", file=tmp_path / "a\0"):
        ask_for(output_file, tmp_path / "a\0")
    with output_file(tmp_path / "new" / "plan.html") as file:
        replace_file(file, "new")
    assert (tmp_path / "new" / "plan.html").read_text() == "new"


def test_output_folder_over_a_file(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_text("old")
    with refused("a file has the folder's name; choose another name", file=path):
        ask_for(output_folder, path)
    with refused("a file stands where its name has a folder", file=path / "b"):
        ask_for(output_folder, path / "b")
    assert path.read_text() == "old"


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs the device that is always full")
def test_output_folder_over_a_device() -> None:
    with refused("a file has the folder's name; choose another name", file="/dev/full"):
        ask_for(output_folder, "/dev/full")


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="needs a folder that takes no files")
def test_output_folder_that_takes_no_files() -> None:
    """The process file system can be entered and takes no file from anybody."""
    for folder in ("/proc", "/proc/no-such-thing"):
        with refused("cannot write in this folder", file=folder):
            ask_for(output_folder, folder)


def test_output_folder_that_takes_no_bytes(tmp_path: Path) -> None:
    """A file can be made and not filled: an empty file on a full disk would look like success."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, hard))
    try:
        with refused("cannot write in this folder: file too large", file=tmp_path):
            ask_for(output_folder, tmp_path)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert os.listdir(tmp_path) == []


def test_public_names_are_complete() -> None:
    defined = {name for name, value in vars(files).items() if getattr(value, "__module__", "") == files.__name__}
    assert {name for name in defined if not name.startswith("_")} | {"MAX_BYTES"} == set(files.__all__)
