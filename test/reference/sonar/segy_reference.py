"""SEG-Y files made and read by segyio, to hold ours against.

make FOLDER   writes small files with segyio and what they hold as reference.json
read FILE [little]   prints what segyio reads, as JSON

Made with: /usr/bin/python3 test/reference/sonar/segy_reference.py make test/reference/sonar
segyio 1.8.3 (Debian 12, python3-segyio), 2026-11-25; it writes and reads bytes 61 to 64 as two, so the group's water depth is used. Source of the layout: SEG-Y revision 1 (2002).
"""
import json
import sys

import numpy as np
import segyio

FORMATS = {1: np.float32, 2: np.int32, 3: np.int16, 5: np.float32, 8: np.int8}


def describe(path, endian="big", head=None):
    with segyio.open(path, ignore_geometry=True, strict=False, endian=endian) as f:
        traces = []
        for i in range(f.tracecount if head is None else min(head, f.tracecount)):
            h = f.header[i]
            traces.append({"fields": {str(int(k)): int(v) for k, v in h.items() if v}, "samples": [float(v) for v in f.trace[i]]})
        last = f.header[f.tracecount - 1]
        return {
            "tracecount": f.tracecount,
            "samples": len(f.samples),
            "bin": {str(int(k)): int(v) for k, v in f.bin.items() if v},
            "text": bytes(f.text[0]).decode("ascii", "replace")[:160],
            "traces": traces,
            "last": {"fields": {str(int(k)): int(v) for k, v in last.items() if v}, "samples": [float(v) for v in f.trace[f.tracecount - 1]]},
            "sum": float(sum(float(np.asarray(t, dtype=np.float64).sum()) for t in f.trace)),
        }


def make(folder):
    made = {}
    for name, fmt, endian in [("ibm", 1, "big"), ("int32", 2, "big"), ("int16", 3, "big"), ("float", 5, "big"), ("int8", 8, "big"), ("int16-little", 3, "little")]:
        spec = segyio.spec()
        spec.format = fmt
        spec.samples = np.arange(8)
        spec.tracecount = 6
        spec.endian = endian
        path = f"{folder}/segyio-{name}.segy"
        with segyio.create(path, spec) as f:
            f.text[0] = segyio.tools.create_text_header({1: "MADE BY SEGYIO [1] {2} A-Z 0-9 <=>?"})
            f.bin.update({segyio.BinField.Traces: 2, segyio.BinField.Interval: 65, segyio.BinField.Samples: 8, segyio.BinField.Format: fmt, segyio.BinField.SEGYRevision: 0x100, segyio.BinField.TraceFlag: 1})
            for i in range(6):
                ping, channel = divmod(i, 2)
                f.header[i] = {
                    segyio.TraceField.TRACE_SEQUENCE_LINE: i + 1, segyio.TraceField.FieldRecord: 100 + ping, segyio.TraceField.TraceNumber: channel + 1,
                    segyio.TraceField.SourceDepth: 50, segyio.TraceField.GroupWaterDepth: 950, segyio.TraceField.ElevationScalar: -100,
                    segyio.TraceField.SourceGroupScalar: -100, segyio.TraceField.SourceX: -10_800_000 - 10 * ping, segyio.TraceField.SourceY: 16_560_000 + 20 * ping,
                    segyio.TraceField.CoordinateUnits: 2, segyio.TraceField.TRACE_SAMPLE_COUNT: 8, segyio.TraceField.TRACE_SAMPLE_INTERVAL: 65,
                    segyio.TraceField.DelayRecordingTime: 3, segyio.TraceField.YearDataRecorded: 2026, segyio.TraceField.DayOfYear: 134, segyio.TraceField.HourOfDay: 9,
                    segyio.TraceField.MinuteOfHour: 14, segyio.TraceField.SecondOfMinute: 2 + ping, segyio.TraceField.TimeBaseCode: 4,
                }
                values = np.array([0, 1, -1, 100, -100, 3 * i, 7 * i - 20, 127], dtype=np.float64)
                if fmt in (1, 5):
                    values = values * np.array([1, 1, 0.1, 1e-6, 1e6, 0.25, 1 / 3, 1e-30])
                if fmt in (2,):
                    values = values * 10_000
                if fmt in (3,):
                    values = values * 200
                f.trace[i] = values.astype(FORMATS[fmt])
        made[f"segyio-{name}.segy"] = describe(path, endian)
    with open(f"{folder}/segyio-reference.json", "w") as out:
        json.dump({"segyio": segyio.__version__, "files": made}, out, indent=1)


if __name__ == "__main__":
    if sys.argv[1] == "make":
        make(sys.argv[2])
    else:
        print(json.dumps(describe(sys.argv[2], sys.argv[3] if len(sys.argv) > 3 else "big", int(sys.argv[4]) if len(sys.argv) > 4 else None)))
