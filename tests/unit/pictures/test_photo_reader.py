"""Photos: upright, small, without the camera's notes."""

from __future__ import annotations

import io
import random
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.unit.pictures.files import saved
from tests.unit.pictures.fuzz import damaged
from tracker.domain.errors import BadPicture
from tracker.pictures import limits
from tracker.pictures.photo_reader import read_photo

ROOT = Path(__file__).parents[3]


def gradient(width=900, height=600):
    across = np.linspace(0, 255, width, dtype=np.uint8)
    rgb = np.zeros((height, width, 3), dtype=np.uint8)
    rgb[..., 0] = across
    rgb[..., 2] = 255 - across
    return Image.fromarray(rgb)


def opened(data):
    return Image.open(io.BytesIO(data))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "BMP"])
def test_a_photo_is_kept_with_a_thumbnail(kind):
    photo = read_photo(saved(gradient(), kind), side=450, thumbnail_side=90)
    assert (photo.width, photo.height) == (450, 300)
    assert opened(photo.photo).size == (450, 300)
    assert opened(photo.thumbnail).size == (90, 60)
    left, right = opened(photo.thumbnail).getpixel((2, 30)), opened(photo.thumbnail).getpixel((87, 30))
    assert left[0] < 40 < 200 < right[0]


def test_a_small_photo_is_not_enlarged():
    assert opened(read_photo(saved(gradient(90, 60), "PNG")).photo).size == (90, 60)


def test_a_photo_taken_sideways_is_turned_and_its_notes_are_left_out():
    exif = Image.Exif()
    exif[0x0112] = 6  # orientation: turn a quarter to the right
    exif[0x010F] = "camera maker"
    photo = read_photo(saved(gradient(), "JPEG", exif=exif))
    assert opened(photo.photo).size == (600, 900)
    assert not opened(photo.photo).getexif()
    assert b"camera maker" not in photo.photo
    # The left edge, blue, has become the top.
    top = opened(photo.photo).getpixel((300, 5))
    assert top[2] > 200 > 40 > top[0]


def test_see_through_parts_become_white():
    image = Image.new("RGBA", (20, 20), (0, 0, 0, 0))
    assert min(opened(read_photo(saved(image, "PNG")).photo).getpixel((10, 10))) > 250


@pytest.mark.parametrize(
    ("data", "said"),
    [(b"", "empty"), (b"a letter", "not a photo"), (saved(gradient(), "JPEG")[:3000], "broken")],
)
def test_what_is_no_photo_gets_a_sentence(data, said):
    with pytest.raises(BadPicture, match=said):
        read_photo(data)


def test_a_photo_beyond_the_limits_is_refused(monkeypatch, tmp_path):
    with pytest.raises(BadPicture, match="still there"):
        read_photo(tmp_path / "gone.jpg")
    data = saved(gradient(), "PNG")
    monkeypatch.setattr(limits, "MAX_WHOLE_PHOTO_PIXELS", 100_000)
    with pytest.raises(BadPicture, match="900 × 600"):
        read_photo(data)
    monkeypatch.setattr(limits, "MAX_PHOTO_FILE_BYTES", 100)
    with pytest.raises(BadPicture, match="file is too large"):
        read_photo(data)


def test_a_large_camera_photo_needs_little_memory_because_it_is_unpacked_small():
    # 108 megapixels would take 324 MB unpacked whole.
    large = saved(Image.new("RGB", (12_000, 9_000), (160, 60, 40)), "JPEG", quality=30)
    code = (
        "import sys; from tests.peak import held_bytes, peak_bytes; from tests.unit.pictures.files import cells_of;"
        "from tracker.pictures.photo_reader import read_photo; data = sys.stdin.buffer.read(); held = held_bytes();"
        "photo = read_photo(data); print(photo.width, photo.height, (peak_bytes() - held) // 1_000_000)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, input=large, capture_output=True, check=True
    )
    width, height, grown_mb = (int(part) for part in done.stdout.split())
    assert (width, height) == (2048, 1536)
    assert grown_mb < 150


def test_damaged_photos_are_read_or_refused():
    chance = random.Random(5)
    files = [saved(gradient(90, 60), kind) for kind in ("JPEG", "PNG", "WEBP", "BMP", "GIF")]
    outcomes = {"read": 0, "refused": 0}
    for number in range(300):
        try:
            photo = read_photo(damaged(files[number % len(files)], chance))
            outcomes["read"] += max(photo.width, photo.height) <= limits.KEPT_PHOTO_SIDE
        except BadPicture:
            outcomes["refused"] += 1
    assert outcomes["read"] + outcomes["refused"] == 300
    assert min(outcomes.values()) > 20
