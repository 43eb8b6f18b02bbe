"""Files, pictures, permission, alarms, arrivals and settings on phones of every level, against their own API."""

from __future__ import annotations

import ast
import gc
import json
import sys
from datetime import datetime
from pathlib import Path

import pytest

from tests.unit.device.phone import (
    JavaException,
    NotThere,
    Phone,
    answer_with,
    lying_at,
    phones,
    put_in_place,
)
from tests.unit.device.since import SINCE
from tracker.device import (
    alarms,
    appearance,
    arrivals,
    back,
    camera,
    content,
    files,
    headset,
    java,
    permission,
    speak,
)
from tracker.domain.reminder import Reminder

LEVELS = [phone.level for phone in phones(Path("."))]
DEVICE = Path(java.__file__).parent


@pytest.fixture(params=LEVELS, ids=[f"api{level}" for level in LEVELS])
def phone(request, tmp_path, monkeypatch) -> Phone:
    """Return a phone of one level that our device code runs on."""
    return put_in_place(Phone(request.param, tmp_path), monkeypatch)


def test_a_chosen_file_comes_as_a_copy_of_our_own_with_its_ending(phone) -> None:
    got: list[Path | None] = []
    files.choose_file(got.append)
    assert files.has_chooser()
    phone.answers("RESULT_OK", answer_with(phone, lying_at(phone, b"a whole book")))
    assert got[0] is not None
    assert got[0].read_bytes() == b"a whole book"
    assert got[0].suffix == ".loomside-exchange"
    assert got[0].is_relative_to(phone.folder)


def test_no_permission_is_asked_for_files_or_pictures(phone) -> None:
    files.choose_file(lambda _path: None)
    files.choose_picture(lambda _path: None)
    phone.says["android.content.pm.PackageManager.hasSystemFeature"] = True
    camera.take_picture(lambda _path: None)
    assert phone.asked_for == []


def test_pictures_come_through_the_photo_picker_where_there_is_one(phone) -> None:
    files.choose_picture(lambda _path: None)
    (intent, _code) = phone.calls("Activity.startActivityForResult")[-1]
    wanted = "ACTION_PICK_IMAGES" if phone.level >= 33 else "ACTION_OPEN_DOCUMENT"
    assert wanted in intent.given[0]
    assert intent.kept["setType"] == [("image/*",)]


def test_choosing_nothing_or_what_cannot_be_read_brings_nothing(phone) -> None:
    got: list[Path | None] = []
    files.choose_file(got.append)
    phone.answers("RESULT_CANCELED")
    files.choose_file(got.append)
    address = lying_at(phone, b"")

    def refused(*_arguments):
        raise JavaException("FileNotFoundException")

    phone.says["android.content.ContentResolver.openFileDescriptor"] = refused
    phone.answers("RESULT_OK", answer_with(phone, address))
    assert got == [None, None]
    assert not list((phone.folder / "taken").iterdir())


def test_a_file_beyond_the_limit_is_not_copied_in(phone) -> None:
    assert content.take_in(lying_at(phone, b"x" * 101), most_bytes=100) is None
    assert content.take_in(lying_at(phone, b"x" * 100), most_bytes=100) is not None


def test_a_name_of_another_app_leads_nowhere(phone) -> None:
    taken = content.take_in(lying_at(phone, b"x", name="../../book.loomside/.."))
    assert taken is not None
    assert taken.parent.parent == phone.folder / "taken"


def test_a_phone_without_a_chooser_brings_nothing(phone) -> None:
    def nobody(*_arguments):
        raise JavaException("ActivityNotFoundException")

    phone.says["android.app.Activity.startActivityForResult"] = nobody
    got: list[Path | None] = []
    files.choose_file(got.append)
    assert got == [None]
    phone.says["android.content.pm.PackageManager.hasSystemFeature"] = True
    assert not camera.take_picture(got.append)


def test_the_camera_writes_where_it_is_told_and_gets_no_path(phone) -> None:
    got: list[Path | None] = []
    assert not camera.has_camera()
    phone.says["android.content.pm.PackageManager.hasSystemFeature"] = True
    assert camera.take_picture(got.append)
    _context, authority, file = phone.calls("FileProvider.getUriForFile")[-1]
    (intent, _code) = phone.calls("Activity.startActivityForResult")[-1]
    assert authority == "loomside.book.files"
    assert intent.kept["putExtra"][0][1]._class.name == "android.net.Uri"
    target = Path(file.given[0])
    target.write_bytes(b"a picture")
    phone.answers("RESULT_OK")
    assert got == [target]
    of_the_weaver = target.with_name("my garden.jpg")
    of_the_weaver.write_bytes(b"a picture chosen from files")
    camera.forget_picture(of_the_weaver)
    camera.forget_picture(target)
    assert not target.exists()
    assert of_the_weaver.exists(), "only what the camera wrote for us goes"


