"""Prove what fits where in the leaning, ribbed interior of a panel van, and draw it for the client.

What a script imports::

    import tumblehome as th

    shell = th.load_shell("long-heron")
    print(th.width(shell, height=th.parse_length("48 in"), station=2100).usable)
    for finding in th.check(th.load_layout("long-heron")):
        print(finding.subject, finding.verdict, finding.words())

Every name loads its module when it is first asked for, so that importing the package costs nothing and only what draws
loads what drawing needs.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tumblehome import errors
    from tumblehome.body import Shell, bundled_shells, load_shell
    from tumblehome.checks import Finding, check, check_modes, worst
    from tumblehome.cuts import Limit, Section, Width, WidthChart, band, free_run, reach, section, width, width_chart
    from tumblehome.drawing import save
    from tumblehome.drawing.chart import draw_width_chart
    from tumblehome.drawing.section_drawing import draw_section, standard_drawings
    from tumblehome.drawing.stills import render_stills
    from tumblehome.drawing.van import scene_of
    from tumblehome.errors import (
        InputError,
        KernelError,
        LayoutError,
        LengthError,
        MeshError,
        PictureError,
        TumblehomeError,
    )
    from tumblehome.fitout import Layout, Module, load_layout, load_modes
    from tumblehome.lengths import format_length, parse_length, parse_span

    __version__: str

__all__ = [
    "Finding", "InputError", "KernelError", "Layout", "LayoutError", "LengthError", "Limit", "MeshError", "Module",
    "PictureError", "Section", "Shell", "TumblehomeError", "Width", "WidthChart", "__version__", "band",
    "bundled_shells", "check", "check_modes", "draw_section", "draw_width_chart", "errors", "format_length", "free_run",
    "load_layout", "load_modes", "load_shell", "parse_length", "parse_span", "reach", "render_stills", "save", "scene_of",
    "section", "standard_drawings", "width", "width_chart", "worst",
]  # fmt: skip

_HOMES = {
    "body": ("Shell", "bundled_shells", "load_shell"),
    "checks": ("Finding", "check", "check_modes", "worst"),
    "cuts": (
        "Limit", "Section", "Width", "WidthChart", "band", "free_run", "reach", "section", "width", "width_chart",
    ),
    "drawing": ("save",),
    "drawing.chart": ("draw_width_chart",),
    "drawing.section_drawing": ("draw_section", "standard_drawings"),
    "drawing.stills": ("render_stills",),
    "drawing.van": ("scene_of",),
    "errors": (
        "InputError", "KernelError", "LayoutError", "LengthError", "MeshError", "PictureError", "TumblehomeError",
    ),
    "fitout": ("Layout", "Module", "load_layout", "load_modes"),
    "lengths": ("format_length", "parse_length", "parse_span"),
}  # fmt: skip
_HOME_OF = {name: home for home, names in _HOMES.items() for name in names}

if not TYPE_CHECKING:  # so that a type checker sees the names above and refuses all others

    def __getattr__(name: str) -> object:
        """Load a public name's module when the name is first asked for."""
        if name == "errors":
            return import_module("tumblehome.errors")
        if name == "__version__":
            value = _installed_version()
        elif name in _HOME_OF:
            value = getattr(import_module(f"tumblehome.{_HOME_OF[name]}"), name)
        else:
            raise AttributeError(f"module 'tumblehome' has no attribute '{name}'")
        globals()[name] = value
        return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})


def _installed_version() -> str:
    from importlib.metadata import PackageNotFoundError, version  # noqa: PLC0415  (slow to import, seldom asked)

    try:
        return version("tumblehome")
    except PackageNotFoundError:
        return "0+source"
