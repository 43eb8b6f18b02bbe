"""Memory that was freed, handed back to the system: what allocates it keeps it otherwise, and a phone ends the largest app first."""

from __future__ import annotations

import ctypes
from contextlib import suppress

M_PURGE = -101
"""Bionic's malloc.h, since API 28: free what is kept for later."""


def give_back() -> bool:
    """Hand freed memory back; False where the system's library has no way to.

    Notes
    -----
    glibc: malloc_trim(3); Android: mallopt(M_PURGE).
    """
    with suppress(OSError, AttributeError, TypeError):
        library = ctypes.CDLL(None)
        if hasattr(library, "malloc_trim"):
            library.malloc_trim(0)
            return True
        return bool(library.mallopt(M_PURGE, 0))
    return False
