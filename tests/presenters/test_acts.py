"""Every kind of act can be read, seen and found in the diary."""

from __future__ import annotations

import pytest

from tests.parsed import ROOT
from tracker.domain.act import ActKind
from tracker.presenters.acts import FILTERS, deed_words, filter_of, filters, icon_of


@pytest.mark.parametrize("kind", ActKind)
def test_every_kind_of_act_has_its_words_its_icon_and_its_place_in_the_filters(kind: ActKind) -> None:
    assert deed_words(kind) != deed_words("a kind of a later version")
    assert (ROOT / "assets" / "icons" / f"{icon_of(kind)}.png").is_file()
    assert any(kind in each.kinds for each in filters() if each.kinds is not None)


def test_no_two_kinds_of_act_are_read_alike_where_a_weaver_must_tell_them_apart() -> None:
    told_apart = [kind for kind in ActKind if kind.name.split("_")[0] in ("SESSION", "YARN", "ENTRY", "RUG")]
    assert len({deed_words(kind) for kind in told_apart}) == len(told_apart)


def test_what_a_weaver_changed_of_the_wish_is_found_under_the_plan() -> None:
    plan = next(each for each in filters() if each.key == "plan")
    assert plan.kinds is not None
    assert "wished-for day changed" in plan.kinds


def test_what_took_something_back_is_found_under_what_was_taken_back() -> None:
    taken_back = next(each for each in filters() if each.key == "mended")
    assert {"undone", "join taken back", "step withdrawn", "went back to a copy"} <= set(
        taken_back.kinds or ()
    )


def test_every_filter_that_a_kind_is_found_under_can_be_chosen() -> None:
    chosen = [each.key for each in filters()]
    assert chosen[0] == "all"
    assert {key for keys in FILTERS.values() for key in keys} == set(chosen[1:])
    assert [filter_of(key).key for key in (*chosen, "later")] == [*chosen, "all"]


def test_an_act_of_a_later_version_is_still_read() -> None:
    assert deed_words("yarn dyed anew") == "Yarn dyed anew"
    assert icon_of("yarn dyed anew") is None
