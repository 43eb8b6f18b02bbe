"""Scenes of the page sync."""

from __future__ import annotations

from typing import Any

from tracker.presenters import sync as presenter
from tracker.presenters.entry_text import Names
from tracker.previews.scene import Scene
from tracker.words import _


def scenes(desk: Any) -> list[Scene]:
    """The page, and what a file brought."""
    from datetime import date

    from tracker.domain.history import Conflict, Joined, Told, Withdrawal, Writer
    from tracker.domain.rug import Session, Spoilt

    def session(rows: int) -> Session:
        return Session(id="s", rug_id="r", day=date(2026, 11, 21), rows=rows, hours=3.0)

    here, there = Writer("a", _("my phone"), True), Writer("b", _("the other phone"), False)
    joined = Joined(
        acts=14,
        records=12,
        versions=15,
        devices=(there.name,),
        conflicts=(
            Conflict(
                record_id="s", kind="session", rug_id="r", counting=Told(there, session(6)),
                set_aside=(Told(here, session(7)),),
            ),
        ),
        withdrawn=(
            Withdrawal(
                record_id="l", kind="spoilt", rug_id="r", by=there,
                value=Spoilt(id="l", rug_id="r", yarn_id="y", day=date(2026, 11, 20), mass_g=40.0),
            ),
        ),
    )  # fmt: skip
    return [
        Scene("sync", "sync", {}),
        Scene(
            "sync-joined",
            "sync",
            {},
            lambda page: page._show_joined(presenter.build_merge_state(joined, Names())),
        ),
    ]
