"""The command line on every kind of book and with any words: an answer or a plain sentence, never a traceback."""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from unicodedata import category

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from storage import reading
from storage.book import Book
from tests.presenters import rugs
from tests.today import TODAY
from tests.unit import books
from tracker.app.unforeseen import EXIT_CODE, HEADER, MOST_BYTES, log_path, note
from tracker.command_line import books as command_line_books
from tracker.command_line import deeds, options
from tracker.command_line.main import main
from tracker.domain.rug import RugStage
from tracker.reports.text_form import shelf_text
from tracker.words import use_language

DAY = TODAY.isoformat()
WRITTEN = ("--record", "--rows", "--csv", "--calendar")
PRINTED = (["--text"], ["--json"], ["--plan"], ["--plan", "--json"], ["--text", "--rug", "all"])


def run(*arguments: str) -> int:
    """Run the command line in this process; return its exit code."""
    try:
        return main(list(arguments))
    except SystemExit as ended:
        return int(ended.code or 0)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER"):
        monkeypatch.delenv(name, raising=False)
    return tmp_path / "home" / "loomside"


def plain(said: str) -> bool:
    """Tell whether what was said holds a sentence and no trace."""
    return bool(said.strip()) and "Traceback" not in said and "Error" not in said


@pytest.mark.parametrize("make", [books.empty, books.bare, books.planned, books.finished])
@pytest.mark.parametrize("how", PRINTED, ids=" ".join)
def test_every_sound_book_is_answered(
    make: Callable[[Path], None], how: list[str], tmp_path: Path, capsys: pytest.CaptureFixture
) -> None:
    make(tmp_path / "b.loomside")
    assert run("--book", str(tmp_path / "b.loomside"), "--day", DAY, *how) == 0
    said = capsys.readouterr()
    assert said.err == ""
    if "--json" in how:
        assert len(json.loads(said.out)["rugs"]) == (0 if make is books.empty else 1)
    else:
        assert plain(said.out)


@pytest.mark.parametrize("make", [books.empty, books.bare, books.planned, books.finished])
@pytest.mark.parametrize("how", WRITTEN)
def test_every_sound_book_is_written_or_a_sentence_says_what_is_missing(
    make: Callable[[Path], None], how: str, tmp_path: Path, capsys: pytest.CaptureFixture
) -> None:
    make(tmp_path / "b.loomside")
    out = tmp_path / "out"
    out.mkdir()
    code = run("--book", str(tmp_path / "b.loomside"), "--day", DAY, how, str(out))
    said = capsys.readouterr()
    written = said.out.split("\n")[:-1]
    assert sorted(out.iterdir()) == sorted(Path(name) for name in written)
    assert (code == 0) == bool(written)
    assert written or plain(said.err)
    assert not (tmp_path / "out 2").exists()


def test_help_and_refusals_are_in_the_language_asked_for(capsys: pytest.CaptureFixture) -> None:
    try:
        assert run("--language", "tr", "--help") == 0
        use_language("en")
        english = "print the answers as text"
        assert english not in " ".join(capsys.readouterr().out.split())
        assert run("--day", "2026-02-31", "--language", "tr") == 2
        use_language("en")
        refused = capsys.readouterr().err
        assert "2026-02-31" in refused
        assert "there is no day" not in refused
        assert run("--help") == 0
        assert english in " ".join(capsys.readouterr().out.split())
    finally:
        use_language("en")


def test_an_option_in_no_group_is_not_let_through(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(options, "_BESIDE_ALL", ("book", "demo", "language"))
    with pytest.raises(AssertionError, match="no group"):
        options.check_goes_together(options.parser().parse_args([]))


def test_a_name_from_another_phone_commands_no_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture
) -> None:
    """A rug's name may come with a file: printed as it stands, it cleared the screen, or told another window title."""
    path, name = tmp_path / "b.loomside", "Red\x1b[2J\x1b]0;ha\x07\x9b31m\r\x7f\u202eden"
    books.planned(path)
    with Book.open(path) as book, book.act("plan changed") as act:
        act.write(replace(reading.rug_book(book, "r").plan, name=name))
    given = ("--book", str(path), "--day", DAY)
    seen = ""
    for how in (*PRINTED, ["--text", "--rug", "none"], ["--rows", str(tmp_path / "x.pdf")]):
        run(*given, *how)
        printed = capsys.readouterr()
        seen += printed.out + printed.err
    assert "Red[2J]0;ha31mden" in seen
    assert not [letter for letter in seen if letter not in "\n\t" and category(letter) in ("Cc", "Cf")]
    run(*given, "--json")
    assert json.loads(capsys.readouterr().out)["rugs"][0]["rug"]["name"] == name


