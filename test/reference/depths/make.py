#!/usr/bin/env python3
"""Reference tables for the surface, made by GMT and GDAL from the recorded soundings.

Run from the project's root, with the data folder beside it:

    python3 test/reference/depths/make.py

Needs python3 with numpy, gmt and gdal-bin. Writes blocks.json, linear.json and contours.json beside this script: the
inputs' hashes, the programs' versions, the commands, and figures sampled from their results.

Places are put on a plane the test repeats exactly: degrees times a constant, rounded to a thousandth. The programs only
see plane coordinates, so what the constant stands for does not matter.
"""
import datetime
import hashlib
import json
import lzma
import pathlib
import subprocess
import tempfile

import numpy as np

HERE = pathlib.Path(__file__).parent
DATA = pathlib.Path('../shared/data/soundings')
WORK = pathlib.Path(tempfile.mkdtemp())


def run(command):
    return subprocess.run(command, shell=True, check=True, capture_output=True, cwd=WORK).stdout.decode()


def plane(degrees, origin, scale):
    return np.floor((degrees - origin) * scale * 1000 + 0.5) / 1000


def lake():
    raw = (DATA / 'lake227.csv').read_bytes()
    table = np.genfromtxt(raw.decode().splitlines(), delimiter=',', skip_header=1)
    keep = np.isfinite(table).all(axis=1)
    table = table[keep]
    return dict(name='lake227.csv', sha256=hashlib.sha256(raw).hexdigest(),
                x=plane(table[:, 1], -93.7, 72000), y=plane(table[:, 0], 49.6, 111000), z=-table[:, 2])


def ship():
    raw = (DATA / 'ship-tracks.xyz.xz').read_bytes()
    table = np.array([line.split() for line in lzma.decompress(raw).decode().splitlines() if line.strip()], dtype=float)
    return dict(name='ship-tracks.xyz.xz', sha256=hashlib.sha256(raw).hexdigest(),
                x=plane(table[:, 0], 245, 3600), y=plane(table[:, 1], 20, 3600), z=-table[:, 2])


def grid_over(points, cell):
    # half a thousandth off, so that no point lies on an edge
    west = np.floor(points['x'].min() / cell) * cell - 0.0005
    south = np.floor(points['y'].min() / cell) * cell - 0.0005
    cols = int(np.ceil((points['x'].max() - west) / cell))
    rows = int(np.ceil((points['y'].max() - south) / cell))
    return dict(westM=west, northM=south + rows * cell, cellM=cell, cols=cols, rows=rows)


def region(g):
    return f"-R{g['westM']:.4f}/{g['westM'] + g['cols'] * g['cellM']:.4f}/{g['northM'] - g['rows'] * g['cellM']:.4f}/{g['northM']:.4f} -I{g['cellM']}"


def write_points(points):
    np.column_stack([points['x'], points['y'], points['z']]).astype('<f8').tofile(WORK / 'points.bin')
    with open(WORK / 'points.csv', 'w') as f:
        f.write('x,y,z\n')
        for row in zip(points['x'], points['y'], points['z']):
            f.write('%.3f,%.3f,%.4f\n' % row)
    (WORK / 'points.vrt').write_text(
        '<OGRVRTDataSource><OGRVRTLayer name="points"><SrcDataSource>points.csv</SrcDataSource>'
        '<GeometryType>wkbPoint</GeometryType><GeometryField encoding="PointFromColumns" x="x" y="y" z="z"/>'
        '</OGRVRTLayer></OGRVRTDataSource>')


