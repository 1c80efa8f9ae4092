#!/usr/bin/env python3
"""Peak and energy of one recording with pandas: the peer of `gripbook import curve` in tools/bench.

    python3 tools/curve_peer.py FILE
"""

import sys

import numpy
import pandas

table = pandas.read_csv(sys.argv[1])
travel, load = table.iloc[:, 0].to_numpy(), table.iloc[:, 1].to_numpy()
steps = numpy.diff(travel) * 0.5 * (load[1:] + load[:-1])
peak = int(load.argmax())
print(f"peak {load[peak]} at {travel[peak]}, energy to peak {steps[:peak].sum():.6f}, energy {steps.sum():.6f}")