def test_where_a_rug_is_in_its_life_is_said_in_the_language_in_use() -> None:
    rug = rugs.plan(stage=RugStage.FINISHED)
    assert shelf_text((rug,)) == f"{rug.name} (finished)\n"
    use_language("tr")
    try:
        assert shelf_text((rug,)) == f"{rug.name} (bitti)\n"
    finally:
        use_language("en")


@pytest.mark.parametrize("make", [books.damaged, books.folder])
@pytest.mark.parametrize(
    "how", [*PRINTED, *([name, "OUT"] for name in WRITTEN), ["--screens", "OUT"]], ids=" ".join
)
def test_a_book_that_cannot_be_opened_is_said_and_the_exit_code_tells(
    make: Callable[[Path], None], how: list[str], tmp_path: Path, capsys: pytest.CaptureFixture
) -> None:
    path = tmp_path / "b.loomside"
    make(path)
    out = tmp_path / "out"
    assert run("--book", str(path), *(str(out) if word == "OUT" else word for word in how)) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert plain(said.err)
    assert not out.exists()


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        (["--language", "xx"], "Türkçe"),
        (["--language", ""], "Türkçe"),
        (["--book", ""], "empty name"),
        (["--book", "a\0b"], "empty name"),
        (["--book", "/"], "is a folder"),
        (["--book", "."], "is a folder"),
        (["--rug", ""], "the rug's name"),
        (["--rug", "  "], "the rug's name"),
        (["--only", "nopage"], "home, loom, yarn"),
        (["--day", "2026-02-31"], "there is no day 2026-02-31"),
        (["--day", "tomorrow"], "there is no day tomorrow"),
        (["--day", "0001-01-01"], "1990-01-01"),
        (["--text-size", "0"], "100 to 200"),
        (["--text-size", "9" * 5000], "100 to 200"),
        (["--record", ""], "empty name"),
        (["--record", "made-up/"], "no folder made-up/"),
        (["--screens", ""], "empty name"),
        (["--book", "d/" * 1500 + "b"], "fewer folders"),
        *(([f"{option}=--"], f"say something after {option}") for option in (
            "--book", "--record", "--rows", "--csv", "--calendar", "--rug", "--day", "--screens", "--size", "--text-size",
            "--read-cartoon", "--into", "--knots", "--corners", "--colours", "--language",
        )),
    ],
)  # fmt: skip
def test_a_word_that_cannot_be_is_refused_by_a_sentence(
    wrong: list[str], said: str, capsys: pytest.CaptureFixture
) -> None:
    assert run("--text", *wrong) == 2
    error = capsys.readouterr().err
    assert said in error
    assert "isoformat" not in error
    assert plain(error.replace("error:", ""))


