"""The cautions name each usual harm, say where they come from, and leave the last word to others."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tracker.presenters.cautions import build_cautions_state, closing

ICONS = Path(__file__).parents[2] / "assets" / "icons"
ALL = " ".join(caution.text.casefold() for caution in build_cautions_state())


@pytest.mark.parametrize(
    "harm", ["back", "wrists", "shoulders", "neck", "blades|knife", "tension|pull", "dust|fibre", "dye", "mordant|powder"]
)  # fmt: skip
def test_each_usual_harm_of_the_trade_is_named(harm: str) -> None:
    titles = " ".join(caution.title.casefold() for caution in build_cautions_state())
    assert re.search(harm, f"{titles} {ALL}")


def test_every_caution_says_where_it_comes_from_and_has_its_picture() -> None:
    for caution in build_cautions_state():
        assert caution.source.strip(), caution.title
        assert (ICONS / f"{caution.icon}.png").is_file(), caution.title
    titles = [caution.title for caution in build_cautions_state()]
    assert len(set(titles)) == len(titles)


def test_figures_stand_only_where_a_source_is_named() -> None:
    for caution in build_cautions_state():
        if re.search(r"\d", caution.text):
            assert "no source" not in caution.source, caution.title


def test_complaints_that_stay_belong_before_a_doctor_and_none_is_diagnosed() -> None:
    assert ALL.count("see a doctor") >= 2
    assert not re.search(r"you have|syndrome|tendinitis|arthritis", ALL)


def test_the_last_word_belongs_to_local_rules_and_trained_people() -> None:
    assert "rules of your country" in closing()
    assert "Follow the rules of your country" in closing()
