"""
Reads the recorded NMEA 0183 logs with nothing but the standard library and prints what they hold, as JSON.

Independent of the project's reader: lines are split as text, fields with str.split, numbers with Decimal, distances with the
haversine formula on a sphere of radius 6 371 008.8 m (IUGG mean radius).

    python3 test/reference/nmea_recorded.py ../shared/data/nmea > test/reference/nmea-recorded.json
"""
import collections
import json
import math
import pathlib
import sys
from decimal import Decimal


def degrees(field, letter, width):
    value = Decimal(field[:width]) + Decimal(field[width:]) / 60
    return float(-value if letter in "SW" else value)


def seconds(field):
    return int(field[0:2]) * 3600 + int(field[2:4]) * 60 + float(field[4:])


def metres_between(a, b):
    (lat1, lon1), (lat2, lon2) = [(math.radians(p[0]), math.radians(p[1])) for p in (a, b)]
    h = math.sin((lat2 - lat1) / 2) ** 2 + math.cos(lat1) * math.cos(lat2) * math.sin((lon2 - lon1) / 2) ** 2
    return 2 * 6371008.8 * math.asin(math.sqrt(h))


def read(path):
    counts = collections.Counter()
    bad = 0
    depths = {"DBT": [], "DPT": []}
    offsets = set()
    epochs = {}  # time of day -> (rank, position), in order of first appearance
    latest = -1.0
    backwards = 0
    pings_kept = {"DBT": 0, "DPT": 0}
    behind = False
    dates = set()
    lines = 0
    for raw in path.read_bytes().decode("latin-1").splitlines():
        lines += 1
        if not raw.startswith("$"):
            continue
        body, _, checksum = raw[1:].partition("*")
        total = 0
        for character in body:
            total ^= ord(character)
        if int(checksum[:2], 16) != total:
            bad += 1
            continue
        fields = body.split(",")
        kind = fields[0][2:]
        counts[kind] += 1
        position = time = None
        rank = 0
        if kind == "GGA" and fields[6] not in ("", "0"):
            time, rank = seconds(fields[1]), 3
            position = (degrees(fields[2], fields[3], 2), degrees(fields[4], fields[5], 3))
        elif kind == "RMC" and fields[2] == "A":
            time, rank = seconds(fields[1]), 2
            position = (degrees(fields[3], fields[4], 2), degrees(fields[5], fields[6], 3))
            dates.add(fields[9])
        elif kind == "GLL" and len(fields) > 6 and fields[6] == "A":
            time, rank = seconds(fields[5]), 1
            position = (degrees(fields[1], fields[2], 2), degrees(fields[3], fields[4], 3))
        if time is not None:
            if time < latest - 1:  # a receiver's GGA may follow the RMC of the next second; more than that is a clock gone back
                backwards += 1
                behind = True
            else:
                behind = False
                latest = max(latest, time)
                if time not in epochs or rank > epochs[time][0]:
                    epochs[time] = (rank, position)
        if kind == "DBT" and fields[3]:
            depths["DBT"].append(float(fields[3]))
        if kind == "DPT" and fields[1]:
            depths["DPT"].append(float(fields[1]))
            offsets.add(float(fields[2]))
        if kind in pings_kept and not behind:
            pings_kept[kind] += 1
    track = [epochs[t][1] for t in sorted(epochs)]
    length = sum(metres_between(a, b) for a, b in zip(track, track[1:]))
    return {
        "bytes": path.stat().st_size,
        "lines": lines,
        "badChecksums": bad,
        "counts": dict(sorted(counts.items())),
        "epochs": len(epochs),
        "backwardsPositions": backwards,
        "firstTimeOfDayS": min(epochs),
        "lastTimeOfDayS": max(epochs),
        "dates": sorted(dates),
        "first": track[0],
        "last": track[-1],
        "bbox": [min(p[0] for p in track), min(p[1] for p in track), max(p[0] for p in track), max(p[1] for p in track)],
        "trackM": round(length, 1),
        "depths": {k: {"n": len(v), "min": min(v), "max": max(v), "sum": round(math.fsum(v), 6), "keptWhileClockRuns": pings_kept[k]} for k, v in depths.items() if v},
        "offsets": sorted(offsets),
    }


folder = pathlib.Path(sys.argv[1])
print(json.dumps({p.name: read(p) for p in sorted(folder.glob("*.log"))}, indent=1))
