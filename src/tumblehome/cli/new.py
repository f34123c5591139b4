"""``tumblehome new``: begin a van of one's own from templates."""

import shlex
from importlib.resources import files
from pathlib import Path
from typing import Annotated

import typer

from tumblehome.cli.terminal import say
from tumblehome.errors import InputError
from tumblehome.files import output_folder, replace_file

__all__ = ["new"]

_TEMPLATES = ("shell.toml", "offsets.csv", "layout.toml")


def new(
    folder: Annotated[str, typer.Argument(metavar="FOLDER", help="Where to put them; made when it is not there.")],
) -> None:
    """Begin a van of your own from templates.

    They are a shell, its table of offsets and a layout, ready to be edited.

    \b
        tumblehome new my-van
    """  # noqa: D301
    if not folder.strip():
        raise InputError("the name of the folder is empty; write one, as in: tumblehome new my-van")
    target = Path(folder)
    with output_folder(target):
        there = [name for name in _TEMPLATES if (target / name).exists()]
        if there:
            raise InputError(
                f"{', '.join(there)} already there; choose another folder or move what is in it", file=target
            )
        for name in _TEMPLATES:
            replace_file(target / name, files("tumblehome").joinpath("templates", name).read_bytes())
    say(_next_steps(target))


def _next_steps(target: Path) -> str:
    place, pictures = shlex.quote(str(target)), shlex.quote(str(target / "pictures"))
    return "\n".join(
        [
            "Wrote " + ", ".join(str(target / name) for name in _TEMPLATES),
            "",
            "What to do next",
            "  1  Measure the van into shell.toml and offsets.csv, then see how wide it is:",
            f'       tumblehome width {place} --height "36 in"',
            "  2  Place what you build in layout.toml, then see what fits:",
            f"       tumblehome check {place}",
            "  3  Draw it for the client:",
            f"       tumblehome render {place} -o {pictures}",
        ]
    )
