"""SONAR-netCDF4 files made and read by netCDF4, to hold ours against.

make FOLDER      writes netcdf4-lists.nc (one beam group, lists of samples, starboard first, positions at times of their own),
                 netcdf4-groups.nc (a beam group a side, numbers in decibels) and what they hold as netcdf4-reference.json
read FILE        prints what netCDF4 reads of a file of ours, as JSON
check FILE NCML  prints every group, variable, type, shape and attribute of the convention's structure file that a file lacks

Made with: /usr/bin/python3 test/reference/sonar/netcdf_reference.py make test/reference/sonar
netCDF4 1.6.2 (Debian 12), 2026-11-25.
"""
import json
import sys
import xml.etree.ElementTree as ET

import netCDF4
import numpy as np

NS = '{http://www.unidata.ucar.edu/namespaces/netcdf/ncml-2.2}'
EPOCH = 11_644_473_600
START = 1_778_750_042.25


def nano(seconds):
    return np.array([int(round((s + EPOCH) * 1e3)) * 1_000_000 for s in np.atleast_1d(seconds)], dtype='u8')


def make(folder):
    rng = np.random.default_rng(6)
    out = {}
    d = netCDF4.Dataset(f'{folder}/netcdf4-lists.nc', 'w')
    d.createDimension('ping_time', None)
    p = d.createGroup('Platform')
    p.createDimension('time1', None)
    p.createDimension('time2', None)
    for t, times in (('time1', START - 1 + np.arange(5)), ('time2', START + 0.1 * np.arange(-5, 30))):
        v = p.createVariable(t, 'u8', (t,))
        v.units = 'nanoseconds since 1601-01-01 00:00:00Z'
        v[:] = nano(times)
    for name, dim, kind, values in (('latitude', 'time1', 'f8', 46 + 1e-5 * np.arange(5)), ('longitude', 'time1', 'f8', -30 - 2e-5 * np.arange(5)), ('heading', 'time2', 'f4', (355 + np.arange(35)) % 360), ('vertical_offset', 'time2', 'f4', 0.01 * np.arange(35))):
        p.createVariable(name, kind, (dim,))[:] = values
    for name, value in (('transducer_offset_z', 0.7), ('water_level', 0.2)):
        p.createVariable(name, 'f4')[...] = value
    s = d.createGroup('Sonar')
    sample_t = s.createVLType(np.float32, 'sample_t')
    g = s.createGroup('Beam_group1')
    g.createDimension('beam', 2)
    v = g.createVariable('ping_time', 'u8', ('ping_time',))
    v.units = 'nanoseconds since 1601-01-01 00:00:00Z'
    v[:] = nano(START + 0.125 * np.arange(8))
    b = g.createVariable('beam', str, ('beam',))
    b[0], b[1] = 'starboard', 'port'
    r = g.createVariable('backscatter_r', sample_t, ('ping_time', 'beam'))
    im = g.createVariable('backscatter_i', sample_t, ('ping_time', 'beam'))
    lists = []
    for i in range(8):
        row = []
        for k in range(2):
            n = 0 if (i, k) == (5, 0) else 10 + i + k
            re, imag = rng.normal(size=n).astype('f4'), rng.normal(size=n).astype('f4')
            r[i, k], im[i, k] = re, imag
            row.append([float(x) for x in np.hypot(re.astype('f8'), imag.astype('f8'))])
        lists.append(row)
    g.createVariable('sample_interval', 'f4', ('ping_time',))[:] = np.full(8, 64e-6)
    g.createVariable('sample_time_offset', 'f4', ('ping_time',))[:] = np.full(8, -1e-3)
    g.createVariable('transmit_frequency_start', 'f4', ('ping_time', 'beam'))[:] = np.tile([450e3, 460e3], (8, 1))
    d.close()
    out['netcdf4-lists.nc'] = {'starboard': [row[0] for row in lists], 'port': [row[1] for row in lists]}

    d = netCDF4.Dataset(f'{folder}/netcdf4-groups.nc', 'w')
    s = d.createGroup('Sonar')
    levels = {}
    for number, (side, times) in enumerate((('port', np.arange(6)), ('starboard', np.array([0, 1, 3, 4, 5, 6])))):
        g = s.createGroup(f'Beam_group{number + 1}')
        g.createDimension('ping_time', None)
        g.createDimension('beam', 1)
        g.createDimension('range_sample', 7)
        v = g.createVariable('ping_time', 'f8', ('ping_time',))
        v.units = 'milliseconds since 1970-01-01T00:00:00Z'
        v[:] = (START + 0.1 * times) * 1e3
        g.createVariable('beam_direction_y', 'f4', ('ping_time', 'beam'))[:] = np.full((6, 1), -0.8 if side == 'port' else 0.8)
        v = g.createVariable('backscatter_r', 'f4', ('ping_time', 'beam', 'range_sample'))
        v.units = 'dB re 1 uPa'
        values = rng.uniform(-60, 0, (6, 1, 7)).astype('f4')
        v[:] = values
        g.createVariable('sample_interval', 'f4')[...] = 64e-6
        levels[side] = [[float(10 ** (x / 20)) for x in row[0].astype('f8')] for row in values]
    d.close()
    out['netcdf4-groups.nc'] = levels
    with open(f'{folder}/netcdf4-reference.json', 'w') as f:
        json.dump(out, f, indent=1)


