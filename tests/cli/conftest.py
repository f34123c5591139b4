"""The wedge in files of its own, and the program to ask about it, within this process or as one of its own."""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from tumblehome.cli.main import main
from wedge import LAYOUT, SHELL, Answer, environment

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


@pytest.fixture
def van(tmp_path: Path) -> Callable[..., Path]:
    """Return the maker of a folder with the wedge and one box whose left side stands at a breadth."""

    def make(breadth: str = "-700 mm", unit: str = "mm") -> Path:
        (tmp_path / "shell.toml").write_text(SHELL.format(unit=unit))
        (tmp_path / "layout.toml").write_text(LAYOUT.format(breadth=breadth, unit=unit))
        return tmp_path

    return make


@pytest.fixture
def ask(capsys: pytest.CaptureFixture[str]) -> Callable[..., Answer]:
    """Return the program, run within this process."""

    def run(*arguments: object) -> Answer:
        status = main([str(argument) for argument in arguments])
        said = capsys.readouterr()
        return Answer(status, said.out, said.err)

    return run


@pytest.fixture
def program() -> Callable[..., Answer]:
    """Return the program, run as a process of its own."""

    def run(*arguments: object, **more: str) -> Answer:
        command = [sys.executable, "-m", "tumblehome", *map(str, arguments)]
        done = subprocess.run(command, capture_output=True, env=environment(**more), timeout=120, check=False)
        return Answer(done.returncode, done.stdout.decode(), done.stderr.decode())

    return run
