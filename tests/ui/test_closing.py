"""What was closed is let go: a phone has little memory, and the theme must not draw for pages that are gone.

The walk through every screen looks for the same, page by page (`test_every_screen.py`).
"""

from __future__ import annotations

import weakref

from tests.ui.handed_time import pass_time
from tests.ui.letting_go import references_to, still_there


def test_nothing_of_a_closed_app_is_kept(open_app, demo) -> None:
    hand = open_app(demo)
    hand.shell.open_tab("loom")
    pass_time(0.1)
    hand.shell.open_tab("home")
    hand.tap("Log the session")
    hand.tap("today")
    references = references_to([hand.shell, *hand.shell.every_page()])
    app = hand.app
    references += [weakref.ref(part) for part in (app, app.desk, app.rest, app.phone, app.reminders)]
    del hand, app
    open_app.close()
    assert len(references) > 500
    assert still_there(references) == []


def test_no_page_of_a_closed_app_is_drawn_when_the_light_changes(open_app, demo, monkeypatch) -> None:
    from tracker.widgets.chart import ChartView
    from tracker.widgets.look import look

    drawn = []
    draw = ChartView._draw

    def _draw(chart, *args):
        drawn.append(chart)
        draw(chart, *args)

    monkeypatch.setattr(ChartView, "_draw", _draw)
    hand = open_app(demo)
    hand.shell.go("progress")
    pass_time(0.1)
    drawn.clear()
    look.dark = True
    assert drawn
    open_app.close()
    drawn.clear()
    look.dark = False
    assert not drawn


def test_pages_built_anew_leave_nothing_of_the_old_ones(open_app, demo) -> None:
    hand = open_app(demo)
    for name in ("loom", "diary", "home"):
        hand.shell.open_tab(name)
        pass_time(0.1)
    references = references_to(hand.shell.every_page())
    hand.shell.rebuild_pages()
    assert still_there(references) == []