def test_a_picture_not_taken_leaves_nothing_behind(phone) -> None:
    got: list[Path | None] = []
    phone.says["android.content.pm.PackageManager.hasSystemFeature"] = True
    camera.take_picture(got.append)
    target = Path(phone.calls("FileProvider.getUriForFile")[-1][2].given[0])
    target.touch()
    phone.answers("RESULT_CANCELED")
    assert got == [None]
    assert not target.exists()


def record(tmp_path: Path, name: str = "Walled garden record.pdf") -> Path:
    path = tmp_path / "made here" / name
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(b"%PDF")
    return path


def test_a_file_is_given_under_its_name_for_reading_only(phone, tmp_path) -> None:
    assert files.give([record(tmp_path)], "Give the record")
    given = Path(phone.calls("FileProvider.getUriForFile")[-1][2].given[0])
    assert given.name == "Walled garden record.pdf"
    assert given.read_bytes() == b"%PDF"
    (sent, title) = phone.calls("Intent.createChooser")[-1]
    assert title.given == ("Give the record",)
    flags = [flag for (flag,) in sent.kept["addFlags"]]
    Intent = phone.java_class("android.content.Intent")
    assert flags == [Intent.FLAG_GRANT_READ_URI_PERMISSION]
    assert sent.given == (Intent.ACTION_SEND,)
    assert sent.kept["setType"] == [("application/pdf",)]


def test_several_files_are_given_at_once(phone, tmp_path) -> None:
    assert files.give([record(tmp_path, "rows.csv"), record(tmp_path, "yarns.csv")], "Give the tables")
    (sent, _title) = phone.calls("Intent.createChooser")[-1]
    assert sent.given == (phone.java_class("android.content.Intent").ACTION_SEND_MULTIPLE,)
    ((_extra, addresses),) = sent.kept["putParcelableArrayListExtra"]
    assert [address._class.name for (address,) in addresses.kept["add"]] == ["android.net.Uri"] * 2
    assert sent.kept["setType"] == [("text/csv",)]
    assert files.kind_of([Path("a.csv"), Path("b.pdf")]) == files.BYTES


def test_only_the_files_given_last_can_be_read_by_others(phone, tmp_path) -> None:
    files.give([record(tmp_path, "one.pdf")], "Give")
    files.give([record(tmp_path, "two.pdf")], "Give")
    assert [path.name for path in (phone.folder / "given").iterdir()] == ["two.pdf"]


def test_a_phone_on_which_no_app_takes_files_says_so(phone, tmp_path) -> None:
    def nobody(*_arguments):
        raise JavaException("ActivityNotFoundException")

    phone.says["android.app.Activity.startActivity"] = nobody
    assert not files.give([record(tmp_path)], "Give")


def test_a_file_is_kept_where_the_weaver_says(phone, tmp_path) -> None:
    kept: list[bool | None] = []
    files.save_as(record(tmp_path), kept.append)
    (intent, _code) = phone.calls("Activity.startActivityForResult")[-1]
    assert intent.kept["putExtra"][0][1] == "Walled garden record.pdf"
    phone.answers("RESULT_OK", answer_with(phone, lying_at(phone, b"")))
    assert kept == [True]
    assert (phone.folder / "of another app").read_bytes() == b"%PDF"


def test_no_place_chosen_and_a_place_that_cannot_be_written_are_told_apart(phone, tmp_path) -> None:
    kept: list[bool | None] = []
    files.save_as(record(tmp_path), kept.append)
    phone.answers("RESULT_CANCELED")
    files.save_as(record(tmp_path), kept.append)
    address = lying_at(phone, b"")

    def refused(*_arguments):
        raise JavaException("SecurityException")

    phone.says["android.content.ContentResolver.openFileDescriptor"] = refused
    phone.answers("RESULT_OK", answer_with(phone, address))
    assert kept == [None, False]


def test_what_was_made_to_be_given_does_not_pile_up(phone) -> None:
    (files.made_folder() / "old.pdf").write_bytes(b"%PDF")
    assert list(files.made_folder().iterdir()) == []


def test_the_permission_for_notices_is_asked_for_where_the_phone_wants_it(phone) -> None:
    denied = 1 if phone.level >= 33 else 0
    phone.says["android.content.Context.checkSelfPermission"] = -denied
    phone.says["android.content.pm.PackageManager.PERMISSION_GRANTED"] = 0
    phone.grants = False
    told: list[bool] = []
    permission.ask_to_notify(told.append)
    assert told == [phone.level < 33]
    assert phone.asked_for == ([["android.permission.POST_NOTIFICATIONS"]] if phone.level >= 33 else [])


