"""Every tolerance that the geometry uses, with its reason. Millimeters unless said otherwise."""

from __future__ import annotations

from typing import Final

__all__ = ["ARC", "CONTACT", "EDGE", "LEDGE", "SMALLEST", "STANDS", "WORST_MEASURED"]

EDGE: Final = 1e-8
"""How far an open window is drawn in so that faces that only touch its edge do not count. The kernel keeps vertices to
1e-12 of a body's size, about 5e-9 on a van; on a surface that climbs 1 in 20 this moves an answer by 2e-7."""

CONTACT: Final = 1e-7
"""Two things nearer than this touch and do not foul: well above the kernel's noise, well below the promised 1e-6."""

LEDGE: Final = 1e-8
"""A face whose corners differ by less than this along an axis is a ledge there."""

SMALLEST: Final = 1e-3
"""The least size that a file may give anything: far below what is built or measured, well above where a solid is lost."""

STANDS: Final = 1e-3
"""What is no further above a thing than this stands on it: a place given in inches, or a mesh in single precision, is no nearer."""

WORST_MEASURED: Final = 50.8
"""The most that a tape may be off, two inches: who knows no better has not measured, and would be told that all is tight."""

ARC: Final = 0.25
"""The most by which the polygon of a round corner may leave its circle; always towards less free room."""
