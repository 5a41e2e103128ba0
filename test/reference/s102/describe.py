"""What an S-102 file holds, object by object, as JSON: types, shapes, enumerations, values of attributes and small tables.

    /usr/bin/python3 test/reference/s102/describe.py FILE [--cells]
"""
import json
import sys

import h5py
import numpy as np


def plain(value):
    if isinstance(value, bytes):
        return value.decode()
    if isinstance(value, np.void):
        return {name: plain(value[name]) for name in value.dtype.names}
    if isinstance(value, np.ndarray):
        return [plain(each) for each in value]
    if isinstance(value, np.generic):
        return plain(value.item())
    return value


def kind(dtype):
    if dtype.names:
        return [[name, kind(dtype[name])] for name in dtype.names]
    if h5py.check_enum_dtype(dtype) is not None:
        return {'enum': h5py.check_enum_dtype(dtype)}
    text = h5py.check_string_dtype(dtype)
    if text is not None:
        return 'text' if text.length is None else f'text {text.length}'
    return dtype.str


def main():
    cells = '--cells' in sys.argv
    out = {}
    with h5py.File(sys.argv[1]) as root:
        def one(name, at):
            entry = {'attrs': {key: {'kind': kind(at.attrs.get_id(key).dtype), 'shape': list(at.attrs.get_id(key).shape), 'value': plain(at.attrs[key])} for key in at.attrs}}
            if isinstance(at, h5py.Dataset):
                entry.update(kind=kind(at.dtype), rank=len(at.shape), shape=list(at.shape), compression=at.compression)
                if cells and len(at.shape) == 2:
                    entry['fill'] = plain(at.fillvalue)
                if len(at.shape) == 1 or cells:
                    entry['values'] = plain(at[()]) if not at.dtype.names or len(at.shape) == 1 else {key: plain(at[key]) for key in at.dtype.names}
            out[name] = entry
        one('/', root)
        root.visititems(one)
    json.dump(out, sys.stdout)


main()
