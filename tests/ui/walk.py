"""What a stranger with a ruler would find on a screen: clipped, overlapping or faint text, keys too small to hit."""

from __future__ import annotations

import itertools
import re
from dataclasses import dataclass

from kivy.core.window import Window
from kivy.metrics import dp
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.label import Label
from kivy.uix.scrollview import ScrollView
from kivy.uix.textinput import TextInput
from kivy.uix.widget import Widget
from PIL.Image import Image

from tests.ui.hand import everything, shown
from tracker import theme
from tracker.shell.sheet import Sheet
from tracker.widgets.basics import Column, FadingOut, Key, Swatch
from tracker.widgets.plain_label import PlainLabel

SLACK = 1.5
"""Pixels of rounding that no eye sees."""

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Finding:
    """One thing wrong on a screen."""

    what: str
    where: str

    def __str__(self) -> str:
        return f"{self.what}: {self.where}"


def ancestors(widget: Widget):
    """Yield all that hold a widget, nearest first."""
    at = widget.parent
    while at is not None and isinstance(at, Widget):
        yield at
        if at.parent is at:
            return
        at = at.parent


def box_of(widget: Widget) -> Box:
    """Return left, bottom, right, top in window pixels."""
    x, y = widget.to_window(*widget.pos)
    return x, y, x + widget.width, y + widget.height


def text_box(label: Label | PlainLabel) -> Box:
    """Return the box of a label's drawn text, in window pixels."""
    x, y, right, top = box_of(label)
    width, height = label.texture_size
    middle_x, middle_y = (x + right) / 2, (y + top) / 2
    return middle_x - width / 2, middle_y - height / 2, middle_x + width / 2, middle_y + height / 2


def cut(box: Box, by: Box) -> Box | None:
    """Return the part of a box inside another; None when there is none."""
    left, bottom, right, top = max(box[0], by[0]), max(box[1], by[1]), min(box[2], by[2]), min(box[3], by[3])
    return (left, bottom, right, top) if right - left > 0 and top - bottom > 0 else None


def visible_part(widget: Widget, box: Box) -> Box | None:
    """Return the part of a box that scroll views and the window let through."""
    part: Box | None = cut(box, (0, 0, Window.width, Window.height))
    for holder in ancestors(widget):
        if part is None:
            return None
        if isinstance(holder, ScrollView):
            part = cut(part, box_of(holder))
    return part


def labels_in(root: Widget) -> list[Label | PlainLabel]:
    """Return every label that says something and can be seen."""
    return [w for w in everything(root) if isinstance(w, Label | PlainLabel) and w.text.strip() and shown(w)]


def clipped_text(root: Widget) -> list[Finding]:
    """Find text larger than its widget, or running out of the window sideways."""
    found = []
    for label in labels_in(root):
        width, height = label.texture_size
        if width > label.width + SLACK and label.text_size[0] is not None:
            found.append(Finding("clipped sideways", f"{label.text!r} {width:.0f} > {label.width:.0f}"))
        if height > label.height + SLACK:
            found.append(Finding("clipped in height", f"{label.text!r} {height:.0f} > {label.height:.0f}"))
        left, _bottom, right, _top = text_box(label)
        if left < -SLACK or right > Window.width + SLACK:
            found.append(Finding("runs out of the window", f"{label.text!r} from {left:.0f} to {right:.0f}"))
        # A line of a long list may be brief: the whole is a tap away.
        if getattr(label, "is_shortened", False) and not getattr(label, "brief", False):
            found.append(Finding("shortened", repr(label.text)))
    return found


def overlapping_text(root: Widget) -> list[Finding]:
    """Find two texts drawn over each other."""
    boxes = []
    for label in labels_in(root):
        box = visible_part(label, text_box(label))
        if box is not None:
            boxes.append((label, box))
    found = []
    for index, (one, box) in enumerate(boxes):
        for other, other_box in boxes[index + 1 :]:
            both = cut(box, other_box)
            if both and both[2] - both[0] > 3 and both[3] - both[1] > 6:
                found.append(Finding("overlapping", f"{one.text!r} and {other.text!r}"))
    return found


