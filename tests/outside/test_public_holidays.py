"""Public holidays come from the `holidays` library; the fixed ones are checked against the laws that set them."""

from datetime import date

from tracker.app.public_holidays import days_off_of


def test_republic_day_is_a_day_off_in_turkey() -> None:
    # Law no. 2429 on national holidays and general holidays, art. 1: 29 October.
    days = {off.first_day for off in days_off_of("TR", date(2026, 3, 1), date(2026, 11, 25))}
    assert date(2026, 10, 29) in days
    assert date(2027, 10, 29) in days
    assert date(2026, 11, 25) not in days


def test_christmas_is_a_day_off_in_germany() -> None:
    # Holiday laws of every German land: 25 and 26 December.
    days = {off.first_day for off in days_off_of("DE", date(2026, 3, 1), date(2026, 11, 25))}
    assert {date(2026, 12, 25), date(2026, 12, 26)} <= days


def test_no_country_has_none() -> None:
    assert days_off_of("", date(2026, 3, 1), date(2026, 11, 25)) == ()
    assert days_off_of("XX", date(2026, 3, 1), date(2026, 11, 25)) == ()


def test_every_country_offered_is_known() -> None:
    from tracker.presenters.settings import COUNTRIES

    unknown = [
        code for code in COUNTRIES if code and not days_off_of(code, date(2026, 1, 1), date(2026, 11, 25))
    ]
    assert unknown == []
