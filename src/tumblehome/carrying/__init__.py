"""Carrying a module out of the van, and in again: a way that is proven free, or proof that there is none."""

from tumblehome.carrying.carry import Carry, carry
from tumblehome.carrying.path import Passed, Path, Pose
from tumblehome.carrying.pinch import Pinch
from tumblehome.carrying.question import Way
from tumblehome.carrying.words import as_told, headline, sentences

__all__ = ["Carry", "Passed", "Path", "Pinch", "Pose", "Way", "as_told", "carry", "headline", "sentences"]
