"""The theme keeps its own promise: every text reads at 7:1, every control's outline at 3:1."""

import itertools
import math

import pytest

from tracker import theme
from tracker.presenters.costs import SPENT_TONES, WAGES_TONE, YARN_TONE

PALETTES = {"light": theme.LIGHT, "dark": theme.DARK}


@pytest.mark.parametrize("name", PALETTES)
@pytest.mark.parametrize("text", theme.GROUNDS_OF_TEXT)
def test_text_reads_on_every_ground_it_may_stand_on(name: str, text: str) -> None:
    palette = PALETTES[name]
    for ground in theme.GROUNDS_OF_TEXT[text]:
        assert theme.contrast(getattr(palette, text), getattr(palette, ground)) >= theme.TEXT_CONTRAST, ground


@pytest.mark.parametrize("name", PALETTES)
def test_outlines_of_controls_can_be_seen(name: str) -> None:
    palette = PALETTES[name]
    for ground in ("ground", "card", "field"):
        assert theme.contrast(palette.edge, getattr(palette, ground)) >= theme.EDGE_CONTRAST, ground


@pytest.mark.parametrize("name", PALETTES)
def test_the_parts_of_the_bar_of_costs_differ_clearly_and_stand_out_from_their_card(name: str) -> None:
    """Preparation and other costs had one brown: nobody could tell which was which."""
    palette = PALETTES[name]
    tones = [getattr(palette, tone) for tone in (YARN_TONE, WAGES_TONE, *SPENT_TONES.values())]
    assert all(theme.contrast(tone, palette.card) >= 2.5 for tone in tones)
    for one, other in itertools.combinations(tones, 2):
        apart = math.dist(theme.channels(one), theme.channels(other))
        assert apart > 0.18, (one, other)
    for one, other in itertools.pairwise(tones):
        assert theme.contrast(one, other) > 1.1, "those that touch differ in lightness, too"


def test_contrast_agrees_with_the_standard() -> None:
    # WCAG 2.2: black on white is 21:1. #767676 on white is the well-known lightest grey that passes 4.5:1
    # (4.54:1; W3C, "Understanding SC 1.4.3").
    assert theme.contrast("#000000", "#FFFFFF") == pytest.approx(21.0)
    assert theme.contrast("#767676", "#FFFFFF") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize(
    "swatch", ["#000000", "#FFFFFF", "#9C2F25", "#27406B", "#D9A92B", "#808080", "#777777"]
)
def test_the_number_on_a_swatch_reads(swatch: str) -> None:
    # The worst grey lies between the two inks; 3:1 is WCAG's bound for large bold text.
    assert theme.contrast(theme.ink_on(swatch), swatch) >= 3.0


def test_touch_targets_are_as_large_as_the_design_asks() -> None:
    assert theme.TOUCH_DP >= 48
    assert theme.LOOM_TOUCH_DP >= 64
