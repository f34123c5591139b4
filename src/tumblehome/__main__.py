"""Run the command line: ``python -m tumblehome``."""

from tumblehome.cli.run import run

run()
