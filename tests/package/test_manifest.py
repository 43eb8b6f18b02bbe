"""The manifest that python-for-android's own template makes of our options, completed by our hook, and its resources."""

from __future__ import annotations

import importlib.util
import json
import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

pytest.importorskip("pythonforandroid", reason="needs the test extra")
import jinja2
import pythonforandroid
from PIL import Image, ImageChops

from tests.package.spec import ROOT, build_module, listed, spec
from tests.unit.device.stubs import java_class

ANDROID = "{http://schemas.android.com/apk/res/android}"
RES = ROOT / "android" / "res"
PACKAGE = f"{spec()['package.domain']}.{spec()['package.name']}"

NEWER_CHANGES = {"CONFIG_GRAMMATICAL_GENDER", "CONFIG_ASSETS_PATHS", "CONFIG_RESOURCES_UNUSED"}
"""Changes whose names are newer than the target (from memory); the first follows a setting, of which Android tells since 14."""


def hook():
    found = importlib.util.spec_from_file_location("hook", ROOT / spec()["p4a.hook"])
    module = importlib.util.module_from_spec(found)
    found.loader.exec_module(module)
    return module


def rendered(tmp_path: Path, monkeypatch, permissions: list[str]) -> Path:
    """Write the manifest as python-for-android does, with the options that Buildozer makes of our specification."""
    monkeypatch.chdir(tmp_path)
    Path("dist_info.json").write_text(
        json.dumps({"ndk_api": int(spec()["android.ndk_api"]), "bootstrap": "sdl2"})
    )
    build = build_module()
    monkeypatch.setattr(build, "get_bootstrap_name", lambda: "sdl2")
    arguments = [
        "--package",
        PACKAGE,
        "--name",
        spec()["title"],
        "--version",
        "0.1.0",
        "--private",
        str(ROOT),
    ]
    arguments += [
        "--minsdk",
        spec()["android.minapi"],
        "--window",
        "--presplash-color",
        spec()["android.presplash_color"],
    ]
    arguments += ["--activity-launch-mode", spec()["android.manifest.launch_mode"]]
    arguments += [part for name in permissions for part in ("--permission", name)]
    arguments += [part for way in listed("orientation") for part in ("--orientation", way)]
    args = build.create_argument_parser().parse_args(arguments)
    args.permissions = build.parse_permissions(args.permissions)
    args.manifest_orientation = build.get_manifest_orientation(args.orientation)
    args.backup_rules = Path(spec()["android.backup_rules"]).stem
    args.intent_filters = (ROOT / spec()["android.manifest.intent_filters"]).read_text(encoding="utf-8")
    args.add_activity = []
    templates = Path(pythonforandroid.__file__).parent / "bootstraps" / "_sdl_common" / "build" / "templates"
    text = (
        jinja2.Environment(loader=jinja2.FileSystemLoader(templates))
        .get_template("AndroidManifest.tmpl.xml")
        .render(
            args=args, service=False, service_data=[], android_api=int(spec()["android.api"]), debug=True,
            native_services=[], url_scheme="kivy",
        )
    )  # fmt: skip
    manifest = tmp_path / "AndroidManifest.xml"
    manifest.write_text(text, encoding="utf-8")
    return manifest


@pytest.fixture
def manifest(tmp_path, monkeypatch) -> ElementTree.Element:
    path = rendered(tmp_path, monkeypatch, listed("android.permissions"))
    hook().complete_manifest(path)
    return ElementTree.parse(path).getroot()


def named(parent: ElementTree.Element, tag: str) -> dict[str, ElementTree.Element]:
    return {str(child.get(ANDROID + "name")): child for child in parent.iter(tag)}


def test_it_asks_for_three_permissions_and_never_for_the_network(manifest) -> None:
    assert set(named(manifest, "uses-permission")) == {
        "android.permission.POST_NOTIFICATIONS",
        "android.permission.RECEIVE_BOOT_COMPLETED",
        "android.permission.VIBRATE",
    }


def test_a_manifest_that_asks_for_the_network_is_not_built(tmp_path, monkeypatch) -> None:
    path = rendered(tmp_path, monkeypatch, ["android.permission.INTERNET"])
    with pytest.raises(SystemExit, match="INTERNET"):
        hook().complete_manifest(path)