def read(path):
    d = netCDF4.Dataset(path)
    g, p = d['Sonar/Beam_group1'], d['Platform']
    plain = lambda v: [None if np.ma.is_masked(x) or x != x else float(x) for x in np.ma.asarray(v[:]).ravel()]
    return {
        'beams': list(g['beam'][:]), 'ping_time': [str(x) for x in g['ping_time'][:]], 'time1': [str(x) for x in p['time1'][:]],
        'lists': [[[float(x) for x in cell] for cell in row] for row in g['backscatter_r'][:]],
        **{name: plain(p[name]) for name in ('latitude', 'longitude', 'heading', 'vertical_offset', 'transducer_offset_z', 'water_level')},
        **{name: plain(g[name]) for name in ('sample_interval', 'sample_time_offset', 'transmit_frequency_start', 'transmit_type', 'beam_direction_y')},
        'height': plain(d['Vendor_specific/height_above_floor']), 'dimension': len(d.dimensions['ping_time']), 'conversion': int(g.conversion_equation_type), 'created': d.date_created,
    }


KINDS = {'uint64': 'uint64', 'float': 'float32', 'double': 'float64', 'short': 'int16', 'String': 'str'}


def check(path, ncml):
    lacks = []
    d = netCDF4.Dataset(path)

    def one(node, group, where):
        for a in node.findall(f'{NS}attribute'):
            if a.get('obligation') == 'M' and a.get('name') not in group.ncattrs():
                lacks.append(f'{where}@{a.get("name")}')
        for v in node.findall(f'{NS}variable'):
            name, must = v.get('name'), v.get('obligation') in ('M', None)
            if name == 'beam_diFrection_x':
                name = 'beam_direction_x'  # a slip in the structure file
            if name not in group.variables:
                if must and not (where.endswith('NMEA') or v.get('obligation') is None and name.startswith('time')):
                    lacks.append(f'{where}/{name}')
                continue
            ours = group[name]
            kind = getattr(ours.dtype, 'name', 'str') if not hasattr(ours.datatype, 'name') else ours.datatype.name
            kind = 'str' if ours.dtype is str else kind
            wanted = KINDS.get(v.get('type'), v.get('type'))
            if wanted != kind:
                lacks.append(f'{where}/{name}: type {kind}, expected {wanted}')
            dims = (v.get('shape') or '').split()
            if list(ours.dimensions) != dims:
                lacks.append(f'{where}/{name}: dimensions {ours.dimensions}, expected {dims}')
            for a in v.findall(f'{NS}attribute'):
                held = getattr(ours, a.get('name'), None)
                if held is None:
                    lacks.append(f'{where}/{name}@{a.get("name")}')
                elif a.get('name') in ('units', 'standard_name', 'calendar', 'axis') and held != a.get('value'):
                    lacks.append(f'{where}/{name}@{a.get("name")}: {held}, expected {a.get("value")}')
        for g in node.findall(f'{NS}group'):
            if g.get('name') not in group.groups:
                if g.get('obligation') != 'O':
                    lacks.append(f'{where}/{g.get("name")}')
                continue
            one(g, group[g.get('name')], f'{where}/{g.get("name")}')

    one(ET.parse(ncml).getroot(), d, '')
    return lacks


if __name__ == '__main__':
    if sys.argv[1] == 'make':
        make(sys.argv[2])
    elif sys.argv[1] == 'read':
        print(json.dumps(read(sys.argv[2])))
    else:
        print(json.dumps(check(sys.argv[2], sys.argv[3])))
