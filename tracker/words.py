"""The language of the sentences: gettext catalogues, and numbers, dates and units as the locale writes them.

Any layer may import this module; it needs nothing of the app. Wrap every sentence a weaver can read in
`_` (or `n_` for plural forms) with named fields filled by `.format` afterwards.
"""

from __future__ import annotations

import gettext
import importlib
import math
import os
import re
from collections.abc import Iterable, Sequence
from contextlib import AbstractContextManager, nullcontext
from datetime import date, datetime
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal, localcontext
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, Literal

Width = Literal["wide", "abbreviated", "narrow"]
CATALOGUES = Path(__file__).parent / "catalogues"

_translation: gettext.NullTranslations = gettext.NullTranslations()
_language = "en"
_currency = ""


def use_language(language: str) -> None:
    """Speak `language` (a code such as "en") from now on; an unknown one falls back to English."""
    global _translation, _language
    if language != "en" and not _is_known(language):
        language = "en"
    _translation = gettext.translation("loomside", CATALOGUES, languages=[language], fallback=True)
    _language = language


def use_currency(code: str) -> None:
    """Say amounts of money in this currency of ISO 4217 from now on, wherever none is handed in; "": in no named one."""
    global _currency
    _currency = code


@cache
def _dates() -> Any:
    """Return babel.dates, which reads the time zone that the phone names as it is imported, and falls over one there is not."""
    try:
        return importlib.import_module("babel.dates")
    except (ValueError, OSError):
        named = os.environ.pop("TZ", None)
        try:
            return importlib.import_module("babel.dates")
        finally:
            if named is not None:
                os.environ["TZ"] = named


def _is_known(language: str) -> bool:
    """Tell whether numbers and days can be written in a language, with a catalogue or without one."""
    from babel import Locale, UnknownLocaleError

    try:
        Locale.parse(language)
    except (UnknownLocaleError, ValueError, TypeError):
        return False
    return True


def language() -> str:
    """Return the code of the language in use."""
    return _language


def _(message: str) -> str:
    """Return `message` in the language in use."""
    return _translation.gettext(message)


def said_in(language: str, message: str) -> str:
    """Return `message` in a language that need not be the one in use."""
    return gettext.translation("loomside", CATALOGUES, languages=[language], fallback=True).gettext(message)


def mark(message: str) -> str:
    """Mark a message that is translated later, where it is shown; return it as it is."""
    return message


def n_(one: str, many: str, count: int) -> str:
    """Return the form of the message that goes with `count`."""
    return _translation.ngettext(one, many, count)


def _locale() -> str:
    return "en_GB" if _language == "en" else _language


def number(value: float, decimals: int = 0) -> str:
    """Return `value` as the locale writes it, rounded to `decimals` and without trailing zeros; nothing is never "-0"."""
    return _number(value, decimals, _locale())


WRITTEN_KEPT = 1024
"""Numbers, and days, whose words are kept: a chart of a year says some hundreds, the same each time it is shown. Every evening
says new ones, which no page asks for again."""


@lru_cache(maxsize=WRITTEN_KEPT, typed=True)
def _number(value: float, decimals: int, locale: str) -> str:
    from babel.numbers import format_decimal

    pattern = "#,##0" + ("." + "#" * decimals if decimals else "")
    with _digits_for(value):
        written = format_decimal(value, pattern, locale=locale)
        nothing = not any(sign.isdecimal() and int(sign) for sign in written) and value == value
        return format_decimal(0, pattern, locale=locale) if nothing else written


MOST_DIGITS = 330
"""Digits of the largest number that can be computed with, and of its decimals."""


def _digits_for(value: Decimal | float) -> AbstractContextManager[Any]:
    """Return a context in which Babel can round a number however large; it is left as it is where 28 digits will do."""
    return localcontext(prec=MOST_DIGITS) if abs(float(value)) >= 1e20 else nullcontext()


