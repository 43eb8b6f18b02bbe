"""What lies beside the book may be torn, edited by hand or hostile: a wrong value costs itself and nothing more."""

from __future__ import annotations

import ast
import json
import types
import typing
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from tests.properties import examples
from tracker.app import first_view
from tracker.app.drafts import READERS, Drafts
from tracker.files.typed import object_of, read_as
from tracker.presenters import cloth, entry_forms, timer
from tracker.presenters import session as session_page
from tracker.presenters import settings as choices
from tracker.presenters.home_state import (
    ASK_PAGES,
    FinishBand,
    HomeAsk,
    HomeState,
    YarnLine,
    YarnsTold,
    YarnTone,
)
from tracker.presenters.plan.checks import troubles
from tracker.presenters.plan.draft import from_kept, to_kept
from tracker.presenters.plan.form import CartoonForm, PlanForm, YarnForm

DAY = date(2026, 11, 25)
DEEP = "[" * 100_000 + "]" * 100_000
NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


def drafts_of(folder: Path, text: str) -> Drafts:
    (folder / "b.drafts.json").write_text(text, "utf-8")
    return Drafts(folder / "b.drafts.json")


@pytest.mark.parametrize(
    "wrong",
    [
        '"text scale": "abc"',
        '"text scale": NaN',
        '"text scale": 1e999',
        '"text scale": true',
        '"text scale": 40',
        '"text scale": ' + "9" * 5000,
        '"text scale": ' + "9" * 400,
        '"diary": {"text": ' + "9" * 400 + "}",
        f'"text scale": {DEEP}',
        '"dark": "no"',
        '"language": "xx"',
        '"language": {"en": 1}',
        '"break minutes": -5',
        '"diary": {"text": 7}',
        '"diary": [1]',
        f'"diary": {{"text": {DEEP}}}',
        '"plan forms": {"": [1, 2]}',
        '"loom place": {"r": 3}',
        '"session form": [{"day": 1}]',
        '"rug in hand": 12',
        '"rug in hand": "\\ud800"',
        '"entry lot y": "x"',
    ],
)
def test_a_wrong_value_is_left_out_by_itself(tmp_path: Path, wrong: str) -> None:
    name = json.loads(wrong.split(":")[0])
    kept = drafts_of(
        tmp_path, '{"mirrored": true, ' + wrong + ', "session rug": "r, {}[]\\"", "measurement": {}}'
    )
    assert kept.get(name) is None
    assert kept.get("mirrored") is True
    assert kept.get("session rug") == 'r, {}[]"'
    assert kept.get("measurement") == {}
    assert choices.build_settings_state(kept, {}).text_scale == 1.0


@pytest.mark.parametrize(
    ("name", "wrong"), [("session forms", "7"), ("session timers", "[1]"), ("after steps", '{"name": "Wash", "days": "many"}')]
)  # fmt: skip
def test_what_is_wrong_of_one_rug_costs_another_nothing(tmp_path: Path, name: str, wrong: str) -> None:
    sound = {"name": "Block", "days": 2.0}
    kept = drafts_of(tmp_path, f'{{"{name}": {{"r": {wrong}, "other": {json.dumps(sound)}}}}}')
    assert kept.get(name) == {"other": sound}


@pytest.mark.parametrize(
    "text", ["", "[]", "7", DEEP, "{", '{"dark"', "null", "\0", '{"dark": true} {', '"{}"', "{:}", "{,}"]
)
def test_a_file_that_is_no_object_is_an_empty_one(tmp_path: Path, text: str) -> None:
    kept = drafts_of(tmp_path, text)
    kept.put("dark", True)
    assert Drafts(kept.path).get("dark") is True


def test_of_a_torn_file_the_whole_values_are_kept(tmp_path: Path) -> None:
    kept = drafts_of(tmp_path, '{"dark": true, "text scale": 1.5, "session rug": "r", "diary": {"text": "mad')
    assert (kept.get("dark"), kept.get("text scale"), kept.get("session rug")) == (True, 1.5, "r")


