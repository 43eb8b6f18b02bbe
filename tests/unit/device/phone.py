"""A phone made of the stubs of its own API: it has what they have, takes what they take, and refuses everything else."""

from __future__ import annotations

import importlib
import os
import re
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any
from weakref import ReferenceType, ref

from tests.unit.device.since import LEAST, SINCE
from tests.unit.device.stubs import JavaClass, Signature, java_class, lineage

OURS = Path(__file__).parents[3] / "android" / "src"
ACTIVITY = "org.kivy.android.PythonActivity"


class JavaException(Exception):
    """What Java throws, as pyjnius hands it on."""


class NotThere(AssertionError):
    """The API, or this phone's level of it, lacks what was asked for."""


class Thing:
    """A Java object."""

    def __init__(self, phone: Phone, one: JavaClass, given: tuple = ()) -> None:
        object.__setattr__(self, "_phone", phone)
        object.__setattr__(self, "_class", one)
        object.__setattr__(self, "given", given)
        object.__setattr__(self, "kept", {})

    def __getattr__(self, name: str) -> Any:
        return self._phone.member(self._class, name, self)

    def __setattr__(self, name: str, value: Any) -> None:
        raise NotThere(f"our code sets no Java field, and {name} is one")


class Type:
    """A Java class: called, it makes an object; its attributes are constants and static methods."""

    def __init__(self, phone: Phone, one: JavaClass) -> None:
        self._phone, self._class = phone, one

    def __call__(self, *given: Any) -> Thing:
        made = [s for base in lineage(self._class)[:1] for s in base.methods.get("__init__", [])]
        self._phone.fitting(f"{self._class.name}.__init__", made, given)
        thing = Thing(self._phone, self._class, given)
        self._phone.done.append((self._class.name, given))
        return thing

    def __getattr__(self, name: str) -> Any:
        return self._phone.member(self._class, name, None)


