"""The weaver's choices: text, light, language, units, holidays, reminders, and the way to cautions and copies."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from kivy.metrics import dp
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty

from tracker import words
from tracker.presenters import settings as presenter
from tracker.sheets.asking import ask_choice, ask_number, ask_one_of_many
from tracker.sheets.weavers import ask_first_weaver, ask_whom_to_rename
from tracker.shell.page import Page
from tracker.shell.undo import undoable
from tracker.widgets.basics import Card, RowKey, load_kv
from tracker.widgets.look import look
from tracker.widgets.plain_label import extent
from tracker.words import _

BARE = presenter.build_settings_state({}, {})


MOST_SHARE = 0.5
"""Of its line, the most that an answer takes beside what it answers."""


class SettingsCard(Card):
    """Settings that belong together."""


class SettingRow(RowKey):
    """One setting and what holds now; a tap changes it."""

    label = StringProperty("")
    answer = StringProperty("")
    hint = StringProperty("")

    @staticmethod
    def answer_width(words: str, width: float, type_sizes: dict[str, float]) -> float:
        """Return the width of an answer at the end of a line of so many px."""
        return (
            min(MOST_SHARE * width, extent(words, "Roboto", type_sizes["body"], True) + dp(4))
            if words
            else 0.0
        )


class SettingsPage(Page):
    """Every choice on a line of its own; each takes effect at once."""

    state = ObjectProperty(BARE, rebind=True)
    weavers = StringProperty("")
    """Who is in the book, on one line."""
    with_rug = BooleanProperty(False)

    def refresh(self) -> None:
        self.title = _("Settings")
        drafts, state = self.desk.drafts, presenter.build_settings_state(self.desk.drafts, self.desk.settings)
        # What the weaver has not chosen is as the phone is set.
        if drafts.get(presenter.DARK_COLOURS) is None:
            state = replace(state, dark=look.dark)
        if drafts.get(presenter.LANGUAGE) is None:
            state = replace(state, language=words.language())
        self.state = state
        rug = self.desk.rug
        self.with_rug = rug is not None
        self.weavers = words.one_after_another([weaver.name for weaver in rug.weavers]) if rug else ""

    def keep(self, name: str, value: Any) -> None:
        """Keep a choice of this phone and show it."""
        self.desk.drafts.put(name, value)
        self.refresh()

    def write(self, name: str, value: Any, said: str) -> None:
        """Write a choice of the whole book, with undo; `said` names what was changed."""
        acts: list[str] = []
        if self.shell.try_act(lambda: acts.append(self.desk.set_setting(name, value))):
            self.shell.toast(said, undo=undoable(self.shell, self.desk, acts[0]))

    def ask_text_size(self) -> None:
        """Choose the text size."""

        def take(scale: float) -> None:
            self.keep(presenter.TEXT_SCALE, scale)
            look.scale_text(chosen=scale)

        choices = [(_("{number} %").format(number=words.number(s * 100)), s) for s in presenter.TEXT_SCALES]
        ask_choice(self.shell, _("Text size"), choices, take, self.state.text_scale)

    def toggle_dark(self) -> None:
        """Light or dark."""
        self.keep(presenter.DARK_COLOURS, not self.state.dark)
        look.dark = self.state.dark

    def ask_language(self) -> None:
        """Choose the language of the words."""

        def take(code: str) -> None:
            self.keep(presenter.LANGUAGE, code)
            words.use_language(code)
            self.shell.rebuild_pages()

        ask_choice(
            self.shell,
            _("Language"),
            [(name, code) for code, name in presenter.LANGUAGES.items()],
            take,
            self.state.language,
        )

    def ask_unit(self) -> None:
        """Centimetres or inches."""
        ask_choice(
            self.shell,
            _("Lengths in"),
            [(_("centimetres"), "cm"), (_("inches"), "inch")],
            lambda unit: self.write("length_unit", unit, _("Unit of lengths changed.")),
            self.state.unit,
        )

    def ask_week(self) -> None:
        """Choose the day a week begins with."""
        choices = [(words.weekday_name(day), day) for day in (0, 5, 6)]
        ask_choice(
            self.shell,
            _("The week begins on"),
            choices,
            lambda day: self.write("first_weekday", day, _("First day of the week changed.")),
            self.state.first_weekday,
        )

    def ask_country(self) -> None:
        """Choose whose public holidays are days off."""
        ask_one_of_many(
            self.shell,
            _("Public holidays of"),
            [(presenter.country_name(code), code) for code in presenter.COUNTRIES],
            lambda code: self.write("country", code, _("Public holidays changed.")),
            self.state.country,
            presenter.usual_countries(self.state.country),
        )

    def ask_lead(self) -> None:
        """Ask how long a dyer usually takes."""
        ask_number(
            self.shell,
            _("Days from order to delivery, for new yarns"),
            self.state.lead_days,
            lambda days: self.write("lead_days", days, _("Days to delivery changed.")),
            unit=_("days"),
            most=365,
        )

    def ask_break(self) -> None:
        """Choose how often a break is suggested while the timer runs."""
        choices = [(presenter.break_words(minutes), minutes) for minutes in presenter.BREAKS_OFFERED]
        ask_choice(
            self.shell,
            _("Suggest a break"),
            choices,
            lambda minutes: self.keep(presenter.BREAK_EVERY, minutes),
            self.state.break_minutes,
        )

    def name_weaver(self) -> None:
        """Ask which weaver is called otherwise from now on; while nobody is named, who weaves."""
        if self.weavers:
            ask_whom_to_rename(self.shell, self.desk)
        else:
            ask_first_weaver(self.shell, self.desk)

    def toggle_mirrored(self) -> None:
        """Rows as seen from the front or the back of the loom."""
        self.keep(presenter.MIRRORED, not self.state.mirrored)


load_kv(__file__)