@pytest.mark.parametrize("how", PRINTED, ids=" ".join)
def test_a_terminal_without_the_letters_gets_the_answers_all_the_same(
    how: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As in the locale C, where Python can write no letter beyond the first 128 and says so by `surrogateescape`."""
    books.planned(tmp_path / "b.loomside")
    written = io.BytesIO()
    stream = io.TextIOWrapper(written, encoding="ascii", errors="surrogateescape")
    monkeypatch.setattr(sys, "stdout", stream)
    try:
        assert run("--book", str(tmp_path / "b.loomside"), "--day", DAY, "--language", "tr", *how) == 0
    finally:
        use_language("en")
    stream.flush()
    assert written.getvalue().isascii()
    assert "--json" in how or b"\\u" in written.getvalue()


def test_without_a_home_a_book_that_is_named_is_answered_and_another_is_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture
) -> None:
    """A user without a home, as of a service, was told that something went wrong, even where no home was needed."""

    def no_home() -> Path:
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.setattr(Path, "home", no_home)
    monkeypatch.delenv("XDG_DATA_HOME")
    assert [run("--text"), run("--demo", "--text")] == [2, 2]
    said = capsys.readouterr().err
    assert said.count("the folder for books, cannot be made. Say with --book") == 2
    books.planned(tmp_path / "b.loomside")
    for where, code in ((tmp_path, 0), (tmp_path / "b.loomside", 2)):
        written = ("--csv", str(where / "tables"), "--book", str(tmp_path / "b.loomside"), "--day", DAY)
        assert run(*written) == code
    assert "b.loomside › tables" in capsys.readouterr().err
    # Where the system says where data lie, no home is asked for.
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert run("--text") == 0
    assert (tmp_path / "data" / "loomside" / "book.loomside").exists()


def test_a_data_folder_that_is_named_relatively_is_ignored(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture
) -> None:
    """XDG Base Directory Specification 0.8: a relative name is invalid; by it each folder would have a book of its own."""
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("XDG_DATA_HOME", "data")
    monkeypatch.chdir(tmp_path)
    assert run("--text") == 0
    assert (tmp_path / ".local" / "share" / "loomside" / "book.loomside").exists()
    assert not (tmp_path / "data").exists()


@pytest.mark.parametrize("how", [*WRITTEN, "--book"])
def test_a_name_longer_than_a_file_system_takes_gets_a_sentence(
    how: str, tmp_path: Path, capsys: pytest.CaptureFixture
) -> None:
    books.planned(tmp_path / "b.loomside")
    for name in ("n" * 300, "n" * 300 + "/"):
        code = run("--book", str(tmp_path / "b.loomside"), "--day", DAY, how, f"{tmp_path}/{name}", "--text")
        assert code in (1, 2)
        assert plain(capsys.readouterr().err.replace("error:", ""))


def test_a_record_asked_for_in_a_folder_gets_a_name_of_its_own_there(
    demo: Path, tmp_path: Path, capsys: pytest.CaptureFixture
) -> None:
    folder = tmp_path / "papers"
    folder.mkdir()
    assert run("--book", str(demo), "--day", DAY, "--record", str(folder)) == 0
    assert run("--book", str(demo), "--day", DAY, "--record", str(folder)) == 0
    assert [path.name for path in sorted(folder.iterdir())] == [
        "Walled garden record 2.pdf",
        "Walled garden record.pdf",
    ]


# --- what nobody foresaw


def broken(*_arguments: object, **_how: object) -> None:
    raise ZeroDivisionError("nobody thought of this")


def test_what_nobody_foresaw_ends_in_a_sentence_that_names_the_trace(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture
) -> None:
    path = tmp_path / "b.loomside"
    books.planned(path)
    monkeypatch.setattr("tracker.command_line.deeds.rugs_wanted", broken)
    assert run("--book", str(path), "--text") == EXIT_CODE == 70
    said = capsys.readouterr()
    assert str(log_path(path)) in said.err
    assert len(said.err.splitlines()) == 1
    assert plain(said.err)
    kept = log_path(path).read_text()
    assert "ZeroDivisionError: nobody thought of this" in kept
    assert "rugs_wanted" in kept


def test_a_trace_that_cannot_lie_beside_the_book_is_kept_elsewhere(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    where = note(ValueError("odd"), tmp_path / "no such folder" / "b.loomside")
    assert where is not None
    assert where.parent == tmp_path
    assert "ValueError: odd" in where.read_text()
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "gone"))
    assert note(ValueError("odder"), None) is None
    assert "ValueError: odder" in capsys.readouterr().err


def test_the_traces_stay_within_their_size_and_spare_another_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    path = tmp_path / "b.loomside"

    def deep(depth: int) -> None:
        if depth:
            deep(depth - 1)
        raise ValueError(f"the last was {'x' * 50_000}")

    for number in range(30):
        with pytest.raises(ValueError, match="the last was") as caught:
            deep(200)
        caught.value.add_note(f"number {number}")
        assert note(caught.value, path) == log_path(path)
    kept = log_path(path).read_bytes()
    assert len(kept) <= MOST_BYTES
    assert kept.startswith(HEADER)
    assert kept.count(b"Python 3") >= 5
    log_path(path).write_text("her own notes on trouble")
    assert note(ValueError("odd"), path) != log_path(path)
    assert log_path(path).read_text() == "her own notes on trouble"


# --- any words at all

ACTIONS = {name: action for action in options.parser()._actions for name in action.option_strings}
"""Every option there is, also those to come."""
OPTIONS = (*ACTIONS, "--", "-x", "--b")
WITH_VALUES = tuple(name for name, action in ACTIONS.items() if action.nargs != 0)


def words_for(folder: Path) -> st.SearchStrategy[list[str]]:
    """Return lists of arguments: options, odd values, books of every kind; always below `folder`."""
    paths = st.sampled_from(
        ["b", "f", "d", "e", "x/y/z", "..", ".", "p.pdf", "é.loomside", "n" * 300, "a.b.c", "q/../b"]
    )
    odd = st.one_of(
        st.text(st.characters(exclude_characters="/\\"), max_size=6),
        st.sampled_from(
            ["", "all", "my.rug", "2026-11-25", "2026-02-31", "tr", "en", "xx", "360x640", "0x0", "home"]
        ),
        st.sampled_from(["-1", "NaN", "1e999", "100", "\0", "\udcff", "٣", "%s", "{}", "{path}"]),
        paths.map(lambda name: str(folder / name)),
    )
    printing = st.sampled_from(["--text", "--json", "--plan"])
    return st.tuples(
        st.lists(st.one_of(st.sampled_from(OPTIONS), odd), max_size=6),
        paths.map(lambda name: ["--book", str(folder / name)]),
        printing,
        st.lists(st.tuples(st.sampled_from(WITH_VALUES), odd), max_size=3),
    ).map(lambda parts: [*parts[1], *(word for pair in parts[3] for word in pair), *parts[0], parts[2]])


def try_any_words(
    tmp_path: Path, capsys: pytest.CaptureFixture, monkeypatch: pytest.MonkeyPatch, examples: int
) -> None:
    """Run the command line `examples` times with made-up arguments."""
    monkeypatch.chdir(tmp_path)
    # A window or its drawing would take seconds; the words before it are what is tried here.
    monkeypatch.setattr(deeds, "run_window", lambda _options: 0)
    monkeypatch.setattr("tracker.previews.draw.draw_screens", lambda *_arguments: iter(()))
    monkeypatch.setattr(deeds, "prepare_kivy", lambda **_how: None)
    books.planned(tmp_path / "b")
    books.finished(tmp_path / "f")
    books.empty(tmp_path / "e")
    books.damaged(tmp_path / "d")

    @settings(
        max_examples=examples,
        deadline=None,
        suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
    )
    @given(arguments=words_for(tmp_path))
    def every(arguments: list[str]) -> None:
        if "--demo" in arguments and "--day" in arguments:
            arguments = [word for word in arguments if word != "--demo"]
        code = run(*arguments)
        said = capsys.readouterr()
        assert code in (0, 1, 2, 3), (arguments, said.err)
        assert "Traceback" not in said.err + said.out
        assert code == 0 or said.err.strip(), arguments

    every()


def test_any_words_get_an_answer_or_a_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    try_any_words(tmp_path, capsys, monkeypatch, 60)


@pytest.mark.slow
def test_any_words_at_length(
    tmp_path: Path, capsys: pytest.CaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    try_any_words(tmp_path, capsys, monkeypatch, 3000)


@pytest.mark.parametrize(
    "how", [["--text"], ["--json"], ["--plan"], ["--record", "r.pdf"], ["--screens", "p"]]
)
def test_reading_a_misspelt_book_says_that_there_is_none_and_makes_none(
    how: list[str], tmp_path: Path, capsys: pytest.CaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run("--book", str(tmp_path / "mis" / "spelt.loomside"), *how) == 2
    said = capsys.readouterr()
    assert "There is no book at" in said.err
    assert said.out == ""
    assert list(tmp_path.iterdir()) == []
    # A name that leads to nothing is no book either, and nothing is made where it leads.
    (tmp_path / "leads.loomside").symlink_to(tmp_path / "nowhere.loomside")
    assert run("--book", str(tmp_path / "leads.loomside"), *how) == 2
    assert "There is no book at" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["leads.loomside"]


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        (["--text", "--json"], ("--text", "--json")),
        (["--into", "x.png"], ("--into", "--read-cartoon")),
        (["--knots", "80x120"], ("--knots", "--read-cartoon")),
        (["--colours", "4"], ("--colours", "--read-cartoon")),
        (["--dark"], ("--dark", "--screens")),
        (["--text", "--size", "800x600"], ("--size", "--screens")),
        (["--rug", "all"], ("--rug", "--text")),
        (["--text", "--record", "r.pdf"], ("--record", "--text")),
        (["--text", "--screens", "p"], ("--text", "--screens")),
        (["--read-cartoon", "a.png", "--into", "x.png", "--text"], ("--read-cartoon", "--text")),
    ],
)
def test_options_of_which_one_would_be_ignored_are_refused(
    arguments: list[str], named: tuple[str, ...], tmp_path: Path, capsys: pytest.CaptureFixture
) -> None:
    assert run(*arguments) == 2
    said = capsys.readouterr()
    assert all(name in said.err for name in named)
    assert said.out == ""


def test_a_name_that_is_too_long_is_said_to_be(tmp_path: Path, capsys: pytest.CaptureFixture) -> None:
    books.planned(tmp_path / "b.loomside")
    assert run("--book", str(tmp_path / "b.loomside"), "--record", str(tmp_path / ("x" * 400 + ".pdf"))) == 2
    assert "too long" in capsys.readouterr().err


def test_a_book_that_another_reader_holds_for_a_moment_is_waited_for(
    tmp_path: Path, capsys: pytest.CaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    book = tmp_path / "book.loomside"
    books.planned(book)
    waited: list[float] = []
    with Book.open(book) as held:

        def wait(seconds: float) -> None:
            waited.append(seconds)
            if len(waited) == 3:
                held.close()

        monkeypatch.setattr(command_line_books.time, "sleep", wait)
        assert run("--book", str(book), "--text") == 0
        assert len(waited) == 3
        assert capsys.readouterr().out
    # One that stays held is told, and nobody waits for ever.
    waited.clear()
    with Book.open(book):
        monkeypatch.setattr(command_line_books.time, "sleep", waited.append)
        assert run("--book", str(book), "--text") == 2
    assert "already open" in capsys.readouterr().err
    assert 1 <= sum(waited) <= 5
