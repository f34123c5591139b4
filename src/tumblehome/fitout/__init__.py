"""What stands in the shell: modules, layouts, and the files that hold them."""

from tumblehome.fitout.layout import Layout
from tumblehome.fitout.layoutfile import load_layout
from tumblehome.fitout.module import Frame, Module, Zone

__all__ = ["Frame", "Layout", "Module", "Zone", "load_layout"]
