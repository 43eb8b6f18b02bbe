"""A notice above whatever the phone shows, and a short buzz."""

from __future__ import annotations

import threading

from tracker.device.service import service

BUZZ_S = 0.4


def notify(title: str, words: str) -> bool:
    """Show a notice, without waiting; False where the device has none."""
    notices = service("notification")
    if notices is None:
        return False

    def show() -> None:
        try:
            notices.notify(title=title, message=words, app_name="Loomside")
        except Exception:
            return

    threading.Thread(target=show, name="notice", daemon=True).start()
    return True


def vibrate(seconds: float = BUZZ_S) -> bool:
    """Buzz; False where the device cannot."""
    buzzer = service("vibrator")
    if buzzer is None:
        return False
    try:
        buzzer.vibrate(time=seconds)
    except Exception:
        return False
    return True
