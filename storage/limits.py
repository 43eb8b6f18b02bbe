"""Every limit on the size of what a book takes in, in one place: files, copies, and what a field can store.

What a value may be is said in `tracker.domain.rules`. The same limits hold for what is typed and for what comes from another phone, so that whatever one phone
accepted the other accepts too. They are generous: they keep out nonsense and malice, not long rugs.
"""

from __future__ import annotations

TEXT_CHARACTERS = 10_000
"""Longest text of one field."""
KIND_CHARACTERS = 80
"""Longest name of a kind of act."""
ID_CHARACTERS = 80
"""Longest id of a record."""
LIST_ITEMS = 4096
"""Most items in one of the small lists (weavers of a session, yarns used, palette)."""
JSON_CHARACTERS = 200_000
"""Longest JSON text of a setting or a small list."""

WHOLE_NUMBER = 10**9
"""Largest size of a whole number, either sign."""
DECIMAL = 1e12
"""Largest size of a decimal number, either sign."""
CARTOON_ROWS = 20_000
CARTOON_KNOTS = 20_000
CARTOON_CELLS = 40_000_000
"""Most cells of a cartoon: a carpet of 6 x 9 m at 80 knots per 10 cm has 34.6 million."""
CARTOON_PACKED_BYTES = 4 * 1024**2
"""Most bytes of a packed cartoon: several times what a detailed carpet takes."""

BOOK_CELLS = 400_000_000
"""Most cells of all versions of all cartoons in a book: ten of the largest carpets, or 400 rugs of 1,200 x 800 knots."""
BOOK_VERSIONS = 600_000
"""Most versions of records in a book that came from elsewhere: twice a book of 50 rugs with 6,000 entries each."""
RUG_VERSIONS = 60_000
"""The same of one rug: all of them are proven whenever the rug is read."""

CLOCK = 2**53
"""Largest Lamport count ever accepted; at an act a second it lasts 285 million years."""
CLOCK_LEAP = 1_000_000
"""How far an exchange file's largest count may run ahead of the acts that explain it."""

EXCHANGE_PACKED_BYTES = 64 * 1024**2
"""Largest exchange file as it lies on the phone."""
EXCHANGE_UNPACKED_BYTES = 256 * 1024**2
"""Most text an exchange file may unpack to; it is read as a stream, never held as a whole."""
EXCHANGE_LINE_BYTES = 6 * 1024**2
"""Longest line: a cartoon of CARTOON_PACKED_BYTES in base64 fits."""
EXCHANGE_ACTS = BOOK_VERSIONS
EXCHANGE_ROWS = BOOK_VERSIONS
"""Most versions of records in one exchange file."""
EXCHANGE_DEVICES = 10_000

BOOK_BYTES = 4 * 1024**3
"""Largest book file accepted for restoring."""
MEMORY_BYTES = 64 * 1024**2
"""Largest book that is read from working memory when the phone is full; each reading thread holds one."""
COPIES_BYTES = 200 * 1024**2
"""All copies of a book together; the newest sound copy is kept whatever its size."""
CHECK_AT_OPENING_BYTES = 2 * 1024**2
"""A book no larger than this is checked whole while it opens; a larger one right after, off the touch thread."""
