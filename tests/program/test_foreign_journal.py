"""Another book's journal beside a book: the command line refuses it with a sentence and changes nothing; a rescue never mixes."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from storage.copies import list_copies
from tests.storage.test_journals import replayed, wal, without_witnesses, written
from tests.today import TODAY
from tracker.app.desk import Desk
from tracker.command_line.main import main
from tracker.domain.errors import BookTrouble

HOW = (["--text"], ["--json", "--plan"], ["--csv", "tables"], ["--text", "--as-it-is"])


def said(path: Path, capsys: pytest.CaptureFixture[str], *how: str) -> tuple[int, str, str]:
    code = main(["--book", str(path), "--day", TODAY.isoformat(), *how])
    told = capsys.readouterr()
    return code, told.out, told.err


@pytest.mark.parametrize("witnesses", [True, False], ids=["witnesses", "no witnesses"])
@pytest.mark.parametrize("laid", ["beside", "spliced", "replayed"])
def test_a_foreign_journal_is_refused_and_the_rescued_book_is_ones_own(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    laid: str,
    witnesses: bool,
) -> None:
    monkeypatch.chdir(tmp_path)
    own = written(tmp_path / "own" / "book.loomside", "own rug", 30, journal_of=4 if laid == "spliced" else 0)
    other = written(tmp_path / "other" / "book.loomside", "other rug", 40, journal_of=6)
    if laid == "beside":
        shutil.copy(wal(other), wal(own))
    elif laid == "spliced":
        # The own journal to the half of its frames, the other's from there on.
        frame = 24 + 4096
        half = 32 + (wal(own).stat().st_size - 32) // frame // 2 * frame
        wal(own).write_bytes(wal(own).read_bytes()[:half] + wal(other).read_bytes()[32:])
    else:
        replayed(own, other)
    if not witnesses:
        without_witnesses(own)
    assert list_copies(own) == ()
    before = {path: path.read_bytes() for path in (own, wal(own)) if path.exists()}
    notices_loss = laid != "spliced" or witnesses
    for how in HOW:
        code, out, err = said(own, capsys, *how)
        assert "other rug" not in out
        if not notices_loss or (laid == "spliced" and "--as-it-is" in how):
            # Cut short by strange frames, with nothing left that counted the acts, it is the shorter book that is whole.
            assert code == 0
            continue
        assert code == 2
        assert out == ""
        assert err.strip().endswith(".")
        assert "Traceback" not in err
        if "--as-it-is" not in how and laid != "spliced":
            assert {path: path.read_bytes() for path in before} == before, "made worse by looking"
    if not notices_loss or laid == "spliced":
        return
    desk = Desk(own, today=lambda: TODAY, background=False)
    with pytest.raises(BookTrouble):
        desk.open()
    assert desk.damaged
    assert any("another book" in sentence for sentence in desk.rescue())
    desk.close()
    code, out, err = said(own, capsys, "--text")
    assert (code, err) == (0, "")
    assert "own rug" in out
    assert "other" not in out
    code, out, _err = said(own, capsys, "--rug", "other rug", "--text")
    assert code == 1
