"""Time from starting the process to the first useful view, as a ratio to a bare one-label Kivy app.

Run: python -m tests.bench.bench_start [runs]. The yardstick runs in turn with the app, in the same settings.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import date
from pathlib import Path

ROOT = Path(__file__).parents[2]
TODAY = date(2026, 11, 25)

BARE = """
import sys, time
sys.path.insert(0, {root!r})
from tracker.app.window import prepare_kivy
prepare_kivy(size=(360, 640), whole=True)
from kivy.app import App
from kivy.core.window import Window
from kivy.uix.label import Label
class Bare(App):
    def load_kv(self, filename=None):
        return False
    def build(self):
        Window.bind(on_flip=lambda *_a: (print(time.process_time(), time.time(), flush=True), __import__("os")._exit(0)))
        return Label(text="Loomside")
Bare().run()
"""

OURS = """
import sys, time
sys.path.insert(0, {root!r})
from tracker.command_line import deeds
from tracker.command_line.main import main
def watch():
    from kivy.core.window import Window
    from kivy.app import App
    def flipped(*_a):
        app = App.get_running_app()
        page = app.shell.page if app and app.shell else None
        if page is not None and page.name == "home" and page.ids.row_figure.text and page.ids.finish_figure.text:
            print(time.process_time(), time.time(), flush=True)
            __import__("os")._exit(0)
    Window.bind(on_flip=flipped)
deeds.on_window = watch
main(["--book", {book!r}, "--day", {day!r}])
"""


def once(code: str) -> tuple[float, float]:
    """Run a child; return the seconds from its start to the instant it prints, and those of the processor it took."""
    env = {**os.environ, "SDL_VIDEODRIVER": "offscreen", "PYTHONDONTWRITEBYTECODE": ""}
    begun = time.time()
    found = subprocess.run([sys.executable, "-c", code], env=env, capture_output=True, text=True, timeout=60)
    try:
        *_before, processor, instant = found.stdout.split()
        return float(instant) - begun, float(processor)
    except (IndexError, ValueError):
        raise SystemExit(found.stdout + found.stderr) from None


def main(runs: int = 9) -> None:
    """Print both times and their ratios, for a start that finds the view it showed last, and for one that does not."""
    from tracker.demo.place import ensure_demo

    with tempfile.TemporaryDirectory() as folder:
        book = ensure_demo(Path(folder) / "demo.loomside", TODAY)
        bare_code = BARE.format(root=str(ROOT))
        ours_code = OURS.format(root=str(ROOT), book=str(book), day=TODAY.isoformat())
        view = book.with_name(book.name + ".view")
        once(bare_code), once(ours_code)
        kept = view.read_bytes()
        bare, again, first = [], [], []
        for _run in range(runs):
            bare.append(once(bare_code))
            view.write_bytes(kept)
            again.append(once(ours_code))
            view.unlink()
            first.append(once(ours_code))
    for start, ours in (("as last shown", again), ("with nothing kept", first)):
        for what, which in (("by the clock", 0), ("by processor time", 1)):
            yard, mine = [run[which] for run in bare], [run[which] for run in ours]
            ratios = [one / other for one, other in zip(mine, yard, strict=True)]
            print(
                f"{start}, {what}: bare one-label app {statistics.median(yard):.3f} s, first view with its answers "
                f"{statistics.median(mine):.3f} s; ratio {statistics.median(ratios):.2f} "
                f"(least {min(ratios):.2f}, most {max(ratios):.2f}), wanted at most 1.5"
            )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
