"""What every report says once: what was examined, what was not, and who has the last word."""

from __future__ import annotations

EXAMINED = (
    "Examined: guards and let-through of conductors, distance of devices, capacity and load current, makers' demands, "
    "ratings, fault currents, breaking capacity, opening times and heat, voltage. Not examined: the return side's "
    "devices, alternating current, corrosion, workmanship."
)

CAUTION = (
    "An aid for a competent person, not an approval. The law and the code of the place and the equipment makers' "
    "manuals come first; have the boat surveyed by a qualified person before power is put on."
)

MEASURING = (
    "Measuring on board is work for a competent person: isolate all sources before a cover is opened, keep metal away "
    "from battery posts, and air spaces where vapour may gather before anything is switched."
)
