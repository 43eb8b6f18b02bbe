"""What each page costs: processor time to show it the first time and again, and the memory after all of them.

Run: python -m tests.bench.bench_pages

Each page of the demo is opened in one window, drawn, left and opened again three times. It is shown when two frames are
drawn, its modules being loaded as after the app's first rest; what lies below the window may be made after them, each frame a little: then it is whole. The yardstick is a bare
one-label page in the same window, opened as often. Memory is beside that of a bare one-label app of its own. Nothing is
asserted about seconds.
"""

from __future__ import annotations

import compileall
import re
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

from tracker.app.window import prepare_kivy

ROOT = Path(__file__).parents[2]
SIZE = (360, 640)
TODAY = date(2026, 11, 25)
FIRST_MS, AGAIN_MS, MEMORY = 250, 60, 2.2
"""What is wanted at most."""
BARE = """
from tracker.app.window import prepare_kivy
prepare_kivy(size=(360, 640), whole=True)
from kivy.app import App
from kivy.core.window import Window
from kivy.uix.label import Label
from tests.bench.bench_pages import memory_mib
class Bare(App):
    def load_kv(self, filename=None):
        return False
    def build(self):
        Window.bind(on_flip=lambda *_a: (print(memory_mib(), flush=True), __import__("os")._exit(0)))
        return Label(text="Loomside")
Bare().run()
"""


MAKE_DEMO = """
import sys
from datetime import date
from pathlib import Path
from tracker.demo.place import ensure_demo
print(ensure_demo(Path(sys.argv[1]), date.fromisoformat(sys.argv[2])))
"""
"""In a process of its own: what makes a book is in no app that only opens one."""


def memory_mib() -> float:
    """Return the memory this process holds now [MiB] (Linux: /proc)."""
    return int(re.findall(r"VmRSS:\s+(\d+)", Path("/proc/self/status").read_text(encoding="ascii"))[0]) / 1024


def cost_ms(work: object, whole: bool = True) -> float:
    """Do `work`, draw two frames, and return the processor time of both [ms]; with all frames until the page is `whole`."""
    from kivy.base import EventLoop

    from tracker.previews.draw import settle

    begun = time.process_time()
    work()  # type: ignore[operator]
    if whole:
        settle(2)
    else:
        for _frame in range(2):
            EventLoop.idle()
    return 1000 * (time.process_time() - begun)


def rest_ms() -> tuple[float, float]:
    """Draw frames until the page is whole; return the processor time of them all, and of the dearest [ms]."""
    from kivy.base import EventLoop

    from tracker.widgets import filling

    frames = [0.0]
    while filling.goes_on():
        begun = time.process_time()
        EventLoop.idle()
        frames.append(1000 * (time.process_time() - begun))
    return sum(frames), max(frames)


def timed_apart(aside: Callable[..., None], spent_s: list[float]) -> Callable[..., None]:
    """Return `Desk.aside` that adds up the processor time of what the app does off the touch thread."""

    def timed(work: Callable[[], Any], *then: Any) -> None:
        def apart() -> Any:
            begun = time.process_time()
            try:
                return work()
            finally:
                spent_s[0] += time.process_time() - begun

        aside(apart, *then)

    return timed


def main() -> None:
    """Print a line a page, the dearest first, and how many are within what is wanted."""
    # As on a phone, where the package holds compiled modules only.
    for room in ("tracker", "storage"):
        compileall.compile_dir(ROOT / room, quiet=1)
    prepare_kivy(size=SIZE)
    from kivy.uix.label import Label

    from tracker.app.desk import Desk
    from tracker.device.memory import collect_at_rest, tidy
    from tracker.previews.draw import open_window, settle
    from tracker.screens import PAGES, load_ahead

    bare = subprocess.run([sys.executable, "-c", BARE], capture_output=True, text=True, check=True)
    with tempfile.TemporaryDirectory() as folder:
        made = subprocess.run(
            [sys.executable, "-c", MAKE_DEMO, str(Path(folder) / "demo.loomside"), TODAY.isoformat()],
            capture_output=True,
            text=True,
            check=True,
        )
        desk = Desk(Path(made.stdout.split()[-1]), today=lambda: TODAY, background=False)
        collect_at_rest()
        aside_s, tidied_ms = [0.0], []
        desk.aside = timed_apart(desk.aside, aside_s)  # type: ignore[method-assign]
        shell = open_window(desk).shell
        settle()
        at_first_mib, begun = memory_mib(), time.process_time()
        steps_ms = []
        for _page in load_ahead():
            steps_ms.append(1000 * (time.process_time() - begun))
            begun = time.process_time()
        loaded_mib = memory_mib()
        what = {"yarn_story": {"yarn_id": desk.rug.yarns[0].id}, "mending": {}, "knotting": {}}
        costs = {}
        for name in PAGES:
            if name == "home":
                continue

            def open_page(name: str = name) -> None:
                shell.go(name, **what.get(name, {}))

            aside_s[0] = 0.0
            first = cost_ms(open_page, whole=False)
            below, longest = rest_ms()
            aside_ms = 1000 * aside_s[0]
            again = []
            for _time in range(3):
                shell.open_tab("home")
                settle(2)
                again.append(cost_ms(open_page))
            shell.open_tab("home")
            settle(2)
            tidied_ms.append(cost_ms(tidy))
            costs[name] = (first, statistics.median(again), aside_ms, first + below, longest)
        holder = shell.ids.holder
        shell.page = None

        def bare_page() -> None:
            holder.clear_widgets()
            holder.add_widget(Label(text="Loomside"))

        yard = statistics.median(cost_ms(bare_page) for _time in range(9))
        tidy()
        held = memory_mib()
    print(f"a bare label in the same window: {yard:.1f} ms")
    print(
        f"modules of all pages, loaded while the window rests: {sum(steps_ms):.0f} ms, {max(steps_ms):.0f} at once at most; "
        f"{at_first_mib:.0f} MiB before, {loaded_mib:.0f} after"
    )
    for name, (first, again, aside_ms, whole, longest) in sorted(costs.items(), key=lambda item: -item[1][0]):
        print(
            f"{name:16} first {first:6.0f} ms ({first / yard:5.1f} x), {aside_ms:4.0f} of it beside the touches   "
            f"whole {whole:6.0f} ms, a later frame {longest:3.0f} at most   "
            f"again {again:6.0f} ms ({again / yard:5.1f} x)"
        )
    print(
        f"garbage looked for while nothing moves, after each page: {max(tidied_ms):.0f} ms at most, "
        f"{statistics.median(tidied_ms):.0f} in the middle"
    )
    quick = sum(first <= FIRST_MS for first, *_more in costs.values())
    ready = sum(again <= AGAIN_MS for _first, again, *_more in costs.values())
    print(
        f"first within {FIRST_MS} ms: {quick} of {len(costs)}; again within {AGAIN_MS} ms: {ready} of {len(costs)}"
    )
    print(
        f"memory after all pages: {held:.0f} MiB, {held / float(bare.stdout.split()[-1]):.2f} x a bare app's; wanted {MEMORY}"
    )


if __name__ == "__main__":
    main()
