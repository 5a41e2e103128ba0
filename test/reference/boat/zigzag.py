"""First-order yaw of the recorded zig-zag, fitted by scipy on the heading: the reference for test/boat/zig-zag.test.ts.

/usr/bin/python3 test/reference/boat/zigzag.py ../shared/data/trials/model-zigzag-100hz.csv.xz
Record: 100 Hz zig-zag of a free-running ship model, NMUW2022 example data, MIT.
"""
import json
import lzma
import os
import sys

import numpy
import scipy
from scipy.integrate import solve_ivp
from scipy.optimize import least_squares

with lzma.open(sys.argv[1], "rt") as handle:
    names = handle.readline().strip().split(",")
    table = numpy.loadtxt(handle, delimiter=",")
t, psi, delta, r = table[:, 0], table[:, names.index("psi")], table[:, names.index("delta")], table[:, names.index("r")]
t = t - t[0]
helm = numpy.sign((delta[:-100] * r[100:]).sum()) * delta


def heading(q):
    T, K, d0, psi0, r0 = q
    # The equation itself, by an adaptive Runge-Kutta method; the rudder straight between samples.
    solved = solve_ivp(lambda s, y: [y[1], (K * (numpy.interp(s, t, helm) - d0) - y[1]) / T], (0, t[-1]), [psi0, r0], t_eval=t[::10], rtol=1e-8, atol=1e-10, max_step=0.1)
    return solved.y[0]


def residuals(q):
    return numpy.rad2deg(heading(q) - psi[::10])


# Several starts, the best kept; differences large against the integrator's own error.
fits = [least_squares(residuals, [T, K, 0.0, psi[0], r[0]], diff_step=1e-4, x_scale="jac", max_nfev=200) for T, K in [(3, 0.1), (8, 0.25), (20, 0.5)]]
fit = min(fits, key=lambda one: one.cost)
print([(list(numpy.round(one.x, 4)), one.cost) for one in fits])
out = {"made": {"command": "/usr/bin/python3 test/reference/boat/zigzag.py ../shared/data/trials/model-zigzag-100hz.csv.xz", "date": "2026-11-25", "numpy": numpy.__version__, "scipy": scipy.__version__},
       "tS": float(fit.x[0]), "k": float(fit.x[1]), "neutral": float(fit.x[2]), "rmsDeg": float(numpy.sqrt((fit.fun ** 2).mean()))}
print(out)
with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), "zigzag.json"), "w") as handle:
    json.dump(out, handle)
    handle.write("\n")
