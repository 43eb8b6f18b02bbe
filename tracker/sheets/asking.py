"""Asking for one thing in a sheet: a number on large keys, a line of text, a day on a month, one of a list."""

from __future__ import annotations

import calendar
import re
import unicodedata
from collections.abc import Callable, Iterable
from datetime import date
from typing import Any, TypeVar, overload

from kivy.clock import Clock
from kivy.metrics import dp
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.widget import Widget

from tracker.domain.errors import BadEntry, LoomsideError
from tracker.domain.rules import check_typed
from tracker.presenters.doubts import Doubt
from tracker.presenters.settings import first_weekday
from tracker.shell.shell import Shell
from tracker.widgets.basics import Choice, Column, Key, RowKey, Rule, Text, load_kv
from tracker.widgets.entry import Entry  # noqa: F401 - used by the kv file
from tracker.widgets.forms import words_width
from tracker.widgets.look import look
from tracker.words import _, decimal_sign, month, number, plainly, weekday_name

MOST_DIGITS = 9


class NumberPad(Column):
    """Digits on keys large enough for a thumb."""

    shown = StringProperty("")
    """The number as typed, with "-" and "."."""
    written = StringProperty("")
    """The same as it is written for the weaver, with the locale's signs."""
    unit = StringProperty("")
    hint = StringProperty("")
    """What is planned or usual, beside an answer that nobody gave: it is told, never offered as the answer."""
    trouble = StringProperty("")
    decimals = NumericProperty(0)
    signed = BooleanProperty(False)
    done = ObjectProperty(None)
    """Called with the text; may raise a LoomsideError, whose sentence is then shown."""
    judge = ObjectProperty(None, allownone=True)
    """Called with the text as it is typed: returns whether it would be taken, and a sentence where it would not."""
    can_finish = BooleanProperty(True)
    refused = StringProperty("")
    """Why what is typed would not be taken."""

    @staticmethod
    def unit_width(unit: str, _type_sizes: object) -> float:
        """Return the width of the unit, px, so that the figure stands at it; told of the sizes of type so that kv asks anew."""
        return words_width(unit, "lead", strong=False) + dp(2) if unit else 0.0

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._untouched = True
        self._minus = False
        for mark in "789456123" if look.shape != "wide" else "123456789":
            self._add(mark)
        if self.decimals:
            self._add(".", decimal_sign())
        elif self.signed:
            self._add("−")
        else:
            self._add("00")
        self._add("0")
        key = Key(icon="back", loom=look.shape != "wide", style="title")
        key.bind(on_release=lambda _key: self.rub_out())
        self.ids.marks.add_widget(key)
        if self.signed and self.decimals:
            self._add("−")
        self._judge()

    def on_shown(self, *_args: Any) -> None:
        self.written = self.shown.replace("-", "−").replace(".", decimal_sign())
        self._judge()

    def _judge(self) -> None:
        """Tell while it is typed whether it would be taken: a key that would be refused is not lit."""
        if self.judge is not None:
            self.can_finish, self.refused = self.judge(self.shown)

    def _add(self, mark: str, words: str = "") -> None:
        # On a phone on its side all keys are to be seen at once.
        key = Key(text=words or mark, loom=look.shape != "wide", style="title", value=mark)
        key.bind(on_release=lambda key: self.press(key.value))
        self.ids.marks.add_widget(key)

    def press(self, mark: str) -> None:
        """Take one key. The first digit replaces what stood there."""
        self.trouble = ""
        if mark == "−":
            self.shown = self.shown[1:] if self.shown.startswith("-") else "-" + self.shown
            self._minus = self.shown.startswith("-")
            return
        text = ("-" if self._minus else "") if self._untouched else self.shown
        self._untouched = False
        if mark == "." and ("." in text or not text.lstrip("-")):
            text = text if "." in text else text + "0"
            mark = "" if "." in text else "."
        if "." in text and len(text.split(".")[1]) >= self.decimals:
            return
        if sum(c.isdigit() for c in text + mark) <= MOST_DIGITS:
            self.shown = text + mark

    def rub_out(self) -> None:
        """Take the last digit away."""
        self._untouched = False
        self.trouble = ""
        self.shown = self.shown[:-1]

    @property
    def touched(self) -> bool:
        """Whether a key changed what stood there."""
        return not self._untouched or self._minus

    def finish(self) -> None:
        """Hand the number over."""
        try:
            self.done(self.shown)
        except LoomsideError as trouble:
            self.trouble = trouble.sentence


