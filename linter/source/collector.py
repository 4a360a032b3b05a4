"""The garbage collector, put to rest while large numbers of small objects are made that all stay."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager

# A large boat; below it, looking at the new objects once costs nothing worth mentioning.
MANY = 200_000


@contextmanager
def collector_at_rest() -> Iterator[None]:
    """No collection meanwhile: it would look at every object again and again, in vain.  Restored on the way out.

    Very many new objects are then set aside for good: nothing in a design refers to itself in a ring, so that
    counting references frees it all the same.  This also where the caller lets nothing be collected: the interpreter
    collects once more when it ends, which takes seconds with a large boat.
    """
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if gc.get_count()[0] > MANY:
            gc.freeze()
        if collecting:
            gc.enable()
