"""The program serving a van of its own: as a process, asked over HTTP and sockets, or within a browser."""

from __future__ import annotations

import signal
import subprocess
import sys
import tempfile
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from wedge import LAYOUT, SHELL, environment

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

BOX = LAYOUT.format(breadth="-700 mm", unit="mm") + "# the last line is a remark\n"
"""One box in the wedge, free of the walls, with a comment that has to survive."""


@dataclass
class Served:
    """A running program: where it answers, and the process."""

    address: str
    process: subprocess.Popen[str]
    file: Path

    @property
    def port(self) -> int:
        port = urlsplit(self.address).port
        assert port
        return port

    @property
    def secret(self) -> str:
        return urlsplit(self.address).path.strip("/")

    def interrupt(self) -> int:
        """Send the signal of Ctrl-C and return the exit status."""
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(20)


def write_wedge(folder: Path, text: str = BOX) -> Path:
    """Write the wedge and a layout into a folder and return the layout's file."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "shell.toml").write_text(SHELL.format(unit="mm"))
    (folder / "layout.toml").write_text(text)
    return folder / "layout.toml"


@contextmanager
def serving(file: Path, *options: str) -> Iterator[Served]:
    """Run ``tumblehome view`` on a file until the end of the block; its unsaved work is kept in a folder of the test."""
    with tempfile.TemporaryDirectory() as home:
        process = subprocess.Popen(
            [sys.executable, "-m", "tumblehome", "view", str(file), "--no-browser", *options],
            stdout=subprocess.PIPE, text=True, env=environment(**kept_in(home)),
        )  # fmt: skip
        try:
            assert process.stdout is not None
            address = process.stdout.readline().strip()
            assert address.startswith("http://127.0.0.1:"), address
            yield Served(address, process, file)
        finally:
            process.kill()
            process.wait()
            assert process.stdout is not None
            process.stdout.close()


def kept_in(home: str) -> dict[str, str]:
    """Return where a program is to keep what it keeps for a user."""
    return {"HOME": home, "XDG_STATE_HOME": home, "XDG_DATA_HOME": home, "XDG_CACHE_HOME": home, "LOCALAPPDATA": home}