@overload
def ask_number(
    shell: Shell,
    title: str,
    value: float | None,
    done: Callable[[float], None],
    *,
    unit: str = "",
    decimals: int = 0,
    signed: bool = False,
    least: float = 0,
    most: float = 999_999_999,
    hint: str = "",
    refuses: Callable[[float], str] | None = None,
) -> NumberPad: ...


@overload
def ask_number(
    shell: Shell,
    title: str,
    value: float | None,
    done: Callable[[float | None], None],
    *,
    unit: str = "",
    decimals: int = 0,
    signed: bool = False,
    least: float = 0,
    most: float = 999_999_999,
    optional: bool,
    hint: str = "",
    refuses: Callable[[float], str] | None = None,
) -> NumberPad: ...


def ask_number(
    shell: Shell,
    title: str,
    value: float | None,
    done: Callable[..., None],
    *,
    unit: str = "",
    decimals: int = 0,
    signed: bool = False,
    least: float = 0,
    most: float = 999_999_999,
    optional: bool = False,
    hint: str = "",
    refuses: Callable[[float], str] | None = None,
) -> NumberPad:
    """Ask for a number in a sheet.

    `done` gets the number, or None when it was left empty and `optional`; it may raise a LoomsideError. `value` is what was given
    before; what is only planned or usual is a `hint`: Done without a touch then leaves it as it is, and does not call it given.
    `refuses` says of a number within the bounds why it cannot be taken all the same; "" where it can.
    """

    def judge(text: str) -> tuple[bool, str]:
        if text in ("", "-", "."):
            return optional, ""
        given = float(text)
        if not least <= given <= most:
            return False, _("Give a number from {least} to {most}.").format(
                least=number(least, decimals), most=number(most, decimals)
            )
        refused = refuses(given) if refuses is not None else ""
        return not refused, refused

    def finish(text: str) -> None:
        if hint and optional and not pad.touched:
            shell.close_sheet()
            return
        taken, refused = judge(text)
        if not taken:
            raise BadEntry(refused or _("Give a number, then tap Done."))
        given = None if text in ("", "-", ".") else float(text) if decimals else int(float(text))
        shell.hand_over(lambda: done(given))
        shell.close_sheet()

    shown = "" if value is None else f"{value:.{decimals}f}"
    if "." in shown:
        shown = shown.rstrip("0").rstrip(".")
    pad = NumberPad(
        shown=shown, unit=unit, decimals=decimals, signed=signed, hint=hint, done=finish, judge=judge
    )
    shell.open_sheet(title, pad)
    return pad


def ask_part(
    shell: Shell,
    title: str,
    value: float | None,
    done: Callable[..., None],
    *,
    per: float,
    unit: str,
    decimals: int,
    least: float,
    most: float,
    optional: bool = False,
) -> None:
    """Ask for a number in another unit than it is kept in: `per` of the unit kept make one of `unit`.

    `value`, `least`, `most` and what `done` gets are in the unit kept. What nobody changed stays as it is kept.
    """
    shown = None if value is None else round(value / per, decimals)

    def take(given: float | None) -> None:
        if given is not None and given == shown:
            done(value)
        else:
            done(given if given is None or per == 1.0 else given * per)

    ask_number(
        shell, title, shown, take, unit=unit, decimals=decimals, least=round(least / per, decimals),
        most=round(most / per, decimals), optional=optional,
    )  # fmt: skip


class TextAsk(Column):
    """One line or a few of text."""

    text = StringProperty("")
    hint = StringProperty("")
    trouble = StringProperty("")
    lines = NumericProperty(1)
    done = ObjectProperty(None)

    def finish(self) -> None:
        """Hand the text over."""
        try:
            self.done(self.ids.entry.text)
        except LoomsideError as trouble:
            self.trouble = trouble.sentence
            # Leaving the line took the keyboard away: whoever mends it types on at once.
            Clock.schedule_once(lambda _dt: setattr(self.ids.entry, "focus", True))


def ask_text(
    shell: Shell,
    title: str,
    value: str,
    done: Callable[[str], None],
    *,
    hint: str = "",
    lines: int = 1,
    most: int = 200,
) -> TextAsk:
    """Ask for text in a sheet; `done` may raise a LoomsideError: it is said there, and what was typed stays."""

    def finish(text: str) -> None:
        text = " ".join(text.split()) if lines == 1 else text.strip()
        check_typed(text)
        if len(text) > most:
            raise BadEntry(_("Keep it under {most} characters.").format(most=number(most)))
        shell.hand_over(lambda: done(text))
        shell.close_sheet()

    ask = TextAsk(text=value, hint=hint, lines=lines, done=finish)
    shell.open_sheet(title, ask)
    ask.ids.entry.focus = True
    if lines == 1:
        # A name that stands there is replaced by the first letter typed; a tap in it sets the cursor instead.
        Clock.schedule_once(lambda _dt: ask.ids.entry.select_all())
    return ask


