"""Which loads are motors, and so can stall."""

from __future__ import annotations

from linter.model.elements import Converter, Load


def is_motor(load: Load) -> bool:
    """Whether it is one by its sort, or turns an engine; where nobody tells its sort, whether it states a starting
    current.  A light, a heater, electronics and a converter start with more than they draw, and have nothing that
    stalls."""
    if load.sort:
        return load.sort == "motor"
    return load.cranking or (bool(load.starts_a) and not isinstance(load, Converter))
