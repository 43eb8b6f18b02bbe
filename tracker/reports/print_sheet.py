"""The printed page: A4 sheets in the app's own colours and type, on which the record and the cartoon's rows are set.

fpdf2 is imported when the first sheet is made, never before.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tracker import theme
from tracker.files.faces import OWN, letters_of, needs_shaping, wide_face
from tracker.words import _, number

if TYPE_CHECKING:
    import numpy as np

FONTS = Path(__file__).parents[2] / "assets" / "fonts"
PAGE_WIDTH, PAGE_HEIGHT = 210.0, 297.0
MARGIN = 18.0
TOP, BOTTOM = 26.0, 20.0
INK, SOFT, WOOL = theme.LIGHT.ink, theme.LIGHT.soft, theme.LIGHT.ground
LINE, MADDER, INDIGO, GREEN = theme.LIGHT.line, theme.LIGHT.madder, theme.LIGHT.indigo, theme.LIGHT.green
MM_PER_POINT = 25.4 / 72.0
LONGEST_TEXT = 4000
"""Letters of one text printed at the most."""


def rgb(colour: str) -> tuple[int, int, int]:
    """Return "#RRGGBB" as three numbers from 0 to 255; anything else as wool."""
    try:
        return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)
    except ValueError:
        return rgb(WOOL)


def printable(text: str) -> str:
    """Return the text without what cannot be printed: control and lone half characters; line breaks stay."""
    letters = []
    for letter in text[:LONGEST_TEXT]:
        if letter == "\n":
            letters.append(letter)
        elif letter in "\t\r\x0b\x0c":
            letters.append(" ")
        elif unicodedata.category(letter) == "Cs":
            letters.append("\ufffd")
        elif unicodedata.category(letter) not in ("Cc", "Co", "Cn"):
            letters.append(letter)
    return "".join(letters)


class Sheets:
    """A pile of printed pages with a cursor. Lengths in mm from the top left, type in points.

    Parameters
    ----------
    title
        What the document is, for its own record.
    footer
        Words at the foot of every page.
    texts
        Everything that will be printed, so that letters the type lacks are known beforehand.
    made_on
        The day it is made.
    """

    def __init__(self, title: str, footer: str, texts: Iterable[str] = ()) -> None:
        import logging

        from fpdf import FPDF

        # fpdf2 and fontTools tell of every missing letter; the fallback below has taken care of what can be had.
        for name in ("fpdf", "fontTools"):
            logging.getLogger(name).setLevel(logging.ERROR)
        self.pdf: Any = FPDF(unit="mm", format="A4")
        self.pdf.set_auto_page_break(False)
        self.pdf.set_margin(0)
        self.pdf.c_margin = 0
        for style, name in (("", "Lato-Regular"), ("B", "Lato-Bold")):
            self.pdf.add_font("Lato", style, str(FONTS / f"{name}.ttf"))
        self.pdf.add_font("Black", "", str(FONTS / "Lato-Black.ttf"))
        own = letters_of(OWN)
        letters = {letter for text in texts for letter in printable(text)} - {"\n"}
        lacking = {ord(letter) for letter in letters} - own
        wide = wide_face() if lacking else None
        if wide is not None:
            self.pdf.add_font("Wide", "", str(wide))
            self.pdf.set_fallback_fonts(["Wide"], exact_match=False)
        self.pdf.set_title(printable(title))
        self.pdf.set_creator("Loomside")
        self.pdf.set_lang(_language())
        self.footer = printable(footer)
        if lacking - (letters_of(wide) if wide else set()) or any(map(needs_shaping, letters)):
            self.footer += " · " + _("Some letters cannot be shown here.")
        self.band: tuple[tuple[str, float], ...] = ()
        self.y = TOP

    # --- drawing

    def ink(self, colour: str) -> None:
        """Print text in a colour from now on."""
        self.pdf.set_text_color(*rgb(colour))

    def box(self, x: float, y: float, width: float, height: float, fill: str, edge: str = "") -> None:
        """Fill a box, with a hairline round it when `edge` is a colour."""
        self.pdf.set_fill_color(*rgb(fill))
        if edge:
            self.pdf.set_draw_color(*rgb(edge))
            self.pdf.set_line_width(0.2)
        self.pdf.rect(x, y, max(0.01, width), max(0.01, height), style="DF" if edge else "F")

    def rule(self, x: float, y: float, width: float, colour: str = LINE, thick: float = 0.2) -> None:
        """Draw a line across."""
        self.pdf.set_draw_color(*rgb(colour))
        self.pdf.set_line_width(thick)
        self.pdf.line(x, y, x + width, y)

    def stroke(self, x1: float, y1: float, x2: float, y2: float, colour: str, thick: float = 0.2) -> None:
        """Draw a straight line."""
        self.pdf.set_draw_color(*rgb(colour))
        self.pdf.set_line_width(thick)
        self.pdf.line(x1, y1, x2, y2)

    def font(self, size: float, style: str = "") -> None:
        """Choose the type: `style` is "", "B" or "black"."""
        if style == "black":
            self.pdf.set_font("Black", "", size)
        else:
            self.pdf.set_font("Lato", style, size)

    def width_of(self, text: str, size: float, style: str = "") -> float:
        """Return the width of a line of text."""
        self.font(size, style)
        return float(self.pdf.get_string_width(printable(text)))

    def words(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        colour: str = INK,
        style: str = "",
        align: str = "L",
        width: float = 0.0,
    ) -> None:
        """Print one line with its top at `y`; with a width it is ranged within it and shortened to fit."""
        text = printable(text).replace("\n", " ")
        self.font(size, style)
        if width:
            text = self.shortened(text, size, style, width)
        self.ink(colour)
        self.pdf.set_xy(x, y)
        self.pdf.cell(
            width or self.pdf.get_string_width(text) + 0.1, size * MM_PER_POINT * 1.2, text, align=align
        )

    def shortened(self, text: str, size: float, style: str, width: float) -> str:
        """Return the text, cut with an ellipsis where it does not fit the width."""
        if self.width_of(text, size, style) <= width:
            return text
        least, most = 0, len(text)
        while least < most:
            middle = (least + most + 1) // 2
            if self.width_of(text[:middle].rstrip() + "…", size, style) <= width:
                least = middle
            else:
                most = middle - 1
        return text[:least].rstrip() + "…"

    def lines_of(self, text: str, size: float, style: str, width: float) -> list[str]:
        """Break text into lines of a width; a word longer than the line is cut by the type setter."""
        from fpdf.enums import MethodReturnValue

        self.font(size, style)
        self.pdf.set_xy(0, 0)
        return list(
            self.pdf.multi_cell(
                max(width, 5.0),
                size,
                printable(text),
                align="L",
                dry_run=True,
                output=MethodReturnValue.LINES,
            )
        )

    def paragraph(
        self,
        x: float,
        y: float,
        width: float,
        text: str,
        size: float,
        colour: str = INK,
        style: str = "",
        most: int = 0,
        leading: float = 1.32,
    ) -> float:
        """Print wrapped text, at most so many lines (0: all); return the height it took."""
        if not text.strip():
            return 0.0
        lines = self.lines_of(text, size, style, width)
        if most and len(lines) > most:
            lines = [*lines[: most - 1], self.shortened(lines[most - 1] + " …", size, style, width)]
        step = size * MM_PER_POINT * leading
        for at, line in enumerate(lines):
            self.font(size, style)
            self.ink(colour)
            self.pdf.set_xy(x, y + at * step)
            self.pdf.cell(width, step, line)
        return len(lines) * step

    def lines_height(self, text: str, size: float, width: float, leading: float = 1.32) -> float:
        """Return the height that `paragraph` takes for a text."""
        return len(self.lines_of(text, size, "", width)) * size * MM_PER_POINT * leading

    def swatch(self, x: float, y: float, side: float, colour: str, mark: str) -> None:
        """Draw a yarn's colour with its number on it."""
        self.box(x, y, side, side, colour, edge=theme.LIGHT.edge)
        size = min(side * 1.35, 12.0)
        self.words(
            x,
            y + (side - size * MM_PER_POINT * 1.2) / 2,
            mark,
            size,
            theme.ink_on(hex_of(colour)),
            "B",
            "C",
            side,
        )

    def picture(
        self, cells: np.ndarray, x: float, y: float, width: float, height: float, least_pixels: int = 1400
    ) -> None:
        """Print an array (rows, columns, 3), row 1 at the foot, each cell kept sharp."""
        from PIL import Image

        image = Image.fromarray(cells[::-1])
        times = max(1, -(-least_pixels // max(image.size)))
        if times > 1:
            image = image.resize((image.width * times, image.height * times), Image.Resampling.NEAREST)
        self.pdf.set_image_filter("FlateDecode")
        self.pdf.image(image, x=x, y=y, w=width, h=height)
        self.pdf.set_image_filter("AUTO")

    # --- pages

    def add_page(self, head: str = "") -> None:
        """Begin a page: the band of yarn colours above, what the page is about below it."""
        self.pdf.add_page()
        self.draw_band(0.0, 3.0)
        self.y = TOP
        if head:
            self.words(MARGIN, 12.0, head, 9, SOFT, width=PAGE_WIDTH - 2 * MARGIN)
            self.rule(MARGIN, 18.5, PAGE_WIDTH - 2 * MARGIN)

    def draw_band(self, y: float, height: float) -> None:
        """Draw the yarns side by side across the page, each as wide as its share of the knots."""
        total = sum(share for _swatch, share in self.band)
        if total <= 0:
            self.box(0, y, PAGE_WIDTH, height, LINE)
            return
        x = 0.0
        for colour, share in self.band:
            width = PAGE_WIDTH * share / total
            self.box(x, y, width + 0.05, height, colour)
            x += width

    @staticmethod
    def together(heights: Sequence[float], at: int) -> float:
        """Return the room to ask for before row `at` of a list, so that neither its first row nor its last stands alone."""
        if at == 0:
            return sum(heights[: 2 if len(heights) > 3 else 3])
        return sum(heights[at:]) if at == len(heights) - 2 else heights[at]

    def room(self, height: float, head: str = "") -> bool:
        """Begin a new page unless `height` still fits; True when one was begun."""
        if self.y + height <= PAGE_HEIGHT - BOTTOM:
            return False
        self.add_page(head)
        return True

    def _forget_pen(self) -> None:
        """Have the next colours, line and type written out: the page turned back to has a pen of its own."""
        self.pdf.set_draw_color(1, 2, 3)
        self.pdf.set_text_color(1, 2, 3)
        self.pdf.set_line_width(9)
        self.pdf.set_font("Black", "", 99)

    def finished(self) -> bytes:
        """Number the pages and return the file's bytes."""
        pages = self.pdf.pages_count
        for page in range(1, pages + 1):
            self.pdf.page = page
            self._forget_pen()
            self.rule(MARGIN, PAGE_HEIGHT - 14.5, PAGE_WIDTH - 2 * MARGIN)
            self.words(MARGIN, PAGE_HEIGHT - 12.5, self.footer, 8, SOFT, width=PAGE_WIDTH - 2 * MARGIN - 32)
            of = _("page {page} of {pages}").format(page=number(page), pages=number(pages))
            self.words(PAGE_WIDTH - MARGIN - 30, PAGE_HEIGHT - 12.5, of, 8, SOFT, align="R", width=30)
        return bytes(self.pdf.output())


def hex_of(colour: str) -> str:
    """Return a colour that is surely "#RRGGBB"."""
    return "#{:02X}{:02X}{:02X}".format(*rgb(colour))


def _language() -> str:
    from tracker.words import language

    return language()
