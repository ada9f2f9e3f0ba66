"""Compares the compression ratio and its uncertainty of 200 random cylinders with the library
`uncertainties` (PyPI). Reads the lines that the example `random_engines` prints:

    cargo run -q -p benchhand-blueprint --example random_engines | python3 blueprint/tests/against_uncertainties.py

Both must agree to 1e-9 relative. Exits with 1 and the first difference if they do not.
"""

import json
import math
import sys

from uncertainties import ufloat

worst, count = 0.0, 0
for line in sys.stdin:
    case = json.loads(line)
    b, s, vch, gb, gt, deck, dome, crev = (
        ufloat(value, u) for value, u in zip(case["values"], case["u"])
    )
    swept = math.pi / 4 * b**2 * s / 1000
    clearance = vch + math.pi / 4 * gb**2 * gt / 1000 + math.pi / 4 * b**2 * deck / 1000 + crev - dome
    ratio = (swept + clearance) / clearance
    for found, expected in ((case["ratio"], ratio.n), (case["ratio_u"], ratio.s)):
        apart = abs(found / expected - 1)
        worst = max(worst, apart)
        if not apart < 1e-9:
            sys.exit(f"found {found}, expected {expected}: {line}")
    count += 1
if count != 200:
    sys.exit(f"found {count} cylinders, expected 200")
print(f"{count} cylinders agree, largest difference {worst:.1e}")
