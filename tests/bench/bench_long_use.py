"""What weeks of use leave behind: memory and the time of a page after 2,000 page changes and 500 sessions.

Run: python -m tests.bench.bench_long_use [page changes [sessions]]

The app runs in one window without a screen on a large rug. Each evening a session is logged, pages are looked at, and the
phone is laid aside: time passes and the window rests. Time is handed in, as in the tests: were it the clock's, a quick machine
would begin the next evening while what fades still holds the pages of those before. After the first 100 page changes and 25 sessions memory and the processor time of a
page change are taken as what is usual; the same is measured in tenths to the end. The yardstick of the time is a bare
one-label page in the same window after each of the same evenings: other programs make the machine faster and slower.
Five minutes on an idle machine, half an hour on a busy one.
"""

from __future__ import annotations

import gc
import itertools
import statistics
import sys
import tempfile
from datetime import date, timedelta
from pathlib import Path

from tests.bench.bench_pages import cost_ms, memory_mib
from tests.ui.handed_time import hand_in_time, pass_time
from tracker.app.window import prepare_kivy

TODAY = date(2026, 11, 25)
PAGE_CHANGES, SESSIONS, WARM = 2000, 500, 20
"""One of `WARM` parts comes before what is usual is measured."""
PARTS = 10
MORE = 0.05
"""Wanted: memory and time at most so much above what is usual."""
LAID_ASIDE_S, LONG_FRAME_S = 12.0, 0.5
"""How long nothing moves after an evening, longer than the strip that answers and all that fades stay, and how long a frame takes then."""
VISITED = ("home", "yarn", "diary", "finish", "loom", "progress", "material", "session", "plan", "costs")


def large_book(path: Path) -> Path:
    """Make a book with one rug of 120 knots and 3,000 rows in four colours."""
    import numpy as np

    from storage.book import Book
    from tracker.domain.rug import Cartoon, Role, RugPlan, RugStage, Yarn

    plan = RugPlan(
        id="a" * 32,
        name="Runner for the long gallery",
        width_cm=60.0,
        length_cm=1500.0,
        knots_per_10cm=20.0,
        rows_per_10cm=20.0,
        knots_across=120,
        rows=3000,
        pile_height_mm=9.0,
        start_day=TODAY - timedelta(days=30),
        stage=RugStage.ON_LOOM,
        hours_per_week=30.0,
    )
    yarns = [
        Yarn(
            id=f"{n:032x}",
            rug_id=plan.id,
            role=Role.PILE,
            number=n,
            name=f"Shade {n}",
            swatch=f"#{60 * n:02X}4030",
            cartoon_values=(n - 1,),
        )
        for n in range(1, 5)
    ]
    cells = np.random.default_rng(3).integers(0, 4, (3000, 120)).astype(np.uint8)
    cartoon = Cartoon(id="c" * 32, rug_id=plan.id, cells=cells, palette=tuple(yarn.swatch for yarn in yarns))
    with Book.open(path) as book, book.act("rug planned", rug_id=plan.id) as act:
        for value in (plan, *yarns, cartoon):
            act.write(value)
    return path


def main(page_changes: int = PAGE_CHANGES, sessions: int = SESSIONS) -> None:
    """Print memory and time at the beginning, in every tenth, and beside what is wanted."""
    prepare_kivy(size=(360, 640))
    hand_in_time()
    from kivy.uix.label import Label

    from tracker.app.desk import Desk
    from tracker.device.memory import collect_at_rest, tidy
    from tracker.previews.draw import open_window, settle
    from tracker.screens import load_ahead

    with tempfile.TemporaryDirectory() as folder:
        days = itertools.count()
        day = [TODAY]
        desk = Desk(large_book(Path(folder) / "long.loomside"), today=lambda: day[0], background=False)
        collect_at_rest()
        app = open_window(desk)
        for _page in load_ahead():  # as when the app first rests
            pass
        tidy()
        shell, pages = app.shell, itertools.cycle(VISITED)

        def change_page() -> float:
            name = next(pages)
            cost = cost_ms(lambda: shell.open_tab(name) if shell._infos[name].tab else shell.go(name))
            if not shell._infos[name].tab:
                shell.back()
            return cost

        def log_session() -> None:
            day[0] = TODAY + timedelta(days=next(days))
            shell.go("session")
            shell.page.set_rows(4)
            shell.page.save()
            settle(2)

        def bare_page() -> None:
            shell.ids.holder.clear_widgets()
            shell.page = None
            shell.ids.holder.add_widget(Label(text="Loomside"))

        def part(share: float) -> tuple[float, float, float]:
            """Return memory, MiB, and the time of a page change: in ms, and beside a bare page's."""
            costs, bare = [], []
            evenings, changes = (max(1, round(many * share)) for many in (sessions, page_changes))
            for evening in range(evenings):
                log_session()
                due = changes * (evening + 1) // evenings
                costs += [change_page() for _change in range(due - len(costs))]
                pass_time(LAID_ASIDE_S, LONG_FRAME_S)
                tidy()
                bare.append(cost_ms(bare_page))
            bare_ms = statistics.median(bare)
            gc.collect()
            tidy()
            cost = statistics.median(costs)
            return memory_mib(), cost, cost / bare_ms

        usual_mib, usual_ms, usual = part(1 / WARM)
        print(
            f"usual: {usual_mib:.0f} MiB, a page change {usual_ms:.1f} ms, {usual:.1f} x a bare page",
            flush=True,
        )
        for tenth in range(1, PARTS + 1):
            held_mib, cost_of_page, beside_bare = part(1 / PARTS)
            print(
                f"{tenth / PARTS:4.0%}: {held_mib:.0f} MiB ({held_mib / usual_mib - 1:+.1%}), "
                f"a page change {cost_of_page:.1f} ms, {beside_bare:.1f} x a bare page ({beside_bare / usual - 1:+.1%})",
                flush=True,
            )
        print(f"sessions in the book: {len(desk.rug.sessions)}; wanted: at most {MORE:+.0%} of each")


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
