#!/usr/bin/env python3
"""Makes dumps that keep or break one rule, and records what edid-decode says.

    python3 make.py

writes dumps.txt (a name and the bytes in hex, one dump a line) and
dumps.check.txt (the verdict of "edid-decode --check" for each, from the
line of its version on). The seed is fixed. Invented displays; where a dump
comes from ../corpus/NNN.hex the name says so.
"""
import pathlib, random, re, subprocess

HERE = pathlib.Path(__file__).parent
RND = random.Random(20250607)


def renew(d):
    """The same bytes with right checksums, those of DisplayID sections too."""
    d = bytearray(d)
    for at in range(0, len(d) - 127, 128):
        b = d[at:at + 128]
        if at and b[0] == 0x70 and b[2] <= 121:
            end = 5 + b[2]
            b[end] = -sum(b[1:end]) & 255
        b[127] = -sum(b[:127]) & 255
        d[at:at + 128] = b
    return bytes(d)


def text(tag, s):
    return bytes([0, 0, 0, tag, 0]) + (s.encode() + b"\n").ljust(13, b" ")[:13]


def timing(clock, h, v, mm, flags=0x18):
    """clock in 10 kHz; h and v are active, front, sync, back."""
    hb, vb = sum(h[1:]), sum(v[1:])
    return bytes([clock & 255, clock >> 8,
                  h[0] & 255, hb & 255, h[0] >> 8 << 4 | hb >> 8,
                  v[0] & 255, vb & 255, v[0] >> 8 << 4 | vb >> 8,
                  h[1] & 255, h[2] & 255, (v[1] & 15) << 4 | v[2] & 15,
                  h[1] >> 8 << 6 | h[2] >> 8 << 4 | v[1] >> 4 << 2 | v[2] >> 4,
                  mm[0] & 255, mm[1] & 255, mm[0] >> 8 << 4 | mm[1] >> 8, 0, 0, flags])


FHD = timing(14850, (1920, 88, 44, 148), (1080, 4, 5, 36), (344, 194), 0x1e)
HD = timing(7425, (1280, 110, 40, 220), (720, 5, 5, 20), (344, 194), 0x1e)
WIDE = timing(7430, (1366, 48, 32, 120), (768, 3, 6, 13), (344, 194))


def base(minor, descriptors, ext=0, features=0x0a, video=0x80, est=0x20):
    b = bytes.fromhex("00ffffffffffff00 5a8f0100 00000000 0a1e".replace(" ", ""))
    b += bytes([1, minor, video, 34, 19, 120, features])
    b += bytes.fromhex("ee95a3544c99260f5054") + bytes([est, 0, 0]) + b"\x01\x01" * 8
    b += b"".join(descriptors)
    return b + bytes([ext, 0])


def limits(minor, formula=None):
    tail = b"\x0a" + b" " * 6
    kind = (0 if minor < 4 else 1) if formula is None else formula
    return bytes([0, 0, 0, 0xfd, 0, 48, 62, 30, 70, 16, kind]) + tail


DUMMY = bytes([0, 0, 0, 0x10]) + bytes(14)


def cta(blocks, timings, flags=0xf0, rev=3):
    b = b"".join(bytes([tag << 5 | len(p)]) + p for tag, p in blocks)
    d = bytes([2, rev, 4 + len(b), flags]) + b + b"".join(timings)
    return d.ljust(128, b"\0")


def displayid(payload, version=0x12, product=1):
    return (bytes([0x70, version, 121, product, 0]) + payload).ljust(128, b"\0")


def type1(clock, h, v):
    """A type I timing: every value less one."""
    n = lambda x: bytes([(x - 1) & 255, (x - 1) >> 8])
    return ((clock - 1).to_bytes(3, "little") + b"\x84" + n(h[0]) + n(sum(h[1:])) + n(h[1]) + n(h[2])
            + n(v[0]) + n(sum(v[1:])) + n(v[1]) + n(v[2]))


CTA = cta([(2, bytes([0x84, 1])), (7, bytes([5, 0, 0])), (7, bytes([0, 0xca]))], [HD])
PRODUCT = bytes([0, 0, 12]) + b"ZZZ" + bytes([1, 0, 0, 0, 0, 0, 10, 24, 0])
DID = displayid(PRODUCT + bytes([3, 0, 20]) + type1(30000, (1920, 48, 32, 80), (1080, 3, 5, 100)))
SEEDS = {
    "plain13": base(3, [FHD, text(0xfc, "ALDER 15"), limits(3), text(0xfe, "B-SIDE")]),
    "plain14": base(4, [FHD, text(0xfc, "ALDER 15"), limits(4), DUMMY], features=0x02, video=0xa5),
    "cta14": base(4, [FHD, text(0xfc, "ALDER 15"), text(0xff, "00031"), DUMMY], 1, 0x02, 0xa5) + CTA,
    "did14": base(4, [FHD, WIDE, text(0xfc, "ALDER 15"), DUMMY], 1, 0x02, 0xa5) + DID,
}

