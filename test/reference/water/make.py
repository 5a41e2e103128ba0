"""Reference values for test/water: travel times by numerical integration, sound speed by TEOS-10, statistics by numpy.

Run: /usr/bin/python3 test/reference/water/make.py > test/reference/water/reference.json
"""
import json
import sys
import datetime
import gsw
import numpy as np
import scipy
from scipy import integrate, optimize

depths = [0.0, 2.0, 4.5, 5.0, 12.0, 30.0]
speeds = [1510.0, 1509.0, 1496.0, 1495.0, 1495.0, 1502.0]
speed = lambda z: float(np.interp(z, depths, speeds))
time = lambda a, b: integrate.quad(lambda z: 1 / speed(z), a, b, points=[d for d in depths if a < d < b] or None, epsabs=1e-15, epsrel=1e-13)[0]
pairs = [(0.0, 1.0), (0.2, 3.1), (0.2, 4.7), (1.0, 20.0), (4.6, 4.9), (0.5, 40.0), (12.0, 30.0), (31.0, 45.0)]
travel = [{"from": a, "to": b, "timeS": time(a, b)} for a, b in pairs]
inverse = []
for start, t in [(0.2, 0.002), (0.2, 0.0031), (1.0, 0.0125), (0.5, 0.025)]:
    inverse.append({"from": start, "timeS": t, "depthM": optimize.brentq(lambda z: time(start, z) - t, start, 60, xtol=1e-11)})

teos10 = []
for t in (2, 10, 18, 25):
    for s in (0, 10, 25, 35):
        for p in (0, 20, 100):
            sa = gsw.SA_from_SP(s, p, -30, 46)
            teos10.append([t, s, p, float(gsw.sound_speed_t_exact(sa, t, p))])

rng = np.random.default_rng(5)
sample = np.round(rng.normal(10, 3, 25), 3)
quantiles = [[float(q), float(np.quantile(sample, q))] for q in (0, 0.05, 0.25, 0.5, 0.9, 0.95, 1)]
x = np.round(np.sort(rng.uniform(0, 20, 15)), 3)
y = np.round(3 + 0.4 * x + rng.normal(0, 0.2, 15), 3)
y[[2, 9, 13]] += [5, -7, 9]
from scipy import stats
slope = stats.theilslopes(y, x)[0]
json.dump({
    "made": {"python": sys.version.split()[0], "gsw": gsw.__version__, "numpy": np.__version__, "scipy": scipy.__version__, "date": str(datetime.date.today())},
    "profile": {"depthM": depths, "soundSpeedMps": speeds},
    "travel": travel, "inverse": inverse,
    "teos10": {"columns": ["temperatureC ITS-90", "practical salinity", "pressureDbar", "m/s"], "rows": teos10},
    "sample": sample.tolist(), "quantiles": quantiles,
    "sampleSd": float(np.std(sample, ddof=1)), "sampleMad": float(stats.median_abs_deviation(sample, scale="normal")),
    "theilSen": {"x": x.tolist(), "y": y.tolist(), "slope": float(slope), "intercept": float(np.median(y - slope * x))},
}, sys.stdout, indent=1)
print()
