"""In a book kept in inches no page says or asks a length in centimetres, millimetres or metres."""

from __future__ import annotations

import re

import pytest

from tests.ui.test_every_screen import PARTS, part_of
from tests.ui.walk import labels_in
from tracker.previews.draw import settle
from tracker.previews.scenes import scenes

METRIC = re.compile(
    r"\d\s?(?:mm|cm|m|m²|dm²)\b(?!²)|\bsquare (?:metre|decimetre)|/m²|\bin (?:1|10) cm\b|\bin (?:cm|mm)\b"
)

KEPT_METRIC = {
    "the measures of density that the trade uses, offered side by side": re.compile(
        r"^(?:per 10 cm|per [\d.]+ cm(?: \(raj\))?|knots/m²|knots/dm²)$"
    ),
    "advice told as its source has it": re.compile(r"above the height of your elbows"),
}
"""What stays metric, by the reason."""


def metric(words: str) -> bool:
    """Whether a text says a length or an area in metric measure without a reason."""
    return bool(METRIC.search(words)) and not any(kept.search(words) for kept in KEPT_METRIC.values())


@pytest.mark.parametrize("words", ["8 mm", "pile 8.5 mm", "Turns in 1 cm", "12 × 9 per 10 cm, in 10 cm", "40 cm wide", "in a square metre", "2 kg/m²", "310 m"])  # fmt: skip
def test_what_is_metric(words: str) -> None:
    assert metric(words)


@pytest.mark.parametrize("words", ["0.31 in", "R 600 tex", "10 min", "4 g", "5 months", "3 yd"])
def test_what_is_not(words: str) -> None:
    assert not metric(words)


@pytest.mark.parametrize("part", range(PARTS))
def test_a_book_in_inches_says_no_metric_length_on_any_page(open_app, demo, part: int) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    desk.set_settings({"length_unit": "inch"})
    settle()
    begun = desk.drafts.as_they_are()
    found: set[tuple[str, str]] = set()
    seen = 0
    for scene in part_of(scenes(desk, ()), part):
        scene.show(hand.shell, begun)
        settle()
        texts = {label.text for label in labels_in(hand.shell)}
        seen += len(texts)
        found |= {(scene.name, text) for text in texts if metric(text)}
    assert seen > 100
    assert not found, "\n".join(f"{name}: {text}" for name, text in sorted(found))