def test_alarms_go_to_the_receiver_in_words_that_are_ready_to_show(phone) -> None:
    alarm = Reminder(
        "session", "Sessions", datetime.fromisoformat("2026-11-25T20:00"), datetime.fromisoformat("2026-11-25T23:59"), "Loomside",
        "Nothing written down today.", "session", "r1",
    )  # fmt: skip
    assert alarms.set_alarms([alarm])
    (_context, message) = phone.calls("ReminderReceiver.schedule")[-1]
    (entry,) = json.loads(message)
    java_source = (Path("android/src/loomside/book/ReminderReceiver.java")).read_text(encoding="utf-8")
    assert set(entry) - {"id"} == {key for key in entry if f'optString("{key}")' in java_source}
    assert (entry["at"], entry["until"]) == ("2026-11-25T20:00", "2026-11-25T23:59")
    assert (entry["page"], entry["rug"]) == ("session", "r1")


def test_a_tapped_reminder_opens_its_page_and_rug(phone) -> None:
    phone.says["android.content.Intent.getAction"] = arrivals.OPEN
    phone.says["android.content.Intent.getStringExtra"] = lambda _it, key: {"page": "shopping", "rug": "r1"}[
        key
    ]
    phone.says["android.app.Activity.getIntent"] = lambda _it: phone.thing("android.content.Intent")
    got: list[arrivals.Arrival] = []
    assert arrivals.listen(got.append)
    assert got == [arrivals.Arrival(page="shopping", rug_id="r1")]
    assert phone.calls("Activity.setIntent"), "a rotation would open the page once more"
    phone.new_intent(phone.thing("android.content.Intent"))
    assert len(got) == 2


@pytest.mark.parametrize("action", ["ACTION_VIEW", "ACTION_SEND"])
@pytest.mark.parametrize(("kind", "is_picture"), [("image/jpeg", True), ("application/octet-stream", False)])
def test_a_file_tapped_or_sent_in_another_app_is_taken_in(phone, action, kind, is_picture) -> None:
    Intent = phone.java_class("android.content.Intent")
    address = lying_at(phone, b"a picture", name="cartoon.jpg")
    phone.says["android.content.Intent.getAction"] = getattr(Intent, action)
    phone.says["android.content.Intent.getData"] = address if action == "ACTION_VIEW" else None
    phone.says["android.content.Intent.getParcelableExtra"] = address if action == "ACTION_SEND" else None
    phone.says["android.content.Intent.getType"] = kind
    found = arrivals.read_intent(phone.thing("android.content.Intent"))
    assert found is not None
    assert found.is_picture is is_picture
    assert found.file is not None
    assert found.file.read_bytes() == b"a picture"


def test_the_launcher_asks_for_nothing(phone) -> None:
    phone.says["android.content.Intent.getAction"] = "android.intent.action.MAIN"
    assert arrivals.read_intent(phone.thing("android.content.Intent")) is None
    assert arrivals.read_intent(None) is None


@pytest.mark.parametrize(("night", "dark"), [("YES", True), ("NO", False), ("UNDEFINED", None)])
def test_the_phones_own_settings_are_read(phone, night, dark) -> None:
    base = "android.content.res.Configuration."
    # values of Android's reference, from memory
    phone.says |= {f"{base}UI_MODE_NIGHT_MASK": 0x30, f"{base}UI_MODE_NIGHT_UNDEFINED": 0}
    phone.says |= {f"{base}UI_MODE_NIGHT_YES": 0x20, f"{base}UI_MODE_NIGHT_NO": 0x10}
    phone.says[f"{base}uiMode"] = {"YES": 0x21, "NO": 0x11, "UNDEFINED": 0x01}[night]
    phone.says["java.util.Locale.getLanguage"] = "tr"
    phone.says[f"{base}fontWeightAdjustment"] = 300
    assert appearance.appearance() == appearance.Appearance(dark, "tr", phone.level >= 31)


@pytest.mark.parametrize(("scale", "moves"), [(1.0, True), (0.5, True), (0.0, False)])
def test_nothing_moves_where_the_phones_animations_are_off(phone, scale, moves) -> None:
    phone.says["android.provider.Settings.Global.getFloat"] = scale
    phone.says["android.provider.Settings.Global.ANIMATOR_DURATION_SCALE"] = "animator_duration_scale"
    assert appearance.moves() is moves


