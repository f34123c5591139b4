"""The van's body: offsets or a mesh, lining, members, recesses, doorways; and the void that they leave."""

from tumblehome.body.parts import Doorway, Part
from tumblehome.body.shell import Shell
from tumblehome.body.shellfile import bundled_shells, load_shell

__all__ = ["Doorway", "Part", "Shell", "bundled_shells", "load_shell"]
