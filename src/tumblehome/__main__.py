"""Run the command line: ``python -m tumblehome``."""

from tumblehome.cli.main import run

run()