def test_only_what_the_systems_bars_cover_counts(phone) -> None:
    bars = {"Left": 0, "Top": 80, "Right": 0, "Bottom": 48}
    for side, wide in bars.items():
        phone.says[f"android.view.WindowInsets.getSystemWindowInset{side}"] = wide
        phone.says[f"android.graphics.Insets.{side.lower()}"] = wide
    phone.says["android.app.Activity.getWindow"] = lambda _it: phone.thing("android.view.Window")
    phone.says["android.view.View.getRootWindowInsets"] = lambda _it: phone.thing("android.view.WindowInsets")
    phone.says["android.view.View.getWidth"], phone.says["android.view.View.getHeight"] = 720, 1600
    rect = "android.graphics.Rect."
    clear = {"left": 0, "top": 80, "right": 720, "bottom": 1552}
    under = {"left": 0, "top": 0, "right": 720, "bottom": 1600}
    for lies, wanted in ((clear, appearance.Insets()), (under, appearance.Insets(top=80, bottom=48))):
        phone.says |= {rect + side: value for side, value in lies.items()}
        assert appearance.insets() == wanted


# --- the checks themselves


def test_the_phone_refuses_what_its_api_lacks(tmp_path) -> None:
    phone = Phone(24, tmp_path)
    Intent = phone.java_class("android.content.Intent")
    with pytest.raises(NotThere):
        Intent.ACTION_SENDD  # noqa: B018
    with pytest.raises(NotThere):
        Intent("a", 3, "b")
    with pytest.raises(NotThere):
        Intent().setType(3)
    with pytest.raises(NotThere):
        Intent.setType("not static")
    with pytest.raises(NotThere):
        phone.java_class("android.provider.MediaStore").ACTION_PICK_IMAGES  # noqa: B018
    with pytest.raises((NotThere, LookupError)):
        phone.java_class("android.content.Intend")
    assert phone.java_class("android.content.Intent").ACTION_SEND


def asked_classes() -> dict[str, list[tuple[str, str]]]:
    """Return for each file the classes it names and the type written beside each."""
    found: dict[str, list[tuple[str, str]]] = {}
    for path in DEVICE.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.AnnAssign) and isinstance(node.value, ast.Call):
                call = node.value
                if ast.unparse(call.func) == "java_class" and isinstance(call.args[0], ast.Constant):
                    found.setdefault(path.name, []).append(
                        (str(call.args[0].value), ast.unparse(node.annotation))
                    )
    return found


def test_each_class_named_carries_its_own_type_for_mypy_to_check() -> None:
    pairs = [pair for named in asked_classes().values() for pair in named]
    assert len(pairs) > 15
    for name, kind in pairs:
        assert kind == f"type[{name.replace('$', '.')}]"


def test_no_class_is_named_without_a_type_beside_it() -> None:
    for path in DEVICE.glob("*.py"):
        text = path.read_text(encoding="utf-8")
        calls = [
            node
            for node in ast.walk(ast.parse(text))
            if isinstance(node, ast.Call)
            and ast.unparse(node.func) == "java_class"
            and isinstance(node.args[0], ast.Constant)
        ]
        assert len(calls) == len(asked_classes().get(path.name, [])), path


def test_what_is_newer_than_the_minimum_is_known_to_the_stubs() -> None:
    from tests.unit.device.stubs import java_class

    for name in SINCE:
        owner, _dot, member = name.rpartition(".")
        try:
            java_class(name)
        except LookupError:
            one = java_class(owner)
            assert member in one.methods or member in one.fields, name


def test_the_phones_speech_says_one_thing_at_a_time_at_the_speed_wanted(phone) -> None:
    phone.says["android.speech.tts.TextToSpeech.speak"] = speak.AndroidVoice()._done  # SUCCESS
    voice = speak.AndroidVoice()
    voice.say("4 walnut brown.", speak.SLOWER_RATE, "tr")
    [(words, queue, _bundle, _id)] = phone.calls("TextToSpeech.speak")
    assert words.given == ("4 walnut brown.",)
    assert queue == java.java_class("android.speech.tts.TextToSpeech").QUEUE_FLUSH
    assert phone.calls("TextToSpeech.setSpeechRate") == [(speak.SLOWER_RATE,)]
    assert phone.calls("Locale.forLanguageTag") == [("tr",)]
    voice.hush()
    assert phone.calls("TextToSpeech.stop") == [()]


