"""What a picture may be at most, in one place. Beyond a limit it is refused with a sentence, before it is unpacked."""

from __future__ import annotations

from tracker.domain.cartoon import MAX_CARTOON_FILE_BYTES as MAX_CARTOON_FILE_BYTES
from tracker.domain.cartoon import MAX_COLOURS as MAX_COLOURS
from tracker.domain.cartoon import MAX_KNOTS as MAX_KNOTS

MAX_SHADES = 4096
"""Different shades in a scanned cartoon before the stray ones are merged."""
MAX_SIDE = 12_000
"""Knots across, or rows."""
MIN_SIDE = 1
"""Knots across, or rows: a border strip may be one knot deep or wide."""
MIN_KNOTS = 2
"""Knots of a whole cartoon: a single point is a slip of the finger."""
MIN_PAPER_SIDE = 2
"""Squares each way that must be seen of a cartoon on paper before its squares can be told."""
MAX_RUN_LENGTH_BMP_BYTES = 1_000_000
"""File size of a run-length BMP, which Pillow unpacks slowly, byte by byte; PNG and GIF pack better anyway."""
MAX_FILE_PARTS = 40_000
"""Parts (chunks, segments, notes) in a picture file, each of which Pillow reads by itself, in about 3 microseconds on a
desktop; the largest cartoon saved in blocks of 8 kB has 25,000."""
MAX_JOINED_NOTES = 64
"""Segments of a JPEG over which one note (Exif) may go on: Pillow joins them one by one, each time copying all before; a camera writes one."""
MAX_GIF_BLOCKS = 250_000
"""Blocks of at most 255 bytes into which a GIF cuts its pixels; the largest cartoon needs some 160,000."""
CARTOON_FORMATS = ("PNG", "GIF", "BMP")

MAX_PHOTO_FILE_BYTES = 60_000_000
MAX_PHOTO_PIXELS = 120_000_000
"""A phone's largest camera mode today gives about 108 megapixels."""
MAX_WHOLE_PHOTO_PIXELS = 25_000_000
"""The same for photos other than JPEG, which are unpacked whole at up to eight bytes a point."""
MAX_PHOTO_SIDE = 20_000
PHOTO_FORMATS = ("JPEG", "PNG", "WEBP", "BMP", "GIF")
THUMBNAIL_SIDE = 480
"""Longest side of a thumbnail, in pixels."""
KEPT_PHOTO_SIDE = 2048
"""Longest side of a photo kept in the book, in pixels."""

MAX_SHEET_PIXELS = 50_000_000
"""A photographed or scanned cartoon; a phone's usual camera gives 12, its largest mode 50."""
READ_SHEET_PIXELS = 30_000_000
"""Above this a JPEG is unpacked at half its size first: only small squares need more."""
SHEET_FORMATS = ("PNG", "JPEG", "WEBP", "BMP", "GIF", "TIFF")
"""Formats of pictures that are looked at rather than taken point by point."""
MAX_SOFT_POINTS = 4_000_000
"""Points of a picture with one knot a point and softened edges; larger ones are photographs."""
