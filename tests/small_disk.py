"""A disk of its own that is soon full, for who may mount one."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest


@contextmanager
def small_disk(place: Path, mib: int) -> Iterator[Path]:
    """Mount a disk of so many MiB at a new folder; the test is skipped where nobody may."""
    place.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={mib}m", "tmpfs", str(place)], capture_output=True, check=False
    )
    if mounted.returncode:
        pytest.skip("only who may mount a disk can fill one")
    try:
        yield place
    finally:
        subprocess.run(["umount", "-l", str(place)], check=True)
