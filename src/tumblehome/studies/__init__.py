"""Studies of one module against the wall: how far, how tall, at what price."""

from tumblehome.studies.give import Effect, Effects, effects_on
from tumblehome.studies.left import LeftOver
from tumblehome.studies.profile import Piece, Profile, lower_envelope
from tumblehome.studies.study import NEARBY, Better, Corner, Place, Study, study
from tumblehome.studies.wall import Wall, is_barred
from tumblehome.studies.words import PlaceWords, sentences

__all__ = [
    "NEARBY", "Better", "Corner", "Effect", "Effects", "LeftOver", "Piece", "Place", "PlaceWords", "Profile", "Study", "Wall",
    "effects_on", "is_barred", "lower_envelope", "sentences", "study",
]  # fmt: skip
