"""The part on the working week."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from tracker.domain.rug import Weaver
from tracker.presenters.plan import view
from tracker.presenters.plan.changes import add_weaver, rename_new_weaver, toggle_weekday
from tracker.presenters.plan.checks import week_trouble
from tracker.presenters.settings import first_weekday
from tracker.screens.plan.cartoon import ChosenCartoon
from tracker.screens.plan.part import Part, Planning
from tracker.sheets.asking import ask_day, ask_number
from tracker.sheets.weavers import ask_weaver_name, ask_whom_to_rename
from tracker.widgets.basics import Stepper
from tracker.widgets.forms import FormColumn
from tracker.words import _, n_, number, one_after_another


class WeekPart(Part):
    """Days and hours at the loom, who weaves, when it starts and is wished to be done."""

    def __init__(self, page: Planning, cartoon: ChosenCartoon) -> None:
        super().__init__(page)
        self.cartoon = cartoon

    def fill(self, box: FormColumn, wrong: dict[str, str]) -> None:
        form = self.form
        taught = self.desk.taught_pace(form.rug_id)
        # Where finished rugs say what to expect, that is said already.
        own = None if taught.rugs else self.desk.own_rate()
        lines = view.week_lines(form, self.desk.today(), wrong, taught, own)
        box.heading(_("Days at the loom"))
        days = {
            index: name for name, index, _on in view.weekday_chips(form, first_weekday(self.desk.settings))
        }
        box.chips(
            tuple((name, index) for index, name in days.items()),
            lambda index: index in form.weekdays,
            lambda index: self.change(toggle_weekday(form, index, self.desk.today())),
            several=True,
        )
        if "weekdays" in wrong:
            box.warn(wrong["weekdays"])
        box.field(lines["hours"], self.ask_hours)
        box.heading(_("Weavers side by side"))
        stepper = Stepper(
            value=form.weavers_planned, least=1, most=12, loom=False, shown=number(form.weavers_planned),
            unit=n_("weaver", "weavers", form.weavers_planned),
        )  # fmt: skip
        stepper.bind(
            on_step=lambda _stepper, value: self.change(replace(self.form, weavers_planned=int(value))),
            on_ask=lambda _stepper: self.ask_weavers(),
        )
        box.add_widget(stepper)
        known = [(weaver.id, weaver.name) for weaver in self._weavers_known()]
        names = [name for _id, name in (*known, *form.weavers)]
        if names:
            box.note(_("In the book: {names}").format(names=one_after_another(names)))
        box.key(_("Name a weaver"), self.name_weaver, icon="person")
        if names:
            box.key(_("Change a name"), self.rename_weaver, icon="edit", role="quiet")
        box.field(lines["rate"], self.ask_rate)
        if own is not None and (offer := view.offers_rate(form, own)):
            rate = float(own.knots_per_hour)
            box.key(
                offer,
                lambda: self.change(replace(self.form, knots_per_hour=rate)),
                icon="check",
            )
        if hours := view.hours_words(form, self.book, self.cartoon.picture, taught):
            box.note(hours)
        box.heading(_("When"))
        box.field(lines["start"], self.ask_start)
        box.field(lines["wish"], self.ask_wish)
        if form.wished_day is not None:
            box.key(
                _("Remove the target date"),
                lambda: self.change(replace(self.form, wished_day=None)),
                icon="close",
                role="quiet",
            )

    def _weavers_known(self) -> tuple[Weaver, ...]:
        rug = self.book or self.desk.rug
        return self.desk.names()[1] if rug is None else rug.weavers

    def ask_hours(self) -> None:
        """Ask for the hours of a week."""
        ask_number(
            self.shell, _("Hours at the loom in a week"), self.form.hours_per_week,
            lambda value: self.change(replace(self.form, hours_per_week=value)),
            unit=_("hours"), decimals=1, least=0.5, most=168, refuses=lambda value: week_trouble(self.form, value),
        )  # fmt: skip

    def ask_weavers(self) -> None:
        """Ask how many sit side by side."""
        ask_number(
            self.shell, _("Weavers side by side"), self.form.weavers_planned,
            lambda value: self.change(replace(self.form, weavers_planned=int(value))), unit=_("weavers"), least=1, most=12,
        )  # fmt: skip

    def ask_rate(self) -> None:
        """Ask for the rate the weaver expects."""
        ask_number(
            self.shell, _("Knots an hour, each weaver"), self.form.knots_per_hour,
            lambda value: self.change(replace(self.form, knots_per_hour=None if value is None else float(value))),
            unit=_("knots"), least=10, most=5000, optional=True,
        )  # fmt: skip

    def name_weaver(self) -> None:
        """Ask for somebody's name."""
        known = [weaver.name for weaver in self._weavers_known()]

        def take(name: str) -> None:
            weaver = self.desk.new_weaver(name, [who for who, _name in self.form.weavers])
            self.change(add_weaver(self.form, weaver, known))

        ask_weaver_name(self.shell, known, take)

    def rename_weaver(self) -> None:
        """Ask whose name is changed, and to which; of who is not in the book yet the form alone knows."""
        new = [Weaver(id=weaver_id, name=name) for weaver_id, name in self.form.weavers]

        def rename(weaver: Weaver, name: str) -> None:
            self.change(rename_new_weaver(self.form, weaver.id, name))

        ask_whom_to_rename(self.shell, self.desk, new, rename)

    def ask_start(self) -> None:
        """Ask for the first day."""
        ask_day(
            self.shell, _("First day at the loom"), self.form.start_day,
            lambda picked: self.change(replace(self.form, start_day=picked)),
        )  # fmt: skip

    def ask_wish(self) -> None:
        """Ask for the wished day."""
        ask_day(
            self.shell,
            _("Target date"),
            self.form.wished_day or self.form.start_day + timedelta(days=90),
            lambda picked: self.change(replace(self.form, wished_day=picked)),
        )
