"""How long knotting takes, against published durations."""

from __future__ import annotations

import statistics

import numpy as np
import pytest
from scipy.stats import norm

from tests.unit.domain.rugs import DAY, book_of, cartoon_of, density_of, pile, plan_of
from tracker.domain.material_plan import material_plan
from tracker.domain.seats import even_sections
from tracker.domain.units import DensityUnit, LengthUnit, to_cm
from tracker.domain.work import knots_an_hour, pace_prior
from tracker.forecast.outlook import outlook

LEARNING_AND_UNPICKING = 1.06
"""A plan counts, on top of the plain knots, the first weeks of a new design and what is unpicked; a long rug by no more than
this (our choice, no source)."""


def rug(width_feet, length_feet, across, along, unit=DensityUnit.PER_INCH, **changes):
    """A rug whose size and density are said as its source says them."""
    said = density_of(across, along, unit)
    width, length = (to_cm(feet, LengthUnit.FOOT) for feet in (width_feet, length_feet))
    return plan_of(
        width_cm=width, length_cm=length, knots_per_10cm=said.knots_per_10cm, rows_per_10cm=said.rows_per_10cm, **changes
    )  # fmt: skip


def test_a_seven_by_ten_foot_rug_at_300_knots_a_square_inch():
    # authenticrugsandart.com, "Do you know that": 7 x 10 foot, 300 knots per square inch, a knot every 3 s: 3,024,000
    # knots, 2,520 h.
    plan = material_plan(book_of(rug(7, 10, 15, 20, knots_per_hour=1200.0)))
    assert plan.knots == 3_024_000
    assert 2520 <= plan.weaving_hours <= 2520 * LEARNING_AND_UNPICKING


def test_a_nine_by_twelve_foot_rug_at_5000_knots_a_day():
    # persiancarpetgallery.com, "How long does it take to make a rug?": 9 x 12 foot, 150 knots per square inch, 2,332,800
    # knots at 5,000 a day are 466 days; three weavers take 155 days or 31 weeks of 40 h: eight hours a day, 625 knots an
    # hour, 1,240 h each, 3,720 h in all.
    alone = material_plan(book_of(rug(9, 12, 12, 12.5, knots_per_hour=625.0)))
    assert alone.knots == 2_332_800
    assert 3720 <= alone.weaving_hours <= 3720 * LEARNING_AND_UNPICKING
    # Three side by side hinder each other a little and are not always all there: more than a third of it, and less than
    # two of them would take.
    three = material_plan(book_of(rug(9, 12, 12, 12.5, knots_per_hour=625.0, weavers_planned=3)))
    assert 1240 < three.weaving_hours < 3720 / 2


def test_a_square_foot_a_day_at_a_hundred_knots_a_square_inch():
    # abhivya.com, "Hand-knotted": 100 knots per square inch, one weaver: about 1 square foot a day, 14,400 knots.
    assert material_plan(book_of(rug(1, 1, 120, 120, DensityUnit.LINE))).knots == 14_400


def test_a_rya_of_13776_knots():
    # byrdcallstudio.com, lesson 4: 168 x 82 knots at 150 an hour are 91 h (91.84). Short as it is, learning its design counts
    # for more.
    plan = material_plan(book_of(plan_of(knots_across=168, rows=82, knots_per_hour=150.0)))
    assert plan.knots == 13_776
    assert 91.84 <= plan.weaving_hours <= 91.84 * 1.2


def test_the_dates_spread_as_widely_as_what_is_believed_of_the_rate():
    # Without a word on the rate the range must be wider than with one; 0.40 and 0.23 of the pace, beside the calendar.
    def days_between(rate):
        book = book_of(plan_of(knots_per_hour=rate))
        finish = outlook(book, book.plan.start_day).finish
        return (finish.late - finish.early).days

    assert days_between(None) > 1.15 * days_between(750.0)


PUBLISHED_AN_HOUR = (
    300,  # artisanrugs.com, "Hand Knotted"
    5_250 / 8,  # victorlidchi.co.za: 5,000 to 5,500 a day; here and below eight hours make a day
    5_500 / 8,  # rugsdoneright.blogspot.com: 5,000 to 6,000
    6_000 / 8,  # rugnewsanddesign.com: a day's piecework
    7_000 / 8,  # mueller.art, "Knotting": up to 7,000
    10_000 / 8,  # Wikipedia: almost 10,000
    1_200,  # authenticrugsandart.com: a knot every 3 s
    10_000 / 8,  # mgtcarpet.com: 8,000 to 12,000
)


def test_what_is_believed_of_the_rate_lies_within_what_is_published():
    plan = plan_of(knots_per_hour=None)
    low, high = knots_an_hour(plan) * np.exp(norm.ppf([0.1, 0.9]) * pace_prior(plan, 400).level_sd)
    # Eight times in ten between the slowest and the fastest, to a hundredth; and no surer than half of those published.
    assert min(PUBLISHED_AN_HOUR) < low < high < 1.01 * max(PUBLISHED_AN_HOUR)
    first, _middle, third = statistics.quantiles(PUBLISHED_AN_HOUR, n=4, method="inclusive")
    assert high / low > third / first


def test_the_pace_assumed_of_a_plain_rug_is_a_middling_one_of_those_published():
    # Nothing is said of the pace: the middle half of what is published holds the knots an hour of a long plain rug.
    plan = material_plan(book_of(rug(9, 12, 12, 12.5), yarns=(pile(),)))
    low, _middle, high = statistics.quantiles(PUBLISHED_AN_HOUR, n=4, method="inclusive")
    assert low <= plan.knots / plan.weaving_hours <= high


def test_the_first_foreseen_hours_are_the_plan_s():
    book = book_of(rug(2, 3, 80, 80, DensityUnit.LINE))
    foreseen = outlook(book, DAY).finish
    assert foreseen is not None
    assert foreseen.hours_left == pytest.approx(material_plan(book).weaving_hours)


def test_changing_the_yarn_takes_time():
    # Common practice, no source: taking up another yarn costs from a third of a knot's time to two and a half knots'. Where
    # every knot is another colour a rug takes longer by that, on the average of the belief by 0.96 knots.
    cells = np.indices((60, 40)).sum(axis=0) % 2
    yarns = tuple(pile(k + 1, cartoon_values=(k,)) for k in (0, 1))
    plan = plan_of(knots_across=40, rows=60)
    plain = material_plan(book_of(plan, yarns=yarns, cartoon=cartoon_of(np.zeros_like(cells), 2)))
    mixed = material_plan(book_of(plan, yarns=yarns, cartoon=cartoon_of(cells)))
    assert mixed.colour_changes == 39 * 60
    assert 1.3 < mixed.weaving_hours / plain.weaving_hours < 3.4


def test_three_or_four_weavers_side_by_side_have_room_on_a_large_rug():
    # Common practice, no source: three or four weavers side by side on a large rug (here 4 m wide). The plan shares
    # the width among them, so each has between 1 and 1.4 m.
    knots_across = 1600  # 4 m at 40 per 10 cm
    for weavers in (3, 4):
        widths_cm = [section.knots / 40 * 10 for section in even_sections(weavers, knots_across)]
        assert sum(widths_cm) == pytest.approx(400)
        assert all(100 <= width <= 140 for width in widths_cm)
