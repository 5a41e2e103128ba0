"""Turning circle of a Mariner class ship, L = 160.93 m, 15 knots: the indices test/boat holds the analysis against.

Model and coefficients: Chislett & Stroem-Tejsen (1965), Planar Motion Mechanism Tests and Full-Scale Steering and Maneuvering
Predictions for a Mariner Class Vessel, Report Hy-5, Hydro- and Aerodynamics Laboratory, Lyngby; as printed in the public
Marine Systems Simulator, VESSELS/mariner.m. Indices are read off the model's own states (yaw, place), without drift or noise,
with a Runge-Kutta step of 0.05 s: nothing of the analysis under test is in here.

/usr/bin/python3 test/reference/boat/mariner.py
"""
import json
import os

import numpy

L, U0 = 160.93, 7.7175


def rates(x, command):
    u1, v1, r1, _, _, psi, delta = x
    U = numpy.hypot(U0 + u1, v1)
    u, v, r, d = u1 / U, v1 / U, r1 * L / U, delta
    m, Iz, xG = 798e-5, 39.2e-5, -0.023
    m11, m22, m23 = m + 42e-5, m + 748e-5, m * xG + 9.354e-5
    m32, m33 = m * xG - 4.646e-5, Iz + 43.8e-5
    rate = numpy.clip(command - d, -numpy.deg2rad(5), numpy.deg2rad(5))
    X = -184e-5*u - 110e-5*u**2 - 215e-5*u**3 - 899e-5*v**2 + 18e-5*r**2 + 798e-5*r*v - 95e-5*d**2 - 190e-5*u*d**2 + 93e-5*v*d + 93e-5*u*v*d
    Y = -1160e-5*v - 499e-5*r - 8078e-5*v**3 + 15356e-5*v**2*r - 1160e-5*v*u - 499e-5*r*u + 278e-5*d - 90e-5*d**3 + 556e-5*u*d + 278e-5*u**2*d - 4e-5*v*d**2 + 1190e-5*v**2*d - 4e-5 - 8e-5*u - 4e-5*u**2
    N = -264e-5*v - 166e-5*r + 1636e-5*v**3 - 5483e-5*v**2*r - 264e-5*v*u - 166e-5*r*u - 139e-5*d + 45e-5*d**3 - 278e-5*u*d - 139e-5*u**2*d + 13e-5*v*d**2 - 489e-5*v**2*d + 3e-5 + 6e-5*u + 3e-5*u**2
    det = m22*m33 - m23*m32
    return numpy.array([X*(U*U/L)/m11, (m33*Y - m23*N)*(U*U/L)/det, (-m32*Y + m22*N)*(U*U/L**2)/det,
                        (U0 + u1)*numpy.cos(psi) - v1*numpy.sin(psi), (U0 + u1)*numpy.sin(psi) + v1*numpy.cos(psi), r1, rate])


def run(command_deg, seconds, h=0.05, order_s=100.0):
    x = numpy.zeros(7)
    rows = []
    for i in range(int(seconds / h)):
        t = i * h
        rows.append((t, *x))
        # delta_c = -ui so that a positive command turns to starboard.
        command = -numpy.deg2rad(command_deg) if t >= order_s else 0.0
        k1 = rates(x, command)
        k2 = rates(x + h/2*k1, command)
        k3 = rates(x + h/2*k2, command)
        k4 = rates(x + h*k3, command)
        x = x + h/6*(k1 + 2*k2 + 2*k3 + k4)
    return numpy.array(rows)


out = []
for command in (15.0, -15.0, -35.0):
    table = run(command, 1500)
    t, u, v, r, x, y, psi, _ = table.T
    order = int(round(100 / 0.05))
    turned = abs(numpy.rad2deg(psi - psi[order]))
    # Along and across the course at the order.
    c, s = numpy.cos(psi[order] + numpy.arctan2(v[order], U0 + u[order])), numpy.sin(psi[order] + numpy.arctan2(v[order], U0 + u[order]))
    dx, dy = x - x[order], y - y[order]
    ahead, side = dx*c + dy*s, numpy.sign(command)*(-dx*s + dy*c)
    at = lambda angle, column: float(numpy.interp(angle, turned[order:], column[order:]))
    speed = numpy.hypot(U0 + u, v)
    out.append({"commandDeg": command, "orderS": 100.0, "advanceM": at(90, ahead), "transferM": at(90, side), "tacticalDiameterM": at(180, side),
                "steadyDiameterM": float(2*speed[-1]/abs(r[-1])), "timeTo90S": at(90, t) - 100, "timeTo180S": at(180, t) - 100, "timeTo360S": at(360, t) - 100,
                "speedKept": float(speed[-1]/speed[order]),
                # The track every two seconds, for the analysis: north, east, yaw.
                "timeS": [float(q) for q in t[::40]], "northM": [round(float(q), 4) for q in x[::40]], "eastM": [round(float(q), 4) for q in y[::40]], "yawDeg": [round(float(q), 4) for q in numpy.rad2deg(psi[::40])]})
    print({k: round(w, 2) for k, w in out[-1].items() if not isinstance(w, list)})
path = os.path.join(os.path.dirname(os.path.abspath(__file__)), "mariner.json")
with open(path, "w") as handle:
    json.dump({"made": {"command": "/usr/bin/python3 test/reference/boat/mariner.py", "date": "2026-11-25", "numpy": numpy.__version__}, "turns": out}, handle, separators=(",", ":"))
    handle.write("\n")
