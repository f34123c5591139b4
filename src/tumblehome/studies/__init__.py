"""Studies of one module against the wall: how far, how tall, at what price."""

from tumblehome.studies.give import Effect, Effects, effects_on
from tumblehome.studies.profile import Piece, Profile, lower_envelope
from tumblehome.studies.study import Corner, LeftOver, Place, Study, study
from tumblehome.studies.wall import Wall
from tumblehome.studies.words import sentences

__all__ = [
    "Corner", "Effect", "Effects", "LeftOver", "Piece", "Place", "Profile", "Study", "Wall", "effects_on",
    "lower_envelope", "sentences", "study",
]  # fmt: skip
