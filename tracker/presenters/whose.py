"""Whose balls ended where several sat at the loom: who may be asked of, and what the answer writes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from tracker.domain.hand_out import whose_they_may_be
from tracker.domain.rug import Role, RugBook, Session, new_id
from tracker.presenters.places import names_of_weavers
from tracker.words import n_


@dataclass(frozen=True, slots=True)
class WhoseLine:
    """Balls of one colour that end with the evening being entered, of which can be said whose they are."""

    yarn_id: str
    words: str
    choices: tuple[tuple[str, str, bool], ...]
    """(name, weaver id, chosen)"""


def whose_choices(book: RugBook, session: Session, yarn_id: str) -> tuple[tuple[str, str], ...]:
    """Return (name, weaver id) of those whose balls of a colour can have ended in a session; () where that is plain, or nobody can say."""
    pile = any(yarn.id == yarn_id and yarn.role is Role.PILE for yarn in book.yarns)
    if not pile or dict(session.used).get(yarn_id, 0.0) <= 0:
        return ()
    names = names_of_weavers(book)
    may_be = whose_they_may_be(session, [entry for entry in book.hand_outs if entry.yarn_id == yarn_id])
    return tuple((names[who], who) for who in may_be if who in names) if len(may_be) > 1 else ()


def said_whose(book: RugBook, session_id: str, yarn_id: str, weaver_id: str) -> tuple[Session, ...]:
    """Return the sessions that say whose the balls of a yarn were: they move from the team's entry into hers.

    Parameters
    ----------
    session_id, yarn_id
        Where the balls stand now.
    weaver_id
        Whose they were. An entry of hers alone of that day takes them; without one a new one is made.
    """
    session = next(one for one in book.sessions if one.id == session_id)
    balls = dict(session.used)[yarn_id]
    if not session.wove and not session.note and len(session.used) == 1:
        return (replace(session, weavers=(weaver_id,)),)
    without = replace(session, used=tuple(pair for pair in session.used if pair[0] != yarn_id))
    hers = next(
        (
            one
            for one in reversed(book.sessions)
            if one.day == session.day and one.weavers == (weaver_id,) and one.id != session_id
        ),
        Session(id=new_id(), rug_id=book.plan.id, day=session.day, rows=0, weavers=(weaver_id,)),
    )
    used = dict(hers.used)
    used[yarn_id] = used.get(yarn_id, 0.0) + balls
    return without, replace(hers, used=tuple(used.items()))


def _newest(session: Session, book: RugBook) -> Session:
    """The session as it stands in the book once it is saved: entered after everything."""
    return replace(session, born=max((entry.born for entry in book.hand_outs), default=0) + 1)


def whose_lines(session: Session, book: RugBook, said: Iterable[tuple[str, str]]) -> tuple[WhoseLine, ...]:
    """Return the colours of a session being entered of which can be said whose balls ended; `said` pairs yarns with weavers."""
    lines, chosen = [], dict(said)
    for yarn_id, balls in session.used:
        choices = whose_choices(book, _newest(session, book), yarn_id)
        if choices:
            name = next(yarn.name for yarn in book.yarns if yarn.id == yarn_id)
            words = n_("Whose ball of {yarn}?", "Whose balls of {yarn}?", 1 if balls == 1 else 2)
            lines.append(
                WhoseLine(
                    yarn_id,
                    words.format(yarn=name),
                    tuple((who, weaver_id, chosen.get(yarn_id) == weaver_id) for who, weaver_id in choices),
                )
            )
    return tuple(lines)


def shared_out(session: Session, book: RugBook, said: Iterable[tuple[str, str]]) -> tuple[Session, ...]:
    """Return what is written of a session being entered: itself, and the entries of those whose balls ended in it."""
    written = {session.id: session}
    for yarn_id, weaver_id in said:
        if weaver_id not in [
            who for _name, who in whose_choices(book, _newest(written[session.id], book), yarn_id)
        ]:
            continue
        others = tuple(one for one in book.sessions if one.id not in written)
        now = replace(book, sessions=(*others, *written.values()))
        written |= {one.id: one for one in said_whose(now, session.id, yarn_id, weaver_id)}
    return tuple(written.values())
