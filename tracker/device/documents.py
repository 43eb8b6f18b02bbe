"""The folder in which this device keeps the weaver's documents."""

from __future__ import annotations

import os
from pathlib import Path

from tracker.device.service import service


def documents_folder() -> Path | None:
    """Return the folder in which this device keeps documents, where it can be written to; None without one."""
    storage = service("storagepath")
    if storage is None:
        return None
    try:
        folder = storage.get_documents_dir()
    except Exception:
        # plyer raises whatever the device raises; then there is no such folder.
        return None
    path = Path(str(folder)) if folder else None
    return path if path is not None and path.is_dir() and os.access(path, os.W_OK) else None
