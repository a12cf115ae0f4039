"""Reading many small rows without Python's collector walking over them."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def uncollected() -> Iterator[None]:
    """Let Python's collector rest while tens of thousands of rows are read and laid out, a third of the time otherwise.

    It would walk over them again and again, and none of them is garbage before the end. It works as a decorator, too.
    """
    runs = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if runs:
            gc.enable()