def blocks(points, cell, every):
    g = grid_over(points, cell)
    write_points(points)
    read = lambda text: np.array([line.split() for line in text.splitlines()], dtype=float)
    options = f'points.bin -bi3d {region(g)} -r -C --FORMAT_FLOAT_OUT=%.12g'
    commands = [f'gmt blockmean {options} -E', f'gmt blockmean {options} -Sn', f'gmt blockmedian {options} -E', f'gmt blockmean -bi3d points.bin {region(g)} -r --FORMAT_FLOAT_OUT=%.12g']
    mean, count, median, place = (read(run(command)) for command in commands)

    def by_cell(table, x=0, y=1):
        col = np.floor((table[:, x] - g['westM']) / cell).astype(int)
        row = np.floor((g['northM'] - table[:, y]) / cell).astype(int)
        order = np.argsort(row * g['cols'] + col)
        return (row * g['cols'] + col)[order], table[order]

    cells, mean = by_cell(mean)
    cells_n, count = by_cell(count)
    cells_m, median = by_cell(median)
    cells_p, place = by_cell(place)
    assert (cells == cells_n).all() and (cells == cells_m).all() and (cells == cells_p).all()
    pick = slice(0, None, every)
    return dict(input=points['name'], sha256=points['sha256'], points=len(points['x']), grid=g, commands=commands,
                occupied=len(cells), countTotal=int(count[:, 2].sum()), countMax=int(count[:, 2].max()),
                meanOfMeans=float(mean[:, 2].mean()), meanOfMedians=float(median[:, 2].mean()), minOfAll=float(mean[:, 4].min()), maxOfAll=float(mean[:, 5].max()),
                sample=dict(cell=cells[pick].tolist(), count=count[pick, 2].astype(int).tolist(), mean=mean[pick, 2].tolist(),
                            deviation=[None if n < 2 else s for n, s in zip(count[pick, 2], mean[pick, 3].tolist())],
                            min=mean[pick, 4].tolist(), max=mean[pick, 5].tolist(), median=median[pick, 2].tolist(),
                            placeX=place[pick, 0].tolist(), placeY=place[pick, 1].tolist()))


def raw_grid(path, g):
    run(f'gdal_translate -q -of ENVI -ot Float64 {path} {path}.raw')
    return np.fromfile(WORK / f'{path}.raw', '<f8').reshape(g['rows'], g['cols'])


def linear(points, cell, every):
    # one depth a place, so that both programs and the test triangulate the same points
    _, first = np.unique(np.column_stack([points['x'], points['y']]), axis=0, return_index=True)
    first.sort()
    unique = {**points, 'x': points['x'][first], 'y': points['y'][first], 'z': points['z'][first]}
    write_points(unique)
    g = grid_over(points, cell)
    east, south = g['westM'] + g['cols'] * cell, g['northM'] - g['rows'] * cell
    gdal = (f"gdal_grid -q -a linear:radius=0:nodata=-9999 -txe {g['westM']:.4f} {east:.4f} -tye {g['northM']:.4f} {south:.4f} "
            f"-outsize {g['cols']} {g['rows']} -ot Float64 -l points points.vrt linear.tif")
    gmt = f'gmt triangulate points.bin -bi3d {region(g)} -r -Gtriangulate.nc=nd'
    run(gdal)
    run(gmt)
    a = raw_grid('linear.tif', g)
    a[a == -9999] = np.nan
    b = raw_grid('triangulate.nc', g)
    both = np.isfinite(a) & np.isfinite(b)
    cells = np.flatnonzero(np.isfinite(a))[::every]
    cells_b = np.flatnonzero(np.isfinite(b))[::every]
    return dict(input=points['name'], sha256=points['sha256'], points=len(first), grid=g, commands=[gdal, gmt],
                gdalInside=int(np.isfinite(a).sum()), gmtInside=int(np.isfinite(b).sum()),
                gdalMean=float(np.nanmean(a)), gmtMean=float(np.nanmean(b)),
                programsDiffer=int((np.abs(a - b)[both] > 1e-6 * np.abs(a[both])).sum()), programsBoth=int(both.sum()),
                gdal=dict(cell=cells.tolist(), depth=[round(v, 6) for v in a.flat[cells]]),
                gmt=dict(cell=cells_b.tolist(), depth=[round(v, 6) for v in b.flat[cells_b]]))


def formula_floor(cols, rows):
    """A floor of polynomials only, so that every program reckons the same digits."""
    u = (np.arange(cols) / cols)[None, :]
    v = (np.arange(rows) / rows)[:, None]
    return (10 + 40 * u * (1 - u) * (v - 0.3) * (v - 0.8) * 8 + 6 * u * u - 5 * v * u).astype('<f4')


