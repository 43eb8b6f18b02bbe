"""What is said of a warp that carries more than one rug, on every page and list that names it."""

from __future__ import annotations

from tracker.domain.loom import WarpLay
from tracker.domain.shared_warp import SharedWarp
from tracker.presenters.entry_text import lay_words
from tracker.words import _, length, mass, n_, number, one_after_another, shown_parts_g


def on_warp_words(shared: SharedWarp, unit: str) -> str:
    """Say which rugs lie on one warp: "Garden and Runner on one warp of 290 cm, one behind the other"."""
    lays = {part.part.lay for part in shared.parts[1:]}
    how = lay_words(WarpLay.BEHIND if WarpLay.BEHIND in lays else WarpLay.BESIDE)
    return _("{rugs} on one warp of {length}, {how}").format(
        rugs=one_after_another([part.part.name for part in shared.parts]),
        length=length(shared.length_cm, unit),
        how=how,
    )


def need_words(shared: SharedWarp) -> str:
    """Say what the whole warp needs and what each rug's part of it is."""
    shown = shown_parts_g([part.mass_g for part in shared.parts])
    parts = [
        _("{rug} {mass}").format(rug=part.part.name, mass=mass(part_g))
        for part, part_g in zip(shared.parts, shown, strict=True)
    ]
    return _("The whole warp needs {mass}: {parts}. Loom waste is counted once.").format(
        mass=mass(shared.mass_g), parts=one_after_another(parts)
    )


def threads_words(threads: int) -> str:
    """Say how many threads a warp has."""
    return n_("{count} thread", "{count} threads", threads).format(count=number(threads))


def mounting_words(shared: SharedWarp, rug_id: str, unit: str) -> str:
    """Say with which rug the warp is mounted, and of one that is, what it had to be measured for."""
    threads = threads_words(shared.threads)
    if shared.first.part.rug_id == rug_id:
        return _("It is mounted once for all of them: {threads}.").format(threads=threads)
    if shared.mounted:
        first = shared.first
        alone_cm = first.part.cloth_cm + shared.waste_cm
        if shared.length_cm <= alone_cm:
            # Side by side: as long as the longest of them.
            return _(
                "It is mounted. If it was measured for {rug} alone, {alone_threads}, it is too narrow: all of them need {threads}."
            ).format(rug=first.part.name, alone_threads=threads_words(first.part.threads), threads=threads)
        if first.part.threads < shared.threads:
            return _(
                "It is mounted. If it was measured for {rug} alone, {alone_threads} and {alone}, it is too narrow and too "
                "short: all of them need {threads} and {length}."
            ).format(
                rug=first.part.name,
                alone_threads=threads_words(first.part.threads),
                alone=length(alone_cm, unit),
                threads=threads,
                length=length(shared.length_cm, unit),
            )
        return _(
            "It is mounted. If it was measured for {rug} alone, {alone}, it is too short: all of them need {length}."
        ).format(
            rug=first.part.name,
            alone=length(alone_cm, unit),
            length=length(shared.length_cm, unit),
        )
    return _("It is mounted once for all of them, with {rug}: {threads}.").format(
        rug=shared.first.part.name, threads=threads
    )


def turn_words(shared: SharedWarp, rug_id: str) -> str:
    """Say that a rug begins when the one before it is done; "" where it waits for none."""
    before = shared.wait_for(rug_id)
    return _("It begins when {rug} is done.").format(rug=before[0].name) if before else ""


def shared_warp_words(shared: SharedWarp, rug_id: str, unit: str) -> str:
    """Say all of it in a paragraph."""
    parts = (
        on_warp_words(shared, unit) + ".",
        need_words(shared),
        mounting_words(shared, rug_id, unit),
        turn_words(shared, rug_id),
    )
    return " ".join(part for part in parts if part)


def buying_words(shared: SharedWarp, rug_id: str) -> str:
    """Say that the warp is bought once for all its rugs; each its part where they name yarns of different fineness."""
    others = [part.part.name for part in shared.parts if part.part.rug_id != rug_id]
    if shared.one_yarn:
        return _(
            "Buy the whole warp of {mass} once, for this rug and {rugs}. Each list shows it until it "
            "is bought."
        ).format(mass=mass(shared.mass_g), rugs=one_after_another(others))
    return _(
        "Its part of one warp of {mass}. The rest is on the list of {rugs}. Buy the same yarn for each."
    ).format(mass=mass(shared.mass_g), rugs=one_after_another(others))
