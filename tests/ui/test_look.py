"""Widgets follow the one look for as long as they live, and no longer; a turn or a larger text loses nothing."""

from __future__ import annotations

import gc

import pytest


class Follower:
    def __init__(self) -> None:
        self.told: list = []

    def hear(self, _look, value) -> None:
        self.told.append(value)


@pytest.fixture
def look():
    from tracker.widgets.look import Look

    return Look()


def test_a_bound_method_is_told_of_each_change_once(look) -> None:
    follower = Follower()
    look.bind(shape=follower.hear)
    look.fit(640, 360)
    look.fit(640, 360)
    look.fit(360, 640)
    assert follower.told == ["wide", "tall"]
    look.unbind(shape=follower.hear)
    look.fit(640, 360)
    assert follower.told == ["wide", "tall"]


def test_the_colours_and_sizes_are_told_with_the_light_and_the_text_size(look) -> None:
    follower = Follower()
    look.bind(tones=follower.hear, type_sizes=follower.hear)
    body = look.type_sizes["body"]
    look.text_scale = 2.0
    look.dark = True
    sizes, tones = follower.told
    assert sizes["body"] == pytest.approx(2 * body)
    assert tones["ground"] == look.tones["ground"]
    assert sum(tones["ground"][:3]) < 1 < sum(tones["ink"][:3])


def test_who_is_gone_is_told_nothing_and_takes_no_room(look) -> None:
    follower = Follower()
    told = follower.told
    look.bind(dark=follower.hear)
    del follower
    gc.collect()
    look.dark = True
    assert told == []
    assert look.followers() == 0


def test_a_function_that_would_keep_its_page_for_ever_is_refused(look) -> None:
    with pytest.raises(TypeError):
        look.bind(dark=lambda *_args: None)


def test_one_follower_may_send_another_away(look) -> None:
    told = []
    second = []
    look.fbind("dark", lambda *_args: look.unbind_uid("dark", second[0]))
    second.append(look.fbind("dark", lambda _look, value: told.append(value)))
    look.dark = True
    assert told == []


def test_a_rule_is_taken_off_with_its_widget(open_app) -> None:
    from tracker.widgets.basics import Text
    from tracker.widgets.look import look

    open_app()
    gc.collect()
    before = look.followers()
    texts = [Text(text="warp") for _text in range(20)]
    assert look.followers() >= before + 20
    look.dark = True
    try:
        assert tuple(texts[0].color) == look.tones["ink"]
    finally:
        look.dark = False
    del texts
    gc.collect()
    assert look.followers() == before
