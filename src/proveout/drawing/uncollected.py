"""A pause of the garbage collector, while a drawing becomes a few hundred thousand objects that all stay."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def uncollected() -> Iterator[None]:
    """The collector searches all objects again and again as they grow in number: a quarter of the time.

    Objects without cycles are freed all the same; it goes on afterwards as it was.
    """
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()