def test_each_permission_has_its_reason_beside_it() -> None:
    text = (ROOT / "buildozer.spec").read_text(encoding="utf-8")
    for permission in listed("android.permissions"):
        assert re.search(rf"^# {permission.rpartition('.')[2]}: \w", text, re.MULTILINE), permission


def test_the_receiver_is_our_own_class_and_hears_the_restart(manifest) -> None:
    receivers = named(manifest, "receiver")
    (name,) = receivers
    assert (ROOT / "android" / "src" / (name.replace(".", "/") + ".java")).is_file()
    assert receivers[name].get(ANDROID + "exported") == "false"
    assert "android.intent.action.BOOT_COMPLETED" in named(receivers[name], "action")


def test_the_app_takes_pictures_and_files_of_other_phones_but_no_web_address(manifest) -> None:
    (activity,) = named(manifest, "activity").values()
    actions = named(activity, "action")
    assert {"android.intent.action.MAIN", "android.intent.action.VIEW", "android.intent.action.SEND"} == set(
        actions
    )
    schemes = {data.get(ANDROID + "scheme") for data in activity.iter("data")}
    assert schemes == {"content", None}
    assert "android.intent.category.BROWSABLE" not in named(activity, "category")


def test_no_change_of_the_phones_settings_ends_the_app(manifest) -> None:
    """Rotation, a split screen, dark, another language, larger or bold text: what is half filled in stays where it is."""
    (activity,) = named(manifest, "activity").values()
    followed = str(activity.get(ANDROID + "configChanges")).split("|")
    assert len(set(followed)) == len(followed)
    constants = {
        name for name in java_class("android.content.pm.ActivityInfo").fields if name.startswith("CONFIG_")
    } - NEWER_CHANGES
    assert len(constants) > 15
    assert {name.replace("_", "") for name in constants} == {f"CONFIG{change.upper()}" for change in followed}


def test_the_system_asks_before_the_back_gesture_ends(manifest) -> None:
    (application,) = manifest.iter("application")
    assert application.get(ANDROID + "enableOnBackInvokedCallback") == "true"


def test_only_given_files_leave_through_the_provider(manifest) -> None:
    (provider,) = named(manifest, "provider").values()
    assert provider.get(ANDROID + "authorities") == f"{PACKAGE}.files"
    assert provider.get(ANDROID + "exported") == "false"
    assert provider.get(ANDROID + "grantUriPermissions") == "true"
    paths = ElementTree.parse(RES / "xml" / "shared_files.xml").getroot()
    assert {path.tag for path in paths} == {"cache-path"}
    assert "androidx.core:core:" in spec()["android.gradle_dependencies"]


def test_every_resource_named_is_there_or_made_by_python_for_android(manifest) -> None:
    made = {"@mipmap/icon", "@string/app_name", "@style/KivySupportCutout"}
    for value in {
        value for element in manifest.iter() for value in element.attrib.values() if value.startswith("@")
    }:
        if value in made or value.startswith("@android:"):
            continue
        kind, name = value[1:].split("/")
        assert list(RES.glob(f"{kind}*/{name}.*")), value


def test_the_books_every_file_is_backed_up_or_left_out_on_purpose(tmp_path) -> None:
    from datetime import date

    from tests.package.opened_book import files_beside_the_book

    left_out = {"book.loomside.copies", "book.loomside.photos", "book.loomside.view", "book.loomside-shm"}
    beside = files_beside_the_book(tmp_path, date(2026, 11, 25))
    old = {
        e.get("path") for e in ElementTree.parse(RES / "xml" / "backup_rules.xml").getroot().iter("include")
    }
    new = ElementTree.parse(RES / "xml" / "data_extraction_rules.xml").getroot()
    cloud = {e.get("path") for e in new.find("cloud-backup").iter("include")}
    moved = {e.get("path").rstrip("/") for e in new.find("device-transfer").iter("include")}
    assert old == cloud
    assert beside - left_out <= cloud
    assert "book.loomside" in beside & cloud
    assert {"book.loomside.copies", "book.loomside.photos"} <= moved


