"""Reading aloud through the phone's own speech, where there is one."""

from __future__ import annotations

import threading
from functools import cache

from tracker.device.service import service


@cache
def can_speak() -> bool:
    """True when this device can read aloud."""
    return service("tts") is not None


def speak(words: str) -> bool:
    """Begin to read `words` aloud, without waiting; False where the device cannot."""
    voice = service("tts")
    if voice is None or not words:
        return False

    def talk() -> None:
        try:
            voice.speak(message=words)
        except Exception:
            return

    threading.Thread(target=talk, name="speaking", daemon=True).start()
    return True
