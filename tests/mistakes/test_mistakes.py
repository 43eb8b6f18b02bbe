"""Tests with teeth: no mistake planted in the sums gets past `tests/outside`."""

from __future__ import annotations

import shutil
import subprocess
import sys

import pytest

from tests.mistakes.planted import MISTAKES, DoesNotFit, Mistake
from tests.mistakes.trial import ROOT


@pytest.mark.parametrize("mistake", MISTAKES, ids=lambda mistake: mistake.name)
def test_each_mistake_still_fits_the_code(mistake, tmp_path):
    target = tmp_path / mistake.file
    target.parent.mkdir(parents=True)
    shutil.copy(ROOT / mistake.file, target)
    mistake.plant(tmp_path)
    compile(target.read_text(encoding="utf-8"), mistake.file, "exec")
    assert mistake.right != mistake.wrong


def test_a_mistake_whose_text_is_gone_is_an_error(tmp_path):
    (tmp_path / "sum.py").write_text("a = b + c\n", encoding="utf-8")
    with pytest.raises(DoesNotFit):
        Mistake("gone", "sum.py", "a = b - c", "a = b").plant(tmp_path)


def test_names_are_told_apart():
    assert len({mistake.name for mistake in MISTAKES}) == len(MISTAKES)


@pytest.mark.slow
@pytest.mark.timeout(4 * 3600)
def test_none_lives():
    done = subprocess.run(
        [sys.executable, "-m", "tests.mistakes"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert f"{len(MISTAKES)} mistakes tried, 0 lived" in done.stdout