def test_the_system_is_told_of_every_language_of_the_app() -> None:
    from tracker.presenters.settings import LANGUAGES

    config = ElementTree.parse(RES / "xml" / "locales_config.xml").getroot()
    assert {locale.get(ANDROID + "name") for locale in config} == set(LANGUAGES)
    for language in set(LANGUAGES) - {"en"}:
        strings = ElementTree.parse(RES / f"values-{language}" / "loomside.xml").getroot()
        assert [entry.text for entry in strings if entry.get("name") == "app_name"] == [spec()["title"]]
    for language in LANGUAGES:
        assert f"babel/locale-data/{language}.dat" in listed("android.whitelist")


@pytest.mark.parametrize(
    ("path", "size"),
    [
        ("assets/icons/loomside.png", (512, 512)),
        ("android/icon_foreground.png", (432, 432)),
        ("android/icon_background.png", (432, 432)),
        ("android/res/mipmap/icon_monochrome.png", (432, 432)),
        ("android/res/drawable/notice.png", (96, 96)),
        ("android/presplash.jpg", (720, 1280)),
        ("android/res/drawable-night/presplash.jpg", (720, 1280)),
    ],
)
def test_pictures_are_there_in_the_size_android_asks_for(path, size) -> None:
    with Image.open(ROOT / path) as picture:
        assert picture.size == size


def test_pictures_are_those_that_the_drawing_command_draws(tmp_path) -> None:
    found = importlib.util.spec_from_file_location("draw_icons", ROOT / "assets" / "icons" / "draw_icons.py")
    drawing = importlib.util.module_from_spec(found)
    found.loader.exec_module(drawing)
    drawing.draw_package(tmp_path)
    drawn = [path for path in tmp_path.rglob("*") if path.is_file()]
    assert len(drawn) == 6
    for path in drawn:
        packed = ROOT / "android" / path.relative_to(tmp_path)
        with Image.open(path) as new, Image.open(packed) as old:
            apart = ImageChops.difference(new.convert("RGBA"), old.convert("RGBA"))
        assert max(most for _least, most in apart.getextrema()) <= 4, packed  # JPEG


@pytest.mark.parametrize("path", ["android/icon_foreground.png", "android/res/mipmap/icon_monochrome.png"])
def test_no_launcher_cuts_off_a_part_of_the_icon(path) -> None:
    # 66 of 108 dp across in the middle: Android's guide to adaptive icons
    with Image.open(ROOT / path) as picture:
        alpha = picture.getchannel("A")
        side = picture.width
        reach = max(
            ((x - side / 2) ** 2 + (y - side / 2) ** 2) ** 0.5
            for y in range(0, side, 3)
            for x in range(0, side, 3)
            if alpha.getpixel((x, y)) > 60
        )
    assert 0.4 * side * 66 / 108 < reach <= side / 2 * 66 / 108 + 2


def test_a_notices_picture_is_white_on_clear() -> None:
    with Image.open(RES / "drawable" / "notice.png") as picture:
        colours = {colour[:3] for _count, colour in picture.getcolors(9216) if colour[3]}
    assert colours == {(255, 255, 255)}


def test_the_presplash_is_dark_at_night_and_stands_on_its_colour() -> None:
    from PIL import ImageColor

    night = ElementTree.parse(RES / "values-night" / "loomside.xml").getroot()
    pairs = (
        (ROOT / spec()["presplash.filename"], spec()["android.presplash_color"]),
        (RES / "drawable-night" / "presplash.jpg", night[0].text),
    )
    for path, colour in pairs:
        with Image.open(path) as picture:
            corner = picture.getpixel((2, 2))
        assert max(abs(a - b) for a, b in zip(corner, ImageColor.getrgb(colour), strict=True)) <= 4  # JPEG


def test_the_adaptive_icon_names_a_picture_to_tint(tmp_path, monkeypatch) -> None:
    folder = tmp_path / "src" / "main" / "res" / "mipmap-anydpi-v26"
    folder.mkdir(parents=True)
    path = rendered(tmp_path, monkeypatch, [])
    path.rename(tmp_path / "src" / "main" / "AndroidManifest.xml")
    hook().before_apk_assemble(None)
    icon = ElementTree.parse(folder / "icon.xml").getroot()
    for layer in icon:
        name = layer.get(ANDROID + "drawable").rpartition("/")[2]
        assert [*ROOT.glob(f"android/{name}.png"), *RES.glob(f"mipmap*/{name}.png")]
    assert [layer.tag for layer in icon] == ["background", "foreground", "monochrome"]
