"""Cartoons from files: what is read, what is refused and how it is said."""

from __future__ import annotations

import struct
import time
import zlib

import numpy as np
import pytest
from PIL import Image

from tests.unit.pictures.files import PALETTE, cells_of, indexed, saved
from tracker.domain.errors import BadPicture
from tracker.pictures import limits
from tracker.pictures.cartoon_reader import read_cartoon, read_scan, read_shades
from tracker.pictures.paper.opening import open_sheet
from tracker.pictures.photo_reader import read_photo

HEX = tuple(f"#{r:02X}{g:02X}{b:02X}" for r, g, b in PALETTE)


def colours_of(picture) -> list[list[str]]:
    """The colour of every knot, row 1 first."""
    return [[picture.palette[cell] for cell in row] for row in picture.cells]


def as_seen(cells) -> list[list[str]]:
    """The colour of every knot of a picture with these cells, bottom row first."""
    return [[HEX[cell] for cell in row] for row in np.asarray(cells)[::-1]]


def refusal(data, **options) -> str:
    with pytest.raises(BadPicture) as trouble:
        read_cartoon(data, **options)
    sentence = trouble.value.sentence
    assert sentence.endswith(".")
    return sentence


@pytest.mark.parametrize("kind", ["PNG", "GIF", "BMP"])
def test_an_indexed_picture_is_read_from_the_bottom_up(kind):
    cells = cells_of()
    picture = read_cartoon(saved(indexed(cells), kind))
    assert (picture.rows, picture.knots_across) == (24, 17)
    assert picture.cells.dtype == np.uint8
    assert colours_of(picture) == as_seen(cells)
    assert sorted(picture.palette) == sorted(HEX)


@pytest.mark.parametrize("kind", ["PNG", "BMP"])
def test_a_true_colour_picture_is_read_alike(kind):
    cells = cells_of()
    picture = read_cartoon(saved(indexed(cells).convert("RGB"), kind))
    assert colours_of(picture) == as_seen(cells)


def test_an_opaque_alpha_channel_and_interlacing_do_no_harm():
    cells = cells_of()
    assert colours_of(read_cartoon(saved(indexed(cells).convert("RGBA"), "PNG"))) == as_seen(cells)
    assert colours_of(read_cartoon(saved(indexed(cells), "GIF", interlace=1))) == as_seen(cells)


def test_greys_and_black_and_white_are_colours_too():
    bits = np.array([[0, 255, 255], [255, 0, 0]], dtype=np.uint8)
    for image in (Image.fromarray(bits), Image.fromarray(bits).convert("1")):
        assert colours_of(read_cartoon(saved(image, "PNG"))) == [
            ["#FFFFFF", "#000000", "#000000"],
            ["#000000", "#FFFFFF", "#FFFFFF"],
        ]


def test_a_sixteen_bit_grey_is_read_by_what_the_eye_sees():
    image = Image.fromarray(np.array([[0, 65535], [32896, 0]], dtype=np.uint16))
    assert colours_of(read_cartoon(saved(image, "PNG"))) == [["#808080", "#000000"], ["#000000", "#FFFFFF"]]


def test_equal_and_unused_palette_entries_make_no_colours_of_their_own():
    image = indexed([[0, 1], [2, 4]])
    image.putpalette([10, 20, 30] * 3 + [99, 99, 99] + [200, 0, 0])
    picture = read_cartoon(saved(image, "PNG"))
    assert picture.palette == ("#0A141E", "#C80000")
    assert picture.cells.tolist() == [[0, 1], [0, 0]]


def test_a_path_gives_its_name(tmp_path):
    path = tmp_path / "garden.png"
    path.write_bytes(saved(indexed(cells_of()), "PNG"))
    assert read_cartoon(path).name == "garden.png"
    assert read_cartoon(str(path), name="mine").name == "mine"


def test_sixty_four_colours_are_taken_and_sixty_five_are_not():
    for many, taken in ((64, True), (65, False)):
        rgb = np.zeros((5, 13, 3), dtype=np.uint8)
        rgb[..., 0] = np.arange(65).reshape(5, 13).clip(0, many - 1)
        greys = rgb[..., 0]
        for image in (Image.fromarray(rgb), Image.fromarray(greys)):
            if taken:
                assert len(read_cartoon(saved(image, "PNG")).palette) == 64
            else:
                assert "more than 64 colours" in refusal(saved(image, "PNG"))


def test_what_is_no_picture_is_told_apart():
    assert "empty" in refusal(b"")
    assert "not a picture" in refusal(b"Dear weaver, this is a letter.")
    assert "JPEG photo" in refusal(saved(indexed(cells_of()).convert("RGB"), "JPEG"))
    assert "PNG, GIF or BMP" in refusal(saved(indexed(cells_of()).convert("RGB"), "TIFF"))
    assert "PNG, GIF or BMP" in refusal(saved(indexed(cells_of()).convert("RGB"), "WEBP"))


def test_a_file_that_is_gone_gets_a_sentence(tmp_path):
    assert "still there" in refusal(tmp_path / "gone.png")
    assert "a folder" in refusal(tmp_path)


