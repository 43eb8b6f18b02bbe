"""Frame times while a finger drags a large cartoon close up, beside a bare texture of the same size.

    python -m tests.bench.bench_picture [--rows 1200] [--knots 700] [--frames 240]

Yardstick, measured in the same run and window: one widget that draws the same array as one rectangle and moves it with
the finger, nothing else. Beside it: our picture alone (days, bands and bounds included), and the whole page with its
bar and keys, dragged and standing still. Each frame is one movement of the finger, drawn to the end (glFinish); they take
turns, a block of frames each. Nothing is asserted. Without a graphics chip (Mesa in software) most of a frame is filling
pixels, and the page's bar and keys cost as much standing still.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np

SIZE = (412, 892)
BLOCK = 40


def large_rug(rows: int, knots: int):
    """An invented rug with a cartoon of this size, half woven in 120 sessions."""
    from tracker.domain.rug import Cartoon, Role, RugBook, RugPlan, RugStage, Session, Yarn

    down, across = np.mgrid[0:rows, 0:knots]
    cells = (((down // 7) ^ (across // 7)) % 12).astype(np.uint8)
    palette = tuple(f"#{40 + 17 * n:02X}{200 - 13 * n:02X}{60 + 9 * n:02X}" for n in range(12))
    plan = RugPlan(
        id="r",
        name="Large",
        width_cm=knots / 5,
        length_cm=rows / 5,
        knots_per_10cm=50,
        rows_per_10cm=50,
        knots_across=knots,
        rows=rows,
        pile_height_mm=6,
        start_day=date(2026, 1, 5),
        stage=RugStage.ON_LOOM,
    )
    yarns = tuple(
        Yarn(
            id=f"y{n}",
            rug_id="r",
            role=Role.PILE,
            number=n + 1,
            name=f"Colour {n + 1}",
            swatch=palette[n],
            cartoon_values=(n,),
            tex=400,
        )
        for n in range(12)
    )
    sessions = tuple(
        Session(
            id=f"s{n}", rug_id="r", day=date(2026, 1, 5) + timedelta(days=2 * n), rows=rows // 240, hours=4.0
        )
        for n in range(120)
    )
    return RugBook(
        plan=plan,
        cartoon=Cartoon(id="c", rug_id="r", cells=cells, palette=palette),
        yarns=yarns,
        sessions=sessions,
    )


def main() -> None:
    """Measure and print."""
    options = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    options.add_argument("--rows", type=int, default=1200)
    options.add_argument("--knots", type=int, default=700)
    options.add_argument("--frames", type=int, default=240)
    asked = options.parse_args()

    from tracker.app.window import prepare_kivy

    prepare_kivy(offscreen=True, size=SIZE)
    from kivy.clock import Clock
    from kivy.core.window import Window
    from kivy.graphics import Color, Rectangle
    from kivy.graphics.opengl import glFinish
    from kivy.uix.widget import Widget

    from tests.ui.hand import Finger
    from tracker.app.desk import Desk
    from tracker.forecast.outlook import outlook
    from tracker.presenters.picture import rug_picture
    from tracker.presenters.zoom import LONGEST_SIDE
    from tracker.previews.draw import open_window, settle
    from tracker.widgets.rug_picture import texture_of

    book = large_rug(asked.rows, asked.knots)
    today = book.sessions[-1].day
    answers = replace(outlook(book, today), day=today)
    desk = Desk(Path(tempfile.mkdtemp()) / "bench.loomside", today=lambda: today, background=False)
    app = open_window(desk)
    desk.rug, desk.answers = book, answers
    Clock._max_fps = 0
    shell = app.root
    start = time.perf_counter()
    shell.go("zoom")
    settle()
    opened = time.perf_counter() - start
    closer = shell.page.ids.closer

    class Bare(Widget):
        """The yardstick: one texture that follows the finger."""

        def __init__(self, **kwargs) -> None:
            super().__init__(**kwargs)
            with self.canvas:
                Color(1, 1, 1, 1)
                self.rect = Rectangle(texture=texture_of(rug_picture(book, longest=LONGEST_SIDE)))

        def on_touch_move(self, touch):
            self.rect.pos = (self.rect.pos[0] + touch.dx, self.rect.pos[1] + touch.dy)
            return True

    bare = Bare(size=Window.size)
    holder = closer.parent
    still = "page, finger still"

    def frame_times(widget, frames: int, moves: bool = True) -> list[float]:
        """Drag back and forth over `widget`, alone in the window; return the milliseconds of each frame."""
        for child in list(Window.children):
            Window.remove_widget(child)
        Window.add_widget(widget)
        settle(3)
        finger = Finger(200, 450)
        finger.put(200, 450)
        times = []
        for frame in range(frames):
            at = 200 + 90 * np.sin(frame / 9), 450 + 200 * np.sin(frame / 13)
            began = time.perf_counter()
            if moves:
                finger.slide(float(at[0]), float(at[1]))
            Clock.tick()
            Window.dispatch("on_draw")
            Window.flip()
            glFinish()
            times.append((time.perf_counter() - began) * 1000)
        finger.lift()
        settle(2)
        return times[3:]

    print(f"cartoon {asked.rows} x {asked.knots}, window {SIZE[0]} x {SIZE[1]}")
    print(f"opening the page, texture and days included: {opened * 1000:.0f} ms")
    for name, zoom in (("fitted", 1.0), ("4 times as near", 4.0), ("as near as it goes", closer.most_zoom())):
        closer.fit()
        closer.zoom_by(zoom)
        bare.rect.size = closer._rect.size
        bare.rect.tex_coords = closer._rect.tex_coords
        times: dict[str, list[float]] = {"bare texture": [], "picture alone": [], "page": [], still: []}
        for _block in range(max(1, asked.frames // BLOCK)):
            bare.rect.pos = closer._rect.pos
            times["bare texture"] += frame_times(bare, BLOCK)
            holder.remove_widget(closer)
            times["picture alone"] += frame_times(closer, BLOCK)
            Window.remove_widget(closer)
            holder.add_widget(closer, len(holder.children))
            times["page"] += frame_times(shell, BLOCK)
            times[still] += frame_times(shell, BLOCK, moves=False)
        yardstick = np.median(times["bare texture"])
        print(name)
        for what, each in times.items():
            print(
                f"  {what:20} median {np.median(each):6.2f} ms, 95 % {np.quantile(each, 0.95):6.2f} ms, "
                f"ratio {np.median(each) / yardstick:.2f}"
            )
    desk.close()


if __name__ == "__main__":
    main()
