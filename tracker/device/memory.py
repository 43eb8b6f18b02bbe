"""When garbage is looked for, and memory that was freed, handed back to the system.

A page is some fifty thousand objects, and Python looks through every object it holds each time they grow by a quarter: in
the middle of a touch, for longer than a page takes to be built. So it is done while nothing moves. What allocates memory
keeps it when it was freed, and a phone ends the largest app first: so it is handed back then, too.
"""

from __future__ import annotations

import ctypes
import gc
from contextlib import suppress

M_PURGE = -101
"""Bionic's malloc.h, since API 28: free what is kept for later."""

WHILE_TOUCHED = (50_000, 10, 20)
"""Thresholds of `gc` while the app runs: a page is built within one look at the youngest objects, and all are looked through
in passing only after ten million new ones, which no hand makes between two rests."""
USUAL = gc.get_threshold()
WORTH_LOOKING = 1
"""Looks at the youngest objects (fifty thousand each, about a page) since the last look in `tidy`. After four pages a touch in
just that moment waited for longer, and what they had left between what stays could not be handed back any more."""
THOROUGH_EVERY = 20
"""Of so many looks in `tidy` one goes through what is taken to stay, too."""


class _Looks:
    """How often `tidy` has looked since garbage is looked for at rest; None while it is not."""

    so_far: int | None = None
    kept: bool = False
    """Whether what was there at the last thorough look is passed over."""


def collect_at_rest() -> None:
    """From now on look through all objects in `tidy` only."""
    gc.set_threshold(*WHILE_TOUCHED)
    _Looks.so_far = 0


def collect_as_usual() -> None:
    """Look through all objects whenever Python thinks fit."""
    gc.set_threshold(*USUAL)
    _Looks.so_far = None
    _look_at_all_again()


def _look_at_all_again() -> None:
    if _Looks.kept:
        _Looks.kept = False
        gc.unfreeze()


def tidy() -> None:
    """Free what nobody holds any more, where enough was made since the last time to be worth it, and hand memory back."""
    _youngest, middle, oldest = gc.get_count()
    if middle >= WORTH_LOOKING or oldest:
        _look_for_garbage()
    finish_drawing()
    give_back()


def _look_for_garbage() -> None:
    """Free what nobody holds any more; as a rule without what was there at the last thorough look.

    Modules, rules and the main pages stay for as long as the app runs, and are most of all objects: to look through them each
    time is to make a touch wait for nothing. A page that was let go of since is freed at the next thorough look.
    """
    if _Looks.so_far is None:
        gc.collect()
        return
    thorough = _Looks.so_far % THOROUGH_EVERY == 0
    _Looks.so_far += 1
    if thorough:
        _look_at_all_again()
    gc.collect()
    if thorough:
        _Looks.kept = True
        gc.freeze()


def finish_drawing() -> None:
    """Let the graphics driver free what was deleted; nothing where there is no window.

    Notes
    -----
    Kivy deletes buffers and textures before the next frame only, and a driver keeps those that a frame was drawn from until
    it has ended that and begins another: 25 MiB of 400 rectangles that were drawn and taken away (Mesa's llvmpipe 22.3),
    however many frames came after. So an empty one, which is never shown, is begun here.
    """
    from kivy.base import EventLoop

    if EventLoop.window is not None:
        from kivy.graphics.context import get_context
        from kivy.graphics.opengl import GL_COLOR_BUFFER_BIT, glClear, glFinish, glFlush

        get_context().gl_dealloc()
        glFinish()
        glClear(GL_COLOR_BUFFER_BIT)
        glFlush()


def free_all() -> None:
    """Free what nobody holds any more, however little, and hand memory back: the phone is short of it."""
    _look_at_all_again()
    gc.collect()
    give_back()


def give_back() -> bool:
    """Hand freed memory back; False where the system's library has no way to.

    Notes
    -----
    glibc: malloc_trim(3); Android: mallopt(M_PURGE).
    """
    with suppress(OSError, AttributeError, TypeError):
        library = ctypes.CDLL(None)
        if hasattr(library, "malloc_trim"):
            library.malloc_trim(0)
            return True
        return bool(library.mallopt(M_PURGE, 0))
    return False