def small_targets(root: Widget) -> list[Finding]:
    """Find keys too small for a thumb."""
    found = []
    for widget in everything(root):
        if not isinstance(widget, ButtonBehavior | TextInput) or not shown(widget) or widget.disabled:
            continue
        least = dp(theme.LOOM_TOUCH_DP if getattr(widget, "loom", False) else theme.TOUCH_DP)
        side = widget.height if getattr(widget, "loom", False) else min(widget.width, widget.height)
        if side < least - SLACK:
            name = getattr(widget, "text", "") or getattr(widget, "icon", "") or type(widget).__name__
            found.append(Finding("too small to hit", f"{name!r} {widget.width:.0f} x {widget.height:.0f}"))
    return found


def wide_keys(root: Widget) -> list[Finding]:
    """Find keys wider than a column: across a tablet nobody takes them for keys."""
    return [
        Finding("wider than a column", f"{widget.text!r} {widget.width:.0f}")
        for widget in everything(root)
        if isinstance(widget, Key) and shown(widget) and widget.width > dp(theme.COLUMN_DP) + SLACK
    ]


def out_of_reach(root: Widget) -> list[Finding]:
    """Find keys that lie outside the window and in nothing that scrolls."""
    found = []
    for widget in everything(root):
        if not isinstance(widget, ButtonBehavior) or not shown(widget) or widget.disabled:
            continue
        if any(isinstance(holder, ScrollView) for holder in ancestors(widget)):
            continue
        left, bottom, right, top = box_of(widget)
        if left < -SLACK or bottom < -SLACK or right > Window.width + SLACK or top > Window.height + SLACK:
            name = getattr(widget, "text", "") or getattr(widget, "icon", "") or type(widget).__name__
            found.append(Finding("out of reach", f"{name!r} at {left:.0f}, {bottom:.0f}"))
    return found


def act_below(root: Widget) -> list[Finding]:
    """Find the main key of a sheet that lies below what can be seen: nobody scrolls for a key she does not know of."""
    if not isinstance(root, Sheet):
        return []
    found = []
    for key in everything(root):
        if isinstance(key, Key) and key.role == "act" and shown(key):
            left, bottom, right, top = box_of(key)
            part = visible_part(key, (left, bottom, right, top))
            if part is None or part[3] - part[1] < min(key.height, dp(theme.TOUCH_DP)) - SLACK:
                found.append(Finding("main key of a sheet below the window", f"{key.text!r} at {bottom:.0f}"))
    return found


COUNTED = re.compile(r"\S*\d (?=[^\W\d_])\S+$")
NAMED = re.compile(r"\(?(Rug|Row|row|Lot|lot|Halı|sıra) \d+\W*$")


def parted_numbers(root: Widget) -> list[Finding]:
    """Find a line that ends in a number whose unit, month or counted thing begins the next, or in a name whose number does."""
    found = []
    for label in labels_in(root):
        typeset = getattr(label, "_label", None)
        lines = typeset._cached_lines if typeset is not None else ()
        if len(lines) < 2 or "\n" in label.text:
            continue
        said = ["".join(word.text for word in line.words).replace("\u00a0", " ").split() for line in lines]
        for above, below in itertools.pairwise(line for line in said if line):
            parted = f"{above[-1]} {below[0]}"
            if (COUNTED.match(parted) or NAMED.match(parted)) and typeset.get_extents(parted)[
                0
            ] < label.width - 2:
                found.append(Finding("parted at a line's end", f"{parted!r} in {label.text!r}"))
    return found


MOST_SIZES = 3
"""Sizes of type on one page: words, a strong line, and one figure."""


def many_sizes(root: Widget) -> list[Finding]:
    """Find a page on which words stand in more sizes than an eye can rank; numbers on balls of yarn are part of a picture."""
    words: dict[float, str] = {}
    for label in labels_in(root):
        if not any(isinstance(holder, Swatch) for holder in ancestors(label)):
            words.setdefault(round(label.font_size / dp(1), 1), label.text)
    if len(words) <= MOST_SIZES:
        return []
    return [
        Finding("too many sizes of type", ", ".join(f"{size:g} {words[size]!r}" for size in sorted(words)))
    ]


RHYTHM_DP = 4
"""Every gap below each other is a multiple of it: half of `theme.GAP_DP`, for the lines of one thing."""


