"""Load the packages that only some writers need, at the moment they are needed."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from tumblehome.errors import PictureError

if TYPE_CHECKING:
    from types import ModuleType

__all__ = ["load"]


def load(package: str, purpose: str) -> ModuleType:
    """Return the installed `package`; raises PictureError, with what to install for `purpose`, when it is missing."""
    try:
        return import_module(package)
    except ImportError as missing:
        raise PictureError(f"{purpose} needs the package '{package}': pip install {package}") from missing
