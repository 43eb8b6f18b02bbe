"""Yarn fineness as a weaver writes it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.domain.rugs import value_or_sentence
from tracker.domain.errors import BadEntry
from tracker.domain.yarn import CountSystem, all_counts, count_from, parse_fineness, tex_from


@pytest.mark.parametrize(
    ("said", "tex", "plies", "strands"),
    [
        ("Nm 5", 200.0, 1, 1),
        ("nm5/2x3", 1200.0, 2, 3),
        ("5/2 Nm x 3", 1200.0, 2, 3),
        ("Nm 5/2 × 3 strands", 1200.0, 2, 3),
        ("Nm 5/2/3", 1200.0, 6, 1),
        ("Nm 5,5/2", 2000 / 5.5, 2, 1),
        ("tex 400 x 2", 800.0, 2, 1),
        ("tex 400 x 2 x 3", 2400.0, 2, 3),
        ("tex 400 x 3 strands", 1200.0, 1, 3),
        ("400 tex", 400.0, 1, 1),
        ("tex 200 x 3 plies", 600.0, 3, 1),
        ("tex 200 x 3 ply x 2", 1200.0, 3, 2),
        ("Nm 5 x 2 plies", 400.0, 2, 1),
        ("Nm 5 x 2 plies x 3 strands", 1200.0, 2, 3),
        ("R 800 tex", 800.0, 1, 1),
        ("R 800 tex x 2", 1600.0, 1, 2),
        ("den 900", 100.0, 1, 1),
        ("1000 denier x 2", 2000 / 9, 2, 1),
        ("dtex 1100", 110.0, 1, 1),
    ],
)
def test_a_fineness_is_taken_apart(said, tex, plies, strands):
    fineness = parse_fineness(said)
    assert fineness.tex == pytest.approx(tex)
    assert (fineness.plies, fineness.strands) == (plies, strands)


@pytest.mark.parametrize(
    "said",
    ["", "wool", "5/2", "Nm", "Nm 0", "Nm 5/", "Nm 5/0", "Nm /2", "Nm -5", "Nm 5/2 x", "Nm 5 2", "tex 400/2",
     "R Nm 5", "Nm 2/28", "tex 1", "tex 99999", "Nm 5/2 x 3 ropes", "Nm 5/99", "x" * 200],
)  # fmt: skip
def test_a_wrong_fineness_gets_a_sentence_with_an_example(said):
    with pytest.raises(BadEntry) as trouble:
        parse_fineness(said)
    assert trouble.value.sentence.endswith(".")
    assert any(example in trouble.value.sentence for example in ("Nm", "tex"))


def test_a_yarn_is_said_back_as_it_was_understood():
    assert parse_fineness("Nm 5/2 x 3 strands").spoken == "2 plies of Nm 5, 3 strands: 1,200 tex"
    assert parse_fineness("R 800 tex").spoken == "tex 800 in all: 800 tex"


def test_a_yarn_is_shown_in_every_system():
    # 400 tex by hand: Nm 1000 / 400 = 2.5; Ne 590.54 / 400 = 1.48; denier 3600.
    assert dict(all_counts(400.0)) == {"tex": "400", "Nm": "2.5", "Ne": "1.48", "den": "3,600"}


@given(st.floats(5.0, 12_000.0), st.sampled_from(list(CountSystem)))
def test_a_fineness_survives_the_way_through_any_system(tex, system):
    assert tex_from(count_from(tex, system), system) == pytest.approx(tex)


@given(st.text(alphabet="nmetxdR 0123456789/.,xX×strands", max_size=30))
def test_any_text_is_either_a_yarn_or_a_sentence(said):
    outcome = value_or_sentence(lambda: parse_fineness(said))
    assert outcome.endswith(".") if isinstance(outcome, str) else 5.0 <= outcome.tex <= 12_000.0


def test_twisting_makes_only_a_yarn_that_is_said_by_its_singles_heavier_on_its_length() -> None:
    # Two singles of 200 tex that lose 4 % of their length: 400 tex lie on 0.96 of it.
    assert parse_fineness("Nm 5/2").tex_after_twist(0.04) == pytest.approx(400 / 0.96)
    assert parse_fineness("400 tex").tex_after_twist(0.04) == 400.0
    assert parse_fineness("R 800 tex").tex_after_twist(0.04) == 800.0


def test_a_fineness_that_cannot_be_read_is_said_back_with_examples() -> None:
    with pytest.raises(BadEntry) as trouble:
        parse_fineness("  five over two " + "x" * 60)
    assert "“five over two xxx" in trouble.value.sentence
    assert "x" * 40 not in trouble.value.sentence
    assert "Nm" in trouble.value.sentence
