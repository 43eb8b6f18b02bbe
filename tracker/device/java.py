"""The one way to Android's own classes. Nothing else imports pyjnius, so that a test can put a phone of its own here.

Whoever asks for a class writes its type beside it, `Intent: type[android.content.Intent] = java_class("android.content.Intent")`,
so that mypy checks every method, field and argument against the stubs of the Android API; a test checks that name and
type are the same.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import android.app
    import android.os

ACTIVITY = "org.kivy.android.PythonActivity"
APPLICATION_ID = "loomside.book"
"""As in buildozer.spec."""


def on_android() -> bool:
    """True when the app runs on an Android phone."""
    return bool(os.environ.get("ANDROID_ARGUMENT") or os.environ.get("ANDROID_PRIVATE"))


def java_class(name: str) -> Any:
    """Return a Java class by its full name, nested ones after a "$"."""
    from jnius import autoclass

    return autoclass(name)


def as_java(name: str, thing: Any) -> Any:
    """Return a Java object as one of the class `name`, where Java only promises an Object."""
    from jnius import cast

    return cast(name, thing)


def implementing(interface: str, method: str, act: Callable[[], None]) -> Any:
    """Return a Java object of `interface` whose one method, which takes and returns nothing, calls `act`.

    Whoever asks for it keeps it as long as Java may call it.
    """
    from jnius import PythonJavaClass, java_method

    def called(_self: object) -> None:
        act()

    body = {
        "__javainterfaces__": [interface.replace(".", "/")],
        method: java_method("()V", name=method)(called),
    }
    return type("Implementing", (PythonJavaClass,), body)()


def activity() -> android.app.Activity:
    """Return the app's one activity."""
    running: android.app.Activity = java_class(ACTIVITY).mActivity
    return running


def api_level() -> int:
    """Return the level of the Android API of this phone: 24 is Android 7, 33 is Android 13."""
    Version: type[android.os.Build.VERSION] = java_class("android.os.Build$VERSION")
    return Version.SDK_INT