def decimal_sign() -> str:
    """Return the sign between whole and tenths, "." or ","."""
    from babel.numbers import get_decimal_symbol

    return get_decimal_symbol(_locale())


def percent(share: float) -> str:
    """Return a share of 1 as whole percent; never "100 %" or "0 %" for something between, nor "1 %" for a thousandth."""
    whole = round(share * 100)
    if 0 < share < 1:
        if whole < 1:
            return _("under {number} %").format(number=number(1))
        whole = min(99, whole)
    return _("{number} %").format(number=number(whole))


MONEY_DECIMALS = 2
"""Decimals of an amount in no named currency."""


def is_currency(code: str) -> bool:
    """Return whether `code` is a currency of ISO 4217, such as "TRY"."""
    from babel.numbers import is_currency

    return is_currency(code)


def currency_decimals(code: str) -> int:
    """Return the usual decimals of a currency (CLDR: two for most, none for the yen); "": of money in no named one."""
    from babel.numbers import get_currency_precision

    return get_currency_precision(code) if code else MONEY_DECIMALS


def currency_name(code: str) -> str:
    """Return a currency by name, such as "Turkish Lira"."""
    from babel.numbers import get_currency_name

    return get_currency_name(code, locale=_locale())


def money(amount: Decimal | float, currency: str | None = None) -> str:
    """Return an amount of money as the locale writes it, with the currency's own decimals: "TRY 1,250.50", "1,250.50".

    Without `currency` it is the book's (`use_currency`), so that no amount that is read alone lacks it.
    """
    from babel.numbers import format_currency, format_decimal

    currency = _currency if currency is None else currency
    with _digits_for(amount):
        if not currency:
            return format_decimal(amount, "#,##0." + "0" * MONEY_DECIMALS, locale=_locale())
        return format_currency(amount, currency, "¤¤ #,##0.00", locale=_locale())


def money_as_typed(amount: float, decimals: int, currency: str | None = None) -> str:
    """Return an amount as it was typed in, without decimals that nobody gave: "EUR 11", "TRY 2.375"."""
    code = _currency if currency is None else currency
    return f"{code} {number(amount, decimals)}".strip()


MONEY_DIGITS = 3
"""Digits of an amount that is foretold: it is known to some percent, and cents are said of what was paid only."""


def foretold_amount(amount: Decimal, up: bool = False) -> Decimal:
    """Return a foretold amount of money in three digits, whole from ten on; `up`: never less than it is."""
    if abs(amount) < 10:
        return amount
    step = foretold_step(amount)
    return (amount / step).quantize(Decimal(1), ROUND_CEILING if up else ROUND_HALF_UP) * step


def foretold_step(amount: Decimal) -> Decimal:
    """Return the step in which an amount is foretold: cents below ten, else that of its third digit, whole at least."""
    if abs(amount) < 10:
        return Decimal(1).scaleb(-MONEY_DECIMALS)
    return Decimal(1).scaleb(max(amount.adjusted() - MONEY_DIGITS + 1, 0))


def foretold_money(amount: Decimal, currency: str | None = None, up: bool = False) -> str:
    """Say a foretold amount: "EUR 1,290", "EUR 52", "EUR 4.35"."""
    code = _currency if currency is None else currency
    foretold = foretold_amount(amount, up)
    return money(foretold, code) if abs(amount) < 10 else money_as_typed(float(foretold), 0, code)


EXACT_TO = 6
"""Decimals of a gram beyond which a sum is not exact: its last bits must not turn a half, or two sums of one mass are said apart."""


def mass(mass_g: float) -> str:
    """Return grams as a weaver says them: "340 g", "1.25 kg"."""
    mass_g = round(mass_g, EXACT_TO)
    if abs(mass_g) < 999.5:
        return _("{number} g").format(number=number(mass_g))
    return _("{number} kg").format(number=number(mass_g / 1000, 2))


