"""Time as the tests hand it in: the window's clock and every finger go on by a frame with each frame drawn, no faster.

Nothing here sleeps, and a slow machine changes nothing: a hold, a double tap or a strip's last second is a
number of frames.
"""

from __future__ import annotations

import math

FRAME_S = 1 / 60
"""Seconds from one frame to the next, as on a phone."""
LONGEST_FRAME_S = 1 / 20
"""The same while a test lets much time pass: still short enough for what moves to move evenly."""


class HandedTime:
    """Reads like `time.time`; goes on only when told."""

    def __init__(self) -> None:
        self.now_s = 0.0
        self.frame_s = FRAME_S

    def __call__(self) -> float:
        return self.now_s


handed = HandedTime()


def hand_in_time() -> None:
    """Let Kivy's clock, its fingers and what they move read the time from `handed`."""
    import kivy.effects.kinetic
    import kivy.effects.scroll
    import kivy.input.motionevent
    import kivy.input.postproc.doubletap
    import kivy.uix.behaviors.button
    from kivy.clock import Clock

    handed.now_s = Clock.time()
    before_each_frame = Clock.pre_idle

    def frame() -> None:
        handed.now_s += handed.frame_s
        before_each_frame()

    Clock.time, Clock.pre_idle = handed, frame
    for module in (
        kivy.effects.kinetic,
        kivy.effects.scroll,
        kivy.input.motionevent,
        kivy.input.postproc.doubletap,
        kivy.uix.behaviors.button,
    ):
        module.time = handed


def pass_time(seconds: float, frame_s: float | None = None) -> None:
    """Let so much time pass on the screen; with few, long frames where nothing moves that has to move evenly."""
    from tracker.previews.draw import settle

    frames = math.ceil(seconds / (frame_s or (LONGEST_FRAME_S if seconds > 1 else FRAME_S)))
    handed.frame_s = seconds / frames
    try:
        settle(frames)
    finally:
        handed.frame_s = FRAME_S
