"""How long knotting takes, against published durations."""

from __future__ import annotations

import itertools

import pytest

from tracker.domain import defaults, work
from tracker.domain.cartoon import section_starts
from tracker.domain.rug import PreparationKind
from tracker.domain.units import LengthUnit, parse_density, to_cm
from tracker.domain.winding import own_time


def test_a_seven_by_ten_foot_rug_at_300_knots_a_square_inch():
    # authenticrugsandart.com, "Do you know that": 7 x 10 foot, 300 knots per square inch, a knot every 3 s: 3,024,000
    # knots, 2,520 h, 315 days of 8 h.
    density = parse_density("15/20 per inch")
    knots = work.knots_in(
        to_cm(7, LengthUnit.FOOT), to_cm(10, LengthUnit.FOOT), density.knots_per_10cm, density.rows_per_10cm
    )
    assert knots == pytest.approx(3_024_000)
    hours = work.weaving_hours(knots, seconds_per_knot=3.0)
    assert hours == pytest.approx(2520)
    assert work.working_days(hours, hours_a_day=8) == pytest.approx(315)


def test_a_trained_weaver_makes_about_a_square_metre_a_month():
    # mueller.art, "Knotting": up to 7,000 knots a day at standard quality, about 1 m2 a month. With 20 to 26 working
    # days that is 140,000 to 182,000 knots/m2; the same page's "standard" is not given in numbers, so the check is
    # that a square metre at the middle of that takes a month of 20 to 26 days.
    assert 20 <= work.days_for(160_000, 7000) <= 26


def test_a_square_foot_a_day_at_a_hundred_knots_a_square_inch():
    # abhivya.com, "Hand-knotted": 100 knots per square inch, one weaver: about 1 square foot a day, 14,400 knots.
    density = parse_density("120 line")
    side = to_cm(1, LengthUnit.FOOT)
    assert work.knots_in(side, side, density.knots_per_10cm, density.rows_per_10cm) == pytest.approx(14_400)


def test_the_default_rate_lies_within_what_is_published():
    # Between 7,000 knots in a day of 8 h (mueller.art, "up to") and a knot every 3 s (authenticrugsandart.com); a
    # starting value should not exceed what a trained weaver does.
    assert 0.5 * 7000 / 8 <= defaults.KNOTS_PER_HOUR <= 7000 / 8 < 3600 / 3


def test_winding_a_ball_takes_twenty_minutes_and_a_shuttle_thirty():
    # Common practice, no source.
    assert own_time((), PreparationKind.BALLS, defaults.HOURS_PER_BALL).hours_each * 60 == pytest.approx(20)
    assert own_time(
        (), PreparationKind.SHUTTLES, defaults.HOURS_PER_SHUTTLE
    ).hours_each * 60 == pytest.approx(30)


def test_three_or_four_weavers_side_by_side_have_room_on_a_large_rug():
    # Common practice, no source: three or four weavers side by side on a large rug (here 4 m wide). The plan shares
    # the width among them, so each has between 1 and 1.4 m.
    knots_across = 1600  # 4 m at 40 per 10 cm
    for weavers in (3, 4):
        starts = section_starts(knots_across, weavers)
        widths_cm = [(right - left) / 40 * 10 for left, right in itertools.pairwise(starts)]
        assert sum(widths_cm) == pytest.approx(400)
        assert all(100 <= width <= 140 for width in widths_cm)
