"""Makes reference.json: grid convergence and point scale of UTM, and convex hulls, by PROJ and Qhull.

Run from the project's folder:  /usr/bin/python3 test/reference/geo/make.py
Made 2026-11-25 with the versions written into the file.
"""
import json
import pathlib

import numpy as np
import pyproj
import scipy
from scipy.spatial import ConvexHull

convergence = []
for zone, south in ((26, False), (31, False), (56, True), (1, False)):
    projection = pyproj.Proj(proj="utm", zone=zone, south=south, datum="WGS84")
    middle = zone * 6 - 183
    for lat in ([-79.5, -33.9, -0.5] if south else [0.5, 46.0, 60.25, 83.5]):
        for off in (-3.0, -1.25, 0.0, 0.4, 2.9):
            factors = projection.get_factors(middle + off, lat)
            convergence.append(
                {"zone": zone, "hemisphere": "south" if south else "north", "latDeg": lat, "lonDeg": middle + off,
                 "convergenceDeg": round(factors.meridian_convergence, 9)})

hulls = []
for seed, n in ((1, 12), (2, 60), (3, 400)):
    # A small linear congruential generator, so that the test can make the same points.
    state = seed
    points = []
    for _ in range(2 * n):
        state = (state * 1103515245 + 12345) % 2147483648
        points.append(state / 2147483648 * 1000)
    xy = np.array(points).reshape(-1, 2)
    hull = ConvexHull(xy)
    hulls.append({"seed": seed, "n": n, "vertices": sorted(int(i) for i in hull.vertices), "areaM2": float(hull.volume), "lengthM": float(hull.area)})

out = pathlib.Path(__file__).with_name("reference.json")
out.write_text(json.dumps({
    "madeWith": {"pyproj": pyproj.__version__, "PROJ": pyproj.proj_version_str, "scipy": scipy.__version__, "numpy": np.__version__},
    "convergence": convergence, "hulls": hulls}, indent=1) + "\n")
