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


def implementing(interface: str, signatures: dict[str, str], **methods: Callable[..., None]) -> Any:
    """Return a Java object of `interface` whose methods are Python functions.

    Parameters
    ----------
    signatures
        Each method's Java signature, such as "(I)V". The caller keeps the object as long as Java may call it.
    """
    from jnius import PythonJavaClass, java_method

    body: dict[str, Any] = {"__javainterfaces__": [interface.replace(".", "/")], "__javacontext__": "app"}
    for name, signature in signatures.items():

        def call(_self: Any, *arguments: Any, work: Callable[..., None] = methods[name]) -> None:
            work(*arguments)

        body[name] = java_method(signature, name=name)(call)
    return type("Implementing", (PythonJavaClass,), body)()


def activity() -> android.app.Activity:
    """Return the app's one activity."""
    found: android.app.Activity = java_class(ACTIVITY).mActivity
    return found


def api_level() -> int:
    """Return the level of the Android API of this phone: 24 is Android 7, 33 is Android 13."""
    Version: type[android.os.Build.VERSION] = java_class("android.os.Build$VERSION")
    return Version.SDK_INT


def on_ui_thread(work: Callable[[], None]) -> None:
    """Run `work` on Android's own thread, where views live; it returns at once."""
    runnable = implementing("java.lang.Runnable", {"run": "()V"}, run=work)
    _kept.append(runnable)
    del _kept[:-KEPT]
    activity().runOnUiThread(runnable)


KEPT = 32
_kept: list[Any] = []
"""What Java may still call must not be collected."""
