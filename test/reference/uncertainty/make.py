"""Reference values for test/depths/uncertainty: radii that hold 95 % of normal deviates, by integration.

Run: /usr/bin/python3 test/reference/uncertainty/make.py > test/reference/uncertainty/reference.json
The polynomial of ellipseRadius95 is numpy.polyfit(c, R, 5) over c = 0, 0.025, ..., 1 of these radii.
"""
import json
import sys
import datetime
import numpy as np
import scipy
from scipy import integrate, optimize, stats


def inside(r, c):
    if c == 0:
        return 2 * stats.norm.cdf(r) - 1
    f = lambda x: stats.norm.pdf(x) * (2 * stats.norm.cdf(np.sqrt(max(r * r - x * x, 0)) / c) - 1)
    return integrate.quad(f, -r, r, limit=200, epsabs=1e-12)[0]


ellipse = [[c, optimize.brentq(lambda r: inside(r, c) - 0.95, 1.5, 3)] for c in np.linspace(0, 1, 11).round(3).tolist()]
biased = [[u, optimize.brentq(lambda r: stats.norm.cdf(r - u) - stats.norm.cdf(-r - u) - 0.95, 1, 12)] for u in [0, 0.1, 0.25, 0.5, 0.75, 1, 1.5, 2, 4, 8]]
json.dump({"made": {"python": sys.version.split()[0], "scipy": scipy.__version__, "date": str(datetime.date.today())}, "ellipse": ellipse, "biased": biased}, sys.stdout, indent=1)
print()