def mass_as_weighed(mass_g: float) -> str:
    """Return what a scale said, its tenths of a gram too where it showed some: "13.4 g"; what was reckoned of damp yarn as `mass` does."""
    if abs(mass_g) < 999.5 and round(mass_g, 1) == mass_g:
        return _("{number} g").format(number=number(mass_g, 1))
    return mass(mass_g)


def small_mass(mass_g: float) -> str:
    """Return a mass, to the tenth where it is less than ten grams."""
    return _("{number} g").format(number=number(mass_g, 1)) if mass_g < SMALL_G else mass(mass_g)


SMALL_G = 10.0
"""Grams below which `small_mass` says tenths."""


def shown_small_g(mass_g: float) -> float:
    """Return the grams that `small_mass` says of a mass."""
    return as_said(mass_g, 1) if mass_g < SMALL_G else shown_g(mass_g)


def shown_g(mass_g: float) -> float:
    """Return the grams that `mass` says of a mass: whole ones, from a kilogram on whole tens."""
    mass_g = round(mass_g, EXACT_TO)
    with _digits_for(mass_g):
        grain = Decimal(1) if abs(mass_g) < 999.5 else Decimal(10)
        # As Babel rounds: from the figure as it is written, halves to the even one.
        return float((Decimal(str(mass_g)) / grain).quantize(Decimal(1)) * grain)


def shown_difference_g(mass_g: float, less_g: float) -> float:
    """Return by how much one mass is more than another as both are said, so that who takes one from the other gets it.

    Where both are said alike it is the true difference.
    """
    return (shown_g(mass_g) - shown_g(less_g)) or mass_g - less_g


def mass_each(whole_g: float, count: int) -> str:
    """Return what each of some equal parts weighs, so fine that they make what `mass` says of the whole."""
    if count <= 1:
        return mass(whole_g)
    told_g, each_g = shown_g(whole_g), whole_g / count
    half_g = 0.5 if abs(told_g) < 999.5 else 5.0
    if each_g >= 999.5:
        each_kg, decimals = rate_that_makes(each_g / 1000, count, told_g / 1000, half_g / 1000, fewest=2)
        return _("{number} kg").format(number=number(each_kg, decimals))
    said_g, decimals = rate_that_makes(each_g, count, told_g, half_g)
    return _("{number} g").format(number=number(said_g, decimals))


def shown_sum_g(parts_g: Iterable[float]) -> float:
    """Return the sum of masses as they are said, one by one."""
    return math.fsum(shown_g(part_g) for part_g in parts_g)


def shown_parts_g(parts_g: Sequence[float]) -> tuple[float, ...]:
    """Return the parts of a whole so that, said one by one, they make what is said of the whole.

    What rounding left over goes to the largest, of which it is the least.
    """
    shown = [shown_g(part_g) for part_g in parts_g]
    whole_g = shown_g(math.fsum(parts_g))
    over_g = whole_g - math.fsum(shown)
    if shown and abs(over_g) > (0.5 if whole_g < 999.5 else 5.0):
        shown[shown.index(max(shown))] += over_g
    return tuple(shown)


def hours(value: float) -> str:
    """Return hours with their unit, those below one in minutes: "2.5 h", "50 min"; those of a day to the quarter, as they are given."""
    if 0 < round(value * 60) < 60:
        return hours_and_minutes(value)
    return _("{number} h").format(number=number(value, hours_decimals(value)))


def hours_decimals(value: float) -> int:
    """Return the decimals that `hours` says of hours that are no minutes."""
    return 2 if value <= 24 else 0


WHOLE_HOURS_FROM = 20.0
"""Hours of work from which on tenths are not said: nobody knows them so well."""


def work_words(hours_: float) -> str:
    """Return a stretch of work as it is foreseen: minutes below an hour, then tenths of an hour, from twenty hours on whole ones."""
    if round(hours_ * 60) < 60:
        return _("{number} min").format(number=number(max(1 if hours_ > 0 else 0, round(hours_ * 60))))
    return _("{number} h").format(number=number(hours_, 1 if hours_ < WHOLE_HOURS_FROM else 0))


