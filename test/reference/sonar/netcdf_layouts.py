"""Writes a SONAR-netCDF4 file anew with its lists of samples laid out in another way, to see that they are read all the same.

/usr/bin/python3 test/reference/sonar/netcdf_layouts.py IN OUT packed|latest|small|damaged
packed: descriptors of the lists deflated and shuffled; latest: the newest layout of HDF5; small: one ping a chunk; damaged: as small, and the samples of the fifth ping to port overwritten
h5py of Debian 12, 2026-11-26.
"""
import sys

import h5py

GROUP = "Sonar/Beam_group1/backscatter_r"
source, target, kind = sys.argv[1:]
with h5py.File(source) as old, h5py.File(target, "w", libver="latest" if kind == "latest" else ("earliest", "v108")) as new:
    def copy(name, item):
        if name == GROUP:
            options = {"packed": {"chunks": (64, 2), "compression": "gzip", "shuffle": True}, "latest": {"chunks": (64, 2)}}.get(kind, {"chunks": (1, 2)})
            made = new.create_dataset(name, item.shape, h5py.vlen_dtype(item[0, 0].dtype), maxshape=(None, 2), **options)
            for i in range(item.shape[0]):
                for k in range(item.shape[1]):
                    made[i, k] = item[i, k]
            for key, value in item.attrs.items():
                if key not in ("DIMENSION_LIST", "_Netcdf4Dimid", "_Netcdf4Coordinates"):
                    made.attrs[key] = value
        elif isinstance(item, h5py.Group):
            new.require_group(name)
        elif h5py.check_string_dtype(item.dtype) is not None:
            new.create_dataset(name, data=item.asstr()[()], dtype=h5py.string_dtype())
        else:
            old.copy(item, new, name)

    old.visititems(copy)
if kind == "damaged":
    with open(target, "r+b") as f:
        bytes_ = f.read()
        # Ramps of the test's samples are found by their first four: (4 * 31 + k * 7) % 1000 as float32.
        import struct
        at = bytes_.index(struct.pack("<4f", *[(4 * 31 + k * 7) % 1000 for k in range(4)]))
        heap = bytes_.rindex(b"GCOL", 0, at)
        f.seek(heap)
        f.write(b"\0" * 16)
