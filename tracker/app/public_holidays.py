"""Public holidays of the chosen country as days off, from a maintained library; imported only when asked for."""

from __future__ import annotations

from datetime import date
from functools import lru_cache

from tracker.domain.rug import DaysOff

YEARS_AHEAD = 4
"""Holidays further ahead change no forecast that anybody would bet on."""


@lru_cache(maxsize=8)
def public_holidays(country: str, first_year: int, last_year: int) -> tuple[DaysOff, ...]:
    """Return a country's public holidays of some years as days off, in order.

    Parameters
    ----------
    country
        ISO 3166-1 code such as "TR"; one the library does not know has no holidays.
    first_year, last_year
        Both included.

    Notes
    -----
    Feasts of the Islamic and other lunar calendars are the library's estimates until they are announced.
    """
    import holidays

    try:
        calendar = holidays.country_holidays(country, years=range(first_year, last_year + 1))
    except NotImplementedError:
        return ()
    return tuple(
        DaysOff(
            id=f"holiday {country} {day.isoformat()}", rug_id=None, first_day=day, last_day=day, reason=name
        )
        for day, name in sorted(calendar.items())
    )


def days_off_of(country: str, start: date, today: date) -> tuple[DaysOff, ...]:
    """Return the public holidays from a rug's start to as far ahead as matters; none without a country."""
    if not country:
        return ()
    return public_holidays(country, min(start.year, today.year), today.year + YEARS_AHEAD)
