"""What if a module were wider?"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from tumblehome.fitout.module import solid_of
from tumblehome.sweep import Prism

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tumblehome.fitout import Layout, Module

    Floats = NDArray[np.float64]

__all__ = ["wider"]


def wider(layout: Layout, name: str, by: float) -> Layout:
    """Return the layout with a module of boxes so many mm wider, half of it at each end of its face."""
    modules = tuple(_widened(module, by) if module.name == name else module for module in layout.modules)
    return replace(layout, modules=modules)


def _widened(module: Module, by: float) -> Module:
    right = module.frame.right
    middle = float(module.center[:2] @ right)
    body = tuple(_stretched(prism, right, middle, by / 2) for prism in module.body)
    frame = module.frame.moved(np.append(-right * by / 2, 0.0))
    return replace(module, body=body, hull=body, solid=solid_of(body, module.name), frame=frame, wide=module.wide + by)


def _stretched(prism: Prism, right: Floats, middle: float, by: float) -> Prism:
    ends = np.sign(prism.outline @ right - middle)
    return Prism(prism.outline + np.outer(ends * by, right), prism.bottom, prism.top)
