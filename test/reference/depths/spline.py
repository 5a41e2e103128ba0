"""A sheet in tension through points, solved directly: the reference for src/depths/spline-tension.ts.

The energy (1 - T) (zxx^2 + 2 zxy^2 + zyy^2) + T (zx^2 + zy^2) is summed over the grid, its
normal equations are solved sparse with the points held exactly, and the middle is kept: there the discrete Euler
equation is (1 - T) D4 z = T D2 z, and points all round screen the edge, whose conditions differ a little.

Run: /usr/bin/python3 test/reference/depths/spline.py  (numpy, scipy)
"""
import json, os, sys
import numpy as np, scipy
import scipy.sparse as sp
import scipy.sparse.linalg as sl

N = 60
rng = np.random.default_rng(20261125)
cells = np.sort(rng.choice(N * N, 360, replace=False))
row, col = cells // N, cells % N
depth = np.round(10 + 2 * np.sin(col / 6) + np.cos(row / 5) + 0.05 * col, 3)

def energy(n, tension):
    one = sp.identity(n)
    d1 = sp.diags([-1, 1], [0, 1], shape=(n - 1, n))
    d2 = sp.diags([1, -2, 1], [0, 1, 2], shape=(n - 2, n))
    xx, yy, xy = sp.kron(one, d2), sp.kron(d2, one), sp.kron(d1, d1)
    x, y = sp.kron(one, d1), sp.kron(d1, one)
    return (1 - tension) * (xx.T @ xx + yy.T @ yy + 2 * xy.T @ xy) + tension * (x.T @ x + y.T @ y)

out = []
for tension in (0.0, 0.35, 0.75):
    a = energy(N, tension).tocsc()
    free = np.setdiff1d(np.arange(N * N), cells)
    z = np.zeros(N * N)
    z[cells] = depth
    z[free] = sl.spsolve(a[free][:, free], -a[free][:, cells] @ depth)
    r = np.arange(N * N) // N
    c = np.arange(N * N) % N
    inner = (r >= 20) & (r < N - 20) & (c >= 20) & (c < N - 20)
    keep = np.where(inner)[0]
    out.append({"tension": tension, "cell": keep.tolist(), "depth": np.round(z[keep], 5).tolist()})
table = {"note": "direct sparse solution; " + f"scipy {scipy.__version__}, numpy {np.__version__}; /usr/bin/python3 test/reference/depths/spline.py, 2026-11-25",
         "size": N, "points": {"cell": cells.tolist(), "depth": depth.tolist()}, "tables": out}
with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), "spline.json"), "w") as f:
    json.dump(table, f, separators=(",", ":"))
    f.write("\n")