# What is changed: name, seeds or None for all, {byte: value} or a function.
EDITS = [("as-is", None, {})]


def edit(name, seeds, change):
    EDITS.append((name, seeds, change))


def plan():
    edit("letters", None, {8: 0x00, 9: 0x1f})
    edit("week54", None, {16: 54})
    edit("week60", None, {16: 60})
    edit("week255", None, {16: 255})
    edit("version2", ["plain13"], {18: 2})
    edit("revision2", ["plain13"], {19: 2})
    edit("revision5", ["plain14"], {19: 5})
    edit("input", None, {20: 0xf5})
    edit("interface", None, {20: 0xab})
    edit("input13", None, {20: 0x84})
    edit("small", None, {21: 5, 22: 3})
    edit("nosize", None, {21: 0, 22: 0})
    edit("preferred-bit", ["plain13"], {24: 0x08})
    edit("srgb", None, {24: 0x06})
    edit("srgb-unsaid", None, {25 + i: v for i, v in enumerate(bytes.fromhex("ee91a3544c99260f5054"))})
    edit("zero-standard", None, {38: 0, 39: 0})
    edit("narrow-standard", None, {40: 1, 41: 0x40})
    edit("clock", None, {54: 100, 55: 0})
    edit("no-blank", None, {57: 0, 58: 0x70})
    edit("long-sync", None, {62: 250, 63: 250})
    edit("no-front", None, {62: 0, 65: 0x05})
    edit("vertical-sync", None, {64: 0xff})
    edit("border", None, {69: 3})
    edit("image-big", None, {66: 0xff, 68: 0x20})
    edit("image-none", None, {66: 0, 67: 0, 68: 0})
    edit("no-first", None, {54: 0, 55: 0, 56: 0, 57: 0xfe})
    for at in (74, 76):
        edit("zero-byte-%d" % at, ["plain13", "plain14", "cta14"], {at: 7})
    edit("tag-reserved", ["plain13", "plain14", "cta14"], {75: 0x33})
    edit("tag-new", ["plain13", "plain14"], {75: 0xf7})
    edit("name-char", ["plain13", "plain14", "cta14"], {79: 0x80})
    edit("name-control", ["plain13", "plain14", "cta14"], {80: 0x07})
    edit("name-padding", ["plain13", "plain14", "cta14"], {88: 0x41})
    edit("name-end", ["plain13", "plain14", "cta14"], {85: 0x20})
    edit("name-space", ["plain13", "plain14", "cta14"], {84: 0x20})
    edit("name-empty", ["plain13", "plain14", "cta14"], {77: 0x0a, **{i: 0x20 for i in range(78, 90)}})
    edit("all-zero", None, {i: 0 for i in range(108, 126)})
    edit("dummy", ["plain14", "cta14", "did14"], {120: 1})
    edit("order", ["plain13", "plain14", "cta14"], {i + 72: FHD[i] for i in range(18)} | {i + 54: DUMMY[i] for i in range(18)})
    edit("limits-v", ["plain13", "plain14"], {95: 90})
    edit("limits-h", ["plain13", "plain14"], {97: 90})
    edit("limits-formula3", ["plain13", "plain14"], {100: 3})
    edit("limits-formula1", ["plain13"], {100: 1})
    edit("limits-formula4", ["plain13", "plain14"], {100: 4})
    edit("limits-gtf2", ["plain13", "plain14"], {100: 2})
    edit("limits-end", ["plain13", "plain14"], {101: 0})
    edit("limits-padding", ["plain13", "plain14"], {104: 0})
    edit("limits-clock", ["plain13", "plain14"], {99: 0})
    edit("limits-narrow", ["plain13", "plain14"], {98: 40})
    edit("limits-flags", ["plain14"], {94: 0x05})
    edit("continuous", ["plain14", "cta14"], {24: 0x03})
    edit("continuous-gtf", ["plain14"], {24: 0x03, 100: 0})
    edit("gtf-fixed", ["plain14"], {100: 0})
    edit("no-name", ["plain13", "plain14"], {75: 0xfe})
    edit("no-limits", ["plain13", "plain14"], {93: 0x10, **{i: 0 for i in range(95, 108)}})
    edit("count", None, {126: 3})
    edit("cvt", ["plain14"], {111: 0xf8, 113: 1, 114: 0, 115: 3, 116: 0x80})
    edit("cvt-version", ["plain14"], {111: 0xf8, 113: 2})
    edit("standard-six", ["plain14"], {111: 0xfa, **{i: 1 for i in range(113, 125)}, 113: 0, 125: 0x0a})
    edit("cta-revision0", ["cta14"], {129: 0})
    edit("cta-revision1", ["cta14"], {129: 1})
    edit("cta-revision2", ["cta14"], {129: 2})
    edit("cta-revision7", ["cta14"], {129: 7})
    edit("cta-offset2", ["cta14"], {130: 2})
    edit("cta-offset0", ["cta14"], {130: 0})
    edit("cta-overrun", ["cta14"], {130: 11})
    edit("cta-block-long", ["cta14"], {139: 0xff})
    edit("cta-extended", ["cta14"], {132: 0xe0})
    edit("cta-native", ["cta14"], {131: 0xf9})
    edit("cta-padding", ["cta14"], {250: 9})
    edit("cta-vga", ["cta14"], {35: 0, 134: 3})
    edit("tag", ["cta14", "did14"], {128: 0x37})
    edit("tag20", ["cta14", "did14"], {128: 0x20})
    edit("map", ["cta14", "did14"], {128: 0xf0})
    edit("did-sync", ["did14"], {157: 40, 159: 200})
    edit("did-length", ["did14"], {130: 126})
    edit("did-block-long", ["did14"], {150: 200})
    edit("did-filler", ["did14"], {180: 1})
    edit("did-filler-end", ["did14"], {253: 7})
    edit("did-tag2", ["did14"], {148: 0x22})
    edit("did-version2", ["did14"], {129: 0x20})
    edit("did-short", ["did14"], {130: 100, 240: 6})
    edit("extra-block", ["plain13", "plain14"], lambda d: d + CTA)
    edit("twice", ["plain13", "plain14"], lambda d: d + d)
    edit("three-blocks", ["plain13", "plain14"], lambda d: d[:126] + b"\2" + d[127:] + CTA + CTA)
    edit("map-three", ["plain13"], lambda d: d[:126] + b"\2" + d[127:] + (b"\xf0\x02").ljust(128, b"\0") + CTA)
    edit("map-wrong", ["plain13"], lambda d: d[:126] + b"\2" + d[127:] + (b"\xf0\x70").ljust(128, b"\0") + CTA)
    edit("byte3", ["cta14"], lambda d: d[:126] + b"\2" + d[127:] + d[128:131] + b"\x30" + d[132:])


