"""What the app costs while it lies there: frames drawn and processor time at rest, beside a bare one-label app's.

Run: python -m tests.bench.bench_idle [seconds]. Both run one after the other in the same settings, the app with the demo book.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from datetime import date
from pathlib import Path

ROOT = Path(__file__).parents[2]
TODAY = date(2026, 11, 25)
SECONDS = 10.0
UNTIL_REST_S = 20.0
"""By then the copy of the day is made, what pages need is loaded, and garbage was looked for."""
FRAMES, SHARE = 0, 0.005
"""Wanted: frames, and the share of one core, at most."""

WATCH = """
def watch():
    import os, time
    from kivy.clock import Clock
    from kivy.core.window import Window
    drawn, began = [0], [0.0, 0.0]
    Window.bind(on_flip=lambda *_a: drawn.__setitem__(0, drawn[0] + 1))
    def begin(_dt):
        drawn[0], began[:] = 0, (time.process_time(), time.perf_counter())
        Clock.schedule_once(end, {seconds})
    def end(_dt):
        print(drawn[0], time.process_time() - began[0], time.perf_counter() - began[1], flush=True)
        os._exit(0)
    Clock.schedule_once(begin, {until})
"""
BARE = """
import sys
sys.path.insert(0, {root!r})
from tracker.app.window import prepare_kivy
prepare_kivy(size=(360, 640), whole=True)
from kivy.app import App
from kivy.uix.label import Label
class Bare(App):
    def load_kv(self, filename=None):
        return False
    def build(self):
        watch()
        return Label(text="Loomside")
Bare().run()
"""
OURS = """
import sys
sys.path.insert(0, {root!r})
from tracker.command_line import deeds
from tracker.command_line.main import main
deeds.on_window = watch
main(["--book", {book!r}, "--day", {day!r}])
"""


def at_rest(code: str, seconds: float, until_s: float) -> tuple[int, float]:
    """Run a child; return the frames it drew at rest, and the share of a core it took."""
    child = WATCH.format(seconds=seconds, until=until_s) + code
    env = {**os.environ, "SDL_VIDEODRIVER": "offscreen", "PYTHONDONTWRITEBYTECODE": ""}
    found = subprocess.run(
        [sys.executable, "-c", child],
        env=env,
        capture_output=True,
        text=True,
        timeout=60 + 4 * (seconds + until_s),
    )
    try:
        frames, processor_s, clock_s = found.stdout.split()[-3:]
        return int(frames), float(processor_s) / float(clock_s)
    except ValueError:
        raise SystemExit(found.stdout + found.stderr) from None


def main(seconds: float = SECONDS) -> None:
    """Print both, and what is wanted."""
    from tracker.demo.place import ensure_demo

    with tempfile.TemporaryDirectory() as folder:
        book = ensure_demo(Path(folder) / "demo.loomside", TODAY)
        bare = at_rest(BARE.format(root=str(ROOT)), seconds, 2.0)
        ours = at_rest(
            OURS.format(root=str(ROOT), book=str(book), day=TODAY.isoformat()), seconds, UNTIL_REST_S
        )
    for name, (frames, share) in (("a bare one-label app", bare), ("Loomside", ours)):
        print(f"{name}: {frames} frames in {seconds:.0f} s, {100 * share:.2f} % of a core")
    print(f"wanted at most: {FRAMES} frames, {100 * SHARE:.1f} %")


if __name__ == "__main__":
    main(*map(float, sys.argv[1:]))
