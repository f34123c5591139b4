"""The viewer: a page on this machine that turns, cuts, measures and changes a van, served by ``tumblehome view``."""