@pytest.mark.parametrize(
    ("name", "value"),
    [("breaks buzz", True), ("dark", "no"), ("both sessions right", "a"), ("entry lot y", 7)],
)
def test_nothing_is_taken_that_the_next_start_would_leave_out(tmp_path: Path, name: str, value: Any) -> None:
    """A choice under a new name held until the app closed, and was gone at the next start without a word."""
    kept = drafts_of(tmp_path, '{"mirrored": true}')
    with pytest.raises(ValueError, match="not"):
        kept.put(name, value)
    assert kept.as_they_are() == {"mirrored": True}


def test_what_another_window_kept_meanwhile_stays(tmp_path: Path) -> None:
    """A second window, opened while the first held the book, wrote over the evening that was half entered there."""
    first, second = (drafts_of(tmp_path, '{"dark": true, "measurement": {}}') for _window in range(2))
    first.put("session form", {"rows": 6})
    first.put("measurement", None)
    second.put("language", "tr")
    second.put("dark", None)
    both = {"session form": {"rows": 6}, "language": "tr"}
    assert Drafts(first.path).as_they_are() == second.as_they_are() == both
    first.look_again()
    assert first.as_they_are() == both
    for torn in ("", '{"mirrored"', "[]", DEEP):
        first.path.write_text(torn)
        first.look_again()
        assert first.as_they_are() == both
    first.path.unlink()
    first.put("dark", False)
    assert Drafts(first.path).as_they_are() == {**both, "dark": False}


def test_a_folder_or_a_very_large_file_in_its_place_is_no_drafts(tmp_path: Path) -> None:
    (tmp_path / "d").mkdir()
    assert Drafts(tmp_path / "d").get("dark") is None
    (tmp_path / "large").write_text('{"dark": true, "x": "' + "a" * 5_000_000 + '"}')
    assert Drafts(tmp_path / "large").get("dark") is None


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=8)
    | st.sampled_from(["2026-11-25", "lot", "2026-11-25T12:00:00+00:00", "#9C2F25", "pile", 1e300, -1, 0]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=6,
)

FORMS: dict[str, tuple[Any, Any]] = {
    "session form": (
        session_page.to_kept(session_page.SessionForm("s", DAY, 3, 1.5, ("w",), (("y", 1.0),), "a note")),
        lambda kept: session_page.from_kept(kept),
    ),
    "session timer": (timer.to_kept(timer.start(NOON)), lambda kept: timer.from_kept(kept)),
    "plan": (
        to_kept(
            PlanForm(
                "r",
                "Garden",
                DAY,
                cartoon=CartoonForm("c", 40, 60, (("#9C2F25", 2400),), file="a.png"),
                yarns=(YarnForm("y", "pile", "Madder", share=50.0, shades=("#9C2F25",)),),
                wished_day=DAY,
            )
        ),
        lambda kept: from_kept(kept),
    ),
    "entry": (
        {
            "kind": "lot",
            "record_id": "l",
            "rug_id": "r",
            "yarn_id": "y",
            "correcting": False,
            "answers": {"mass_g": 500, "dye_lot": "M-9", "day": "2026-11-25", "price": None},
            "fixed": {},
        },
        lambda kept: entry_forms.from_kept(kept),
    ),
}


@pytest.mark.parametrize("name", FORMS)
def test_a_sound_form_comes_back_as_it_was_kept(name: str) -> None:
    kept, read = FORMS[name]
    assert read(json.loads(json.dumps(kept))) is not None
    assert kept == json.loads(json.dumps(kept)) or name in ("session form", "plan")


def test_a_timer_that_stands_since_no_instant_is_none() -> None:
    kept, read = FORMS["session timer"]
    assert read({**kept, "paused_at": ""}) is None
    assert read({**kept, "paused_s": 1e14}) is None