def shown_work_h(hours_: float) -> float:
    """Return the hours that `work_words` says of a stretch of work."""
    if round(hours_ * 60) < 60:
        return max(1 if hours_ > 0 else 0, round(hours_ * 60)) / 60
    return as_said(hours_, 1 if hours_ < WHOLE_HOURS_FROM else 0)


def shown_rest_h(whole_h: float, part_h: float) -> float:
    """Return what is left of a stretch of work beside a part of it, so that both parts make the whole as each is said."""
    return (shown_work_h(whole_h) - shown_work_h(part_h)) or whole_h - part_h


def half_work_h(hours_: float) -> float:
    """Return half of the last digit that `work_words` says, in hours."""
    if round(hours_ * 60) < 60:
        return 0.5 / 60
    return 0.05 if hours_ < WHOLE_HOURS_FROM else 0.5


def as_said(value: float, decimals: int) -> float:
    """Return the number that `number` says of a value: from the figure as it is written, halves to the even one."""
    return float(Decimal(str(value)).quantize(Decimal(1).scaleb(-decimals)))


MOST_RATE_DECIMALS = 4
"""Of a rate that is told: a thousand rows of some minutes want two."""


def rate_that_makes(
    rate: float, count: float, total: float, half: float, fewest: int = 0
) -> tuple[float, int]:
    """Return a rate as it is said, and its decimals, so that whoever multiplies comes to the total that stands beside it.

    Parameters
    ----------
    rate
        As it is reckoned.
    count, total
        As both are said, in the rate's own unit.
    half
        Half of the last digit of the total: what rounding may leave.
    fewest
        Decimals that are said where they do.

    Notes
    -----
    The rate is given as many decimals as it takes. Where its own rounding misses the total by a hair, the total by the count is
    said; one that would move the rate by more than its last digit only where no finer rate comes to the total: the count itself
    is rounded, then.
    """

    def comes_to_total(said: float) -> bool:
        return said > 0 and abs(said * count - total) <= half * (1 - 1e-9)

    finenesses = range(fewest, MOST_RATE_DECIMALS + 1)
    by_total = [as_said(total / count, decimals) for decimals in finenesses]
    for decimals, other in zip(finenesses, by_total, strict=True):
        if comes_to_total(said := as_said(rate, decimals)):
            return said, decimals
        if abs(other - rate) <= 10.0**-decimals and comes_to_total(other):
            return other, decimals
    coarsest = next(
        (place for place, other in enumerate(by_total) if comes_to_total(other)), len(by_total) - 1
    )
    return by_total[coarsest], finenesses[coarsest]


def divisor_that_makes(rate: float, whole: float, total: float, half: float) -> tuple[float, int]:
    """Return a rate as it is said, and its decimals, so that whoever divides a whole by it comes to the total that is told.

    Parameters
    ----------
    rate
        As it is reckoned, such as knots an hour.
    whole, total
        As both are said, such as knots and hours.
    half
        Half of the last digit of the total: what rounding may leave.
    """
    for decimals in range(MOST_RATE_DECIMALS + 1):
        nearest, step = as_said(rate, decimals), 10.0**-decimals
        # Its neighbour where its own rounding misses the total by a hair.
        for said in (nearest, as_said(nearest - step, decimals), as_said(nearest + step, decimals)):
            if said > 0 and abs(whole / said - total) <= half * (1 - 1e-9):
                return said, decimals
    return as_said(rate, 0), 0


