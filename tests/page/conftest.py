"""Pages of the wedge and of the demo, taken apart by the standard library's own HTML parser."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import TYPE_CHECKING, Any

import pytest

import tumblehome as th
from tumblehome.page import build_page
from wedge import LAYOUT, SHELL

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


@dataclass
class Parsed(HTMLParser):
    """The tags of a page with their attributes, and the text of its scripts and styles."""

    text: str
    tags: list[tuple[str, dict[str, str | None]]] = field(default_factory=list)
    bodies: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self._inside = False
        self.feed(self.text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self._inside = tag in {"script", "style", "title"}
        if self._inside:
            self.bodies.append("")

    def handle_endtag(self, tag: str) -> None:
        self._inside = self._inside and tag not in {"script", "style", "title"}

    def handle_data(self, data: str) -> None:
        if self._inside:
            self.bodies[-1] += data

    @property
    def title(self) -> str:
        return self.bodies[0]

    @property
    def style(self) -> str:
        return self.bodies[1]

    @property
    def data(self) -> Any:
        return json.loads(self.bodies[2])

    @property
    def script(self) -> str:
        return self.bodies[3]

    @property
    def policy(self) -> str:
        return next(attrs["content"] or "" for tag, attrs in self.tags if tag == "meta" and "http-equiv" in attrs)


@pytest.fixture(scope="session")
def wedge(tmp_path_factory: pytest.TempPathFactory) -> th.Layout:
    """The van whose widths are known, with a box whose left side stands 700 mm left of the centerline."""
    return wedge_in(tmp_path_factory.mktemp("wedge"))


def wedge_in(folder: Path, change: Callable[[str], str] = str) -> th.Layout:
    """Write the wedge and its layout, both changed, into a folder and load it."""
    (folder / "shell.toml").write_text(change(SHELL.format(unit="mm")))
    (folder / "layout.toml").write_text(change(LAYOUT.format(breadth="-700 mm", unit="mm")))
    return th.load_layout(folder / "layout.toml")


@pytest.fixture(scope="session")
def wedge_page(wedge: th.Layout) -> str:
    return build_page(wedge, th.check(wedge))


@pytest.fixture(scope="session")
def demo() -> th.Layout:
    return th.load_layout(th.bundled_shells()["long-heron"].parent / "layout.toml")


@pytest.fixture(scope="session")
def demo_page(demo: th.Layout) -> str:
    return build_page(demo, th.check(demo))