class Phone:
    """One phone of a given level of the API.

    Attributes
    ----------
    says
        What a method answers: "android.content.ContentResolver.getType" to a function of the object and the arguments,
        or to a value.
    done
        Every call, its full name and arguments, in order.
    used
        Every class, method, field and constant that was asked for.
    """

    def __init__(self, level: int, folder: Path) -> None:
        self.level, self.folder = level, folder
        self.says: dict[str, Any] = {
            "android.os.Build.VERSION.SDK_INT": level,
            "android.content.Context.getCacheDir": lambda _it: self.thing("java.io.File"),
            "java.io.File.getAbsolutePath": str(folder),
        }
        self.done: list[tuple[str, tuple]] = []
        self.used: set[str] = set()
        self.activity = Thing(self, java_class("android.app.Activity"))
        self.result: Callable[[int, int, Any], None] | None = None
        self.new_intent: Callable[[Any], None] | None = None
        self.hears_back: list[ReferenceType] = []
        """What takes the back gesture, the newest last: Java's side keeps no Python object alive."""
        self.says["android.window.OnBackInvokedDispatcher.registerOnBackInvokedCallback"] = self._hear_back
        self.says["android.window.OnBackInvokedDispatcher.unregisterOnBackInvokedCallback"] = (
            self._hear_no_more
        )
        self.asked_for: list[list[str]] = []
        self.grants = True

    # --- what tracker.device.java asks

    def java_class(self, name: str) -> Any:
        if name == ACTIVITY:
            return ModuleLike(mActivity=self.activity)
        if name.startswith("loomside.book."):
            return OwnClass(self, name)
        self.check(name.replace("$", "."))
        return Type(self, java_class(name))

    def as_java(self, name: str, thing: Thing) -> Thing:
        java_class(name)
        return thing

    def implementing(self, interface: str, method: str, act: Callable[[], None]) -> Implementing:
        self.check(interface.replace("$", "."))
        (way,) = java_class(interface).methods[method]
        if way != Signature((), "None", False):
            raise NotThere(f"{interface}.{method} takes {way.arguments} and returns {way.returns}")
        return Implementing(interface, act)

    # --- classes and members

    def thing(self, name: str, *given: Any) -> Thing:
        """Make an object without going through its constructor, as the system would."""
        return Thing(self, java_class(name), given)

    def check(self, name: str) -> None:
        self.used.add(name)
        if name not in SINCE and LEAST.get(name.rpartition(".")[0]) is None and name not in LEAST:
            raise NotThere(f"tests/unit/device/since.py does not say since when there is {name}")
        if self.level < SINCE.get(name, 1):
            raise NotThere(f"{name} came with API {SINCE[name]}; this phone has {self.level}")

    def member(self, one: JavaClass, name: str, it: Thing | None) -> Any:
        for base in lineage(one):
            full = f"{base.name}.{name}"
            if name in base.fields:
                kind, static = base.fields[name]
                if it is None and not static:
                    raise NotThere(f"{full} belongs to an object, not to the class")
                self.check(full)
                return self.answer(full, kind, it, (), constant=static)
            if name in base.methods:
                return Method(self, full, base.methods[name], it)
        raise NotThere(f"{one.name} has no {name}")

    def fitting(self, name: str, ways: list[Signature], given: tuple) -> Signature:
        for way in ways:
            if len(way.arguments) == len(given) and all(
                self.fits(kind, value) for kind, value in zip(way.arguments, given, strict=True)
            ):
                return way
        raise NotThere(f"{name} takes no {given}; it takes {[way.arguments for way in ways]}")

    def fits(self, kind: str, value: Any) -> bool:
        kinds = kind.split(" | ")
        if isinstance(value, bool):
            return "bool" in kinds
        if isinstance(value, int):
            return bool({"int", "float"} & set(kinds))
        if isinstance(value, float):
            return "float" in kinds
        if value is None:
            return not {"int", "bool", "float"} & set(kinds)
        if any(re.fullmatch(r"_\w+__\w+", one.rpartition(".")[2]) for one in kinds):
            return True  # what a list holds
        if isinstance(value, str):
            return "str" in kinds
        names = (
            [one.name for one in lineage(value._class)]
            if isinstance(value, Thing)
            else [value.interface.replace("$", ".")]
        )
        if "java.lang.String" in names:
            names.append("java.lang.CharSequence")
        return bool(set(kinds) & set(names))

    def answer(self, full: str, kind: str, it: Any, given: tuple, constant: bool = False) -> Any:
        owners = lineage(it._class) if isinstance(it, Thing) else []
        name = full.rpartition(".")[2]
        for known in (full, *(f"{owner.name}.{name}" for owner in owners)):
            if known not in self.says:
                continue
            said = self.says[known]
            return said(it, *given) if callable(said) else said
        kinds = kind.split(" | ")
        if constant:
            # The stubs tell no values: each constant gets one of its own, an integer a bit of its own.
            return f"<{full}>" if "str" in kinds else 1 << (sum(full.encode()) % 24)
        if "None" in kinds:
            return None
        for simple, value in (("int", 0), ("bool", False), ("str", ""), ("float", 0.0)):
            if simple in kinds:
                return value
        try:
            return self.thing(kinds[0])
        except LookupError:
            return None

    def calls(self, name: str) -> list[tuple]:
        """Return the arguments of every call whose name ends so."""
        return [given for full, given in self.done if full.endswith(name)]

    # --- what others do to it

    def _hear_back(self, _it: Thing, _priority: int, callback: Implementing) -> None:
        self.hears_back.append(ref(callback))

    def _hear_no_more(self, _it: Thing, callback: Implementing) -> None:
        self.hears_back.remove(ref(callback))

    def back_gesture(self) -> bool:
        """Swipe back; False where the app takes no part, and the system leaves it."""
        if not self.hears_back:
            return False
        callback = self.hears_back[-1]()
        assert callback is not None, "what Java calls was collected"
        callback.act()
        return True

    def answers(self, result: str, data: Thing | None = None) -> None:
        """Let the app that was asked last answer, as RESULT_OK or RESULT_CANCELED."""
        _intent, code = self.calls("Activity.startActivityForResult")[-1]
        assert self.result is not None
        self.result(code, self.java_class("android.app.Activity").__getattr__(result), data)

    def modules(self) -> dict[str, ModuleType]:
        """Return python-for-android's own modules, as far as our code uses them."""
        activity, permissions = ModuleType("android.activity"), ModuleType("android.permissions")

        def bind(**events: Callable) -> None:
            assert set(events) <= {"on_activity_result", "on_new_intent"}
            self.result = events.get("on_activity_result", self.result)
            self.new_intent = events.get("on_new_intent", self.new_intent)

        def request_permissions(asked: list[str], callback: Callable | None = None) -> None:
            self.asked_for.append(asked)
            if callback:
                callback(asked, [self.grants for _one in asked])

        class Runnable:
            def __init__(self, act: Callable[[], None]) -> None:
                self.act = act

            def __call__(self) -> None:
                self.act()

        on_its_thread = ModuleType("android.runnable")
        on_its_thread.Runnable = Runnable  # type: ignore[attr-defined]
        activity.bind, permissions.request_permissions = bind, request_permissions  # type: ignore[attr-defined]
        return {
            "android": ModuleType("android"),
            "android.activity": activity,
            "android.permissions": permissions,
            "android.runnable": on_its_thread,
        }


