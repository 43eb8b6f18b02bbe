"""The app's life on a phone: what is reminded of when it is left, what brought it up, what goes when memory is short.

What is needed only when the app is left is imported there: the first view does not wait for it.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from tracker.app.desk import Desk
from tracker.device import alarms, arrivals, permission
from tracker.device.clock import now_utc
from tracker.device.java import on_android
from tracker.device.memory import free_all
from tracker.domain.act import ActKind
from tracker.domain.defaults import BREAK_MINUTES
from tracker.domain.errors import LoomsideError
from tracker.presenters import timer as timer_sums
from tracker.presenters.settings import BREAK_EVERY
from tracker.screens import PAGES
from tracker.words import _

if TYPE_CHECKING:
    from tracker.domain.rug import RugBook
    from tracker.forecast.answers import Answers

REMIND = "remind when closed"
"""The draft that keeps the weaver's answer; absent: not asked yet."""
SESSIONS_READ = 20
"""So many evenings tell the usual hour."""


class PhoneLife:
    """Joins the desk and what is on the screen to the phone around them."""

    def __init__(self, desk: Desk, shell: Any) -> None:
        self._desk, self._shell = desk, shell

    def begin(self) -> None:
        """Listen for what other apps hand over, and ask once whether to remind."""
        if not on_android():
            return
        arrivals.listen(lambda arrival: self._desk.post(lambda: self.arrived(arrival)))
        self._desk.once(self.ask_to_remind)

    def arrived(self, arrival: arrivals.Arrival) -> None:
        """Go where a tapped reminder points, or take in what another app handed over."""
        desk, shell = self._desk, self._shell
        if arrival.page in PAGES:
            # A book that still opens knows no rug yet, and the page would be filled for another one.
            desk.once(lambda: self._open_reminded(arrival))
        elif arrival.file is not None and arrival.is_picture:
            path = arrival.file
            shell.open_tab("home")
            # A rug with rows on the loom keeps its cartoon: the picture is meant for the next one.
            unwoven = desk.rug is not None and not desk.rug.woven_sessions
            shell.go("plan", rug_id=desk.rug_id if unwoven else None)
            shell.page.cartoon.look_at(path)
        elif arrival.file is not None:
            shell.open_tab("home")
            shell.go("sync")
            shell.page.take(arrival.file)
        elif not arrival.page:
            shell.toast(
                _("The other app did not hand the file over. Save it first, then open it here."), warn=True
            )

    def _open_reminded(self, arrival: arrivals.Arrival) -> None:
        """Go where a reminder points, its rug in hand."""
        desk, shell = self._desk, self._shell
        if arrival.rug_id != desk.rug_id and any(plan.id == arrival.rug_id for plan in desk.plans):
            desk.choose(arrival.rug_id)

        def go() -> None:
            if PAGES[arrival.page].tab:
                shell.open_tab(arrival.page)
            else:
                shell.open_tab("home")
                shell.go(arrival.page)

        desk.once(go)

    def ask_to_remind(self) -> None:
        """Ask, once there is a session to remind of and never again after an answer, whether to remind."""
        from tracker.sheets.asking import ask_choice

        desk = self._desk
        if desk.drafts.get(REMIND) is not None or desk.rug is None or not desk.rug.sessions:
            return

        def answered(wanted: object) -> None:
            desk.drafts.put(REMIND, bool(wanted))
            if wanted:
                permission.ask_to_notify(lambda granted: desk.post(lambda: desk.drafts.put(REMIND, granted)))

        ask_choice(
            self._shell,
            _("Shall this phone remind you of sessions not logged, yarn to order, breaks and copies?"),
            [(_("Yes, remind me"), True), (_("Not now"), False)],
            answered,
        )

    def leave(self) -> None:
        """The app goes out of sight: nothing is said any more, and from now on the phone reminds."""
        desk = self._desk
        if self._shell.sheet is not None:
            self._shell.sheet.left()
        if not on_android():
            return
        if not desk.drafts.get(REMIND):
            alarms.set_alarms(())
            return
        from tracker.presenters.reminders import build_reminders

        every, now = desk.drafts.get(BREAK_EVERY, BREAK_MINUTES), now_utc()
        beside = self._beside()
        alarms.set_alarms(
            build_reminders(
                desk.rug,
                desk.answers,
                timer_sums.running(desk.drafts, now),
                now_utc=now,
                now=datetime.now().astimezone().replace(tzinfo=None),
                entered=self._entered(),
                break_minutes=float(every) if isinstance(every, int | float) else float(BREAK_MINUTES),
                given=self._given(),
                beside=beside,
                promised=self._promised(beside),
            )
        )

    def _promised(self, beside: Sequence[RugBook]) -> list[tuple[RugBook, Answers]]:
        """Return those of the rugs that are promised by a day, with their answers."""
        from tracker.domain.costs import promised_day_of

        with suppress(LoomsideError):
            return [self._desk.answers_for(rug.plan.id) for rug in beside if promised_day_of(rug) is not None]
        return []

    def _beside(self) -> list[RugBook]:
        """Return the rugs besides the one in hand that are not finished."""
        from tracker.domain.rug import RugStage

        desk = self._desk
        with suppress(LoomsideError):
            return [
                desk.rug_book(plan.id, with_cartoon=False)
                for plan in desk.plans
                if plan.id != desk.rug_id and plan.stage is not RugStage.FINISHED
            ]
        return []

    def _given(self) -> date | None:
        """Return the day on which the book last left this phone."""
        from tracker.presenters.reminders import GIVEN

        with suppress(ValueError):
            return date.fromisoformat(self._desk.drafts.get(GIVEN) or "")
        return None

    def _entered(self) -> list[datetime]:
        """Return the local times at which sessions were entered on their own day, the newest first."""
        from tracker.domain.history import local_time
        from tracker.domain.rug import Session

        instants = []
        with suppress(LoomsideError):
            for entry in self._desk.diary(SESSIONS_READ, 0, kinds=(ActKind.SESSION_LOGGED,)):
                local = local_time(entry.made_at).replace(tzinfo=None)
                if any(
                    isinstance(change.after, Session) and change.after.day == local.date()
                    for change in entry.changes
                ):
                    instants.append(local)
        return instants

    def low_memory(self) -> None:
        """Let go of what can be had again: pages that are not shown, other rugs, pictures and what Kivy keeps of them."""
        from kivy.cache import Cache

        self._shell.drop_hidden_pages()
        self._desk.forget_worked_out()
        for category in ("kv.image", "kv.texture", "kv.loader"):
            Cache.remove(category)
        free_all()
