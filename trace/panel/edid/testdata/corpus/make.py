#!/usr/bin/env python3
"""Makes the dumps 901 and up: changed copies and invented data for what the
fetched dumps lack. Run here, then record.sh."""
import struct

def load(n):
    return bytearray.fromhex(open(f"{n}.hex").read())

def save(n, b):
    with open(f"{n}.hex", "w") as f:
        for i in range(0, len(b), 16):
            if i and i % 128 == 0:
                f.write("\n")
            f.write(bytes(b[i:i + 16]).hex(" ") + "\n")

def renew(b):
    for at in range(0, len(b), 128):
        b[at + 127] = -sum(b[at:at + 127]) & 255
    return b

def section(version, product, blocks):
    body = b"".join(bytes([tag, rev, len(p)]) + p for tag, rev, p in blocks)
    b = bytearray(128)
    b[:5] = bytes([0x70, version, 121, product, 0])
    b[5:5 + len(body)] = body
    b[126] = -sum(b[1:126]) & 255
    return b

def type1(clock, flags, h, v):
    """clock in steps, each axis (active, blank, front with polarity in bit 15, sync)"""
    out = (clock - 1).to_bytes(3, "little") + bytes([flags])
    for active, blank, front, sync in (h, v):
        out += struct.pack("<4H", active - 1, blank - 1, (front & 0x7fff) - 1 | front & 0x8000, sync - 1)
    return out

def with_extensions(n, *blocks):
    b = load(n)[:128]
    b[126] = len(blocks)
    for x in blocks:
        b += x
    return renew(b)

# One wrong bit in a base block, and in the section of a DisplayID block.
b = load("001"); b[60] ^= 4; save("901", b)
b = load("018"); b[128 + 20] ^= 1; b[255] = -sum(b[128:255]) & 255; save("902", b)
# DisplayID 1.3: parameters, power sequence, text, three type I timings, one interlaced.
fast = type1(34650, 0x84, (1920, 160, 48, 32), (1080, 77, 0x8000 | 3, 5))
slow = type1(14437, 0x04, (1920, 160, 0x8000 | 48, 32), (1080, 77, 3, 5))
inter = type1(7425, 0x14, (1920, 280, 0x8000 | 88, 44), (1080, 46, 0x8000 | 4, 10))
save("903", with_extensions("038", section(0x13, 2, [
    (0x01, 0, struct.pack("<4H4B", 3094, 1741, 1920, 1080, 0x0c, 120, 78, 0x97)),
    (0x0d, 0, bytes([0x5a, 45, 40, 100, 40, 33])),
    (0x0b, 0, b"ALDER 14 inch\n"),
    (0x03, 0, fast + slow + inter)])))
# DisplayID 2.0: parameters in tenths and in millimetres, type VII timings.
def params2(w, h):
    xy = bytes([0xee, 0x95, 0xa3]) * 4
    return struct.pack("<4HB", w, h, 2560, 1600, 0x00) + xy + struct.pack("<3HBB", 0x5fd0, 0x60e2, 0x2e66, 0x23, 120)
wide = type1(554880, 0x85, (2560, 160, 48, 32), (1600, 100, 3, 5))
save("904", with_extensions("019", section(0x20, 2, [(0x21, 0, params2(3019, 1887)), (0x22, 0, wide)])))
save("905", with_extensions("019", section(0x20, 2, [(0x21, 0x80, params2(302, 189)), (0x22, 0, wide + wide)])))
# A notebook panel by the SPWG layout, flags of the second timing replaced by its revision.
b = load("044")[:128]
b[72:90] = b[54:71] + b"\x03"
b[90:108] = b"\0\0\0\xfe\0" + b"AB12C" + b"\x21" + b"ALDER14"
b[108:126] = b"\0\0\0\xfe\0" + bytes([0x10, 0x20, 0x40, 0x60, 0x80, 0xa0, 0xc0, 0xff, 2, 1, 0x0a, 0x20, 0x20])
save("906", renew(b))
# Block map and three further blocks; a colour and a standard timing descriptor.
block_map = bytearray(128); block_map[:4] = bytes([0xf0, 0x02, 0x70, 0x02])
cta = load("023")[128:256]
did = load("021")[128:256]
b = with_extensions("023", block_map, cta, did, cta)
b[72:90] = b"\0\0\0\xfb\0" + bytes([1, 0x08, 0x50, 0x54, 120, 2, 0x04, 0x48, 0x50, 0xff, 0x0a, 0x20, 0x20])
b[90:108] = b"\0\0\0\xfa\0" + bytes([0xd1, 0xc0, 0x81, 0x80, 1, 1, 1, 1, 1, 1, 1, 1, 0x0a])
save("907", renew(b))
# Stereo, composite sync, borders, portrait aspect, offsets of the range limits.
b = load("022")[:128]
b[21:23] = bytes([0, 78])
b[69:72] = bytes([4, 3, 0x3e])
b[87:90] = bytes([0, 0, 0x36])
b[94] = 0x0e
save("908", renew(b))
# EDID 1.2, square standard timings, all established ones.
b = load("015")[:128]
b[19] = 2
b[35:38] = b"\xff\xff\x80"
b[38:42] = bytes([0x61, 0x1c, 0x45, 0x0c])
save("909", renew(b))
# CVT range limits, landscape aspect.
b = load("022")[:128]
b[21:23] = bytes([79, 0])
b[24] |= 1
b[108 + 0:108 + 18] = b"\0\0\0\xfd\0" + bytes([48, 75, 30, 80, 18, 4, 0x11, 0x0c, 0xf0, 0x78, 0x28, 0xf0, 60])
save("910", renew(b))
# CTA-861: codes above 128, 4:2:0 video, a type VII timing, speakers in all three bytes.
def cta_blocks(*blocks):
    body = b"".join(bytes([tag << 5 | len(p)]) + p for tag, p in blocks)
    b = bytearray(128)
    b[:4] = bytes([2, 3, 4 + len(body), 0xd3])
    b[4:4 + len(body)] = body
    return b
save("911", with_extensions("022", cta_blocks(
    (2, bytes([0x81, 0x3f, 0xc0, 0x41, 0x7f, 0xc1, 0xdb])),
    (7, bytes([14, 0x60, 0x61])),
    (7, bytes([34, 0]) + wide),
    (1, bytes([0x0f, 0x7f, 0x07])),
    (4, b"\xff\xff\x0f"),
    (7, bytes([5, 0xff, 0xf0])),
    (7, bytes([6, 0x0f, 1, 0x60, 0x50, 0x20])))))