class DayKey(Key):
    """One day of a month; seven stand side by side, so that the words reach to the edges."""

    SIDE_DP = 2
    is_today = BooleanProperty(False)


class MonthDays(Column):
    """A month whose days can be tapped."""

    shown_month = ObjectProperty(None)
    picked = ObjectProperty(None, allownone=True)
    today = ObjectProperty(None, allownone=True)
    done = ObjectProperty(None)
    first_weekday = NumericProperty(0)
    latest = ObjectProperty(None, allownone=True)
    """The last day that can be chosen; None: any."""

    def on_shown_month(self, *_args: Any) -> None:
        self._fill()

    def _fill(self) -> None:
        grid, weekdays = self.ids.days, self.ids.weekdays
        grid.clear_widgets()
        weekdays.clear_widgets()
        self.ids.month.text = month(self.shown_month)
        for index in range(7):
            weekdays.add_widget(
                Text(
                    text=weekday_name((index + self.first_weekday) % 7, "narrow"),
                    style="small",
                    tone="soft",
                    halign="center",
                )
            )
        weeks = calendar.Calendar(self.first_weekday).monthdatescalendar(
            self.shown_month.year, self.shown_month.month
        )
        for week in weeks:
            for day_ in week:
                key = DayKey(text=str(day_.day), value=day_, is_today=day_ == self.today)
                key.role = "chosen" if day_ == self.picked else "quiet"
                key.opacity = 1 if day_.month == self.shown_month.month else 0.5
                key.disabled = self.latest is not None and day_ > self.latest
                key.bind(on_release=lambda key: self.done(key.value))
                grid.add_widget(key)

    def turn(self, months: int) -> None:
        """Show another month."""
        index = self.shown_month.year * 12 + self.shown_month.month - 1 + months
        if 12 <= index < 9999 * 12:
            self.shown_month = date(index // 12, index % 12 + 1, 1)


def ask_day(
    shell: Shell, title: str, value: date, done: Callable[[date], None], happened: bool = False
) -> MonthDays:
    """Ask for a day on a month calendar; of what `happened` no day to come can be chosen."""

    def finish(picked: date) -> None:
        done(picked)
        shell.close_sheet()

    desk = shell.desk
    days = MonthDays(
        picked=value,
        today=desk.today(),
        done=finish,
        first_weekday=first_weekday(desk.settings),
        latest=max(value, desk.today()) if happened else None,
    )
    days.shown_month = value.replace(day=1)
    sheet = shell.open_sheet(title, days)
    # On a phone on its side a month is taller than the sheet: the day that is meant is brought into sight.
    meant = next((key for key in days.ids.days.children if getattr(key, "value", None) == value), None)
    if meant is not None:
        Clock.schedule_once(lambda _dt: sheet.bring(meant))
    return days


SENTENCES = re.compile(r"(?<=[.?!]) (?=\w)")
"""Between two sentences."""

_Choice = TypeVar("_Choice")
_NONE_YET = object()
"""No answer is chosen yet; None may be one of the answers."""


def ask_choice(
    shell: Shell,
    title: str,
    choices: Iterable[tuple[str, _Choice]],
    done: Callable[[_Choice], None],
    chosen: object = _NONE_YET,
    told: str = "",
) -> Column:
    """Ask for one of a few; `choices` are (words, value) pairs, `chosen` the value that holds now, `told` what is said above them."""
    column = Column()
    _tell(column, told)
    for words, value in choices:
        key = Choice(text=words, value=value, halign="left", role="chosen" if value == chosen else "plain")

        def pick(key: Key) -> None:
            shell.close_sheet()
            done(key.value)

        key.bind(on_release=pick)
        column.add_widget(key)
    shell.open_sheet(title, column)
    return column


class ListedKey(RowKey):
    """One line of a long list."""

    text = StringProperty("")
    chosen = BooleanProperty(False)
    value = ObjectProperty(None, allownone=True)


def _bare(words: str) -> str:
    """Return words as they are looked for: without what stands over or under letters, which not every keyboard has at hand."""
    return "".join(
        letter for letter in unicodedata.normalize("NFD", plainly(words)) if not unicodedata.combining(letter)
    )


def _rank(name: str, letters: str) -> tuple[bool, bool, str]:
    """Return how far down a name stands in which the letters were found."""
    return not name.startswith(letters), f" {letters}" not in f" {name}", name


class LongChoice(Column):
    """One of many, in the order of their names; typed letters narrow the list, and the usual ones come first."""

    whole_px = NumericProperty(0.0)
    """Height of the whole list, px."""

    def __init__(
        self,
        choices: Iterable[tuple[str, Any]],
        usual: Iterable[Any],
        done: Callable[[Any], None],
        chosen: object,
        **kwargs: Any,
    ) -> None:
        super().__init__(**kwargs)
        self._choices = sorted(choices, key=lambda choice: _bare(choice[0]))
        named = {value: name for name, value in self._choices}
        self._usual = [(named[value], value) for value in dict.fromkeys(usual) if value in named]
        self._done, self._chosen = done, chosen
        self.ids.listed.fbind("minimum_height", self._keep_height)
        self.narrow("")

    def _keep_height(self, _listed: object, height: float) -> None:
        self.whole_px = max(self.whole_px, height)

    def narrow(self, letters: str) -> None:
        """List what begins with the letters, then what has a word that does, then what holds them."""
        listed, wanted = self.ids.listed, _bare(letters.strip())
        listed.clear_widgets()
        if not wanted:
            for choice in self._usual:
                self._add(*choice)
            if self._usual:
                listed.add_widget(Column(padding=(0, look.gap, 0, 0)))
                listed.add_widget(Rule())
                listed.add_widget(Column(padding=(0, look.gap, 0, 0)))
            usual = {value for _name, value in self._usual}
            found = [choice for choice in self._choices if choice[1] not in usual]
        else:
            found = [choice for choice in self._choices if wanted in _bare(choice[0])]
            found.sort(key=lambda choice: _rank(_bare(choice[0]), wanted))
        for choice in found:
            self._add(*choice)
        if not listed.children:
            listed.add_widget(Text(text=_("Nothing found."), tone="soft"))
        listed.add_widget(Widget())  # what room is left lies below them

    def _add(self, name: str, value: Any) -> None:
        key = ListedKey(text=name, value=value, chosen=value == self._chosen)
        key.bind(on_release=lambda key: self._done(key.value))
        self.ids.listed.add_widget(key)


def ask_one_of_many(
    shell: Shell,
    title: str,
    choices: Iterable[tuple[str, _Choice]],
    done: Callable[[_Choice], None],
    chosen: object = _NONE_YET,
    usual: Iterable[_Choice] = (),
) -> LongChoice:
    """Ask for one of many that are known by name; as `ask_choice`, with the `usual` values on top."""

    def pick(value: _Choice) -> None:
        shell.close_sheet()
        done(value)

    asked = LongChoice(choices, usual, pick, chosen)
    shell.open_sheet(title, asked)
    return asked


def _tell(column: Column, told: str) -> None:
    """Add what is said above answers: its first sentence in a strong line, the rest below it."""
    if told:
        first, *others = SENTENCES.split(told, maxsplit=1)
        column.add_widget(Text(text=first, style="lead", strong=True))
        for sentences in others:
            column.add_widget(Text(text=sentences))
        column.add_widget(Column(padding=(0, look.gap, 0, 0)))


def ask_deed(shell: Shell, title: str, told: str, deeds: Iterable[tuple[str, Callable[[], None]]]) -> None:
    """Ask which of a few deeds is done; `told` is what they rest on, its first sentence in a strong line."""
    column = Column()
    _tell(column, told)
    for words, deed in deeds:
        key = Key(text=words)

        def do(_key: Key, deed: Callable[[], None] = deed) -> None:
            shell.close_sheet()
            deed()

        key.bind(on_release=do)
        column.add_widget(key)
    shell.open_sheet(title, column)


def ask_doubt(
    shell: Shell, doubt: Doubt | None, save: Callable[[], None], change: Callable[[], None] | None = None
) -> None:
    """Save an entry, after asking whether it is right where there is a doubt; `change` opens what is in doubt, else No only goes back."""
    if doubt is None:
        save()
        return
    ask_deed(
        shell,
        _("Is it right?"),
        doubt.question,
        ((doubt.save, save), (doubt.change, change or (lambda: None))),
    )


def ask_doubt_of_answer(
    shell: Shell, doubt: Doubt | None, save: Callable[[], None], change: Callable[[], None] | None = None
) -> None:
    """Do the same with an answer that was just given in a sheet, which closes first: else it would close the question."""
    if doubt is None:
        save()
    else:
        Clock.schedule_once(lambda _dt: ask_doubt(shell, doubt, save, change))


load_kv(__file__)
