"""The choices on the settings page, and the sheets of shades and of trade words that every page reads."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import holidays
import pytest

from tracker import theme
from tracker.domain.defaults import BREAK_MINUTES
from tracker.domain.rug import KnotKind, SizeMeasure
from tracker.presenters.currency import CURRENCY
from tracker.presenters.entries.damp import MEASURED_DAMP
from tracker.presenters.entries.form import FormKind
from tracker.presenters.guide import GuideStage
from tracker.presenters.home_state import NEXT_ICONS, YarnTone
from tracker.presenters.mending import DOUBTS
from tracker.presenters.places import SEATS
from tracker.presenters.reminders import GIVEN
from tracker.presenters.settings import (
    BREAK_EVERY,
    BREAKS_OFFERED,
    COUNTRIES,
    DARK_COLOURS,
    LANGUAGE,
    LANGUAGES,
    MIRRORED,
    MIRRORED_RUGS,
    TEXT_SCALE,
    TEXT_SCALES,
    build_settings_state,
    country_name,
)
from tracker.presenters.shades import free_shade, parts_of, shades
from tracker.presenters.shopping import (
    LEAST_SETTING,
    SKEIN_SETTING,
    build_sold_state,
    sold_settings,
    sold_words,
)
from tracker.presenters.sync import SUFFIX
from tracker.presenters.timer import TIMERS
from tracker.presenters.trade_words import (
    fibre_words,
    knot_kind_name,
    measure_words,
    offset_chips,
    offset_words,
)
from tracker.words import use_language

ASSETS = Path(theme.__file__).parents[1] / "assets"


def test_what_nobody_chose_is_usual() -> None:
    state = build_settings_state({}, {})
    assert (state.text_scale, state.dark, state.language, state.unit, state.country) == (
        1.0, False, "en", "cm", "",
    )  # fmt: skip
    assert (state.lead_days, state.break_minutes, state.mirrored, state.first_weekday) == (14, 45, False, 0)


def test_what_was_chosen_is_read_where_it_is_kept() -> None:
    drafts = {"text scale": 1.5, "dark": True, "language": "tr", "break minutes": 0, "mirrored": True}
    state = build_settings_state(
        drafts, {"length_unit": "inch", "country": "TR", "lead_days": 21, "first_weekday": 6}
    )
    assert (state.text_scale, state.dark, state.language, state.break_minutes, state.mirrored) == (
        1.5, True, "tr", 0, True,
    )  # fmt: skip
    assert (state.unit, state.country, state.lead_days, state.first_weekday) == ("inch", "TR", 21, 6)


@pytest.mark.parametrize(("scale", "used"), [(1, 1.0), (2, 2.0), (0.9, 1.0), (2.1, 1.0), ("large", 1.0)])
def test_a_text_size_that_no_page_holds_is_the_usual_one(scale: object, used: float) -> None:
    assert build_settings_state({"text scale": scale}, {}).text_scale == used


@pytest.mark.parametrize(("kept", "first"), [(0, 0), (6, 6), (7, 0), (-1, 0), ("Monday", 0), (None, 0)])
def test_a_week_begins_on_a_day_that_there_is(kept: object, first: int) -> None:
    assert build_settings_state({}, {"first_weekday": kept}).first_weekday == first


def test_the_choices_in_words() -> None:
    state = build_settings_state({}, {})
    assert (state.text_words, state.break_words, state.country_words, state.week_words, state.lead_words) == (
        "100 %", "every 45 minutes", "no public holidays", "Monday", "14 days",
    )  # fmt: skip
    other = replace(state, text_scale=1.25, break_minutes=0, country="TR", first_weekday=6, lead_days=1)
    assert (other.text_words, other.break_words, other.country_words, other.week_words, other.lead_words) == (
        "125 %", "never", "Türkiye", "Sunday", "1 day",
    )  # fmt: skip
    assert [replace(state, language=code).language_words for code in LANGUAGES] == list(LANGUAGES.values())
    assert replace(state, break_minutes=1).break_words == "every minute"


def test_each_country_offered_has_a_name_and_public_holidays() -> None:
    first, *others = COUNTRIES
    assert country_name(first) == "no public holidays"
    known = holidays.list_supported_countries()
    for code in others:
        assert country_name(code) != code
        assert code in known
    assert country_name("XX") == "XX"


def test_the_choices_offered_hold_the_usual_ones_and_never() -> None:
    assert BREAK_MINUTES in BREAKS_OFFERED
    # Never, or from twenty minutes to an hour and a half.
    assert (BREAKS_OFFERED[0], BREAKS_OFFERED[1], BREAKS_OFFERED[-1]) == (0, 20, 90)
    assert all(minutes % 5 == 0 for minutes in BREAKS_OFFERED)
    # From the usual size to twice it, a quarter at a time.
    assert tuple(1 + step / 4 for step in range(5)) == TEXT_SCALES
    # Each language by its own name.
    assert LANGUAGES == {"en": "English", "tr": "Türkçe"}


def test_every_tone_of_a_yarn_is_a_colour_of_the_theme_and_every_next_page_has_its_icon() -> None:
    for palette in (theme.LIGHT, theme.DARK):
        assert all(hasattr(palette, tone) for tone in YarnTone)
    assert all((ASSETS / "icons" / f"{icon}.png").exists() for icon in NEXT_ICONS.values())
    assert set(NEXT_ICONS) == {"session", "finish", "export", "shopping", "preparation"}


# --- shades


def test_the_sheet_begins_with_what_is_undyed_and_goes_round_the_dyes() -> None:
    # Our own reading of the dyes: a changed digit would be another colour beside its name, and in every plan made since.
    assert [(shade.name, shade.colour) for shade in shades()] == [
        ("Ivory", "#EFE6D2"), ("Camel", "#C29A6B"), ("Grey wool", "#9A928A"), ("Walnut", "#5B4130"), ("Black wool", "#2A211C"),
        ("Oak", "#8A6A45"), ("Madder", "#9B2F25"), ("Deep madder", "#6E2320"), ("Brick", "#B9502B"), ("Rose", "#C4736A"),
        ("Crimson", "#8E2345"), ("Plum", "#553047"), ("Weld", "#D9B23A"), ("Pale weld", "#E6D084"), ("Onion skin", "#B4702E"),
        ("Pomegranate", "#A08434"), ("Leaf green", "#4D6A3A"), ("Moss", "#7B7F3F"), ("Sage", "#9BA583"),
        ("Dark green", "#2C4432"), ("Sea green", "#2F6663"), ("Indigo", "#24406B"), ("Night blue", "#18263F"),
        ("Sky", "#6E93B5"), ("Mist", "#AFC2CB"),
    ]  # fmt: skip


def test_what_a_phone_kept_is_found_again_under_the_same_names() -> None:
    """Settings, drafts and files of earlier days lie under these words: another one would lose them without a sound."""
    assert MIRRORED_RUGS == "mirrored rugs"
    assert (MIRRORED, DOUBTS, SEATS, GIVEN, CURRENCY) == (
        "mirrored", "doubted squares", "seats", "book given", "currency",
    )  # fmt: skip
    assert (DARK_COLOURS, LANGUAGE, TEXT_SCALE, BREAK_EVERY, TIMERS) == (
        "dark", "language", "text scale", "break minutes", "session timers",
    )  # fmt: skip
    assert (SKEIN_SETTING, LEAST_SETTING) == ("skein_g", "least_purchase_g")
    assert MEASURED_DAMP == "measured"
    assert SUFFIX == ".loomside-exchange"
    assert [stage.value for stage in GuideStage] == [
        "yarn", "warp", "weave", "cut off", "ends", "wash", "block", "shear", "fringe", "store",
    ]  # fmt: skip
    assert [kind.value for kind in FormKind] == [
        "lot", "lot change", "trim", "hand out", "weighing", "spoilt", "mark", "sample", "ball", "measurement", "preparation",
        "days off", "photo", "wage", "cost", "pricing", "payment", "loom",
    ]  # fmt: skip


def test_every_shade_of_the_sheet_is_a_colour_of_its_own_that_can_be_mixed_anew() -> None:
    sheet = shades()
    assert len({shade.colour for shade in sheet}) == len({shade.name for shade in sheet}) == len(sheet)
    for shade in sheet:
        assert free_shade(*parts_of(shade.colour)) == shade.colour


def test_a_free_shade_goes_round_the_circle_and_stays_within_light_and_strength() -> None:
    # Full colours of the circle of hues: red, green and blue a third apart; grey has no strength.
    assert free_shade(0.0, 0.5, 1.0) == free_shade(1.0, 0.5, 1.0) == "#FF0000"
    assert free_shade(1 / 3, 0.5, 1.0) == "#00FF00"
    assert free_shade(2 / 3, 0.5, 1.0) == "#0000FF"
    assert free_shade(0.3, 0.5, 0.0) == free_shade(0.3, 0.5, -1.0) == "#808080"
    assert free_shade(0.0, 0.5, 2.0) == "#FF0000"
    assert (free_shade(0.3, 2.0, 0.5), free_shade(0.3, -1.0, 0.5)) == ("#FFFFFF", "#000000")
    assert parts_of("#0000FF") == (pytest.approx(2 / 3), 0.5, 1.0)


# --- trade words


def test_the_trades_names() -> None:
    fibres = ("wool", "cotton", "silk", "linen", "hemp", "jute", "nettle", "goat hair", "viscose")
    # In English a fibre is kept under its own name; one of a later version is told as it stands.
    assert [fibre_words(fibre) for fibre in (*fibres, "yak")] == [*fibres, "yak"]
    try:
        use_language("tr")
        assert [fibre for fibre in fibres if fibre_words(fibre) == fibre] == [], (
            "in Turkish each has another name"
        )
        assert fibre_words("yak") == "yak"
    finally:
        use_language("en")
    assert [knot_kind_name(kind.value) for kind in KnotKind] == ["symmetric", "asymmetric", "on a rod"]
    assert [measure_words(measure) for measure in SizeMeasure] == [
        "the knotted part", "with selvedges and flat ends", "with fringes too",
    ]  # fmt: skip


def test_how_every_second_warp_stands() -> None:
    assert offset_chips() == (("on one plane", 0.0), ("half behind", 45.0), ("fully behind", 90.0))
    assert [offset_words(degrees) for degrees in (0.0, 45.0, 90.0, 30.0)] == [
        "on one plane", "half behind", "fully behind", "30° behind",
    ]  # fmt: skip


def test_how_yarn_is_sold_is_asked_until_a_skein_is_said() -> None:
    open_state, said = build_sold_state(None, None), build_sold_state(500, 250)
    assert (open_state.skein.answer, open_state.least.answer, open_state.can_save) == (
        "not said", "none", False,
    )  # fmt: skip
    assert (said.skein.answer, said.least.answer, said.can_save) == ("500 g", "250 g", True)
    assert (said.skein.label, said.least.label) == ("One skein", "Least of a colour")
    assert list(sold_settings(500, None).values()) == [500, 0]
    assert list(sold_settings(500, 250).values()) == [500, 250]
    assert sold_words(1) == "Yarn is sold by the gram."
    assert sold_words(2) == "Yarn is sold in skeins of 2 g."
