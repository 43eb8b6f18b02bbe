"""`--read-cartoon`: a cartoon read from a picture into a file with one point a knot, and how sure that is."""

from __future__ import annotations

import json

import numpy as np
import pytest
from PIL import Image

from tests.reading.on_paper import Trouble, cartoon, enlarged, framed, put_on_paper, yarns
from tracker.command_line.main import main
from tracker.pictures.cartoon_reader import read_cartoon


@pytest.fixture(scope="module")
def truth() -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(3)
    return framed(cartoon(rng, 60, 40, 4, "patches")), yarns(rng, 4)


def test_a_clear_photograph_becomes_a_cartoon_that_the_app_reads_and_exits_with_0(
    truth, tmp_path, capsys
) -> None:
    cells, palette = truth
    sheet = put_on_paper(
        np.random.default_rng(3),
        cells,
        palette,
        Trouble(points=9.0, tilt_deg=10, turn_deg=3, table=True, jpeg=85),
    )
    picture, into = tmp_path / "wall.jpg", tmp_path / "cartoon.png"
    picture.write_bytes(sheet.data)
    assert main(["--read-cartoon", str(picture), "--into", str(into), "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert (said["knots_across"], said["rows"]) == (40, 60)
    assert len(said["colours"]) == 4
    assert said["is_sure"]
    assert said["file"] == str(into)
    taken = read_cartoon(into)
    assert (taken.knots_across, taken.rows) == (40, 60)
    pairs = np.zeros((4, 4), dtype=int)
    np.add.at(pairs, (taken.cells[::-1], cells), 1)
    assert (pairs > 0).sum() == 4


def test_a_doubtful_reading_is_written_and_exits_with_4(truth, tmp_path, capsys) -> None:
    # Of so few rows and knots the squares may fall on a common step by chance.
    cells, palette = truth[0][:20, :22], truth[1]
    picture, into = tmp_path / "twice.png", tmp_path / "cartoon.png"
    picture.write_bytes(enlarged(cells, palette, 2).data)
    assert main(["--read-cartoon", str(picture), "--into", str(into)]) == 4
    assert Image.open(into).size == (22, 20)
    out = capsys.readouterr()
    assert "22 knots across, 20 rows" in out.out
    assert "The number of knots is not sure" in out.out
    assert main(["--read-cartoon", str(picture), "--into", str(into), "--knots", "22x20"]) == 0


def test_what_is_no_cartoon_exits_with_2_and_writes_nothing(tmp_path, capsys) -> None:
    picture, into = tmp_path / "night.png", tmp_path / "cartoon.png"
    Image.new("RGB", (300, 400)).save(picture)
    Image.effect_noise((300, 400), 3).point(lambda v: max(0, v - 120)).convert("RGB").save(picture)
    assert main(["--read-cartoon", str(picture), "--into", str(into)]) == 2
    assert "too dark" in capsys.readouterr().err
    assert not into.exists()


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--knots", "many"], "not a size"),
        (["--knots", ""], "not a size"),
        # Each fits a number of knots; so many squares would fill the memory.
        (["--knots", "12000x12000"], "So many squares cannot be seen in a picture of 200 × 300 pixels"),
        (["--corners", "0,0 190,0 190,290 0,290", "--knots", "199x12000"], "So many squares cannot be seen"),
        (["--corners", "nan,0 9,0 9,9 0,9"], "not four corners"),
        (["--corners", "inf,0 9,0 9,9 0,9"], "not four corners"),
        (["--corners", ""], "not four corners"),
        (["--corners", "0,0 190,290 190,0 0,290"], "do not go round the cartoon"),
        (["--corners", "1,2 3,4"], "not four corners"),
        (["--colours", "900"], "not a possible number of colours"),
        (["--colours", "-1"], "not a possible number of colours"),
    ],
)
def test_options_that_make_no_sense_get_a_sentence(options, says, truth, tmp_path, capsys) -> None:
    picture = tmp_path / "a.png"
    picture.write_bytes(enlarged(*truth, 5).data)
    assert main(["--read-cartoon", str(picture), "--into", str(tmp_path / "b.png"), *options]) == 2
    told = capsys.readouterr().err
    assert says in told
    assert len(told.splitlines()) == 1, "a sentence, and no warning of the library beside it"
    assert not (tmp_path / "b.png").exists()


def test_without_a_place_to_write_to_it_says_so(tmp_path, capsys) -> None:
    assert main(["--read-cartoon", str(tmp_path / "a.png")]) == 2
    assert "--into" in capsys.readouterr().err


def test_a_see_through_picture_is_refused_as_the_plan_page_refuses_it(tmp_path, capsys) -> None:
    picture, into = tmp_path / "glass.png", tmp_path / "cartoon.png"
    Image.new("RGBA", (80, 120), (0, 0, 0, 0)).save(picture)
    assert main(["--read-cartoon", str(picture), "--into", str(into)]) == 2
    assert "see-through" in capsys.readouterr().err
    assert not into.exists()
    opaque = tmp_path / "opaque.png"
    Image.new("RGBA", (80, 120), (156, 47, 37, 255)).save(opaque)
    # Nothing tells a cartoon of one yarn from an empty picture, unless she says so.
    assert main(["--read-cartoon", str(opaque), "--into", str(into)]) == 2
    assert "of one colour" in capsys.readouterr().err
    assert not into.exists()
    main(["--read-cartoon", str(opaque), "--into", str(into), "--colours", "1"])
    said = capsys.readouterr().out
    assert "1 colour\n" in said
    assert "1 colours" not in said
    assert "1 pixel to a knot" in said


@pytest.mark.parametrize("number", ["x", "1.5", "nan", "", "9" * 40])
def test_colours_that_are_no_number_get_a_sentence(number, capsys) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["--read-cartoon", "a.png", "--into", "b.png", "--colours", number])
    assert ended.value.code == 2
    assert "say a whole number, such as 8" in capsys.readouterr().err
