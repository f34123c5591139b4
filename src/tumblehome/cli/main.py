"""The program: its commands, its exit status, and the one place where a fault becomes a line.

Exit status 0: all clear (what is tight counts as clear, and is shown). 1: something fouls. 2: the input is at fault.
"""

import sys
from collections.abc import Sequence
from importlib import import_module
from typing import Annotated, Any

import typer
from typer.core import TyperOption
from typer.main import get_command

import tumblehome as th
from tumblehome.cli.terminal import complain, say
from tumblehome.errors import TumblehomeError

__all__ = ["main", "read_quickly"]

_AT_FAULT = 2
_INTERRUPTED = 130  # 128 and the number of the interrupt signal, as shells count

_COMMANDS = ("new", "shells", "section", "width", "check", "study", "people", "carry", "render", "page", "view", "demo")
"""Each is a function in a module of its name; a run loads the one that it needs."""


def _show_version(asked: bool) -> None:
    if asked:
        say(f"tumblehome {th.__version__}")
        raise typer.Exit


def _program(
    context: typer.Context,
    version: Annotated[  # noqa: ARG001  (the callback has answered it)
        bool, typer.Option("--version", callback=_show_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Prove what fits where in the leaning, ribbed interior of a panel van.

    \b
    Begin with a look at a finished van, then with your own:
        tumblehome demo
        tumblehome new my-van
        tumblehome check my-van

    A length has a unit: "22 1/2 in", "5 ft 3 1/2 in", 570mm.
    """  # noqa: D301  (the toolkit's sign for lines that stay as they are)
    if context.invoked_subcommand is None:
        say(context.get_help())


class _AsGiven:
    """Hands a text or a flag on as it is; for anything else the toolkit reads it, which loads a library of validators."""

    def coerce(self, value: Any, param: Any, ctx: Any) -> Any:  # noqa: ANN401  (the toolkit's own signature)
        as_it_is = (value is None and not param.multiple) or isinstance(value, bool)
        if as_it_is or (isinstance(value, str) and param.type_descriptor.annotation is str):
            return value
        from typer._coercion import build_runtime_param  # noqa: PLC0415

        return build_runtime_param(param.type_descriptor).coerce(value, param=param, ctx=ctx)


def read_quickly() -> None:
    """Spare most runs a third of their time; a version of the toolkit that reads in another way is left as it is."""
    reads = [kind for kind in TyperOption.__mro__ if "get_runtime_param" in vars(kind)]
    for kind in reads[:1]:
        setattr(kind, "get_runtime_param", lambda _: _AsGiven())  # noqa: B010


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command line (None means the process's own) and return its exit status; faults are told on standard error."""
    try:
        status = get_command(_app(_asked(arguments))).main(arguments, prog_name="tumblehome", standalone_mode=False)
    except TumblehomeError as fault:
        complain(str(fault))
    except _UsageFault as fault:
        complain(_usage_words(fault))
    except (typer.Abort, KeyboardInterrupt):
        return _INTERRUPTED
    else:
        return int(status or 0)
    return _AT_FAULT


def _asked(arguments: Sequence[str] | None) -> Sequence[str]:
    """Return the name of the command that is asked for, or of all of them where it is none: then they are told of."""
    first = (sys.argv[1:] if arguments is None else arguments)[:1]
    return first if first and first[0] in _COMMANDS else _COMMANDS


def _app(names: Sequence[str]) -> typer.Typer:
    """Return the program with some of its commands."""
    app = typer.Typer(
        name="tumblehome",
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    app.callback(invoke_without_command=True)(_program)
    for name in names:
        app.command()(getattr(import_module(f"tumblehome.cli.{name}"), name))
    return app


_UsageFault: type[Exception] = typer.BadParameter.__mro__[2]
"""The toolkit's own base of all its usage errors; it moved between versions, and this finds it in any."""


def _usage_words(fault: Any) -> str:  # noqa: ANN401  (a class of the toolkit without a public name)
    context = getattr(fault, "ctx", None)
    words = str(fault.format_message()).rstrip(".").replace("Value error, ", "")
    if "unexpected extra argument" in words:
        words += ", a name with a space in it stands in quotes"
    link = " See" if words.endswith("?") else "; see"
    return f"{words[:1].lower()}{words[1:]}{link}: {context.command_path if context else 'tumblehome'} --help"
