"""Makes src/formats/s102-template.ts: an empty S-102 3.0.0 file with every group, fixed attribute, enumeration and text table.

The HDF5 library of the program cannot write enumerations, nor texts of any length inside compounds; so those are written here once,
and the program fills in the rest. Grids have room to grow and hold no cell; no object keeps a time, so equal input gives equal bytes.

Tables: IHO S-102 edition 3.0.0, clause 10 (tables 10-1 to 10-9); enumerations: S-100 edition 5.2.0 part 10c tables 10, 22, 23 and
part 8 tables 11 to 13, as in the IHO's validation set (../shared/data/formats/s102-3.0.0-valid-sample.h5).

    /usr/bin/python3 test/reference/s102/make_template.py        (h5py 3.7, HDF5 1.10; 2026-11-25)
"""
import base64
import io
import os
import zlib

import h5py
import numpy as np

HERE = os.path.dirname(os.path.abspath(__file__))
TARGET = os.path.join(HERE, '..', '..', '..', 'src', 'formats', 's102-template.ts')
FILL = 1000000.0
CHUNK = 128

TEXT = h5py.string_dtype('ascii')


def kind(**values):
    return h5py.enum_dtype({name.replace('__', ' '): value for name, value in values.items()}, basetype='u1')


CODING = h5py.enum_dtype({
    'Fixed Stations': 1, 'Regular Grid': 2, 'Ungeorectified Grid': 3, 'Moving Platform': 4, 'Irregular Grid': 5,
    'Variable cell size': 6, 'TIN': 7, 'Fixed Stations (Stationwise)': 8, 'Feature oriented Regular Grid': 9}, basetype='u1')
COMMON_POINT = kind(average=1, low=2, high=3, all=4)
SEQUENCE = kind(linear=1, boustrophedonic=2, CantorDiagonal=3, spiral=4, Morton=5, Hilbert=6)
INTERPOLATION = kind(nearestneighbor=1, bilinear=5, biquadratic=6, bicubic=7, barycentric=9, discrete=10)
OFFSET = h5py.enum_dtype({
    'XMin, YMin ("Lower left") corner ("Cell origin")': 1, 'XMax, YMax ("Upper right") corner': 2,
    'XMax, YMin ("Lower right") corner': 3, 'XMin, YMax ("Upper left") corner': 4, 'Barycenter (centroid) of cell': 5}, basetype='u1')
BASE = kind(seaSurface=1, verticalDatum=2, seaBottom=3)
DATUM_REFERENCE = kind(s100VerticalDatum=1, EPSG=2)


def enumerated(at, name, value, dtype):
    at.attrs.create(name, value, dtype=dtype)


def container(root, name, coding):
    group = root.create_group(name)
    enumerated(group, 'dataCodingFormat', coding, CODING)
    group.attrs.create('dimension', 2, dtype='u1')
    enumerated(group, 'commonPointRule', 2, COMMON_POINT)
    group.attrs.create('horizontalPositionUncertainty', -1.0, dtype='<f4')
    group.attrs.create('verticalUncertainty', -1.0, dtype='<f4')
    group.attrs.create('numInstances', 1, dtype='u1')
    enumerated(group, 'sequencingRule.type', 1, SEQUENCE)
    group.attrs.create('sequencingRule.scanDirection', 'Easting,Northing', dtype=TEXT)
    enumerated(group, 'interpolationType', 1, INTERPOLATION)
    enumerated(group, 'dataOffsetCode', 5, OFFSET)
    group.create_dataset('axisNames', data=np.array(['Easting', 'Northing'], dtype=object), dtype=TEXT)
    instance = group.create_group(name + '.01')
    instance.attrs.create('numGRP', 1, dtype='u1')
    instance.attrs.create('startSequence', '0,0', dtype=TEXT)
    return group, instance.create_group('Group_001')


def grown(group, name, dtype, fill, rank=2):
    group.create_dataset(name, shape=(0,) * rank, maxshape=(None,) * rank, chunks=(CHUNK,) * rank if rank == 2 else (4,),
                         dtype=dtype, fillvalue=fill, compression='gzip', compression_opts=4, track_times=False)


def main():
    buffer = io.BytesIO()
    with h5py.File(buffer, 'w', libver=('earliest', 'v108')) as root:
        root.attrs.create('productSpecification', 'INT.IHO.S-102.3.0.0', dtype=TEXT)
        root.attrs.create('verticalCS', 6498, dtype='<i4')
        enumerated(root, 'verticalCoordinateBase', 2, BASE)
        enumerated(root, 'verticalDatumReference', 1, DATUM_REFERENCE)
        group_f = root.create_group('Group_F')
        group_f.create_dataset('featureCode', data=np.array(['BathymetryCoverage', 'QualityOfBathymetryCoverage'], dtype=object), dtype=TEXT)
        row = np.dtype([(name, TEXT) for name in ('code', 'name', 'uom.name', 'fillValue', 'datatype', 'lower', 'upper', 'closure')])
        group_f.create_dataset('BathymetryCoverage', dtype=row, data=np.array([
            ('depth', 'depth', 'metres', '1000000', 'H5T_FLOAT', '-14', '11050', 'closedInterval'),
            ('uncertainty', 'uncertainty', 'metres', '1000000', 'H5T_FLOAT', '0', '', 'geSemiInterval')], dtype=row))
        group_f.create_dataset('QualityOfBathymetryCoverage', dtype=row, data=np.array([
            ('iD', 'ID', '', '0', 'H5T_INTEGER', '1', '', 'geSemiInterval')], dtype=row))
        _, values = container(root, 'BathymetryCoverage', 2)
        cell = np.dtype([('depth', '<f4'), ('uncertainty', '<f4')])
        grown(values, 'values', cell, np.array((FILL, FILL), dtype=cell)[()])
        values.attrs.create('timePoint', np.bytes_('00010101T000000Z'), dtype='S16')
        quality, values = container(root, 'QualityOfBathymetryCoverage', 9)
        grown(values, 'values', np.dtype([('iD', '<u4')]), np.array((0,), dtype=np.dtype([('iD', '<u4')]))[()])
        grown(quality, 'featureAttributeTable', np.dtype([
            ('id', '<u4'), ('dataAssessment', 'u1'), ('fullSeafloorCoverageAchieved', 'u1'), ('bathyCoverage', 'u1'),
            ('zoneOfConfidence.horizontalPositionUncertainty.uncertaintyFixed', '<f4'),
            ('surveyDateRange.dateStart', 'S8'), ('surveyDateRange.dateEnd', 'S8'),
            ('sourceSurveyID', 'S150'), ('surveyAuthority', 'S150')]), None, 1)
    packed = base64.b64encode(zlib.compress(buffer.getvalue(), 9)).decode()
    lines = '\n'.join(f"  '{packed[at:at + 160]}'," for at in range(0, len(packed), 160))
    with open(TARGET, 'w') as out:
        out.write('/** An empty S-102 file, zlib and base 64; made by test/reference/s102/make_template.py, not by hand. */\n')
        out.write(f'export const S102_TEMPLATE = [\n{lines}\n].join(\'\');\n')


main()
