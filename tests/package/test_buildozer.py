"""What Buildozer makes of our specification, and that python-for-android's own command line takes it.

Nothing is fetched or compiled: Buildozer runs up to each call of python-for-android, and that up to its first deed.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from tests.package.spec import ROOT, build_module, listed, spec

buildozer = pytest.importorskip("buildozer", reason="needs the test extra")

BUILT = {"debug": "apk", "release": "aab"}
"""What each of Buildozer's commands shall make."""


def calls_of(command: str, folder: Path, monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """Return the command lines that `buildozer android COMMAND` hands to python-for-android."""

    class Elsewhere(buildozer.Buildozer):
        """Writes nothing into the repository or the home folder, and installs nothing."""

        buildozer_dir = property(lambda _self: str(folder / "build"))
        global_buildozer_dir = property(lambda _self: str(folder / "home"))

    monkeypatch.chdir(ROOT)
    builder = Elsewhere(str(ROOT / "buildozer.spec"))
    builder.user_bin_dir = str(folder / "bin")
    builder.set_target("android")
    target = builder.target
    calls: list[list[str]] = []
    (folder / "build-tools" / "37.0.0").mkdir(parents=True)
    monkeypatch.setattr(type(target), "android_sdk_dir", str(folder))
    for step in ("check_requirements", "install_platform"):
        monkeypatch.setattr(target, step, lambda: None)
    for step in ("_update_libraries_references", "_generate_whitelist"):
        monkeypatch.setattr(target, step, lambda _folder: None)

    def call(arguments: list[str], env: object, **_how: object) -> None:
        calls.append([*arguments, *target.extra_p4a_args])

    monkeypatch.setattr(target, "_p4a", call)
    for step in ("check_application_requirements", "check_garden_requirements", "build_application"):
        monkeypatch.setattr(builder, step, lambda: None)
    monkeypatch.setattr(buildozer.buildops, "file_copy", lambda made, to: calls.append([made, to]))
    (target.cmd_debug if command == "debug" else target.cmd_release)()
    return calls


def taken(arguments: list[str], monkeypatch: pytest.MonkeyPatch):
    """Return what python-for-android's command line understands of some arguments, and its packer of the rest."""
    from pythonforandroid.toolchain import ToolchainCL

    found = []
    for deed in ("create", "apk", "aab"):
        monkeypatch.setattr(ToolchainCL, deed, lambda self, args: found.append((self, args)))
    monkeypatch.setattr(sys, "argv", ["p4a", *arguments])
    before = dict(os.environ)
    try:
        ToolchainCL()
    finally:
        os.environ.clear()
        os.environ.update(before)
    [(line, args)] = found
    if args.subparser_name != "create":
        line._fix_args(args)
    return args, args.unknown_args


@pytest.mark.parametrize("command", BUILT)
def test_buildozers_commands_are_taken_by_python_for_android(
    command: str, tmp_path: Path, monkeypatch
) -> None:
    create, package, *_again, (_made, to) = calls_of(command, tmp_path, monkeypatch)
    assert create[0] == "create"
    args, rest = taken(create, monkeypatch)
    assert rest == ["--ignore-setup-py"], "which only a package is asked about"
    assert len(args.requirements.split(",")) == len(listed("requirements"))
    assert args.arch == ["arm64-v8a", "armeabi-v7a"]
    assert Path(args.local_recipes).is_dir()
    assert Path(args.hook).is_file()

    assert package[0] == BUILT[command]
    assert to.endswith(f"-{command}.{BUILT[command]}")
    args, rest = taken(package, monkeypatch)
    assert args.build_mode == command
    # The packer ends the process over an option it does not know; it leaves relative names to the folder it runs in.
    build = build_module()
    monkeypatch.setattr(build, "get_bootstrap_name", lambda: "sdl2")
    Path(tmp_path / "dist_info.json").write_text('{"ndk_api": 24, "bootstrap": "sdl2"}')
    monkeypatch.chdir(tmp_path)
    packed = build.create_argument_parser().parse_args(rest)
    assert (packed.package, packed.name, packed.min_sdk_version) == ("loomside.book", "Loomside", 24)
    assert packed.permissions == [[permission] for permission in listed("android.permissions")]
    assert not [permission for (permission,) in packed.permissions if "INTERNET" in permission]
    assert packed.allow_backup != "false"
    assert packed.activity_launch_mode == "singleTask"
    files = (
        packed.icon,
        packed.icon_fg,
        packed.icon_bg,
        packed.presplash,
        packed.blacklist,
        packed.backup_rules,
    )
    for file in (*files, packed.intent_filters):
        assert Path(file).is_file(), file
    assert packed.depends == listed("android.gradle_dependencies")
    assert packed.presplash_color == spec()["android.presplash_color"]


def test_an_option_that_python_for_android_does_not_know_is_found(tmp_path: Path, monkeypatch) -> None:
    _create, package, *_more = calls_of("debug", tmp_path, monkeypatch)
    _args, rest = taken([*package, "--no-such-option", "x"], monkeypatch)
    with pytest.raises(SystemExit):
        build_module().create_argument_parser().parse_args(rest)
