"""A half-filled plan form as it is kept beside the book."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from tracker.files.typed import read_as
from tracker.presenters.plan.checks import troubles
from tracker.presenters.plan.form import PlanForm


def to_kept(form: PlanForm) -> dict[str, Any]:
    """Return the form as JSON can keep it."""
    kept = asdict(form)
    kept["start_day"] = form.start_day.isoformat()
    kept["wished_day"] = form.wished_day.isoformat() if form.wished_day else None
    return kept


def from_kept(kept: Any) -> PlanForm | None:
    """Return a kept form; None when it cannot be read."""
    try:
        form = read_as(PlanForm, kept)
        return form if troubles(form) is not None else None
    except (ValueError, OverflowError, ZeroDivisionError):
        return None


def files_of(form: PlanForm) -> set[str]:
    """Return the names of the pictures a draft needs."""
    if form.cartoon is None:
        return set()
    chosen = form.cartoon
    return {chosen.file, chosen.field_file, chosen.strip_file, chosen.corner_file} - {""}
