"""A child process that logs an evening by touch and says so; its parent kills it. Run: python -m tests.ui.session_child BOOK"""

from __future__ import annotations

import sys
import time
from datetime import date
from pathlib import Path

from tracker.app.window import prepare_kivy


def main(book: str, seconds: float) -> None:
    """Log evenings until killed; print each session's id once the screen has answered it."""
    prepare_kivy(offscreen=True, size=(360, 640))
    from tests.ui.hand import Hand
    from tests.ui.handed_time import hand_in_time
    from tracker.app.desk import Desk
    from tracker.previews.draw import open_window

    hand_in_time()
    hand = Hand(open_window(Desk(Path(book), today=lambda: date(2026, 11, 25), background=False)))
    print("open", flush=True)
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        hand.tap("Log the session")
        hand.tap(hand.shell.page.ids.suggestions.children[4])
        session_id = hand.shell.page.form.session_id
        hand.tap("Save")
        assert hand.shell.page_name == "home", hand.words()
        print(session_id, flush=True)


if __name__ == "__main__":
    main(sys.argv[1], float(sys.argv[2]))