def parts_that_add_up(parts: Sequence[float], grain: float = 1.0) -> tuple[float, ...]:
    """Return parts in whole steps of `grain` that make their whole in such steps.

    What rounding down left over goes to those that lost the most by it, so that each is less than a step off.
    """
    steps = [math.floor(part / grain + 1e-9) for part in parts]
    over = round(math.fsum(parts) / grain) - sum(steps)
    order = sorted(range(len(parts)), key=lambda place: steps[place] - parts[place] / grain)
    for place in order[: max(over, 0)]:
        steps[place] += 1
    return tuple(step * grain for step in steps)


def hours_and_minutes(value: float) -> str:
    """Return hours as a clock's, to the minute: "34 min", "1 h 5 min"."""
    minutes = round(value * 60)
    if minutes < 60:
        return _("{number} min").format(number=number(minutes))
    whole, rest = divmod(minutes, 60)
    if not rest:
        return _("{number} h").format(number=number(whole))
    return _("{hours} h {minutes} min").format(hours=number(whole), minutes=number(rest))


CM_PER_INCH = 2.54
"""Exact, international inch of 1959."""


MM_PER_INCH = 10.0 * CM_PER_INCH


def length(length_cm: float, unit: str = "cm", decimals: int = 1) -> str:
    """Return a length in the weaver's unit, "cm" or "inch"."""
    if unit == "inch":
        return _("{number} in").format(number=number(length_cm / CM_PER_INCH, decimals))
    return _("{number} cm").format(number=number(length_cm, decimals))


def small_length(length_mm: float, unit: str = "cm", decimals: int = 1) -> str:
    """Return what is measured in millimetres; in inches, to one decimal more, where lengths are said in "inch"."""
    if unit == "inch":
        return _("{number} in").format(number=number(length_mm / MM_PER_INCH, decimals + 1))
    return _("{number} mm").format(number=number(length_mm, decimals))


def long_length(length_m: float, unit: str = "cm", decimals: int = 0) -> str:
    """Return the length of a yarn in metres, or in yards where lengths are said in "inch"."""
    if unit == "inch":
        return _("{number} yd").format(number=number(length_m * 100.0 / (36.0 * CM_PER_INCH), decimals))
    return _("{number} m").format(number=number(length_m, decimals))


def shown_length(length_cm: float, unit: str = "cm") -> float:
    """Return the number that `length` says of a length, in its unit: to the tenth."""
    per = CM_PER_INCH if unit == "inch" else 1.0
    # As Babel rounds: from the figure as it is written, halves to the even one.
    return float(Decimal(str(length_cm / per)).quantize(Decimal("0.1")))


def half_length(length_cm: float, unit: str = "cm") -> str:
    """Return half a length in the weaver's unit, "cm" or "inch": exactly half of what `length` says, so that both halves make it."""
    per = CM_PER_INCH if unit == "inch" else 1.0
    return length(shown_length(length_cm, unit) * per / 2.0, unit, 2)


def size(width_cm: float, length_cm: float, unit: str = "cm") -> str:
    """Return a width and a length in the weaver's unit, "cm" or "inch": "100.4 × 142.1 cm"."""
    said = _("{width} × {length} in") if unit == "inch" else _("{width} × {length} cm")
    per = CM_PER_INCH if unit == "inch" else 1.0
    return said.format(width=number(width_cm / per, 1), length=number(length_cm / per, 1))


def day(value: date, today: date | None = None) -> str:
    """Return a day as "12 January", with the year when it is not the year of `today`."""
    return _day(value, today is None or value.year != today.year, _locale())


@lru_cache(maxsize=WRITTEN_KEPT)
def _day(value: date, with_year: bool, locale: str) -> str:
    dates = _dates()

    if locale.startswith("en"):
        return dates.format_date(value, "d MMMM y" if with_year else "d MMMM", locale=locale)
    # Not the skeleton yMMMMd: where a locale lacks it, babel falls back to the month's short name.
    return (
        dates.format_date(value, "long", locale=locale)
        if with_year
        else dates.format_skeleton("MMMMd", value, locale=locale)
    )


