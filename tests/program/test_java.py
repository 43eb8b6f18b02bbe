"""Our own Java, compiled against classes that are made of the stubs of the Android API: names, arguments, types."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from tests.package.spec import ROOT
from tests.unit.device.stubs import JavaClass, java_class, lineage

SOURCES = sorted((ROOT / "android" / "src").rglob("*.java"))
PRIMITIVE = {"int": "int", "bool": "boolean", "str": "String", "float": "float", "None": "void"}
OF_ANDROID = ("android.", "org.json.")
"""Packages that no compiler brings along."""
pytestmark = pytest.mark.skipif(shutil.which("javac") is None, reason="needs a Java compiler")


def java_type(kind: str) -> str:
    """Return a stub's type as Java writes it; "java.jlong" tells a long from an int."""
    parts = [part for part in kind.split(" | ") if part != "None"] or ["None"]
    if "java.jlong" in parts:
        return "long"
    if "java.jfloat" in parts:
        return "float"
    return PRIMITIVE.get(parts[0], parts[0])


def android_jar(folder: Path, sources: list[Path]) -> None:
    """Write classes with just the members that our sources name, and empty ones for what those mention."""
    text = "\n".join(path.read_text(encoding="utf-8") for path in sources)
    words = set(re.findall(r"\w+", text))
    wanted = set(re.findall(r"^import ((?:android|org\.json)\.[\w.]+);", text, re.MULTILINE))
    wanted |= {
        "android.app.Notification.Builder",
        "android.app.Notification.BigTextStyle",
        "android.os.Build.VERSION",
        "android.media.session.MediaSession.Callback",
        "android.media.session.PlaybackState.Builder",
    }
    wanted |= {"android.content.SharedPreferences.Editor"}
    full: dict[str, JavaClass] = {}
    empty: set[str] = set()
    for name in wanted:
        for one in lineage(java_class(name)):
            if one.name.startswith(OF_ANDROID):
                full[one.name] = one

    def mentioned(kind: str) -> str:
        name = java_type(kind)
        if name.startswith(OF_ANDROID):
            empty.add(name)
        return (
            name if "." not in name or name.startswith((*OF_ANDROID, "java.lang", "java.util")) else "Object"
        )

    def body(one: JavaClass) -> str:
        lines = []
        for name, ways in one.methods.items():
            if name != "__init__" and name not in words:
                continue
            for way in ways:
                arguments = ", ".join(f"{mentioned(kind)} a{i}" for i, kind in enumerate(way.arguments))
                if name == "__init__":
                    lines.append(f"public {one.name.rpartition('.')[2]}({arguments}) {{}}")
                    continue
                back = mentioned(way.returns)
                value = {
                    "void": "",
                    "boolean": "return false;",
                    "int": "return 0;",
                    "long": "return 0;",
                    "float": "return 0;",
                }
                mark = "static " if way.static else ""
                lines.append(
                    f"public {mark}{back} {name}({arguments}) {{ {value.get(back, 'return null;')} }}"
                )
        if not any(f"{one.name.rpartition('.')[2]}()" in line for line in lines):
            lines.append(f"public {one.name.rpartition('.')[2]}() {{}}")
        for name, (kind, static) in one.fields.items():
            if name in words:
                lines.append(f"public {'static ' if static else ''}{mentioned(kind)} {name};")
        return "\n".join(dict.fromkeys(lines))

    bodies = {name: body(one) for name, one in full.items()}
    every = set(full) | empty
    every |= {
        parent
        for name in every
        for parent in [name.rpartition(".")[0]]
        if parent.rpartition(".")[2][:1].isupper()
    }

    def write(name: str, nested: bool = False) -> str:
        one = full.get(name)
        parent = next(
            (base for base in (one.bases if one else ()) if base in full or base.startswith("java.lang.E")),
            None,
        )
        inner = "\n".join(write(other, True) for other in sorted(every) if other.rpartition(".")[0] == name)
        # The stubs do not say what a method throws: whether an exception must be caught is not checked.
        parent = "RuntimeException" if parent == "java.lang.Exception" else parent
        extends = f" extends {parent}" if parent else ""
        mark = "public static" if nested else "public"
        return f"{mark} class {name.rpartition('.')[2]}{extends} {{\n{bodies.get(name, '')}\n{inner}\n}}"

    for name in every:
        package = name.rpartition(".")[0]
        if package.rpartition(".")[2][:1].isupper():
            continue
        path = folder / (name.replace(".", "/") + ".java")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"package {package};\n{write(name)}\n", encoding="utf-8")
    for package, source in (
        ("org.kivy.android", "public class PythonActivity extends android.app.Activity {}"),
        ("loomside.book", "public class R { public static class drawable { public static int notice; } }"),
    ):
        path = folder / package.replace(".", "/") / f"{source.split()[2]}.java"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"package {package};\n{source}\n", encoding="utf-8")
    activity = folder / "android" / "app" / "Activity.java"
    activity.parent.mkdir(parents=True, exist_ok=True)
    if not activity.exists():
        activity.write_text("package android.app; public class Activity extends android.content.Context {}\n")


def compiled(folder: Path, sources: list[Path]) -> str:
    """Compile; return what the compiler says, "" when all is well."""
    android_jar(folder / "android", sources)
    (folder / "out").mkdir()
    ran = subprocess.run(
        ["javac", "-nowarn", "-proc:none", "-d", str(folder / "out"), "-sourcepath", str(folder / "android"), *map(str, sources)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    return "" if ran.returncode == 0 else ran.stderr


def test_our_java_compiles_against_the_stubs(tmp_path: Path) -> None:
    assert compiled(tmp_path, SOURCES) == ""
    assert (tmp_path / "out" / "loomside" / "book" / "ReminderReceiver.class").is_file()


WRONG = (
    {
        "setAndAllowWhileIdle": "setAndAllowWhileIdly",
        "NotificationManager.IMPORTANCE_DEFAULT": "NotificationManager.IMPORTANCE_USUAL",
        "new Notification.Builder(context)": "new Notification.Builder(context, 3)",
        "session.setActive(true)": 'session.setActive("yes")',
        "ACTION_SKIP_TO_NEXT": "ACTION_SKIP_TO_THE_NEXT",
    },
    # Arguments of a method that there is not are not looked at.
    {"AlarmManager.RTC_WAKEUP, at,": 'AlarmManager.RTC_WAKEUP, "at",'},
)
"""Mistakes that are compiled together, since starting the compiler takes longest."""


@pytest.mark.parametrize("changed", WRONG)
def test_what_the_stubs_lack_is_refused(tmp_path: Path, changed: dict[str, str]) -> None:
    """Each mistake is named with its own line."""
    sources: list[Path] = []
    lines: dict[str, set[tuple[str, int]]] = {wrong: set() for wrong in changed.values()}
    for source in SOURCES:
        text = source.read_text(encoding="utf-8")
        for right, wrong in changed.items():
            text = text.replace(right, wrong)
        for number, line in enumerate(text.splitlines(), 1):
            for wrong in changed.values():
                if wrong in line:
                    lines[wrong].add((source.name, number))
        broken = tmp_path / "loomside" / "book" / source.name
        broken.parent.mkdir(parents=True, exist_ok=True)
        broken.write_text(text, encoding="utf-8")
        sources.append(broken)
    said = re.findall(r"/(\w+\.java):(\d+): error", compiled(tmp_path, sources))
    refused = {(name, int(line)) for name, line in said}
    assert not [wrong for wrong, places in lines.items() if not places & refused]
