"""What this phone keeps of each rug beside the book: one draft of a name, with an entry for every rug.

Two rugs are on looms at once, and what waits of one must neither be shown on the other nor go with what is saved there.
"""

from __future__ import annotations

from typing import Any

TICKS = "guide"
"""The draft that holds, for each rug, the steps of the guide ticked off on this phone."""


def of_rug(drafts: Any, name: str, rug_id: str) -> Any:
    """Return what the draft `name` keeps of a rug; None where it keeps nothing of it."""
    kept = drafts.get(name)
    return kept.get(rug_id) if isinstance(kept, dict) else None


def put_of_rug(drafts: Any, name: str, rug_id: str, what: Any) -> None:
    """Keep `what` of a rug in the draft `name`, and what it keeps of the others; None forgets it."""
    # Another window of the app may have kept something of another rug since.
    drafts.look_again()
    kept = drafts.get(name)
    entries = dict(kept) if isinstance(kept, dict) else {}
    if what is None and rug_id not in entries:
        return
    entries.pop(rug_id, None)
    if what is not None:
        entries[rug_id] = what
    drafts.put(name, entries or None)
