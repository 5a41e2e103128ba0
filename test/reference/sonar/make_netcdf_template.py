"""Makes src/formats/sonar-netcdf-template.ts: an empty SONAR-netCDF4 1.0 file with every group, enumeration, dimension and variable.

The HDF5 library of the program cannot make enumerations or lists of any length, so they are made here once and the program fills them.

    /usr/bin/python3 test/reference/sonar/make_netcdf_template.py        (netCDF4 1.6.2, h5py 3.7; 2026-11-25)

Names, types, units and which are mandatory: ICES SONAR-netCDF4 1.0, as in its structure file sonar_netcdf4_convention.ncml.
"""
import base64
import os
import tempfile
import zlib

import h5py
import netCDF4
import numpy as np

HERE = os.path.dirname(os.path.abspath(__file__))
TARGET = os.path.join(HERE, '..', '..', '..', 'src', 'formats', 'sonar-netcdf-template.ts')
CHUNK = 1024


def time(group, name, dim, long_name):
    v = group.createVariable(name, 'u8', (dim,), chunksizes=(CHUNK,), fill_value=False)
    v.setncatts({'units': 'nanoseconds since 1601-01-01 00:00:00Z', 'long_name': long_name, 'calendar': 'gregorian', 'standard_name': 'time', 'axis': 'T', '_Unsigned': 'true'})


def var(group, name, kind, dims, atts, fill=np.nan):
    chunks = {'chunksizes': tuple(CHUNK if d != 'beam' else 2 for d in dims)} if dims else {}
    v = group.createVariable(name, kind, dims, fill_value=fill, **chunks)
    v.setncatts(atts)
    return v


