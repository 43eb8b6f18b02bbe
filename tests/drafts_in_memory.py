"""What lies beside the book, without a file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tracker.app.drafts import Drafts


def drafts(**kept: Any) -> Drafts:
    """Return drafts that no start finds again."""
    in_memory = Drafts(Path("no such folder") / "b.drafts.json")
    in_memory.lasting = False
    in_memory.put_back(kept)
    return in_memory