def odd_gaps(root: Widget) -> list[Finding]:
    """Find what stands one below the other at a distance that no other thing has."""
    found = []
    for column in everything(root):
        if not isinstance(column, Column) or column.orientation != "vertical" or not shown(column):
            continue
        parts = [child for child in reversed(column.children) if child.height > 0 and child.opacity > 0]
        for above, below in itertools.pairwise(parts):
            gap = (above.y - below.top) / dp(1)
            if abs(gap - RHYTHM_DP * round(gap / RHYTHM_DP)) > 0.5:
                names = " and ".join(
                    getattr(part, "text", "") or type(part).__name__ for part in (above, below)
                )
                found.append(Finding("out of the rhythm", f"{gap:.1f} dp between {names}"))
    return found


Colour = tuple[int, ...]


def hex_of(colour: Colour) -> str:
    """Return a colour of 0 to 255 as #RRGGBB."""
    return "#" + "".join(f"{share:02X}" for share in colour)


def ground_of(colours: list[tuple[int, Colour]], ink: Colour) -> Colour:
    """Return the most frequent colour that is not the ink's own; the ink's where there is hardly another.

    A large figure covers more than half of its box, and a ball's ground runs from light to shade.
    """
    apart = [
        (count, colour)
        for count, colour in colours
        if max(abs(a - b) for a, b in zip(colour, ink, strict=True)) > 12
    ]
    if sum(count for count, _colour in apart) < 0.1 * sum(count for count, _colour in colours):
        return ink
    return max(apart)[1]


def faint_text(root: Widget, picture: Image) -> list[Finding]:
    """Find text that does not reach the contrast asked for, against the ground it was really drawn on."""
    image = picture.convert("RGB")
    found = []
    for label in labels_in(root):
        box = visible_part(label, text_box(label))
        for holder in ancestors(label):
            # What goes on below fades out at the edge, and is read once it is scrolled up.
            if box is not None and isinstance(holder, FadingOut):
                x, y, right, top = box_of(holder)
                below, above = holder.faded_px
                box = cut(box, (x, y + below, right, top - above))
        if box is None or label.disabled or any(holder.opacity < 1 for holder in (label, *ancestors(label))):
            continue
        left, bottom, right, top = (round(side) for side in box)
        if right - left < 6 or top - bottom < 6:
            continue
        part = image.crop((left, image.height - top, right, image.height - bottom))
        ink = tuple(round(share * 255) for share in label.color[:3])
        ratio = theme.contrast(hex_of(ink), hex_of(ground_of(part.getcolors(part.width * part.height), ink)))
        on_swatch = any(type(holder).__name__ == "Swatch" for holder in ancestors(label))
        wanted = 3.0 if on_swatch else theme.TEXT_CONTRAST
        if ratio < wanted - 0.05:
            found.append(Finding("faint", f"{label.text!r} {ratio:.1f}:1, wanted {wanted}:1"))
    return found


FAR_DP = 48
"""What lies so far from where it can be seen is not to be drawn."""


def is_drawn_by(holder: Widget, widget: Widget) -> bool:
    """True when drawing `holder` draws one of its children."""
    whole = holder.canvas_viewport if isinstance(holder, ScrollView) else holder.canvas
    return any(canvas.indexof(widget.canvas) >= 0 for canvas in (whole, whole.before, whole.after))


def wrongly_drawn(root: Widget) -> list[Finding]:
    """Find what is drawn and lies far outside of where it can be seen, and what can be seen and is not drawn."""
    found = []

    def look(holder: Widget) -> None:
        for widget in holder.children:
            if not shown(widget):
                continue
            left, bottom, right, top = box_of(widget)
            name = f"{type(widget).__name__} {getattr(widget, 'text', '')!r} at {left:.0f}, {bottom:.0f}"
            if is_drawn_by(holder, widget):
                far = dp(FAR_DP)
                if visible_part(widget, (left - far, bottom - far, right + far, top + far)) is None:
                    found.append(Finding("drawn where nobody sees it", name))
                look(widget)
            elif visible_part(widget, (left, bottom, right, top)) is not None:
                found.append(Finding("not drawn", name))

    look(root)
    return found


def findings(root: Widget, picture: Image | None = None) -> list[Finding]:
    """Return everything wrong on a screen."""
    found = (
        clipped_text(root)
        + overlapping_text(root)
        + small_targets(root)
        + wide_keys(root)
        + out_of_reach(root)
        + act_below(root)
        + parted_numbers(root)
        + wrongly_drawn(root)
    )
    return found + (faint_text(root, picture) if picture is not None else [])
