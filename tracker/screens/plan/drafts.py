"""Half-filled plans and the copies of their pictures, kept beside the book until a plan is saved."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from tracker.domain.cartoon import MAX_CARTOON_FILE_BYTES
from tracker.domain.rug import new_id
from tracker.files.regular import copy_regular
from tracker.files.whole import write_whole
from tracker.presenters.plan.draft import files_of, from_kept, to_kept
from tracker.presenters.plan.form import PlanForm

DRAFTS = "plan forms"
"""Where half-filled plans are kept: by the rug's id, "" for the new one begun last."""
NEW = ""
_COPY_NAME = re.compile(r"[0-9a-f]{32}(\.[^.]{0,7})?")
"""The names this page gives to copies of pictures; it removes no other file."""


class PlanDrafts:
    """The half-filled plans of the open book."""

    def __init__(self, desk: Any) -> None:
        self.desk = desk

    def _all(self) -> dict[str, Any]:
        return dict(self.desk.drafts.get(DRAFTS) or {})

    def __contains__(self, rug_id: str) -> bool:
        return rug_id in self._all()

    def form(self, rug_id: str) -> PlanForm | None:
        """Return the half-filled form of a rug; None when there is none that can be read."""
        return from_kept(self._all().get(rug_id))

    def keep(self, rug_id: str, form: PlanForm | None) -> None:
        """Keep a rug's form; None forgets it."""
        forms = self._all()
        if form is None:
            forms.pop(rug_id, None)
        else:
            forms[rug_id] = to_kept(form)
        self.desk.drafts.put(DRAFTS, forms or None)

    def begun(self) -> dict[str, PlanForm]:
        """Return the half-filled plans of rugs that are not in the book yet, by what they are kept under, the last one first."""
        planned = {plan.id for plan in self.desk.plans}
        forms = {key: form for key in self._all() if (form := self.form(key)) is not None}
        new = {key: form for key, form in forms.items() if form.new and form.rug_id not in planned}
        return dict(sorted(new.items(), key=lambda kept: kept[0] != NEW))

    def set_aside(self) -> None:
        """Keep the new plan begun last under its own rug's id, so that another one can be begun beside it."""
        form = self.form(NEW)
        if form is not None:
            self.keep(form.rug_id, form)
            self.keep(NEW, None)

    @property
    def folder(self) -> Path:
        """Where copies of chosen pictures lie until the plan is saved."""
        return self.desk.path.with_name(self.desk.path.name + ".drafts")

    def copy(self, picture: Path) -> str:
        """Copy a chosen picture and return the copy's name in `folder`.

        Raises
        ------
        OSError
            When it cannot be read, or there is no room.
        """
        self.folder.mkdir(parents=True, exist_ok=True)
        name = new_id() + picture.suffix.lower()[:8]
        copy_regular(picture, self.folder / name, MAX_CARTOON_FILE_BYTES)
        return name

    def write(self, png: bytes) -> str:
        """Keep a cartoon that was read and return its name in `folder`.

        Raises
        ------
        OSError
            When there is no room.
        """
        self.folder.mkdir(parents=True, exist_ok=True)
        name = new_id() + ".png"
        write_whole(self.folder / name, png)
        return name

    def tidy(self) -> None:
        """Remove copies of pictures that no draft needs."""
        if not self.desk.drafts.lasting:
            return
        needed: set[str] = set()
        for draft in self._all().values():
            form = from_kept(draft)
            needed |= files_of(form) if form is not None else set()
        try:
            for path in self.folder.iterdir():
                if path.name not in needed and _COPY_NAME.fullmatch(path.name):
                    path.unlink()
        except OSError:
            # A copy that stays is only a little room lost.
            pass
