#!/usr/bin/env python3
"""Sound speeds by the reference program: python3-gsw 3.6 (Debian), function sound_speed_t_exact.

    /usr/bin/python3 make.py > reference.json        (2026-11-25)
"""
import json
import gsw

rows = []
for t in (0.5, 4.0, 10.0, 15.8, 25.0, 35.0):
    for sa in (0.0, 2.0, 10.0, 35.16504, 40.0):
        for p in (0.0, 10.0, 100.0, 1000.0, 8000.0):
            rows.append([t, sa, p, float(gsw.sound_speed_t_exact(sa, t, p))])
print(json.dumps({"program": "gsw " + gsw.__version__, "columns": ["temperatureC", "absoluteSalinityGkg", "pressureDbar", "soundSpeedMps"], "rows": rows}))
