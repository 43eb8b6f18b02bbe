"""Takes a picture with the phone's camera or chooses one from the files: asked only where there is a camera."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from tracker.device import camera
from tracker.sheets.asking import ask_choice
from tracker.sheets.files import ENDINGS, ask_picture
from tracker.words import _


def take_photograph(shell: Any, done: Callable[[Path], None], choose: Callable[[], None]) -> None:
    """Take a picture with the camera; `done` gets its path, on the touch thread.

    `choose` is done instead, with a sentence, where the camera does not open.
    """

    def taken(path: Path | None) -> None:
        if path is not None:
            shell.desk.post(lambda: done(path))

    if not camera.take_picture(taken):
        shell.toast(_("The camera did not open. Choose a picture from the files instead."), warn=True)
        choose()


def ask_photograph(
    shell: Any, title: str, done: Callable[[Path], None], endings: tuple[str, ...] = ENDINGS
) -> None:
    """Ask for a picture; `done` gets its path, on the touch thread.

    A file that the camera wrote is the caller's to remove (`tracker.device.camera.forget_picture`).
    """

    def choose() -> None:
        ask_picture(shell, title, done, endings=endings)

    if not camera.has_camera():
        choose()
        return
    ask_choice(
        shell,
        title,
        [(_("Take one now"), "camera"), (_("Choose one from the files"), "files")],
        lambda choice: take_photograph(shell, done, choose) if choice == "camera" else choose(),
    )