def contour_table(z, intervals):
    """Length and number of pieces of each level, between cell centres only: GDAL carries contours half a cell on, to the raster's edge."""
    rows, cols = z.shape
    z.astype('<f4').tofile(WORK / 'floor.bin')
    (WORK / 'floor.hdr').write_text(f'ENVI\nsamples = {cols}\nlines = {rows}\nbands = 1\ndata type = 4\nbyte order = 0\ninterleave = bsq\nmap info = {{frame, 1, 1, 0, {rows}, 1, 1}}\n')
    out = []
    for interval in intervals:
        command = f'gdal_contour -q -a level -i {interval} -f CSV -lco GEOMETRY=AS_WKT floor.bin contours{interval}.csv'
        run(command)
        levels = {}
        for line in (WORK / f'contours{interval}.csv').read_text().splitlines()[1:]:
            wkt, _, level = line.rsplit(',', 2)
            xy = np.array([pair.split()[:2] for pair in wkt[wkt.index('(') + 1:wkt.index(')')].split(',')], dtype=float)
            a, b = xy[:-1], xy[1:]
            mid = (a + b) / 2
            inner = (mid[:, 0] > 0.5) & (mid[:, 0] < cols - 0.5) & (mid[:, 1] > 0.5) & (mid[:, 1] < rows - 0.5)
            entry = levels.setdefault(round(float(level), 6), dict(lengthM=0.0, rings=0, pieces=0))
            entry['lengthM'] += float(np.hypot(*(b - a)[inner].T).sum())
            entry['pieces'] += int(inner.sum())
            entry['rings'] += int(np.array_equal(xy[0], xy[-1]))
        rounded = [dict(levelM=k, lengthM=round(v['lengthM'], 6), rings=v['rings'], pieces=v['pieces']) for k, v in sorted(levels.items())]
        out.append(dict(command=command, intervalM=interval, levels=rounded))
    return out


def contours():
    cols, rows = 120, 90
    z = formula_floor(cols, rows)
    formula = dict(cols=cols, rows=rows, floor='10 + 320 u (1 - u) (v - 0.3)(v - 0.8) + 6 u^2 - 5 v u, u = col / cols, v = row / rows, as float32',
                   sha256=hashlib.sha256(z.tobytes()).hexdigest(), contours=contour_table(z, [0.5, 1.373]))
    # block medians of the ship tracks, which are whole or half metres and so the same digits everywhere, in the largest
    # window without an empty block
    points = ship()
    g = grid_over(points, 1000)
    write_points(points)
    command = f'gmt blockmedian points.bin -bi3d {region(g)} -r -C --FORMAT_FLOAT_OUT=%.12g'
    z = np.full((g['rows'], g['cols']), np.nan)
    for line in run(command).splitlines():
        x, y, median = map(float, line.split())
        z[int((g['northM'] - y) / 1000), int((x - g['westM']) / 1000)] = median
    full = np.isfinite(z)
    size, row, col, rows, cols = max(((r1 - r0) * (c1 - c0), r0, c0, r1 - r0, c1 - c0) for r0 in range(g['rows']) for r1 in range(r0 + 1, g['rows'] + 1)
                                     for c0 in range(g['cols']) for c1 in range(c0 + 1, g['cols'] + 1) if full[r0:r1, c0:c1].all())
    window = dict(row=row, col=col, rows=rows, cols=cols)
    print('window of block medians', window)
    recorded = dict(input=points['name'], sha256=points['sha256'], grid=g, window=window, commands=[command], contours=contour_table(z[row:row + rows, col:col + cols], [99.7]))
    return [formula, recorded]


def write(name, tables):
    made = dict(date=datetime.date.today().isoformat(), gmt=run('gmt --version').strip(), gdal=run('gdalinfo --version').strip(), script='test/reference/depths/make.py')
    (HERE / name).write_text(json.dumps(dict(made=made, tables=tables), separators=(',', ':')) + '\n')
    print(name, (HERE / name).stat().st_size, 'bytes')


write('blocks.json', [blocks(lake(), 10, 2), blocks(ship(), 300, 40)])
write('linear.json', [linear(lake(), 2, 200), linear(ship(), 150, 100)])
write('contours.json', contours())
