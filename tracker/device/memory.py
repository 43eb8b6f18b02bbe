"""When garbage is looked for, and memory that was freed, handed back to the system.

A page is some fifty thousand objects, and Python looks through every object it holds each time they grow by a quarter: in
the middle of a touch, for longer than a page takes to be built. So it is done while nothing moves. What allocates memory
keeps it when it was freed, and a phone ends the largest app first: so it is handed back then, too.
"""

from __future__ import annotations

import ctypes
import gc
from collections.abc import Iterator
from contextlib import suppress

M_PURGE, M_PURGE_ALL = -101, -104
"""Bionic's malloc.h, since API 28 and 34 (from memory): free what is kept for later; all of it, however long that takes."""

WHILE_TOUCHED = (50_000, 10, 20)
"""Thresholds of `gc` while the app runs: a page is built within one look at the youngest objects, and all are looked through
in passing only after ten million new ones, which no hand makes between two rests."""
USUAL = gc.get_threshold()
WORTH_LOOKING = 1
"""Looks at the youngest objects (fifty thousand each, about a page) since the last look in `tidy`. After four pages a touch in
just that moment waited for longer, and what they had left between what stays could not be handed back any more."""
MOST_LOOKS = 2
"""Looks, one after another: Kivy unbinds a widget when it is gone, and what hung on that can be found only then."""
FEW = 1_000
"""Objects freed by a look that are not worth another one."""


class _Looks:
    """Whether garbage is looked for at rest, and whether what stays is passed over by now."""

    at_rest = False
    kept = False


def collect_at_rest() -> None:
    """From now on look through all objects in `tidy` only."""
    gc.set_threshold(*WHILE_TOUCHED)
    _Looks.at_rest = True


def collect_as_usual() -> None:
    """Look through all objects whenever Python thinks fit."""
    gc.set_threshold(*USUAL)
    _Looks.at_rest = False
    _look_at_all_again()


def _look_at_all_again() -> None:
    if _Looks.kept:
        _Looks.kept = False
        gc.unfreeze()


def tidy() -> None:
    """Free what nobody holds any more, where enough was made since the last time to be worth it, and hand memory back."""
    for _step in tidying():
        pass


def tidying() -> Iterator[None]:
    """Do what `tidy` does in steps, so that a touch waits for one of them at most.

    Notes
    -----
    What is there when the app first rests is passed over from then on: modules and rules are most of all objects and stay as
    long as the app runs. Pages are not: were they passed over, too, what they let go of would stay, and with it the memory
    between (13 MiB after 500 evenings).
    """
    _youngest, middle, oldest = gc.get_count()
    if middle >= WORTH_LOOKING or oldest:
        for _look in range(MOST_LOOKS):
            freed = gc.collect()
            yield
            if freed < FEW:
                break
    if _Looks.at_rest and not _Looks.kept:
        _Looks.kept = True
        gc.freeze()
    finish_drawing()
    yield
    give_back()


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
    for _look in range(MOST_LOOKS):
        if gc.collect() < FEW:
            break
    give_back(whole=True)


def give_back(whole: bool = False) -> bool:
    """Hand freed memory back; False where the system's library has no way to.

    Parameters
    ----------
    whole
        All of it, where the library makes a difference, however long that takes.

    Notes
    -----
    glibc: malloc_trim(3); Android: mallopt(M_PURGE_ALL), or M_PURGE where it does not know that.
    """
    with suppress(OSError, AttributeError, TypeError):
        library = ctypes.CDLL(None)
        if hasattr(library, "malloc_trim"):
            library.malloc_trim(0)
            return True
        return bool((whole and library.mallopt(M_PURGE_ALL, 0)) or library.mallopt(M_PURGE, 0))
    return False
