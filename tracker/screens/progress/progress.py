"""How it has gone: four charts, each with a sentence; a touch reads a point."""

from __future__ import annotations

from typing import Any

from kivy.properties import ObjectProperty, StringProperty

from tracker.domain.as_of import with_stray_days_as_today
from tracker.presenters import progress as presenter
from tracker.presenters.settings import first_weekday
from tracker.shell.empty import without_rug
from tracker.shell.page import Page
from tracker.widgets.basics import Card, Missing, load_kv
from tracker.widgets.chart import ChartView  # noqa: F401 - used by the kv file
from tracker.words import _


class ChartCard(Card):
    """A chart with its title and what is read from it."""

    chart = ObjectProperty(None, allownone=True)
    title = StringProperty("")
    reading = StringProperty("")
    hint = StringProperty("")
    more = StringProperty("")

    def on_chart(self, _widget: object, chart: Any) -> None:
        if chart is not None:
            self.title, self.hint = chart.title, chart.hint
            self.reading, self.more = chart.summary, chart.more

    def read(self, index: int) -> None:
        """Say the point under the finger."""
        self.reading = self.chart.points[index].words


class ProgressPage(Page):
    """The record as pictures."""

    _asked: tuple[Any, ...] = ()

    def refresh(self) -> None:
        desk, ids = self.desk, self.ids
        self.title = _("Progress")
        if desk.rug is None or desk.answers is None:
            self.missing = without_rug(self)
            return
        if not desk.rug.sessions:
            self.missing = Missing(
                "chart",
                _("Nothing woven yet."),
                _("After the first sessions you see your weeks and your pace here."),
                _("Log the session"),
                "row",
                "session",
            )
            return
        self.missing = None
        today = desk.today()
        rug = with_stray_days_as_today(desk.rug, today)
        first = first_weekday(desk.settings)
        ids.weeks.chart = presenter.weeks_chart(rug, today, first, desk.answers)
        ids.weekdays.chart = presenter.hours_by_weekday(rug, desk.answers, first)
        ids.pace.chart = presenter.pace(rug, desk.answers)
        self._look_back()

    def _look_back(self) -> None:
        """Work out the past dates off the touch thread, once for each state of the record."""
        desk = self.desk
        today = desk.today()
        rug = with_stray_days_as_today(desk.rug, today)
        asked = (rug.plan, rug.sessions, rug.days_off, today)
        if asked == self._asked:
            return
        self._asked = asked
        days, answers = presenter.past_days(rug, today), desk.answers
        if len(days) > 1:
            self.ids.dates.chart = presenter.Chart(
                _("How the date has moved"), "line", "", hint=_("Working out earlier forecasts …")
            )

        def work() -> Any:
            return presenter.past_dates(rug, days, desk.looking_back(), answers)

        def done(past: Any) -> None:
            if self._asked == asked:
                self.ids.dates.chart = presenter.date_chart(
                    past, rug.plan.wished_day, presenter.last_row_day(rug)
                )

        def failed(sentence: str) -> None:
            self._asked = ()
            self.ids.dates.chart = presenter.Chart(_("How the date has moved"), "line", "", hint=sentence)

        desk.aside(work, done, failed)


load_kv(__file__)
