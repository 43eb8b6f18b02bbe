"""The choices a weaver has, where each is kept, and what stands for it on the settings page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tracker.domain.defaults import BREAK_MINUTES, LEAD_DAYS
from tracker.presenters.of_rug import of_rug, put_of_rug
from tracker.words import _, n_, number, weekday_name

DARK_COLOURS = "dark"
LANGUAGE = "language"
TEXT_SCALE = "text scale"
BREAK_EVERY = "break minutes"
MIRRORED = "mirrored"
"""The draft that keeps from which side rugs are woven that have no choice of their own."""
MIRRORED_RUGS = "mirrored rugs"
"""The draft that keeps of each rug from which side it is woven: one is worked from the back, the next from the front.

What each of these drafts must be says `READERS` in `tracker.app.drafts`."""

LANGUAGES: dict[str, str] = {"en": "English", "tr": "Türkçe"}
"""Languages with a complete catalogue, each by its own name."""
TEXT_SCALES = (1.0, 1.25, 1.5, 1.75, 2.0)
BREAKS_OFFERED = (0, 20, 30, 45, 60, 90)
"""Minutes from break to break that can be chosen; 0 is never."""
COUNTRIES = (
    "", "AF", "AL", "AM", "AT", "AU", "AZ", "BE", "BR", "CA", "CH", "CN", "DE", "DK", "DZ", "EG", "ES", "FI", "FR",
    "GB", "GE", "GR", "IE", "IN", "IR", "IT", "JO", "JP", "KG", "KZ", "LB", "MA", "MN", "MX", "NL", "NO", "NP", "NZ",
    "PE", "PK", "PL", "PT", "RO", "RS", "SE", "TM", "TN", "TR", "US", "UZ", "ZA",
)  # fmt: skip
"""Countries whose public holidays may be taken as days off; "" takes none."""


@dataclass(frozen=True, slots=True)
class SettingsState:
    """What the settings page shows."""

    text_scale: float
    dark: bool
    language: str
    unit: str
    country: str
    lead_days: int
    break_minutes: int
    mirrored: bool
    first_weekday: int = 0
    """The day a week begins with on every calendar, 0 = Monday."""

    @property
    def text_words(self) -> str:
        """The text size in percent."""
        return _("{number} %").format(number=number(self.text_scale * 100))

    @property
    def language_words(self) -> str:
        """The language of the words, by its own name."""
        return LANGUAGES.get(self.language, LANGUAGES["en"])

    @property
    def break_words(self) -> str:
        """How often a break is suggested."""
        return break_words(self.break_minutes)

    @property
    def country_words(self) -> str:
        """Whose public holidays count."""
        return country_name(self.country)

    @property
    def week_words(self) -> str:
        """The day a week begins with."""
        return weekday_name(self.first_weekday)

    @property
    def lead_words(self) -> str:
        """How long a dyer takes."""
        return n_("{days} day", "{days} days", self.lead_days).format(days=number(self.lead_days))


def break_words(minutes: int) -> str:
    """Return how often a break is suggested; 0 is never."""
    if not minutes:
        return _("never")
    return n_("every minute", "every {minutes} minutes", minutes).format(minutes=minutes)


def country_name(code: str) -> str:
    """Return a country's name as the language in use has it."""
    if not code:
        return _("no public holidays")
    from babel import Locale

    from tracker.words import language

    return Locale.parse(language()).territories.get(code, code)


def usual_countries(chosen: str) -> tuple[str, ...]:
    """Return those that are likely wanted: none, the one that holds now, and where most speak the language in use (CLDR)."""
    from babel.core import get_global

    from tracker.words import language

    likely = str(get_global("likely_subtags").get(language(), "")).rpartition("_")[2]
    # English is spoken in too many.
    home = likely if language() != "en" and likely in COUNTRIES else ""
    return tuple(dict.fromkeys(("", chosen, home)))


def first_weekday(book_settings: dict[str, Any]) -> int:
    """Return the day a week begins with, 0 = Monday."""
    day = book_settings.get("first_weekday")
    return day if isinstance(day, int) and 0 <= day <= 6 else 0


def mirrored_of(drafts: Any, rug_id: str) -> bool:
    """Tell whether a rug is woven from the back: as was chosen for it, else as this phone's settings have it."""
    own = of_rug(drafts, MIRRORED_RUGS, rug_id)
    return bool(drafts.get(MIRRORED, False) if own is None else own)


def keep_mirrored(drafts: Any, rug_id: str, mirrored: bool) -> None:
    """Keep from which side one rug is woven; the others stay as they are."""
    put_of_rug(drafts, MIRRORED_RUGS, rug_id, mirrored)


def build_settings_state(drafts: Any, book_settings: dict[str, Any]) -> SettingsState:
    """Return the choices from what this phone keeps (`drafts.get`) and what the book keeps."""
    from tracker.domain.units import (
        length_unit_of,  # read at the first start, where only the languages are wanted
    )

    scale = drafts.get(TEXT_SCALE, 1.0)
    return SettingsState(
        text_scale=float(scale) if isinstance(scale, int | float) and 1 <= scale <= 2 else 1.0,
        dark=bool(drafts.get(DARK_COLOURS, False)),
        language=str(drafts.get(LANGUAGE, "en")),
        unit=length_unit_of(book_settings),
        country=str(book_settings.get("country") or ""),
        lead_days=int(book_settings.get("lead_days") or LEAD_DAYS),
        break_minutes=int(drafts.get(BREAK_EVERY, BREAK_MINUTES)),
        mirrored=bool(drafts.get(MIRRORED, False)),
        first_weekday=first_weekday(book_settings),
    )