@pytest.mark.parametrize("kind", ["PNG", "GIF", "BMP"])
def test_a_picture_cut_off_half_way_is_broken(kind):
    data = saved(indexed(cells_of(200, 200)), kind)
    assert "broken" in refusal(data[: len(data) // 2])


def test_a_moving_picture_is_refused():
    frames = [indexed(cells_of(seed=seed)).convert("RGB") for seed in (1, 2, 3)]
    for kind in ("GIF", "PNG"):
        assert "several pictures" in refusal(saved(frames[0], kind, save_all=True, append_images=frames[1:]))


def test_see_through_parts_are_refused():
    image = indexed(cells_of()).convert("RGBA")
    image.putpixel((3, 3), (10, 20, 30, 40))
    assert "see-through" in refusal(saved(image, "PNG"))
    assert "see-through" in refusal(saved(indexed(cells_of()), "GIF", transparency=2))
    assert "see-through" in refusal(saved(indexed(cells_of()), "PNG", transparency=2))
    # An entry nobody uses may well be see-through.
    image = indexed(cells_of(colours=4))
    assert len(read_cartoon(saved(image, "PNG", transparency=4)).palette) == 4


def _png(width: int, height: int, body: bytes) -> bytes:
    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    "size", [(60_000, 60_000), (12_001, 10), (10, 12_001), (7000, 7000), (2**31 - 1, 2**31 - 1)]
)
def test_a_decompression_bomb_is_refused_before_it_is_unpacked(size):
    # A few thousand bytes that would unpack to gigabytes.
    bomb = _png(*size, zlib.compress(bytes(5_000_000), 9))
    assert len(bomb) < 10_000
    sentence = refusal(bomb)
    assert "too large" in sentence
    assert f"{size[0]} × {size[1]}" in sentence


def test_a_gif_whose_frame_is_larger_than_its_head_says_is_not_a_way_round():
    data = bytearray(saved(indexed(cells_of()), "GIF"))
    at = data.index(b"\x2c", 13 + 3 * 8)
    data[at + 5 : at + 9] = struct.pack("<HH", 65_535, 65_535)
    with pytest.raises(BadPicture):
        read_cartoon(bytes(data))


@pytest.mark.parametrize("cells", [[[0, 1, 0, 1]], [[0], [1], [0]]])
def test_a_strip_one_knot_deep_or_wide_is_a_cartoon(cells):
    read = read_cartoon(saved(indexed(cells), "PNG"))
    assert (read.rows, read.knots_across) == (len(cells), len(cells[0]))


def test_a_picture_that_is_too_small_is_refused():
    assert "too small" in refusal(saved(indexed([[0]]), "PNG"))


def test_a_file_that_is_too_large_is_refused_unread(tmp_path, monkeypatch):
    monkeypatch.setattr(limits, "MAX_CARTOON_FILE_BYTES", 1000)
    path = tmp_path / "large.bmp"
    path.write_bytes(saved(indexed(cells_of(100, 100)), "BMP"))
    assert "file is too large" in refusal(path)
    assert "file is too large" in refusal(path.read_bytes())


def test_a_scan_with_stray_shades_becomes_a_clean_cartoon():
    cells = cells_of(40, 40)
    rgb = np.asarray(PALETTE, dtype=np.int16)[cells]
    rng = np.random.default_rng(3)
    strays = rng.random(cells.shape) < 0.1
    rgb[strays] += rng.integers(-3, 4, (int(strays.sum()), 3), dtype=np.int16)
    data = saved(Image.fromarray(rgb.clip(0, 255).astype(np.uint8)), "PNG")
    assert "more than 64" in refusal(data)
    assert read_shades(data).counts.sum() == 1600
    merged = read_scan(data, name="scan.png")
    assert merged.picture.name == "scan.png"
    assert colours_of(merged.picture) == as_seen(cells)
    # All that was changed is reported, and nothing else.
    changed = int((rgb.clip(0, 255) != np.asarray(PALETTE)[cells]).any(axis=2).sum())
    assert merged.knots_merged == changed


def test_a_photo_has_too_many_shades_even_for_a_scan():
    rng = np.random.default_rng(4)
    data = saved(Image.fromarray(rng.integers(0, 256, (100, 100, 3), dtype=np.uint8)), "PNG")
    with pytest.raises(BadPicture, match="more than 4096"):
        read_shades(data)


def in_many_parts(kind: str, parts: int) -> bytes:
    """A sound picture of 12 x 12 with so many notes in it."""
    data = saved(Image.new("P" if kind == "GIF" else "RGB", (12, 12)), kind)
    if kind == "PNG":
        note = struct.pack(">I", 3) + b"tEXt" + b"a\0b" + struct.pack(">I", zlib.crc32(b"tEXta\0b"))
        return data[:33] + note * parts + data[33:]
    if kind == "JPEG":
        return data[:2] + b"\xff\xfe\x00\x03a" * parts + data[2:]
    palette = 13 + 3 * 2 ** ((data[10] & 7) + 1)
    return data[:palette] + b"\x21\xfe\x01a\x00" * parts + data[palette:]


@pytest.mark.parametrize(
    ("reader", "kind"),
    [
        (read_cartoon, "PNG"),
        (read_cartoon, "GIF"),
        (read_photo, "PNG"),
        (read_photo, "GIF"),
        (read_photo, "JPEG"),
    ],
)
def test_a_picture_with_a_million_notes_is_refused_at_once_and_one_with_a_few_is_read(reader, kind):
    reader(in_many_parts(kind, 100))
    hostile = in_many_parts(kind, 1_000_000)
    began = time.process_time()
    with pytest.raises(BadPicture, match="too many small pieces"):
        reader(hostile)
    # Pillow alone takes seconds; the bound is loose because the machine may be busy.
    assert time.process_time() - began < 1.0


def test_other_ways_to_cut_a_picture_into_crumbs_are_refused_too():
    png, gif, jpeg = (saved(Image.new("P", (12, 12)).convert(mode), kind) for mode, kind in
                      (("RGB", "PNG"), ("P", "GIF"), ("RGB", "JPEG")))  # fmt: skip
    empty = struct.pack(">I", 0) + b"IDAT" + struct.pack(">I", zlib.crc32(b"IDAT"))
    palette = 13 + 3 * 2 ** ((gif[10] & 7) + 1)
    for data in (
        png[:-12] + empty * 1_000_000 + png[-12:],
        gif[:palette] + b"\x21\xfe" + b"\x01a" * 1_000_000 + b"\0" + gif[palette:],
        gif[:-1] + b"\x2c" + bytes(4) + struct.pack("<HHB", 1, 1, 0) + b"\2" + b"\1\0" * 1_000_000,
        gif[:palette] + bytes(1_000_000) + gif[palette:],
        jpeg[:2] + b"\xff" * 1_000_000 + jpeg[2:],
    ):
        with pytest.raises(BadPicture, match="too many small pieces"):
            (read_photo if data.startswith(b"\xff") else read_cartoon)(data)


def tiff_of(counts: dict[int, int], order: str = "<", big: bool = False) -> bytes:
    """A TIFF of 7000 x 7000 whose fields say that they have so many values."""
    fields = {256: 1, 257: 1, 258: 1, 259: 1, 262: 1, 277: 1} | counts
    begin = (b"II" if order == "<" else b"MM") + struct.pack(order + "H", 43 if big else 42)
    begin += struct.pack(
        order + ("HHQQ" if big else "IH"), *((8, 0, 16, len(fields)) if big else (8, len(fields)))
    )
    values = {256: 7000, 257: 7000, 258: 8, 259: 1, 262: 1, 277: 1, 322: 1, 323: 1}
    one = order + ("HHQQ" if big else "HHII")
    return begin + b"".join(
        struct.pack(one, tag, 4, n, values.get(tag, 200)) for tag, n in sorted(fields.items())
    )


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("exif", lambda jpeg: jpeg[:2] + (b"\xff\xe1\xff\xffExif\0\0" + bytes(65527)) * 100 + jpeg[2:]),
        ("notes", lambda jpeg: jpeg[:2] + (b"\xff\xed\xea\x62" + b"8BIM" * 15000) * 3 + jpeg[2:]),
        ("strips", lambda _jpeg: tiff_of({273: 2_000_000, 278: 1, 279: 2_000_000})),
        ("strips, the other way round", lambda _jpeg: tiff_of({273: 2_000_000, 279: 2_000_000}, ">")),
        ("tiles of one point each", lambda _jpeg: tiff_of({322: 1, 323: 1, 324: 2_000_000}, big=True)),
    ],
)  # fmt: skip
def test_a_few_bytes_that_cost_half_a_minute_are_refused_at_once(name, data):
    jpeg = saved(Image.new("RGB", (90, 90)), "JPEG")
    began = time.process_time()
    with pytest.raises(BadPicture, match="too many small pieces"):
        open_sheet(data(jpeg), name=name)
    assert time.process_time() - began < 1.0


def test_the_notes_of_a_camera_are_no_reason_to_refuse_its_picture():
    jpeg = saved(Image.new("RGB", (90, 90)), "JPEG")
    exif, depth = b"\xff\xe1\xff\xffExif\0\0" + bytes(65527), b"\xff\xe1\xff\xffhttp://" + bytes(65526)
    assert open_sheet(jpeg[:2] + exif * 2 + depth * 200 + jpeg[2:]).rgb.shape == (90, 90, 3)
    assert open_sheet(saved(Image.new("RGB", (300, 9000)), "TIFF")).height == 9000


@pytest.mark.parametrize("kind", ["PNG", "GIF"])
def test_a_large_cartoon_is_not_too_many_parts(kind):
    """Noise of 64 colours does not pack: more blocks than any real cartoon of the size has."""
    noise = np.random.default_rng(1).integers(0, 64, (1500, 1500), dtype=np.uint8)
    picture = Image.fromarray(noise)
    picture = picture.convert("P")
    assert read_cartoon(saved(picture, kind)).rows == 1500
