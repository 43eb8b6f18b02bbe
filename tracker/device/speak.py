"""Reading aloud through the phone's own speech, where there is one."""

from __future__ import annotations

import threading
from functools import cache
from typing import TYPE_CHECKING, Any, Protocol

from tracker.device.java import activity, java_class, on_android
from tracker.device.service import service

if TYPE_CHECKING:
    import android.speech.tts
    import java.lang
    import java.util

USUAL_RATE = 1.0
SLOWER_RATE = 0.7
"""Speed of speech over the phone's own: our judgement of what is followed with yarn in hand."""
READY_TRIES, READY_WAIT_S = 16, 0.25
"""How often, and after how long, words are said again while the phone's speech is still starting."""


class Voice(Protocol):
    """Says one thing at a time."""

    slows: bool
    """Whether the speed of speech can be set."""

    def say(self, words: str, rate: float = USUAL_RATE, language: str = "") -> None:
        """Begin to say `words` in place of what is being said, without waiting."""

    def hush(self) -> None:
        """Stop in the middle of a word."""


class AndroidVoice:
    """The speech of an Android phone."""

    slows = True

    def __init__(self) -> None:
        Speech: type[android.speech.tts.TextToSpeech] = java_class("android.speech.tts.TextToSpeech")
        # Nobody listens for its start: words are tried again until it has.
        nobody: Any = None
        self._speech = Speech(activity(), nobody)
        self._done, self._flush = Speech.SUCCESS, Speech.QUEUE_FLUSH
        self._wanted = 0

    def say(self, words: str, rate: float = USUAL_RATE, language: str = "") -> None:
        """Begin to say `words`; the phone's speech needs a moment after its first call, so that is tried again."""
        self._wanted += 1
        self._try(self._wanted, words, rate, language, READY_TRIES)

    def _try(self, wanted: int, words: str, rate: float, language: str, tries: int) -> None:
        if wanted != self._wanted or not tries:
            return
        if language:
            Locale: type[java.util.Locale] = java_class("java.util.Locale")
            self._speech.setLanguage(Locale.forLanguageTag(language))
        self._speech.setSpeechRate(rate)
        String: type[java.lang.String] = java_class("java.lang.String")
        no_parameters: Any = None
        if self._speech.speak(String(words), self._flush, no_parameters, "row") == self._done:
            return
        from kivy.clock import Clock

        Clock.schedule_once(lambda _dt: self._try(wanted, words, rate, language, tries - 1), READY_WAIT_S)

    def hush(self) -> None:
        """Stop in the middle of a word."""
        self._wanted += 1
        self._speech.stop()


class PlyerVoice:
    """The speech of a desktop: it says things whole, at its own speed."""

    slows = False

    def __init__(self, spoken_by: Any) -> None:
        self._spoken_by = spoken_by

    def say(self, words: str, rate: float = USUAL_RATE, language: str = "") -> None:
        """Begin to say `words`."""

        def talk() -> None:
            try:
                self._spoken_by.speak(message=words)
            except Exception:
                return

        threading.Thread(target=talk, name="speaking", daemon=True).start()

    def hush(self) -> None:
        """Nothing: a desktop's speech program is not stopped."""


@cache
def voice() -> Voice | None:
    """Return this device's speech; None where it has none."""
    if on_android():
        return AndroidVoice()
    spoken_by = service("tts")
    return None if spoken_by is None else PlyerVoice(spoken_by)


def can_speak() -> bool:
    """True when this device can read aloud."""
    return on_android() or service("tts") is not None
