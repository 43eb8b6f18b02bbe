"""The memory this process holds and has held, for benchmarks and fuzz tests that run in a process of their own."""

from __future__ import annotations

import resource
from pathlib import Path


def _from_kernel(field: str) -> int | None:
    try:
        for line in Path("/proc/self/status").read_text(encoding="ascii").splitlines():
            if line.startswith(field + ":"):
                return int(line.split()[1]) * 1024
    except OSError:
        pass
    return None


def peak_bytes() -> int:
    """Return the highest resident memory of this program, in bytes.

    Linux keeps it for each program image; `getrusage`, used elsewhere, may count the parent's peak from before the
    start as well.
    """
    return _from_kernel("VmHWM") or resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


def held_bytes() -> int:
    """Return the resident memory now, in bytes; the peak where the kernel does not say."""
    return _from_kernel("VmRSS") or peak_bytes()
