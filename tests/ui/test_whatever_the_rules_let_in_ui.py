"""For any acts that the rules let in, every page in every state can be entered, refreshed and left, in a real window."""

from __future__ import annotations

import os
import shutil
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from tests.lawful import DAYS, books, entered
from tests.today import TODAY
from tracker.screens import PAGES

SIZES = ((360, 640), (640, 360), (412, 892), (1280, 800))
SCALES = (1.0, 2.0)
PARTS = 3
MOST_BACKS = 15
"""Touches of the back key within which any page leads to the first one."""
LONG_MINUTES = float(os.environ.get("LOOMSIDE_MINUTES", "15"))

sizes = st.sampled_from(SIZES)
scales = st.sampled_from(SCALES)
languages = st.sampled_from(["en", "en", "tr"])
todays = st.just(TODAY) | st.just(TODAY) | st.sampled_from(DAYS)


def left(hand: Any, name: str) -> None:
    """Leave a page as the back key does, until the first one shows."""
    from tracker.previews.draw import settle

    for _try in range(MOST_BACKS):
        if not hand.shell.back():
            break
        settle(1)
    assert hand.shell.page_name == "home", f"{name} cannot be left"


def walked(
    open_app: Callable[..., Any],
    values: list[Any],
    today: date,
    size: Any,
    scale: float,
    language: str,
    part: int | None = None,
) -> int:
    """Walk through every page of every rug, with `part` through every third page bare; return how many states were shown."""
    from storage import reading
    from tracker import words
    from tracker.previews.draw import settle
    from tracker.previews.scenes import scenes
    from tracker.widgets.look import look

    quick = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None
    folder = Path(tempfile.mkdtemp(prefix="loomside-any-", dir=quick))
    shown = 0
    try:
        path = folder / "book.loomside"
        entered(path, values)
        words.use_language(language)
        look.text_scale = scale
        hand = open_app(path, size=size, today=today)
        desk = hand.app.desk
        acts = desk.book.acts()
        for plan in reading.rugs(desk.book):
            desk.choose(plan.id)
            settle(2)
            assert not desk.trouble
            for name in PAGES if part is None else list(PAGES)[part::PARTS]:
                states = scenes(desk, [name])
                for scene in states if part is None else states[:1]:
                    try:
                        _entered_and_left(hand, scene)
                    except Exception as error:
                        raise AssertionError(
                            f"{scene.name} at {size}, {scale}, {language}, {today}"
                        ) from error
                    shown += 1
            desk.read()
            settle(2)
            rug, answers = desk.answers_for(plan.id)
            assert replace(desk.rug, cartoon=None) == replace(rug, cartoon=None)
            assert desk.answers == answers
        assert desk.book.acts() == acts, "looking writes nothing"
    finally:
        open_app.close()
        words.use_language("en")
        look.text_scale, look.dark = 1.0, False
        shutil.rmtree(folder, ignore_errors=True)
    return shown


def _entered_and_left(hand: Any, scene: Any) -> None:
    from tracker.previews.draw import settle

    # What other pages left half-filled stays: every one is entered beside it.
    scene.show(hand.shell, hand.app.desk.drafts.as_they_are())
    settle(1)
    hand.shell.book_changed()
    settle(1)
    assert not hand.app.desk.trouble
    left(hand, scene.name)


def test_every_page_of_whatever_the_rules_let_in_can_be_entered_and_left(open_app) -> None:
    """Three books, each through a third of the pages, so that every page is walked once."""
    seen: list[int] = []

    @settings(
        max_examples=PARTS,
        deadline=None,
        suppress_health_check=list(HealthCheck),
        phases=[Phase.explicit, Phase.generate],
    )
    @given(values=books(most=2), today=todays, size=sizes, scale=scales, language=languages)
    def some(values: list[Any], today: date, size: Any, scale: float, language: str) -> None:
        seen.append(walked(open_app, values, today, size, scale, language, len(seen) % PARTS))

    some()
    assert len(seen) >= PARTS
    assert min(seen) > 5


def test_a_page_that_falls_over_or_cannot_be_left_is_seen(open_app, monkeypatch: pytest.MonkeyPatch) -> None:
    """The walk has teeth."""
    from tracker.domain.rug import RugPlan
    from tracker.screens.guide.guide import GuidePage

    at = list(PAGES).index("guide") % PARTS
    values = [RugPlan(id="rug-1", name="Garden", width_cm=90, length_cm=120, knots_per_10cm=40, rows_per_10cm=40,
        knots_across=360, rows=480, pile_height_mm=8, start_day=TODAY)]  # fmt: skip
    monkeypatch.setattr(GuidePage, "back", lambda self: True)
    with pytest.raises(AssertionError, match="guide"):
        walked(open_app, values, TODAY, SIZES[0], 1.0, "en", at)
    monkeypatch.setattr(GuidePage, "refresh", lambda self: 1 / 0)
    with pytest.raises(AssertionError, match="guide"):
        walked(open_app, values, TODAY, SIZES[0], 1.0, "en", at)


@pytest.mark.slow
@pytest.mark.timeout(0)
def test_the_same_in_a_window_for_as_long_as_is_wished(open_app, capsys: pytest.CaptureFixture[str]) -> None:
    """New books until the time is over (`LOOMSIDE_MINUTES`, else 15 minutes); the first that fails is made small and shown."""
    end = time.monotonic() + 60 * LONG_MINUTES
    counts = {"books": 0, "states": 0}

    @settings(
        max_examples=3,
        deadline=None,
        suppress_health_check=list(HealthCheck),
        derandomize=False,
        database=None,
    )
    @given(values=books(), today=todays, size=sizes, scale=scales, language=languages)
    def some(values: list[Any], today: date, size: Any, scale: float, language: str) -> None:
        counts["states"] += walked(open_app, values, today, size, scale, language)
        counts["books"] += 1

    while time.monotonic() < end:
        some()
    with capsys.disabled():
        print(f"\n{counts['books']} books, {counts['states']} states of pages entered, refreshed and left")