@pytest.mark.parametrize("name", FORMS)
@examples(25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_a_form_with_any_value_in_any_place_is_read_or_left_out(name: str, data: st.DataObject) -> None:
    kept, read = FORMS[name]
    odd = json.loads(json.dumps(kept))
    place = odd
    while True:
        key = data.draw(st.sampled_from(sorted(place) if isinstance(place, dict) else range(len(place))))
        inner = place[key]
        if isinstance(inner, dict | list) and inner and data.draw(st.booleans()):
            place = inner
            continue
        place[key] = data.draw(JSON)
        break
    form = read(odd)
    if form is None:
        return
    # What is taken for a form can be shown and kept again.
    if name == "session timer":
        timer.shown(form, NOON)
        timer.break_due(form, NOON, 45)
        timer.resume(timer.pause(form, NOON), NOON)
    elif name == "plan":
        troubles(form)
        json.dumps(to_kept(form), allow_nan=False)
    elif name == "entry":
        assert entry_forms.questions(form, None)
        assert form.day_of() is None or isinstance(form.day_of(), date)
    else:
        json.dumps(session_page.to_kept(form), allow_nan=False)
        assert isinstance(form.rows, int)
        assert all(isinstance(who, str) for who in form.weavers)


@examples(40)
@given(kept=JSON)
def test_no_value_upsets_a_form_or_the_choices(kept: Any) -> None:
    for _kept, read in FORMS.values():
        read(kept)
    cloth.from_kept(kept)
    for name in ("row", "length_cm"):
        cloth.from_kept({"row": 1, "length_cm": 2.0} | {name: kept})


TYPES = {name: reader.args[0] for name, reader in READERS.items() if getattr(reader, "func", None) is read_as}
"""What is read by its type alone."""


def of(kind: Any) -> st.SearchStrategy[Any]:
    """Return what a page may keep under a name of such a type."""
    inner = typing.get_args(kind)
    if typing.get_origin(kind) is dict:
        return st.dictionaries(of(inner[0]), of(inner[1]), max_size=3)
    if typing.get_origin(kind) is list:
        return st.lists(of(inner[0]), max_size=3)
    if typing.is_typeddict(kind):
        return st.fixed_dictionaries({name: of(part) for name, part in typing.get_type_hints(kind).items()})
    if typing.get_origin(kind) in (typing.Union, types.UnionType):
        return st.one_of(*(of(part) for part in inner))
    if kind is Any or kind is types.NoneType:
        return JSON if kind is Any else st.none()
    if kind is int:
        return st.integers(-1000, 1000)
    return st.floats(-1e6, 1e6) if kind is float else st.booleans() if kind is bool else st.text(max_size=5)


@pytest.mark.parametrize("name", TYPES)
@examples(10)
@given(data=st.data())
def test_what_a_draft_must_be_can_be_read(name: str, data: st.DataObject) -> None:
    """A type without a rule would stop every start from the day on that something is kept under its name."""
    read = json.loads(json.dumps(data.draw(of(TYPES[name]))))
    assert READERS[name](read) == read


@pytest.mark.parametrize("name", READERS)
@pytest.mark.parametrize("value", ["7", '"a"', "true", "null", "[]", '["a"]', "[[3]]", "{}", '{"r": 1}', '{"r": "a"}', '{"r": []}',
    '{"r": ["a", 7]}', '{"r": {"a": 1}}', '{"r": {"a": ["b"]}}'])  # fmt: skip
def test_no_value_stops_a_start(tmp_path: Path, name: str, value: str) -> None:
    kept = drafts_of(tmp_path, f'{{"dark": true, {json.dumps(name)}: {value}}}')
    assert name == "dark" or kept.get("dark") is True


def test_ticks_of_the_guide_are_there_at_the_next_start(tmp_path: Path) -> None:
    drafts_of(tmp_path, "{}").put("guide", {"rug": ["warp.2", "wash.0"]})
    assert Drafts(tmp_path / "b.drafts.json").get("guide") == {"rug": ["warp.2", "wash.0"]}
    assert drafts_of(tmp_path, '{"guide": {"rug": ["warp.2", 3]}}').get("guide") is None


@examples(40)
@given(value=JSON, tail=st.text(max_size=5))
def test_splitting_by_hand_agrees_with_the_standard_reader(value: Any, tail: str) -> None:
    try:
        text = json.dumps({"a": value, "b": 1}, allow_nan=False)
    except ValueError:
        return
    # The tail spoils the text, so that it is split by hand.
    assert object_of(text + "]" + tail) == object_of(text)


def test_a_kind_is_never_guessed() -> None:
    for kind, value in (
        (int, "3"),
        (int, True),
        (int, 2.5),
        (float, "x"),
        (str, 3),
        (bool, 1),
        (date, 20261125),
    ):
        with pytest.raises(ValueError, match=r"."):
            read_as(kind, value)
    assert read_as(float, 3) == 3.0
    assert read_as(date | None, None) is None


# --- the first view that was kept


def view() -> first_view.FirstView:
    line = YarnLine("y", "1", "Madder", "#9C2F25", "short 3 g", YarnTone.LACKING, False, 0.5)
    ask = HomeAsk("Madder: was a purchase not entered?", "weigh", "yarn_story", "y")
    state = HomeState(
        "Garden", "3", "of 9", "", 0.3, "", "", "", "", "", (ask,), (ask,), (line,), "", False, "Log", "session", 3, 9,
        YarnsTold((), "all yarns last", ("y",)), YarnsTold((), "all yarns last"), FinishBand(0.1, 0.9, 0.5, -1.0), "row 4 next",
    )  # fmt: skip
    picture = first_view.Picture(2, 1, bytes(6))
    return first_view.FirstView(state, {"#ffffff": picture}, 0.7, "m", "r", "2026-11-25", "en")


def test_a_kept_view_comes_back_as_it_was(tmp_path: Path) -> None:
    first_view.keep(view(), tmp_path / "v")
    assert first_view.kept(tmp_path / "v") == view()


@examples(30, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_a_hostile_view_is_left_out_or_of_its_types(tmp_path: Path, data: st.DataObject) -> None:
    path = tmp_path / "v"
    first_view.keep(view(), path)
    head_text, rgb = path.read_bytes().split(b"\n", 1)
    head = json.loads(head_text)
    where = data.draw(
        st.sampled_from([head, head["state"], head["state"]["yarns"][0], head["state"]["asks"][0]])
    )
    where[data.draw(st.sampled_from(sorted(where)))] = data.draw(JSON)
    path.write_bytes(json.dumps(head).encode() + b"\n" + rgb)
    found = first_view.kept(path)
    if found is not None:
        assert all(isinstance(line.name, str) and line.swatch.startswith("#") for line in found.state.yarns)
        assert found.aspect > 0
        assert all(ask.page in ASK_PAGES for ask in (*found.state.conditions, *found.state.asks))
        assert isinstance(found.state.row_figure, str)


@pytest.mark.parametrize("head", [DEEP, "{}", "7", '{"state": {"yarns": 3}}', "NaN"])
def test_a_view_that_is_none_is_left_out(tmp_path: Path, head: str) -> None:
    (tmp_path / "v").write_bytes(head.encode() + b"\n" + bytes(6))
    assert first_view.kept(tmp_path / "v") is None


@pytest.mark.parametrize(
    "wrong",
    [
        {"density_unit": "per ell"}, {"unit": "ell"}, {"knot_kind": "granny"}, {"yarns": [{"id": "y", "role": "fringe", "name": "a"}]},
        {"yarns": [{"id": "y", "role": "pile", "name": "a", "swatch": "red"}]},
        {"cartoon": {"name": "c", "knots": 4, "rows": 6, "shades": [["#9C2F25", 24]], "given": "a third"}},
        {"cartoon": {"name": "c", "knots": 4, "rows": 6, "shades": [["madder", 24]]}},
    ],
    ids=str,
)  # fmt: skip
def test_a_plan_with_a_choice_that_there_is_not_is_none(wrong: dict[str, Any]) -> None:
    """Its page would stop at the first word it has none for."""
    kept, read = FORMS["plan"]
    assert read(json.loads(json.dumps(kept))) is not None
    assert read(json.loads(json.dumps({**kept, **wrong}))) is None


def test_each_setting_that_the_page_keeps_has_its_reader() -> None:
    """One without was taken for a form: the first tap raised, and the next start left it out."""
    screens = Path(choices.__file__).parents[1] / "screens"
    page = ast.parse((screens / "settings" / "settings.py").read_text(encoding="utf-8"))
    kept = [
        call.args[0].attr
        for call in ast.walk(page)
        if isinstance(call, ast.Call)
        and isinstance(call.func, ast.Attribute)
        and call.func.attr == "keep"
        and isinstance(call.args[0], ast.Attribute)
    ]
    assert len(kept) >= 5
    assert [name for name in kept if getattr(choices, name) not in READERS] == []