def test_words_are_said_again_until_the_phones_speech_has_started(phone, monkeypatch) -> None:
    from kivy.clock import Clock

    later: list = []
    monkeypatch.setattr(Clock, "schedule_once", lambda call, _after=0: later.append(call))
    voice = speak.AndroidVoice()
    answers = [voice._done + 1, voice._done]
    phone.says["android.speech.tts.TextToSpeech.speak"] = lambda _it, *_given: answers.pop(0)
    voice.say("first")
    assert len(later) == 1
    later.pop()(0)
    assert [given[0].given[0] for given in phone.calls("TextToSpeech.speak")] == ["first", "first"]
    assert not later
    answers += [voice._done + 1]
    voice.say("second")
    voice.hush()
    later.pop()(0)
    assert [given[0].given[0] for given in phone.calls("TextToSpeech.speak")][2:] == ["second"], (
        "hushed words stay unsaid"
    )


def test_the_headsets_button_is_counted_while_it_is_listened_to(phone) -> None:
    assert headset.listen()
    assert len(phone.calls("Headset.listen")) == 1
    phone.says["loomside.book.Headset.presses"] = 2
    assert headset.presses() == 2
    headset.leave()
    assert phone.calls("Headset.leave") == [()]


def back_of(phone: Phone) -> tuple[back.BackGesture, list[str], list[Exception]]:
    """Return the gesture of an app on this phone, what it did, and what failed."""
    went: list[str] = []
    failed: list[Exception] = []
    return back.BackGesture(lambda: went.append("back"), failed.append), went, failed


def test_the_back_gesture_comes_to_the_app_only_while_it_leads_back_in_it(phone) -> None:
    gesture, went, failed = back_of(phone)
    asks = phone.level >= 33
    assert not phone.back_gesture(), "at the first page the system leaves the app"
    for _time in range(2):
        for _again in range(2):
            gesture.take(True)
        assert len(phone.hears_back) == asks, "once, however often it is wanted"
        gc.collect()
        assert phone.back_gesture() == asks
        gesture.take(False)
        assert not phone.back_gesture()
    assert went == ["back", "back"] * asks
    assert not failed
    priorities = {priority for priority, _callback in phone.calls(".registerOnBackInvokedCallback")}
    assert not asks or priorities == {
        phone.java_class("android.window.OnBackInvokedDispatcher").PRIORITY_DEFAULT
    }
    assert asks or not [name for name in phone.used if "OnBack" in name]


def test_a_page_left_again_before_the_phone_has_listened_takes_no_gesture(tmp_path, monkeypatch) -> None:
    phone = put_in_place(Phone(33, tmp_path), monkeypatch)
    later: list = []
    monkeypatch.setattr(sys.modules["android.runnable"], "Runnable", lambda act: lambda: later.append(act))
    gesture, _went, failed = back_of(phone)
    wishes = (
        ((True, False), 2, 0),
        ((True, False, True, True), 3, 1),
        ((False, True), 2, 1),
        ((False,), 1, 0),
    )
    for wanted, changes, there in wishes:
        for one in wanted:
            gesture.take(one)
        assert len(later) == changes, "what is wanted already is not asked for again"
        while later:
            later.pop(0)()
        assert len(phone.hears_back) == there
    assert not failed


@pytest.mark.parametrize("level", [33, 36])
def test_a_phone_that_refuses_the_back_gesture_is_asked_no_more_and_it_is_told(
    tmp_path, monkeypatch, level
) -> None:
    phone = put_in_place(Phone(level, tmp_path), monkeypatch)

    def refused(*_arguments):
        raise JavaException("IllegalStateException")

    phone.says["android.app.Activity.getOnBackInvokedDispatcher"] = refused
    gesture, _went, failed = back_of(phone)
    for wanted in (True, False, True):
        gesture.take(wanted)
    assert [type(error) for error in failed] == [JavaException]
    monkeypatch.setitem(sys.modules, "android.runnable", None)
    gesture, _went, failed = back_of(phone)
    gesture.take(True)
    assert len(failed) == 1


def test_a_keyboard_put_away_by_the_gesture_is_noticed_where_nobody_tells(phone) -> None:
    Type = phone.java_class("android.view.WindowInsets$Type") if phone.level >= 30 else None
    phone.says["android.app.Activity.getWindow"] = lambda _it: phone.thing("android.view.Window")
    phone.says["android.view.View.getRootWindowInsets"] = lambda _it: phone.thing("android.view.WindowInsets")
    for there in (True, False):
        phone.says["android.view.WindowInsets.isVisible"] = lambda _it, kind, there=there: (
            kind == Type.ime() and there
        )
        assert appearance.keyboard_was_put_away() == (phone.level >= 33 and not there)
    phone.says["android.view.View.getRootWindowInsets"] = None
    assert not appearance.keyboard_was_put_away()
