"""Questions to a layout, each with a verdict, a margin, a place and a named cause."""

from tumblehome.checks.finding import Finding, worst
from tumblehome.checks.modes import check_modes, in_modes
from tumblehome.checks.run import Checker, check

__all__ = ["Checker", "Finding", "check", "check_modes", "in_modes", "worst"]