def day_short(value: date, today: date | None = None) -> str:
    """Return a day as "12 Jan", with the year when it is not the year of `today`."""
    return _day_short(value, today is None or value.year != today.year, _locale())


@lru_cache(maxsize=WRITTEN_KEPT)
def _day_short(value: date, with_year: bool, locale: str) -> str:
    dates = _dates()

    if locale.startswith("en"):
        return dates.format_date(value, "d MMM y" if with_year else "d MMM", locale=locale)
    return dates.format_skeleton("yMMMd" if with_year else "MMMd", value, locale=locale)


def first_and_last(
    first: date, last: date, today: date | None = None, *, wide: bool = False
) -> tuple[str, str]:
    """Return the two ends of a range of days, each with its year where a reader could take it for another.

    Two days of this year need none; of another one the last says it for both. Over the turn of a year each says its own, but
    for one of this year that can be of no other: "24 Dec to 28 Jan 2027". Every range goes by this rule.

    Parameters
    ----------
    today
        None: what is said outlasts this year, as on paper.
    wide
        With the month's whole name.
    """
    say = day if wide else day_short
    this_year = today is not None and first.year == today.year
    over_one_turn = last.year - first.year == 1 and (first.month, first.day) > (last.month, last.day)
    plain_first = first.year == last.year or (this_year and over_one_turn)
    plain_last = this_year and first.year == last.year
    return say(first, first if plain_first else None), say(last, last if plain_last else None)


def days_from_to(first: date, last: date, today: date | None = None, *, wide: bool = False) -> str:
    """Say a range of days: "24 Dec to 30 Dec", "24 Dec to 28 Jan 2027"; one day alone."""
    if first == last:
        return (day if wide else day_short)(last, today)
    early, late = first_and_last(first, last, today, wide=wide)
    return _("{early} to {late}").format(early=early, late=late)


def weekday(value: date, width: Width = "wide") -> str:
    """Return the name of the day's weekday; `width` is "wide", "abbreviated" or "narrow"."""
    return weekday_name(value.weekday(), width)


def weekday_name(index: int, width: Width = "wide") -> str:
    """Return the name of weekday `index`, 0 = Monday."""
    dates = _dates()

    return str(dates.get_day_names(width, context="stand-alone", locale=_locale())[index])


def month(value: date) -> str:
    """Return "January 2027"."""
    dates = _dates()

    return dates.format_date(value, "LLLL y", locale=_locale())


def month_short(value: date) -> str:
    """Return "Jan"."""
    dates = _dates()

    return dates.format_date(value, "LLL", locale=_locale())


def month_and_year(value: date) -> str:
    """Return "Jan 2027"."""
    dates = _dates()

    return dates.format_skeleton("yMMM", value, locale=_locale())


def clock(moment: datetime) -> str:
    """Return the time of day, "18:40"."""
    dates = _dates()

    return dates.format_time(moment.time(), "short", locale=_locale())


def one_after_another(parts: Sequence[str]) -> str:
    """Return "a, b and c" as the locale joins a list; "a, dark; b; c" where a part holds what would part it from the next."""
    from babel.lists import format_list

    if not parts:
        return ""
    # "0,5" is one number in many languages: a comma before a digit parts nothing.
    if len(parts) > 1 and any(_LISTS.search(part) or _and() in part for part in parts):
        return "; ".join(parts)
    return format_list(list(parts), style="standard", locale=_locale())


_LISTS = re.compile(r"[,،](?!\d)")
"""A comma within a name, as weavers write "Red, dark"."""


def _and() -> str:
    """Return what the locale puts between the two parts of a list: " and "."""
    from babel.lists import format_list

    return format_list(["\0", "\0"], style="standard", locale=_locale()).strip("\0")


def plainly(name: str) -> str:
    """Return a name as it is compared and searched for: in capitals or small, with a dot or without."""
    return name.casefold().replace("ı", "i").replace("i\u0307", "i")