def put_in_place(phone: Phone, monkeypatch: Any) -> Phone:
    """Let our device code run on this phone; return it."""
    import tracker.device
    from tracker.device import java, results, service

    monkeypatch.setenv("ANDROID_PRIVATE", str(phone.folder))
    monkeypatch.delenv("ANDROID_ARGUMENT", raising=False)
    for name, module in phone.modules().items():
        monkeypatch.setitem(sys.modules, name, module)
    for path in Path(java.__file__).parent.glob("[a-z]*.py"):
        user = importlib.import_module(f"{tracker.device.__name__}.{path.stem}")
        for name in ("java_class", "as_java", "implementing"):
            if hasattr(user, name):
                monkeypatch.setattr(user, name, getattr(phone, name))
    # What plyer offers elsewhere is not there.
    monkeypatch.setattr(service, "service", lambda _name: None)
    monkeypatch.setattr(results, "_listening", [])
    monkeypatch.setattr(results, "_waiting", {})
    return phone


def lying_at(phone: Phone, data: bytes, name: str = "two.loomside-exchange") -> Thing:
    """Put a file into another app and return its content address."""

    def opened(_it, _address, mode: str) -> Thing:
        path = phone.folder / "of another app"
        if "w" not in mode:
            path.write_bytes(data)
        descriptor = os.open(path, os.O_RDONLY if mode == "r" else os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        phone.says["android.os.ParcelFileDescriptor.detachFd"] = descriptor
        return phone.thing("android.os.ParcelFileDescriptor")

    phone.says["android.content.ContentResolver.openFileDescriptor"] = opened
    phone.says["android.content.ContentResolver.query"] = lambda *_a: phone.thing("android.database.Cursor")
    phone.says["android.database.Cursor.getString"] = name
    phone.says["android.database.Cursor.moveToFirst"] = True
    return phone.thing("android.net.Uri")


def answer_with(phone: Phone, address: Thing | None) -> Thing:
    """Return what a chooser answers when this was chosen."""
    phone.says["android.content.Intent.getData"] = address
    return phone.thing("android.content.Intent")


class Implementing:
    """A Java object whose one method is a Python function."""

    def __init__(self, interface: str, act: Callable[[], None]) -> None:
        self.interface, self.act = interface, act


class Method:
    """A method about to be called."""

    def __init__(self, phone: Phone, full: str, ways: list[Signature], it: Thing | None) -> None:
        self._phone, self._full, self._ways, self._it = phone, full, ways, it

    def __call__(self, *given: Any) -> Any:
        self._phone.check(self._full)
        ways = [way for way in self._ways if way.static or self._it is not None]
        if not ways:
            raise NotThere(f"{self._full} belongs to an object, not to the class")
        way = self._phone.fitting(self._full, ways, given)
        self._phone.done.append((self._full, given))
        if self._it is not None:
            self._it.kept.setdefault(self._full.rpartition(".")[2], []).append(given)
        return self._phone.answer(self._full, way.returns, self._it, given)


class ModuleLike:
    def __init__(self, **names: Any) -> None:
        self.__dict__.update(names)


class OwnClass:
    """A class of android/src: its public static methods, by name and number of arguments."""

    def __init__(self, phone: Phone, name: str) -> None:
        self._phone, self._name = phone, name
        text = (OURS / (name.replace(".", "/") + ".java")).read_text(encoding="utf-8")
        self._methods = dict(re.findall(r"public static \w+ (\w+)\(([^)]*)\)", text))

    def __getattr__(self, name: str) -> Callable:
        if name not in self._methods:
            raise NotThere(f"{self._name} has no public static {name}")
        kinds = [part.split()[0] for part in self._methods[name].split(",") if part.strip()]

        def call(*given: Any) -> Any:
            fits = {"Context": lambda v: isinstance(v, Thing), "String": lambda v: isinstance(v, str)}
            if len(given) != len(kinds) or not all(
                fits[kind](v) for kind, v in zip(kinds, given, strict=True)
            ):
                raise NotThere(f"{self._name}.{name} takes {kinds}")
            full = f"{self._name}.{name}"
            self._phone.done.append((full, given))
            return self._phone.says.get(full, 0)

        return call


def phones(folder: Path) -> Iterator[Phone]:
    """Return one phone of each level at which something that the app uses changed, the least and the newest."""
    for level in sorted({24, 36, *(level for level in SINCE.values() if level > 24)}):
        yield Phone(level, folder)
