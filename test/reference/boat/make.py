"""Reference fits for test/boat, made with numpy and scipy.

/usr/bin/python3 test/reference/boat/make.py
"""
import json
import os
import sys

import numpy
import scipy
from scipy.optimize import curve_fit, least_squares

rng = numpy.random.default_rng(20260504)
out = {
    "made": {"command": "/usr/bin/python3 test/reference/boat/make.py", "numpy": numpy.__version__, "scipy": scipy.__version__, "python": sys.version.split()[0], "date": "2026-11-25"},
}


def rounded(values, digits=12):
    return [float(f"%.{digits}g" % v) for v in numpy.ravel(values)]


# Circles: algebraic (Kasa) by numpy.linalg.lstsq, Taubin by a generalised eigenproblem, geometric by scipy least_squares.
circles = []
for centre, radius, angles, noise in [((0.3, -0.2), 1.5, numpy.deg2rad([0, 90, 180, 270]), 0.02), ((-0.8, 0.4), 0.9, numpy.deg2rad([10, 55, 120, 200, 251, 330]), 0.05), ((0.1, 1.2), 2.7, numpy.deg2rad(numpy.arange(0, 150, 12)), 0.03)]:
    x = rounded(centre[0] + radius * numpy.sin(angles) + noise * rng.standard_normal(len(angles)))
    y = rounded(centre[1] + radius * numpy.cos(angles) + noise * rng.standard_normal(len(angles)))
    X, Y = numpy.array(x), numpy.array(y)
    A = numpy.column_stack([2 * X, 2 * Y, numpy.ones_like(X)])
    (a, b, c), *_ = numpy.linalg.lstsq(A, X**2 + Y**2, rcond=None)
    kasa = [a, b, numpy.sqrt(c + a * a + b * b)]
    # Taubin: least ||Z v|| subject to v' N v = 1, on centred data.
    mx, my = X.mean(), Y.mean()
    Xc, Yc = X - mx, Y - my
    Z = Xc**2 + Yc**2
    zm = Z.mean()
    D = numpy.column_stack([(Z - zm) / (2 * numpy.sqrt(zm)), Xc, Yc])
    _, _, V = numpy.linalg.svd(D, full_matrices=False)
    v = V[2]
    v0 = v[0] / (2 * numpy.sqrt(zm))
    v3 = -zm * v0
    tx, ty = -v[1] / v0 / 2, -v[2] / v0 / 2
    tr = numpy.sqrt(v[1] ** 2 + v[2] ** 2 - 4 * v0 * v3) / abs(v0) / 2
    geo = least_squares(lambda q: numpy.hypot(X - q[0], Y - q[1]) - q[2], kasa, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    cov = numpy.linalg.inv(geo.jac.T @ geo.jac)
    circles.append({"x": x, "y": y, "kasa": rounded(kasa), "taubin": rounded([tx + mx, ty + my, tr]), "geometric": rounded(geo.x), "unitCovariance": rounded(cov)})
out["circles"] = circles


def way_start(t, s0, vmax, tau, t0):
    z = numpy.maximum(0, (t - t0) / tau)
    return s0 + vmax * tau * (z + numpy.log1p(numpy.exp(-2 * z)) - numpy.log(2))


def way_coast(t, s0, v0, L):
    return s0 + L * numpy.log1p(v0 * t / L)


def fits(model, truth, t, noise, start):
    s = numpy.array(rounded(model(t, *truth) + noise * rng.standard_normal(len(t)), 9))
    p, cov = curve_fit(model, t, s, p0=start, xtol=1e-14, ftol=1e-14, gtol=1e-14, maxfev=20000)
    return {"timeS": rounded(t, 9), "wayM": rounded(s, 9), "params": rounded(p), "covariance": rounded(cov)}


out["starts"] = [
    fits(way_start, (0.0, 2.8, 1.1, 4.2), numpy.arange(0, 8.5, 0.1), 0.02, (0.1, 2.5, 1.0, 4.0)),
    fits(way_start, (3.0, 1.6, 2.4, 2.0), numpy.arange(0, 11.5, 0.5), 0.05, (3, 1.5, 2, 2.2)),
]
out["coasts"] = [
    fits(way_coast, (0.0, 2.8, 3.1), numpy.arange(0, 15, 0.1), 0.02, (0.1, 2.5, 3)),
    fits(way_coast, (1.0, 1.4, 6.5), numpy.arange(0, 25, 0.5), 0.05, (1, 1.5, 5)),
]

# Power curves: P0 + a v^n, weighted.
powers = []
for truth, speeds in [((8.0, 17.0, 3.0), [0.6, 1.0, 1.4, 1.8, 2.2, 2.7]), ((12.0, 25.0, 2.6), [0.5, 0.9, 1.5, 2.1, 2.6])]:
    v = numpy.array(speeds)
    sigma = 0.5 + 0.01 * truth[1] * v**3
    P = numpy.array(rounded(truth[0] + truth[1] * v ** truth[2] + sigma * rng.standard_normal(len(v)), 9))
    model = lambda v, p0, a, n: p0 + a * v**n
    p, cov = curve_fit(model, v, P, p0=truth, sigma=sigma, absolute_sigma=True, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    chi = float((((P - model(v, *p)) / sigma) ** 2).sum())
    powers.append({"speedMps": rounded(v), "powerW": rounded(P, 9), "sigmaW": rounded(sigma), "params": rounded(p), "covariance": rounded(cov), "chi2": chi})
out["powers"] = powers

# First-order yaw: T r' + r = K d, the heading fitted by integrating with small steps.
t = numpy.arange(0, 30, 0.1)
d = numpy.where((t % 8) < 4, 0.4, -0.4)
def heading(T, K, psi0, r0, bias):
    psi, r, res = psi0, r0, []
    for i in range(len(t)):
        res.append(psi)
        after = d[min(i + 1, len(t) - 1)]
        for k in range(20):
            h = 0.005
            # The helm goes straight from one row's value to the next; midpoint rule.
            middle = d[i] + (after - d[i]) * (k + 0.5) / 20
            begin = d[i] + (after - d[i]) * k / 20
            rm = r + h / 2 * (K * (begin - bias) - r) / T
            psi += h * rm
            r += h * (K * (middle - bias) - rm) / T
    return numpy.array(res)
truth = (0.7, 1.3, 0.2, 0.0, 0.02)
psi = numpy.array(rounded(numpy.rad2deg(heading(*truth)) + 0.4 * rng.standard_normal(len(t)), 9))
fit = least_squares(lambda q: numpy.rad2deg(heading(*q)) - psi, (0.6, 1.2, 0.2, 0, 0), x_scale=(0.1, 0.1, 0.1, 0.1, 0.05))
out["yaw"] = {"timeS": rounded(t, 9), "helm": rounded(d), "headingDeg": rounded(psi, 9), "tS": float(fit.x[0]), "k": float(fit.x[1]), "neutral": float(fit.x[4]), "truth": truth}

from scipy.stats import t as student
out["student"] = [[dof, float(student.ppf(0.975, dof))] for dof in [1, 2, 3, 4, 5, 7, 10, 20, 50, 200]]

path = os.path.join(os.path.dirname(os.path.abspath(__file__)), "fits.json")
with open(path, "w") as handle:
    json.dump(out, handle, indent=None, separators=(",", ":"))
    handle.write("\n")
print(path, os.path.getsize(path), "bytes")
