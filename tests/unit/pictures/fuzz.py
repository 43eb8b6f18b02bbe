"""Feeds the cartoon reader damaged files and reports what happened; run in a process of its own to see its memory.

python -m tests.unit.pictures.fuzz COUNT SEED
"""

from __future__ import annotations

import json
import random
import struct
import sys
import time
import traceback
import zlib

import numpy as np

from tests.peak import held_bytes, peak_bytes
from tests.unit.pictures.files import cells_of, indexed, saved
from tracker.domain.errors import BadPicture
from tracker.pictures import limits
from tracker.pictures.cartoon_reader import read_cartoon, read_shades

INTERESTING = (
    0,
    1,
    2,
    127,
    128,
    255,
    256,
    4096,
    11_999,
    12_000,
    12_001,
    32_767,
    32_768,
    65_535,
    2**31 - 1,
    2**32 - 1,
)


def run_length_bmp(cells: np.ndarray) -> bytes:
    """An 8-bit BMP packed by runs, which Pillow reads but does not write."""
    height, width = cells.shape
    body = bytearray()
    for row in cells[::-1]:
        for value in row:
            body += bytes((1, int(value)))
        body += b"\0\0"
    body += b"\0\1"
    palette = b"".join(bytes((10 * k % 256, 60, 200 - k % 200, 0)) for k in range(256))
    offset = 14 + 40 + len(palette)
    head = struct.pack("<IiiHHIIiiII", 40, width, height, 1, 8, 1, len(body), 0, 0, 256, 0)
    return b"BM" + struct.pack("<IHHI", offset + len(body), 0, 0, offset) + head + palette + bytes(body)


def healthy_files() -> list[bytes]:
    """Sound files of every kind that is read."""
    cells = cells_of(60, 45)
    image = indexed(cells)
    return [
        saved(image, "PNG"),
        saved(image, "PNG", bits=4),
        saved(image.convert("RGB"), "PNG"),
        saved(image.convert("RGBA"), "PNG"),
        saved(image.convert("L"), "PNG"),
        saved(image.convert("1"), "PNG"),
        saved(image, "PNG", transparency=4),
        saved(image, "GIF"),
        saved(image, "GIF", interlace=0),
        saved(image, "GIF", save_all=True, append_images=[indexed(cells_of(60, 45, seed=9))]),
        saved(image, "BMP"),
        saved(image.convert("RGB"), "BMP"),
        saved(image.convert("1"), "BMP"),
        run_length_bmp(cells),
    ]


def with_true_checksums(data: bytes) -> bytes:
    """A PNG with its checksums put right, so that damage reaches the parts behind them."""
    out, at = bytearray(data[:8]), 8
    while at + 12 <= len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        if at + 12 + length > len(data):
            break
        part = data[at + 4 : at + 8 + length]
        out += data[at : at + 4] + part + struct.pack(">I", zlib.crc32(part))
        at += 12 + length
    return bytes(out + data[at:])


def damaged(data: bytes, chance: random.Random) -> bytes:
    """The file with one to four things done to it."""
    out = bytearray(data)
    for _time in range(chance.choice((1, 1, 1, 2, 4))):
        # Heads decide most, so a good part of the damage goes there.
        span = min(len(out), 64) if chance.random() < 0.3 else len(out)
        at = chance.randrange(span) if span else 0
        deed = chance.randrange(8)
        if deed == 0:
            out[at : at + 1] = bytes((chance.randrange(256),))
        elif deed == 1 and out:
            out[at] ^= 1 << chance.randrange(8)
        elif deed == 2:
            del out[at:]
        elif deed == 3:
            del out[at : at + chance.randint(1, 40)]
        elif deed == 4:
            out[at:at] = bytes(chance.randrange(256) for _letter in range(chance.randint(1, 40)))
        elif deed == 5:
            order = chance.choice("<>")
            out[at : at + 4] = struct.pack(order + "I", chance.choice(INTERESTING))
        elif deed == 6:
            out[at : at + 2] = struct.pack(chance.choice("<>") + "H", chance.choice(INTERESTING) & 0xFFFF)
        else:
            other = chance.randrange(len(out) + 1)
            out[at:at] = out[other : other + chance.randint(1, 200)]
    if data.startswith(b"\x89PNG") and chance.random() < 0.7:
        return with_true_checksums(bytes(out))
    return bytes(out)


def sound(picture) -> bool:
    """Whether a picture that was read keeps all it promises."""
    rows, knots = picture.cells.shape
    return (
        picture.cells.dtype == np.uint8
        and 1 <= len(picture.palette) <= limits.MAX_COLOURS
        and int(picture.cells.max()) < len(picture.palette)
        and rows * knots <= limits.MAX_KNOTS
        and len(set(picture.palette)) == len(picture.palette)
    )


def fuzz(count: int, seed: int) -> dict:
    """Read `count` damaged files; return what happened."""
    chance = random.Random(seed)
    files = healthy_files()
    report = {"read": 0, "refused": 0, "unsound": 0, "crashes": [], "slowest_s": 0.0}
    before_mb = held_bytes() / 1e6
    for number in range(count):
        data = damaged(files[number % len(files)], chance)
        started = time.process_time()
        try:
            report["unsound"] += not sound(read_cartoon(data))
            report["read"] += 1
            read_shades(data)
        except BadPicture as trouble:
            report["refused"] += 1
            report["unsound"] += not trouble.sentence.endswith(".")
        except BaseException:
            report["crashes"].append(f"file {number} of seed {seed}: {traceback.format_exc()[-600:]}")
        report["slowest_s"] = max(report["slowest_s"], time.process_time() - started)
    report["grown_mb"] = peak_bytes() / 1e6 - before_mb
    return report


if __name__ == "__main__":
    print(json.dumps(fuzz(int(sys.argv[1]), int(sys.argv[2]))))
