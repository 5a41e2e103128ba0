"""A small SEG-Y revision 2 file with trace header extension 1, packed byte by byte with Python's struct, to hold our reader against.

Made with: /usr/bin/python3 test/reference/sonar/segy_rev2_reference.py test/reference/sonar/segy-rev2.segy
Python 3.11 (Debian 12), 2026-11-26. The standard (SEG Technical Standards Committee, SEG-Y_r2.0, January 2017) was not at hand. Places of the
extension's fields: the tables of two general-purpose libraries that agree on all used here, TGSAI/segy (src/segy/standards/rev2.py) and
a MATLAB reader's trace definition; and the standard's text as quoted in github.com/equinor/segyio, issues 419 (number of samples, bytes 137 to
140) and 581 (nanoseconds, bytes 141 to 144). The number of further headers, bytes 157 and 158, stands in the first table only; the second
leaves it out and puts all that follows two bytes early, which fits none of its own types.
"""
import struct
import sys

SAMPLES = 6
PINGS = 3


def at(block, byte, kind, value):
    struct.pack_into(">" + kind, block, byte - 1, value)


def main(path):
    out = bytearray("C 1 MADE BYTE BY BYTE".ljust(3200).encode("cp037"))
    head = bytearray(400)
    for byte, kind, value in [(13, "H", 2), (17, "H", 64), (21, "H", 5), (25, "H", 3), (29, "H", 1), (55, "H", 1), (69, "I", 5), (73, "d", 64.5), (97, "I", 16909060),
                              (301, "B", 2), (303, "H", 0), (307, "I", 2), (311, "H", 4), (313, "Q", 2 * PINGS), (321, "Q", 3600)]:
        at(head, byte, kind, value)
    out += head
    for trace in range(2 * PINGS):
        ping, channel = divmod(trace, 2)
        h = bytearray(240)
        for byte, kind, value in [(1, "i", trace + 1), (5, "i", trace + 1), (9, "i", 100 + ping), (13, "i", channel + 1), (29, "H", 1), (71, "h", -100), (73, "i", -3000), (77, "i", 4600), (89, "H", 3),
                                  (115, "H", 5), (117, "H", 64), (157, "H", 2026), (159, "H", 134), (161, "H", 9), (163, "H", 14), (165, "H", 2 + ping), (167, "H", 4)]:
            at(h, byte, kind, value)
        h[232:240] = "SEG00000".encode("cp037")
        x = bytearray(240)
        # The second ping has its place as that of the group, the third none: that of the plain header stands.
        lon, lat = -30.012345678, 46.012345678 + ping * 1e-6
        if ping == 0:
            at(x, 97, "d", lon)
            at(x, 105, "d", lat)
        elif ping == 1:
            at(x, 113, "d", lon)
            at(x, 121, "d", lat)
        for byte, kind, value in [(1, "Q", trace + 1), (9, "Q", trace + 1), (17, "q", 100 + ping), (129, "d", 1.25), (137, "I", SAMPLES), (141, "i", 123456789 + ping), (145, "d", 64.25 + ping), (153, "i", 7),
                                  (157, "H", 2), (159, "h", 0), (161, "d", 1e6), (169, "d", 2e6)]:
            at(x, byte, kind, value)
        x[232:240] = "SEG00001".encode("cp037" if ping == 0 else "ascii")
        other = bytearray(range(240))
        other[232:240] = b"OTHER001"
        out += h + x + other
        for k in range(SAMPLES):
            out += struct.pack(">h", 100 * trace + k)
    with open(path, "wb") as f:
        f.write(out)


main(sys.argv[1])
