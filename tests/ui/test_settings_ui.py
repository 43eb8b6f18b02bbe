"""The weaver's choices take effect at once, and are still there when the app is opened again."""

from __future__ import annotations

from tests.ui.handed_time import pass_time
from tracker.domain.act import ActKind
from tracker.presenters.settings import COUNTRIES, country_name
from tracker.previews.draw import settle
from tracker.sheets.asking import ListedKey


def open_settings(hand) -> None:
    from tracker.previews.draw import settle

    hand.shell.go("settings")
    settle()


def test_text_size_and_dark_colours_stay(open_app, demo) -> None:
    from tracker.widgets.look import look

    try:
        hand = open_app(demo)
        open_settings(hand)
        hand.tap("Text size")
        hand.tap("150 %")
        hand.tap("Colours")
        assert (look.text_scale, look.dark) == (1.5, True)
        look.text_scale, look.dark = 1.0, False
        open_app(demo)
        assert (look.text_scale, look.dark) == (1.5, True)
    finally:
        look.text_scale, look.dark = 1.0, False


def test_the_words_change_with_the_language_and_back(open_app, demo) -> None:
    from tracker import words

    try:
        hand = open_app(demo)
        open_settings(hand)
        hand.tap("Language")
        hand.tap("Türkçe")
        assert words.language() == "tr"
        hand.key_back()
        assert not hand.sees("Log the session")
        hand = open_app(demo)
        assert words.language() == "tr"
        assert not hand.sees("Log the session")
    finally:
        words.use_language("en")


def test_a_country_adds_its_holidays_and_undo_takes_them_back(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    open_settings(hand)
    hand.tap("Public holidays count as days off")
    sheet = hand.shell.sheet.content

    def listed() -> list[str]:
        return [key.text for key in reversed(sheet.ids.listed.children) if isinstance(key, ListedKey)]

    # All of them, none first; typed letters narrow the list, and the field stays where it is.
    assert listed()[0] == "no public holidays"
    assert len(listed()) == len(COUNTRIES)
    assert listed()[1] == "Afghanistan"
    assert listed().index("Türkiye") < listed().index("United Kingdom"), "its letter is no last one"
    stood = sheet.ids.stays.to_window(*sheet.ids.stays.pos)
    for letters, wanted in (
        ("ger", ["Germany", "Algeria", "Niger"]),
        ("türki", ["Türkiye"]),
        ("kingdom", ["United Kingdom"]),
    ):
        sheet.ids.stays.text = letters
        settle()
        assert listed() == [name for name in wanted if name in {country_name(code) for code in COUNTRIES}]
        assert sheet.ids.stays.to_window(*sheet.ids.stays.pos) == stood
        first = next(key for key in reversed(sheet.ids.listed.children) if isinstance(key, ListedKey))
        assert stood[1] - 100 < first.to_window(*first.pos)[1] < stood[1], "right below the field"
    sheet.ids.stays.text = "qq"
    settle()
    assert hand.sees("Nothing found.")
    sheet.ids.stays.text = "turk"
    assert "Türkiye" in listed(), "not every keyboard has ü"
    sheet.ids.stays.text = "ger"
    settle()
    hand.tap("Germany")
    assert desk.setting("country") == "DE"
    assert any(off.first_day.isoformat() == "2026-12-25" for off in desk.holidays)
    hand.tap("Undo")
    assert not desk.holidays


def test_the_week_begins_where_the_weaver_says(open_app, demo) -> None:
    hand = open_app(demo)
    open_settings(hand)
    hand.tap("The week begins on")
    hand.tap("Saturday")
    hand.key_back()
    pass_time(1.0)
    settle()
    hand.tap("Log the session")
    hand.tap("today")
    days = hand.shell.sheet.content.ids.days
    # 1 November 2026 is a Sunday: the second place of a week that begins on Saturday.
    first = [key.value for key in reversed(days.children) if getattr(key, "value", None)][:2]
    assert [day.isoformat() for day in first] == ["2026-10-31", "2026-11-01"]
    hand.key_back()
    hand.shell.go("plan", rug_id=hand.app.desk.rug_id)
    settle()
    hand.tap("Working week")
    # A key's word is there twice, as the key's and as its label's.
    week = dict.fromkeys(
        words for words in hand.words(hand.shell.page) if words in ("Fri", "Sat", "Sun", "Mon")
    )
    assert list(week) == ["Sat", "Sun", "Mon", "Fri"], "the plan's weekdays"


def test_the_cautions_name_their_sources(open_app, demo) -> None:
    hand = open_app(demo)
    open_settings(hand)
    hand.tap("Cautions: sitting, blades, dust, dyes")
    assert hand.sees("20 cm above the height of your elbows")
    assert hand.sees("10.1080/10803548.2004.11076625")
    assert hand.sees("Follow the rules of your country")


def test_another_language_words_the_answers_too(open_app, demo) -> None:
    from tracker import words

    hand = open_app(demo)
    english = hand.app.desk.answers.basis.rests_on
    try:
        open_settings(hand)
        hand.tap("Language")
        hand.tap("Türkçe")
        turkish = hand.app.desk.answers.basis.rests_on
        assert len(turkish) == len(english)
        assert not set(turkish) & set(english), "what the forecast says follows the language at once"
    finally:
        words.use_language("en")


def test_a_weaver_gets_another_name_and_all_that_is_noted_of_her_follows(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    left, right = desk.rug.weavers
    sessions = desk.rug.sessions
    open_settings(hand)

    def type_name(name: str) -> None:
        hand.tap("Weavers")
        hand.tap(hand.find("Left seat", hand.shell.sheet))
        hand.shell.sheet.content.ids.entry.text = name
        hand.tap(hand.find("Done", hand.shell.sheet))

    type_name("right SEAT")
    assert hand.sees("right SEAT is in the book already.")
    hand.shell.close_sheet()
    type_name("")
    assert hand.sees("Give a name")
    hand.shell.close_sheet()
    assert desk.rug.weavers == (left, right)
    type_name("Maren, the elder")
    assert hand.sees("Left seat is now called Maren, the elder.")
    assert [(who.id, who.name) for who in desk.rug.weavers] == [
        (left.id, "Maren, the elder"),
        (right.id, "Right seat"),
    ]
    assert desk.rug.sessions == sessions
    assert hand.sees("Maren, the elder; Right seat")
    hand.tap("Undo")
    hand.wait(lambda: desk.rug.weavers == (left, right))
    type_name("Maren, the elder")
    hand.shell.go("balls")
    settle()
    assert hand.sees("1 Maren, the elder")
    hand.shell.go("diary")
    settle()
    assert hand.sees("Name: Maren, the elder, was Left seat · Weaver renamed")


def test_the_first_weaver_is_named_in_the_settings(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    desk.act(ActKind.ENTRY_WITHDRAWN, withdraw=tuple(weaver.id for weaver in desk.rug.weavers))
    settle()
    open_settings(hand)
    assert desk.rug.weavers == ()
    hand.tap("Tap to name the first one")
    hand.shell.sheet.content.ids.entry.text = "Maren"
    hand.tap(hand.find("Done", hand.shell.sheet))
    settle()
    assert [who.name for who in desk.rug.weavers] == ["Maren"]
    assert hand.sees("Tap to change a name")
