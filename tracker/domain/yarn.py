"""Yarn fineness as the trade writes it: parsed strictly, kept in tex, shown in every system.

Notes
-----
tex is the mass in grams of 1,000 m (ISO 1144). Nm = 1000 / tex and denier = 9 tex are exact; tex = 590.5 / Ne
for the English cotton count follows from the pound and a hank of 840 yards. ISO 2947 lists rounded tex values
for traditional counts that differ from the exact ones by at most 2 %; nothing is rounded here before it is shown,
and what is shown differs by less.

The resultant fineness is reckoned as single x plies x strands. Twisting shortens a plied yarn by a few per cent,
which makes the true resultant that much heavier; a weaver who knows it enters it as "R 820 tex", or says by how much the
singles were shortened.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum

from tracker.domain.errors import BadEntry
from tracker.domain.units import parse_number, show_number
from tracker.words import _, n_

TEX_PER_NE = 453.59237 / (840 * 0.9144) * 1000
"""tex x Ne: grams in a pound over metres in a hank of 840 yards, 590.54 (ISO 1144 rounds to 590.5)."""

LEAST_TEX = 5.0
MOST_TEX = 12_000.0
"""Fence for slips, in resultant tex: from sewing silk to a rope of yarns no knot could hold (no source)."""
MOST_PLIES = 64


class CountSystem(StrEnum):
    """Systems in which yarn fineness is said."""

    TEX = "tex"
    DTEX = "dtex"
    DEN = "den"
    NM = "Nm"
    NE = "Ne"

    @property
    def is_direct(self) -> bool:
        """True where a larger number means a thicker yarn."""
        return self in (CountSystem.TEX, CountSystem.DTEX, CountSystem.DEN)


def tex_from(count: float, system: CountSystem) -> float:
    """Return the fineness in tex of a yarn of `count` in `system` (ISO 1144)."""
    match system:
        case CountSystem.TEX:
            return count
        case CountSystem.DTEX:
            return count / 10.0
        case CountSystem.DEN:
            return count / 9.0
        case CountSystem.NM:
            return 1000.0 / count
        case CountSystem.NE:
            return TEX_PER_NE / count


def count_from(tex: float, system: CountSystem) -> float:
    """Return the count in `system` of a yarn of `tex` (ISO 1144)."""
    match system:
        case CountSystem.TEX:
            return tex
        case CountSystem.DTEX:
            return tex * 10.0
        case CountSystem.DEN:
            return tex * 9.0
        case CountSystem.NM:
            return 1000.0 / tex
        case CountSystem.NE:
            return TEX_PER_NE / tex


@dataclass(frozen=True, slots=True, kw_only=True)
class Fineness:
    """A yarn as it was said, taken apart."""

    system: CountSystem
    count: float
    """Of the single, or of the whole when `resultant`."""
    plies: int = 1
    """Singles twisted together, cabling included."""
    strands: int = 1
    """Yarns laid side by side and knotted as one."""
    resultant: bool = False

    @property
    def single_tex(self) -> float:
        """Fineness of one single, in tex."""
        return tex_from(self.count, self.system)

    @property
    def tex(self) -> float:
        """Resultant fineness of everything that is knotted or passed together, in tex."""
        return self.single_tex * self.plies * self.strands

    @property
    def is_plied(self) -> bool:
        """True where the yarn is said by its singles, which twisting them together made shorter."""
        return self.plies > 1 and not self.resultant

    def tex_after_twist(self, contraction: float) -> float:
        """Return the fineness in tex after twisting took a share `contraction` of the singles' length.

        The same mass lies on a shorter length. What is not said by its singles stays as it was said.
        """
        return self.tex / (1.0 - contraction) if self.is_plied else self.tex

    @property
    def spoken(self) -> str:
        """How it was understood, to be shown beside the entry."""
        count = f"{self.system} {show_number(self.count)}"
        if self.resultant:
            text = _("{count} in all").format(count=count)
        elif self.plies > 1:
            text = n_("{plies} ply of {count}", "{plies} plies of {count}", self.plies).format(
                plies=self.plies, count=count
            )
        else:
            text = _("a single of {count}").format(count=count)
        if self.strands > 1:
            text += ", " + n_("{strands} strand", "{strands} strands", self.strands).format(
                strands=self.strands
            )
        return text + _(": {tex} tex").format(tex=show_number(self.tex))

    def all_ways(self) -> tuple[tuple[str, str], ...]:
        """Return (system, resultant count) in every system, for a screen."""
        return all_counts(self.tex)


def all_counts(tex: float) -> tuple[tuple[str, str], ...]:
    """Return (system, count) lines for a yarn of `tex` in every system but dtex."""
    return tuple(
        (str(system), show_number(count_from(tex, system)))
        for system in (CountSystem.TEX, CountSystem.NM, CountSystem.NE, CountSystem.DEN)
    )


_SYSTEMS: dict[str, CountSystem] = {
    "tex": CountSystem.TEX,
    "dtex": CountSystem.DTEX,
    "den": CountSystem.DEN,
    "denier": CountSystem.DEN,
    "td": CountSystem.DEN,
    "nm": CountSystem.NM,
    "ne": CountSystem.NE,
    "nec": CountSystem.NE,
}
_NUMBER = r"\d+(?:[.,]\d+)?"
_PARTS = rf"(?P<count>{_NUMBER})(?P<folds>(?:\s*/\s*\d+)*)"
_NAME = r"(?P<name>dtex|tex|denier|den|td|nm|nec|ne)\.?"
_TIMES = r"(?P<times>(?:\s*[x×*]\s*\d+(?:\s*(?:strands?|plies|ply))?)*)"
_ENTRY = (
    re.compile(rf"(?P<r>r\s*)?{_NAME}\s*{_PARTS}{_TIMES}"),
    re.compile(rf"(?P<r>r\s*)?{_PARTS}\s*{_NAME}{_TIMES}"),
)
_TIME = re.compile(r"[x×*]\s*(?P<many>\d+)\s*(?P<what>strands?|plies|ply)?")
EXAMPLES = "Nm 5/2, Nm 5/2 x 3 strands, Ne 20/15, tex 400 x 2, den 900"


def parse_fineness(text: str) -> Fineness:
    """Return the fineness a weaver typed.

    Notes
    -----
    The single's count stands before the slash and the plies after it ("Nm 5/2": two plies of Nm 5; a further slash
    cables them again). "x 3 strands" lays three such yarns together. In the direct systems plies are written with x
    ("tex 400 x 2"), because "400/2" is read in two ways; "R 800 tex" gives the whole.

    Raises
    ------
    BadEntry
        With what is wrong and an example.
    """
    plain = " ".join(text.strip().lower().split())
    typed = next((match for entry in _ENTRY if len(plain) <= 60 and (match := entry.fullmatch(plain))), None)
    if typed is None:
        raise BadEntry(
            _(
                "“{text}” is not a fineness of yarn (yarn count). Write the system and the count, then plies and strands, "
                "for example {examples}."
            ).format(text=text.strip()[:40], examples=EXAMPLES)
        )
    system = _SYSTEMS[typed["name"]]
    count = parse_number(typed["count"], example="5")
    folds = [int(fold) for fold in re.findall(r"\d+", typed["folds"])]
    if count <= 0:
        raise BadEntry(
            _("A yarn count must be more than zero, for example {examples}.").format(examples=EXAMPLES)
        )
    if system.is_direct and folds:
        raise BadEntry(
            _(
                "“{text}” can be read in two ways. Write {each} x {plies} for plies of {each} each, "
                "or R {each} {system} for the whole yarn."
            ).format(text=text.strip()[:40], each=show_number(count), plies=folds[0], system=system)
        )
    resultant = bool(typed["r"])
    if resultant and (folds or not system.is_direct):
        raise BadEntry(_("R stands for the whole yarn in tex, for example R 800 tex."))
    plies, strands = 1, 1
    for fold in folds:
        plies *= fold
    said_x_plies = False
    for time in _TIME.finditer(typed["times"]):
        many = int(time["many"])
        ply_word = (time["what"] or "").startswith("pl")
        # In a direct system the first bare x gives the plies (ISO 1139); everything after lies side by side.
        if ply_word or (system.is_direct and not resultant and time["what"] is None and not said_x_plies):
            plies *= many
            said_x_plies = True
        else:
            strands *= many
    if not (1 <= plies <= MOST_PLIES and 1 <= strands <= MOST_PLIES):
        raise BadEntry(
            _("Plies and strands must lie between 1 and {most}, for example {examples}.").format(
                most=MOST_PLIES, examples=EXAMPLES
            )
        )
    fineness = Fineness(system=system, count=count, plies=plies, strands=strands, resultant=resultant)
    if not LEAST_TEX <= fineness.tex <= MOST_TEX:
        raise BadEntry(
            _(
                "“{text}” makes {tex} tex, which cannot be right for a rug. "
                "The single's count comes first and its plies second, for example Nm 28/2."
            ).format(text=text.strip()[:40], tex=show_number(fineness.tex))
        )
    return fineness
