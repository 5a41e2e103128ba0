"""Records of invented layouts and image strips, made with Python's struct, numpy and GDAL, to hold our readers against.

    /usr/bin/python3 test/reference/sonar/layout_reference.py test/reference/sonar      (Python 3.11, numpy 1.24, GDAL 3.6; 2026-11-25)

both-sides.rec   little-endian: 64 bytes of file header; records with sync a5 5a, both sides, port from far to near, of changing lengths,
                 and records of another kind between them
one-side.rec     big-endian: records of one side each, no sync, joined by ping number, date in parts
strip.png, strip.csv, strip.tif      the same strip as 16-bit grey PNG and GeoTIFF, with navigation
"""
import json
import struct
import sys

import numpy as np
from osgeo import gdal

START = 1_778_750_042.25
rng = np.random.default_rng(6)
folder = sys.argv[1]
out = {}

pings = []
with open(f'{folder}/both-sides.rec', 'wb') as f:
    f.write(b'INVENTED'.ljust(64, b'\0'))
    for i in range(12):
        n = 20 + (i % 3)
        port, starboard = rng.integers(0, 65536, n), rng.integers(0, 65536, n + 1)
        body = struct.pack('<QiihhfHH', int(round((START + 0.125 * i) * 1e6)), round((46 + 1e-5 * i) * 1e7), round((-30 - 2e-5 * i) * 1e7), 12300 + i, -32768 if i == 4 else 450, 30.5, n, n + 1)
        body += port[::-1].astype('<u2').tobytes() + starboard.astype('<u2').tobytes()
        f.write(b'\xa5\x5a' + struct.pack('<HI', 1, len(body) + 8) + body)
        if i % 4 == 1:
            f.write(b'\xa5\x5a' + struct.pack('<HI', 7, 100) + b'\x11' * 92)
        pings.append({'timeS': START + 0.125 * i, 'latDeg': 46 + 1e-5 * i, 'lonDeg': -30 - 2e-5 * i, 'headingDeg': 123 + 0.01 * i, 'heightM': None if i == 4 else 4.5, 'port': [int(v) for v in port], 'starboard': [int(v) for v in starboard], 'rangeM': 30.5})
out['both-sides.rec'] = pings

pings = []
with open(f'{folder}/one-side.rec', 'wb') as f:
    for i in range(6):
        ping = {'number': 100 + i}
        for side in (0, 1):
            if (i, side) == (3, 1):
                continue
            samples = rng.normal(0, 10, 16).astype('f4')
            f.write(struct.pack('>IHHHHHHHHd', 100 + i, side, 2026, 5, 14, 9, 14, 2 + i, 125, 64e-6) + samples.astype('>f4').tobytes())
            ping['port' if side == 0 else 'starboard'] = [float(v) for v in samples]
        pings.append(ping)
out['one-side.rec'] = pings

levels = rng.integers(0, 65536, (9, 40)).astype('u2')
memory = gdal.GetDriverByName('MEM').Create('', 40, 9, 1, gdal.GDT_UInt16)
memory.GetRasterBand(1).WriteArray(levels)
gdal.GetDriverByName('PNG').CreateCopy(f'{folder}/strip.png', memory)
gdal.GetDriverByName('GTiff').CreateCopy(f'{folder}/strip.tif', memory, options=['COMPRESS=DEFLATE'])
with open(f'{folder}/strip.csv', 'w') as f:
    f.write('time;latitude;longitude;heading;range [m];height_m\n')
    for i in range(9):
        f.write(f'2026-05-14T09:14:0{i}.5Z;{46 + 1e-5 * i:.7f};{-30 - 2e-5 * i:.7f};{90 + i};25,5;{3 + 0.1 * i:.2f}\n')
out['strip'] = levels.tolist()
with open(f'{folder}/layout-reference.json', 'w') as f:
    json.dump(out, f)
