"""What stands in the shell: modules, layouts, and the files that hold them."""

from tumblehome.fitout.layout import Layout
from tumblehome.fitout.layoutfile import LayoutReader, load_layout, load_modes
from tumblehome.fitout.module import Frame, Module, Opening, Use, Zone

__all__ = ["Frame", "Layout", "LayoutReader", "Module", "Opening", "Use", "Zone", "load_layout", "load_modes"]