def main():
    path = os.path.join(tempfile.mkdtemp(), 'template.nc')
    d = netCDF4.Dataset(path, 'w', format='NETCDF4')
    d.setncatts({
        'sonar_convention_version': '1.0', 'sonar_convention_name': 'SONAR-netCDF4', 'sonar_convention_authority': 'ICES', 'rights': 'Unrestricted rights', 'license': 'None',
        'Conventions': 'CF-1.7, SONAR-netCDF4-1.0, ACDD-1.3', 'summary': 'Side-scan sonar pings; not for navigation', 'keywords': 'side-scan sonar'})
    d.createDimension('ping_time', None)
    platform = d.createGroup('Platform')
    platform.setncatts({'platform_type': 'Autonomous surface water vehicle', 'platform_code_ICES': '', 'platform_name': ''})
    for name in ('time1', 'time2'):
        platform.createDimension(name, None)
    time(platform, 'time1', 'time1', 'Timestamps for position data')
    time(platform, 'time2', 'time2', 'Timestamps for gyrocompass data')
    for sensor, what in (('transducer_offset', 'sonar transducer'), ('position_offset', 'latitude/longitude sensor origin'), ('MRU_offset', 'motion reference unit sensor origin')):
        for axis in 'xyz':
            var(platform, f'{sensor}_{axis}', 'f4', (), {'units': 'm', 'long_name': f'Distance along the {axis}-axis from the platform coordinate system origin to the {what}'})
    for axis in 'xyz':
        var(platform, f'MRU_rotation_{axis}', 'f4', (), {'units': 'arc_degree', 'long_name': f'Extrinsic rotation about the {axis}-axis from the platform to MRU coordinate systems', 'valid_range': np.array([-180, 180], 'f4')})
    var(platform, 'latitude', 'f8', ('time1',), {'units': 'degrees_north', 'long_name': 'Platform latitude', 'standard_name': 'latitude', 'valid_range': np.array([-90.0, 90.0])})
    var(platform, 'longitude', 'f8', ('time1',), {'units': 'degrees_east', 'long_name': 'Platform longitude', 'standard_name': 'longitude', 'valid_range': np.array([-180.0, 180.0])})
    var(platform, 'heading', 'f4', ('time2',), {'units': 'degrees_north', 'long_name': 'Platform heading (true)', 'standard_name': 'platform_orientation', 'valid_range': np.array([0, 360], 'f4')})
    var(platform, 'vertical_offset', 'f4', ('time2',), {'units': 'm', 'long_name': 'Platform vertical offset from nominal'})
    var(platform, 'water_level', 'f4', (), {'units': 'm', 'long_name': 'Distance from the platform coordinate system origin to the nominal water level along the z-axis'})
    vendor = d.createGroup('Vendor_specific')
    var(vendor, 'height_above_floor', 'f4', ('ping_time',), {'units': 'm', 'long_name': 'Height of the transducer above the sea floor as the record gives it'})
    environment = d.createGroup('Environment')
    environment.createDimension('frequency', None)
    var(environment, 'frequency', 'f4', ('frequency',), {'units': 'Hz', 'long_name': 'Acoustic frequency', 'standard_name': 'sound_frequency', 'valid_min': np.float32(0)})
    var(environment, 'sound_speed_indicative', 'f4', (), {'units': 'm/s', 'long_name': 'Indicative sound speed', 'standard_name': 'speed_of_sound_in_sea_water', 'valid_min': np.float32(0)})
    var(environment, 'absorption_indicative', 'f4', ('frequency',), {'units': 'dB/m', 'long_name': 'Indicative acoustic absorption', 'valid_min': np.float32(0)})
    provenance = d.createGroup('Provenance')
    provenance.createDimension('filenames', None)
    provenance.createVariable('source_filenames', str, ('filenames',)).setncatts({'long_name': 'Source filenames'})
    annotation = d.createGroup('Annotation')
    annotation.createDimension('time', None)
    time(annotation, 'time', 'time', 'Timestamps of annotations')
    annotation.createVariable('annotation_text', str, ('time',)).setncatts({'long_name': 'Annotation text'})
    sonar = d.createGroup('Sonar')
    sonar.setncatts({'sonar_manufacturer': '', 'sonar_model': '', 'sonar_type': 'omni-sonar', 'sonar_serial_number': '', 'sonar_software_name': '', 'sonar_software_version': ''})
    beam_t = sonar.createEnumType(np.int8, 'beam_t', {'single': 0, 'split_aperture': 1})
    transmit_t = sonar.createEnumType(np.int8, 'transmit_t', {'CW': 0, 'LFM': 1, 'HFM': 2})
    stabilisation_t = sonar.createEnumType(np.int8, 'beam_stabilisation_t', {'not_stabilised': 0, 'stabilised': 1})
    sonar.createEnumType(np.int8, 'conversion_equation_t', {'type_1': 1, 'type_2': 2})
    sample_t = sonar.createVLType(np.float32, 'sample_t')
    group = sonar.createGroup('Beam_group1')
    group.createDimension('beam', 2)
    group.setncatts({'beam_mode': 'inspection'})
    time(group, 'ping_time', 'ping_time', 'Timestamp of each ping')
    beam = group.createVariable('beam', str, ('beam',))
    beam.setncatts({'long_name': 'Beam name'})
    beam[0], beam[1] = 'port', 'starboard'
    group.createVariable('backscatter_r', sample_t, ('ping_time', 'beam'), chunksizes=(CHUNK, 2)).setncatts({'units': 'as appropriate', 'long_name': 'Raw backscatter measurements (real part)'})
    for name, enum, long_name in (('transmit_type', transmit_t, 'Type of transmitted pulse'), ('beam_type', beam_t, 'Type of beam'), ('beam_stabilisation', stabilisation_t, 'Beam stabilisation applied (or not)')):
        group.createVariable(name, enum, ('ping_time',), chunksizes=(CHUNK,)).setncatts({'long_name': long_name})
    one, both = ('ping_time',), ('ping_time', 'beam')
    zero = {'valid_min': np.float32(0)}
    var(group, 'transmit_frequency_start', 'f4', both, {'units': 'Hz', 'long_name': 'Start frequency in transmitted pulse', 'standard_name': 'sound_frequency', **zero})
    var(group, 'transmit_frequency_stop', 'f4', both, {'units': 'Hz', 'long_name': 'Stop frequency in transmitted pulse', 'standard_name': 'sound_frequency', **zero})
    var(group, 'transmit_duration_nominal', 'f4', one, {'units': 's', 'long_name': 'Nominal duration of transmitted pulse', **zero})
    var(group, 'sample_interval', 'f4', one, {'units': 's', 'long_name': 'Interval between recorded raw data samples', **zero})
    var(group, 'sample_time_offset', 'f4', one, {'units': 's', 'long_name': 'Time offset that is subtracted from the timestamp of each sample'})
    var(group, 'equivalent_beam_angle', 'f4', both, {'units': 'sr', 'long_name': 'Equivalent beam angle', 'valid_range': np.array([0, 12.56637061435917295385], 'f4')})
    for side in ('transmit', 'receive'):
        for axis, across in (('major', 'horizontal'), ('minor', 'vertical')):
            var(group, f'beamwidth_{side}_{axis}', 'f4', both, {'units': 'arc_degree', 'long_name': f'Half power one-way {side} beam width along {axis} ({across}) axis of beam', 'valid_range': np.array([0, 360], 'f4')})
    for axis in 'xyz':
        var(group, f'beam_direction_{axis}', 'f4', both, {'units': '1', 'long_name': f'{axis}-component of the vector that gives the pointing direction of the beam, in sonar beam coordinate system', 'valid_range': np.array([-1, 1], 'f4')})
    v = group.createVariable('non_quantitative_processing', 'i2', ('ping_time',), chunksizes=(CHUNK,))
    v.setncatts({'long_name': 'Presence or not of non-quantitative processing applied to the backscattering data (sonar specific)', 'flag_values': np.int16(0), 'flag_meanings': 'no_non_quantitative_processing'})
    d.close()
    with h5py.File(path, 'a') as f:
        f['Sonar/Beam_group1'].attrs.create('conversion_equation_type', np.int8(1), dtype=f['Sonar/conversion_equation_t'])
    with open(path, 'rb') as f:
        text = base64.b64encode(zlib.compress(f.read(), 9)).decode()
    lines = "\n".join(f"  '{text[i:i + 120]}'," for i in range(0, len(text), 120))
    with open(TARGET, 'w') as f:
        f.write("/** An empty SONAR-netCDF4 1.0 file, zlib and base 64; made by test/reference/sonar/make_netcdf_template.py, not by hand. */\nexport const SONAR_NETCDF_TEMPLATE = [\n" + lines + "\n].join('');\n")
    print(os.path.getsize(path), len(text))


main()
