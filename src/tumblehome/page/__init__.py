"""One file for the client: the layout in the round, its cuts and its findings, in a browser, with no network."""

from tumblehome.page.page import build_page

__all__ = ["build_page"]
