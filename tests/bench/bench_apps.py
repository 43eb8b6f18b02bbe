"""Apps opened one after another in one process: what each that was closed leaves behind.

Run: python -m tests.bench.bench_apps [apps]. Each shows eight pages of the demo. Tests open some hundred apps in a process.
"""

from __future__ import annotations

import gc
import sys
import tempfile
from datetime import date
from pathlib import Path

from tests.bench.bench_pages import memory_mib
from tests.ui.handed_time import hand_in_time, pass_time
from tracker.app.window import prepare_kivy

TODAY = date(2026, 11, 25)
APPS = 30
SHOWN = ("home", "yarn", "diary", "session", "loom", "finish", "plan", "costs")
FADES_S = 12.0
"""Longer than what fades holds its page."""


def main(apps: int = APPS) -> None:
    """Print memory and Python's objects after some of the apps."""
    prepare_kivy(size=(360, 640))
    hand_in_time()
    from tracker.app.desk import Desk
    from tracker.demo.place import ensure_demo
    from tracker.device.memory import tidy
    from tracker.previews.draw import close_window, open_window, settle

    with tempfile.TemporaryDirectory() as folder:
        book = ensure_demo(Path(folder) / "demo.loomside", TODAY)
        for number in range(1, apps + 1):
            desk = Desk(book, today=lambda: TODAY, background=False)
            app = open_window(desk)
            for name in SHOWN:
                app.shell.go(name)
                settle(2)
            close_window(app)
            del app, desk
            pass_time(FADES_S, FADES_S / 24)
            gc.collect()
            tidy()
            if number in (1, 2, 5) or number % 10 == 0:
                print(
                    f"{number:3} apps closed: {memory_mib():.0f} MiB, {len(gc.get_objects())} objects",
                    flush=True,
                )


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
