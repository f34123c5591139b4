"""How a run of the program begins and ends.

A run is short and everybody waits for its end: nothing is gained by collecting garbage often or by taking solids apart last.
"""

import gc
import os
import sys
from contextlib import suppress

__all__ = ["run"]

_SELDOM = 100_000  # objects made between two collections of garbage


def run() -> None:
    """Run the program and leave with its exit status."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # no matrix here is worth the threads that are started for it
    gc.set_threshold(_SELDOM)
    from tumblehome.cli.main import main, read_quickly  # noqa: PLC0415  (what it loads makes much garbage, too)

    read_quickly()
    status = main()
    for stream in filter(None, (sys.stdout, sys.stderr)):
        with suppress(OSError):
            stream.flush()
    os._exit(status)
