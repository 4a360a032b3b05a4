"""A yard's own rulebook, invented, as small as one may be."""

CITE = 'clause = "Yard sheet 4"\nstatus = "common practice"\n'
ROW_16 = "[10, 11, 12, 13, 14, 15]"

WHOLE = f"""
title = "Skerry yard rules"

[capacity]
size_system = "mm2"
basis_ambient_c = 30
insulation_c = [70, 105]
{CITE}
[capacity.amps]
"6" = [40, 50]
"2.5" = [20, 30]

[[device_limit]]
from_v = 0
multiple = 1
{CITE}
[[distance]]
tied = "any"
covered = false
limit_mm = 150
words = "150 mm"
{CITE}
"""

#: The head of a rulebook that changes a shipped one.
OVER = 'over = "iso-13297"\n'