def dumps():
    seeds = {n: renew(d) for n, d in SEEDS.items()}
    for name, only, change in EDITS:
        for seed, d in seeds.items():
            if only and seed not in only:
                continue
            if callable(change):
                out = change(d)
            else:
                out = bytearray(d)
                for at, value in change.items():
                    out[at] = value
            yield "%s/%s" % (seed, name), renew(out)
    corpus = sorted((HERE.parent / "corpus").glob("*.hex"))[:40]
    for path in corpus:
        seeds[path.stem] = bytes.fromhex("".join(path.read_text().split()))
        yield "%s/as-is" % path.stem, seeds[path.stem]
    names = sorted(seeds)
    for i in range(100):  # only where nearly any value is allowed
        seed = (names + sorted(SEEDS) * 10)[RND.randrange(len(names) + 10 * len(SEEDS))]
        d = bytearray(seeds[seed])
        for at, low, high in ((10, 0, 255), (12, 0, 255), (16, 0, 52), (17, 17, 34), (23, 50, 150), (31, 30, 45), (21, d[21], d[21]), (36, 0, 255)):
            if RND.random() < 0.6:
                d[at] = RND.randint(low, high)
        yield "%s/quiet%03d" % (seed, i), renew(d)
    for i in range(480):
        seed = names[i % len(names)]
        d = bytearray(seeds[seed])
        for _ in range(RND.choice((1, 1, 1, 2, 5))):
            at = RND.randrange(8, len(d))
            if RND.random() < 0.5:
                d[at] ^= 1 << RND.randrange(8)
            else:
                d[at] = RND.choice((0, 0xff, 0x20, 0x0a, RND.randrange(256)))
        yield "%s/random%03d" % (seed, i), bytes(d) if i % 3 == 0 else renew(d)


def main():
    plan()
    with open(HERE / "dumps.txt", "w") as hexes, open(HERE / "dumps.check.txt", "w") as checks:
        for name, d in dumps():
            run = subprocess.run(["edid-decode", "--check", "--skip-hex-dump"], input=d, capture_output=True)
            out = run.stdout.decode("latin-1")
            sums = re.findall(r"^(Checksum: .*)$", out, re.M)
            at = out.find("edid-decode SHA")
            if at < 0:
                print("edid-decode ends with %d and no verdict: %s is left out" % (run.returncode, name))
                continue
            hexes.write("%s %s\n" % (name, d.hex()))
            checks.write("== %s\n%s\n%s\n" % (name, "\n".join(sums), out[at:].strip()))


if __name__ == "__main__":
    main()
