"""Numbers, days and units as people write them."""

from datetime import date
from decimal import Decimal

import pytest

from tracker import words


@pytest.mark.parametrize(
    ("mass_g", "said"), [(0, "0 g"), (340, "340 g"), (999.4, "999 g"), (1250, "1.25 kg"), (12000, "12 kg")]
)
def test_masses(mass_g: float, said: str) -> None:
    assert words.mass(mass_g) == said


def test_a_share_is_never_called_all_or_nothing_before_it_is() -> None:
    assert words.percent(0.999) == "99 %"
    assert words.percent(0.001) == "under 1 %"
    assert words.percent(1.0) == "100 %"
    assert words.percent(0.0) == "0 %"


def test_days_carry_the_year_unless_it_is_this_one() -> None:
    assert words.day(date(2027, 1, 12), date(2026, 11, 25)) == "12 January 2027"
    assert words.day(date(2026, 12, 1), date(2026, 11, 25)) == "1 December"


def test_another_language_writes_numbers_and_days_its_own_way() -> None:
    words.use_language("tr")
    try:
        assert words.number(1234.5, 1) == "1.234,5"
        assert words.weekday_name(0) == "Pazartesi"
        assert words.month(date(2026, 11, 1)) == "Kasım 2026"
    finally:
        words.use_language("en")


def test_inches_are_of_25_4_millimetres() -> None:
    # ISO 31-1 / the 1959 international yard and pound agreement: 1 in = 25.4 mm exactly.
    assert words.length(25.4, "inch") == "10 in"
    assert words.length(25.4) == "25.4 cm"


@pytest.mark.parametrize(
    ("value", "said"), [(0.57, "34 min"), (0.004, "0 min"), (1.0, "1 h"), (1.5, "1 h 30 min"), (0.995, "1 h")]
)
def test_hours_are_said_to_the_minute_as_a_clock_does(value: float, said: str) -> None:
    assert words.hours_and_minutes(value) == said


@pytest.mark.parametrize("value", [1.0789052869985108e27, 1e300, -1e28, 2.5])
def test_a_number_however_large_is_written_whole(value: float) -> None:
    written = words.number(value, 1)
    assert float(written.replace(",", "")) == pytest.approx(value)
    assert "e" not in written.lower()
    paid = words.money(Decimal(value), "EUR").replace("EUR", "").replace(",", "")
    assert float("".join(paid.split())) == pytest.approx(value)


@pytest.mark.parametrize(("value", "decimals"), [(-0.3, 0), (-0.0, 0), (-0.04, 1), (-1e-9, 2)])
def test_nothing_is_never_written_below_nothing(value: float, decimals: int) -> None:
    assert words.number(value, decimals) == "0"
    assert words.number(-1.0, decimals) == "-1"


def test_what_was_written_before_is_written_anew_in_another_language() -> None:
    that_day = date(2026, 11, 26)
    said = (words.number(1234), words.day(that_day), words.day_short(that_day))
    words.use_language("tr")
    try:
        assert (words.number(1234), words.day(that_day), words.day_short(that_day)) == (
            "1.234", "26 Kasım 2026", "26 Kas 2026",
        )  # fmt: skip
    finally:
        words.use_language("en")
    assert (words.number(1234), words.day(that_day), words.day_short(that_day)) == said
    assert words.day(that_day, that_day) == "26 November", "the year is said where it is another one"


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        (["Madder", "Indigo", "Weld"], "Madder, Indigo and Weld"),
        (["Red, dark", "Indigo"], "Red, dark; Indigo"),
        (["Black and white", "Weld"], "Black and white; Weld"),
        (["Red, dark"], "Red, dark"),
        (["0,5", "1,5"], "0,5 and 1,5"),
        ([], ""),
    ],
)
def test_a_list_is_parted_by_what_none_of_its_parts_holds(parts: list[str], said: str) -> None:
    assert words.one_after_another(parts) == said
