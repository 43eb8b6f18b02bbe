"""Frame times while a finger scrolls a diary of 5,000 entries, beside a bare Kivy list of the same length.

Run: python -m tests.bench.bench_diary [entries]

Both lists stand in the same window and are dragged by the same touches, so that the ratio says what the diary adds:
its rows of words, and the pages it reads from the book while it moves. Nothing is asserted about seconds.
"""

from __future__ import annotations

import shutil
import statistics
import sys
import tempfile
import time
from datetime import date, timedelta
from pathlib import Path

from tracker.app.window import prepare_kivy

ENTRIES = 5000
SWIPES = 25
STEPS = 12
"""Moves of the finger in one swipe; each is one frame."""
TODAY = date(2026, 11, 25)
FRAME_MS = 1000 / 60


def fill(path: Path, entries: int) -> None:
    """Write a book of so many acts. The disk is not waited for: here only reading is measured."""
    from sqlalchemy import event

    from storage.book import Book
    from tests.presenters.rugs import plan, session, yarns
    from tracker.domain.rug import Lot, Weaver, Weighing

    with Book.open(path) as book:

        @event.listens_for(book.engine, "checkout")
        def _quick(connection, *_rest) -> None:
            connection.execute("PRAGMA synchronous = OFF")

        with book.act("rug planned", rug_id="rug") as act:
            act.write(plan(rows=entries))
            for yarn in yarns():
                act.write(yarn)
            act.write(Weaver(id="ann", name="Ann"))
        first = TODAY - timedelta(days=entries)
        for at in range(1, entries):
            day = first + timedelta(days=at)
            kind, value = "session logged", session(
                1, at % 2, id=f"s{at}", day=day, used=(("red", 1.0),) if at % 3 == 0 else (),
                note="The corner came out well." if at % 11 == 0 else "",
            )  # fmt: skip
            if at % 5 == 0:
                kind, value = (
                    "yarn weighed",
                    Weighing(id=f"w{at}", rug_id="rug", yarn_id="blue", day=day, mass_g=float(at)),
                )
            elif at % 8 == 0:
                kind, value = (
                    "yarn bought",
                    Lot(id=f"l{at}", rug_id="rug", yarn_id="red", day=day, mass_g=1000.0, dye_lot=f"M-{at}"),
                )
            with book.act(kind, rug_id="rug") as act:
                act.write(value)


def bare_list(entries: int):
    """Return Kivy's own list of so many labels, as its documentation shows it."""
    from kivy.lang import Builder

    view = Builder.load_string(
        """
RecycleView:
    viewclass: 'Label'
    RecycleBoxLayout:
        default_size: None, dp(56)
        default_size_hint: 1, None
        size_hint_y: None
        height: self.minimum_height
        orientation: 'vertical'
"""
    )
    view.data = [{"text": f"entry {at}"} for at in range(entries)]
    return view


def scroll(view) -> tuple[list[float], list[float]]:
    """Swipe the list upwards again and again.

    Returns
    -------
    tuple
        Each frame's milliseconds; and of them the touch thread's own work without painting.
    """
    from kivy.base import EventLoop
    from kivy.clock import Clock
    from kivy.core.window import Window

    from tests.ui.hand import Finger
    from tracker.previews.draw import settle

    settle(5)
    x = view.to_window(*view.center)[0]
    bottom = view.to_window(view.x, view.y)[1]
    low, high = bottom + view.height * 0.15, bottom + view.height * 0.85
    frames: list[float] = []
    work: list[float] = []
    rested = [0.0]
    idle = Clock.idle

    def resting() -> float:
        # Kivy waits here for the next sixtieth of a second; that is no work of the list's.
        began = time.perf_counter()
        found = idle()
        rested[0] += time.perf_counter() - began
        return found

    Clock.idle = resting

    painting = [0.0, 0.0]

    def paint(*_args) -> None:
        painting[0] = time.thread_time()

    def painted(*_args) -> None:
        painting[1] += time.thread_time() - painting[0]

    Window.bind(on_draw=paint, on_flip=painted)

    def frame() -> None:
        began, busy, rested[0], painting[1] = time.perf_counter(), time.thread_time(), 0.0, 0.0
        EventLoop.idle()
        work.append((time.thread_time() - busy - painting[1]) * 1000)
        frames.append((time.perf_counter() - began - rested[0]) * 1000)

    for _swipe in range(SWIPES):
        finger = Finger(x, low)
        finger.put(x, low)
        frame()
        for step in range(1, STEPS + 1):
            finger.slide(x, low + (high - low) * step / STEPS)
            frame()
        finger.lift()
        # The list runs on by its own momentum.
        for _frame in range(STEPS):
            frame()
    Clock.idle = idle
    Window.unbind(on_draw=paint, on_flip=painted)
    return frames, work


def told(name: str, times: list[float]) -> float:
    """Print a list's times; return their mean."""
    ordered = sorted(times)
    mean, slow, worst = statistics.fmean(ordered), ordered[int(len(ordered) * 0.95)], ordered[-1]
    late = sum(one > FRAME_MS for one in times) / len(times)
    print(
        f"{name:<34} mean {mean:6.2f} ms   95 % {slow:6.2f} ms   worst {worst:6.2f} ms   over 1/60 s {late:5.1%}"
    )
    return mean


def main() -> None:
    """Print both lists' frame times and their ratio."""
    entries = int(sys.argv[1]) if len(sys.argv) > 1 else ENTRIES
    prepare_kivy(offscreen=True, size=(412, 892))
    folder = Path(tempfile.mkdtemp())
    try:
        path = folder / "long.loomside"
        fill(path, entries)
        from kivy.core.window import Window

        from tracker.app.desk import Desk
        from tracker.previews.draw import open_window, settle

        desk = Desk(path, today=lambda: TODAY)
        app = open_window(desk)
        end = time.monotonic() + 60
        while not desk.fresh and time.monotonic() < end:
            settle(1)
        began = time.perf_counter()
        app.root.open_tab("diary")
        page = app.root.page
        while not page._lines and time.monotonic() < end:
            settle(1)
        print(
            f"{desk.book.acts()} entries; first ones shown after {(time.perf_counter() - began) * 1000:.0f} ms"
        )
        ours = scroll(page.ids.rows)
        reached = max(row.place for row in page.ids.rows.children[0].children)
        blank = sum(not row.line.act_id for row in page.ids.rows.children[0].children)
        Window.remove_widget(app.root)
        bare = bare_list(entries)
        Window.add_widget(bare)
        theirs = scroll(bare)
        print(f"scrolled to entry {reached}; lines still unread at the end: {blank}")
        ours, our_work = ours
        theirs, their_work = theirs
        ratio = told("frames of the diary", ours) / told("frames of a bare Kivy list", theirs)
        # Without a graphics card the processor paints, and waits for whoever else uses it: the frames then say more
        # about the machine than about the list. The touch thread's own work is what the diary adds on any device.
        work = told("touch thread, the diary", our_work) / told("touch thread, bare Kivy list", their_work)
        print(f"ratio of the frames: {ratio:.2f}; of the touch thread's work: {work:.2f}")
        desk.close()
    finally:
        shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    main()
