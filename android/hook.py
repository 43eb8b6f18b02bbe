"""What python-for-android's own options cannot say, put into the package just before it is built.

python-for-android calls `before_apk_assemble` in the folder of the distribution, once manifest and resources are there.
"""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

HERE = Path(__file__).resolve().parent
ANDROID = "http://schemas.android.com/apk/res/android"
ICON = """<?xml version="1.0" encoding="utf-8"?>
<adaptive-icon xmlns:android="http://schemas.android.com/apk/res/android">
    <background android:drawable="@mipmap/icon_background"/>
    <foreground android:drawable="@mipmap/icon_foreground"/>
    <monochrome android:drawable="@mipmap/icon_monochrome"/>
</adaptive-icon>
"""
"""The adaptive icon as python-for-android writes it, with the picture that a launcher tints."""
NEVER = ("INTERNET", "ACCESS_NETWORK_STATE", "CAMERA", "READ_EXTERNAL_STORAGE", "WRITE_EXTERNAL_STORAGE")
"""Permissions with which this app is never built."""

FOLLOWED = ("fontWeightAdjustment", "colorMode")
"""Changes of the phone's settings, beside those that python-for-android names, through which the app goes on; it would be ended and
begun anew, which Kivy cannot."""


def complete_manifest(manifest: Path) -> None:
    """Add receiver, provider and the application's further attributes to a manifest.

    Raises
    ------
    SystemExit
        When the manifest asks for a permission that this app never has.
    """
    ElementTree.register_namespace("android", ANDROID)
    tree = ElementTree.parse(manifest)
    root = tree.getroot()
    asked = {
        str(entry.get(f"{{{ANDROID}}}name")).rpartition(".")[2] for entry in root.iter("uses-permission")
    }
    if refused := sorted(asked & set(NEVER)):
        raise SystemExit(f"Loomside is never built with the permission {', '.join(refused)}.")
    # Alarms do not reach an app that lies on a memory card.
    root.set(f"{{{ANDROID}}}installLocation", "internalOnly")
    application = root.find("application")
    assert application is not None
    for activity in application.iter("activity"):
        changes = str(activity.get(f"{{{ANDROID}}}configChanges") or "").split("|")
        activity.set(f"{{{ANDROID}}}configChanges", "|".join(dict.fromkeys([*changes, *FOLLOWED])))
    ours = ElementTree.parse(HERE / "application.xml").getroot()
    for name, value in ours.attrib.items():
        application.set(name, value)
    there = {child.get(f"{{{ANDROID}}}name") for child in application}
    application.extend(child for child in ours if child.get(f"{{{ANDROID}}}name") not in there)
    tree.write(manifest, encoding="utf-8", xml_declaration=True)


def before_apk_assemble(_toolchain: object) -> None:
    """Complete the distribution in the current folder."""
    main = Path("src/main")
    complete_manifest(main / "AndroidManifest.xml")
    (main / "res" / "mipmap-anydpi-v26" / "icon.xml").write_text(ICON, encoding="utf-8")
