"""The program as the shell that starts it sees it: exit status, streams, encodings, broken pipes, what it loads.

The reference is the operating system itself: real processes, pipes, devices and terminals.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from wedge import environment

if TYPE_CHECKING:
    from collections.abc import Callable

    from wedge import Answer

    Program = Callable[..., Answer]
    Van = Callable[..., Path]

# At its top, 1000 mm, the wedge's half-breadth is 800: 100 mm off, 2 mm off (measured to 3), 1 mm into the wall.
CLEAR, TIGHT, FOULS = "-700 mm", "-798 mm", "-801 mm"


@pytest.mark.parametrize(
    ("breadth", "status", "verdict"), [(CLEAR, 0, "clear"), (TIGHT, 0, "tight"), (FOULS, 1, "fouls")]
)
def test_the_exit_status_is_1_only_when_something_fouls(
    van: Van, program: Program, breadth: str, status: int, verdict: str
) -> None:
    answer = program("check", van(breadth), "--json")
    assert answer.status == status
    assert answer.err == ""
    assert json.loads(answer.out)["verdict"] == verdict


def test_a_fault_goes_to_standard_error_in_one_line_without_a_traceback(program: Program, tmp_path: Path) -> None:
    answer = program("check", tmp_path / "missing.toml")
    assert answer.status == 2
    assert answer.out == ""
    assert answer.err.startswith("tumblehome: ")
    assert answer.err.count("\n") == 1


@pytest.mark.parametrize("arguments", [[], ["check"], ["shells"], ["width", "--height", "1 m"]])
def test_a_reader_that_stops_reading_is_no_fault(van: Van, arguments: list[str]) -> None:
    command = [
        sys.executable,
        "-m",
        "tumblehome",
        *arguments,
        *([str(van())] if arguments[:1] in (["check"], ["width"]) else []),
    ]
    reading, writing = os.pipe()
    os.close(reading)
    with os.fdopen(writing, "wb") as nowhere:
        done = subprocess.run(
            command, stdout=nowhere, stderr=subprocess.PIPE, env=environment(), timeout=60, check=False
        )
    assert done.stderr == b""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="the device that is always full is Linux's")
def test_an_answer_that_cannot_be_written_is_told_in_one_line(van: Van) -> None:
    command = [sys.executable, "-m", "tumblehome", "check", str(van())]
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, env=environment(), timeout=60, check=False)
    assert done.returncode == 2
    assert done.stderr.decode().startswith("tumblehome: cannot write the answer: no space left on device")
    assert done.stderr.count(b"\n") == 1


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp437"])
def test_marks_have_stand_ins_in_encodings_that_lack_them(van: Van, encoding: str) -> None:
    folder = van(FOULS)
    layout = folder / "layout.toml"
    layout.write_text(layout.read_text(encoding="utf-8").replace('"box"', '"Kühlschrank ☃"'), encoding="utf-8")
    command = [sys.executable, "-m", "tumblehome", "check", str(folder)]
    env = environment(PYTHONIOENCODING=encoding, LANG="C", LC_ALL="C")
    done = subprocess.run(command, capture_output=True, env=env, timeout=60, check=False)
    assert done.returncode == 1
    assert done.stderr == b""
    assert "[x] fouls  K" in done.stdout.decode(encoding)


def test_a_plain_locale_is_served(van: Van, program: Program) -> None:
    for command in (["check", van()], ["section", van(), "--station", "1 m"], ["--help"], ["width", "--help"]):
        answer = program(*command, LANG="C", LC_ALL="C", PYTHONUTF8="0", PYTHONCOERCECLOCALE="0")
        faults = [line for line in answer.err.splitlines() if not line.endswith(" ...")]  # it may say what takes long
        assert (answer.status, faults) == (0, [])
        assert answer.out


def test_on_a_terminal_no_line_is_wider_than_it(van: Van) -> None:
    pty = pytest.importorskip("pty")
    folder = van(FOULS)
    command = [sys.executable, "-m", "tumblehome", "check", str(folder)]
    keeper, terminal = pty.openpty()
    process = subprocess.Popen(command, stdout=terminal, env=environment(COLUMNS="90"))
    os.close(terminal)
    shown = b""
    try:
        while piece := os.read(keeper, 4096):
            shown += piece
    except OSError:  # how Linux says that the other side of a terminal is gone
        pass
    os.close(keeper)
    assert process.wait(60) == 1
    lines = shown.decode().splitlines()
    assert any("fouls" in line for line in lines)
    assert max(map(len, lines)) <= 90
    assert len(lines) > 4  # the finding was wrapped


HEAVY = {"vtk", "vtkmodules", "pyvista", "matplotlib", "PIL", "trimesh", "scipy", "typst", "ezdxf", "rich"}


@pytest.mark.parametrize(
    "arguments",
    [
        ["check", "VAN"],
        ["check", "VAN", "--json"],
        ["width", "VAN", "--height", "1 m"],
        ["section", "VAN", "--station", "1 m"],
        ["section", "VAN", "--station", "1 m", "-o", "OUT.svg"],
        ["shells"],
    ],
)
def test_what_draws_nothing_in_pixels_loads_no_library_for_it(van: Van, arguments: list[str]) -> None:
    folder = van()
    words = [a.replace("VAN", str(folder)).replace("OUT", str(folder / "out")) for a in arguments]
    probe = (
        "import sys; from tumblehome.cli.main import main; status = main(sys.argv[1:]);"
        "print(*sys.modules, file=sys.stderr); sys.exit(status)"
    )
    done = subprocess.run(
        [sys.executable, "-c", probe, *words],
        capture_output=True,
        text=True,
        env=environment(),
        timeout=60,
        check=False,
    )
    assert done.returncode == 0
    loaded = {name.partition(".")[0] for name in done.stderr.split()}
    assert "tumblehome" in loaded
    assert loaded & HEAVY == set()


def test_the_package_and_the_help_load_no_geometry() -> None:
    probe = (
        "import sys, tumblehome; from tumblehome.cli.main import main; main(['--help']); exit('numpy' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", probe], capture_output=True, env=environment(), timeout=60, check=False
    )
    assert done.returncode == 0, done.stderr
