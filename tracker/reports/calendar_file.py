"""The days to come as a calendar file (RFC 5545): last row, marks on the way, yarn to order, days off.

All events are whole days. An event's UID comes from what it is about, never from when it was written, so that taking
the file in again moves the events that are there and doubles none.
"""

from __future__ import annotations

import uuid
from datetime import UTC, date, datetime, timedelta

from tracker.domain.errors import BadEntry
from tracker.domain.rug import RugBook
from tracker.forecast.answers import Answers
from tracker.presenters.answer_words import chance_words, day_range, is_beyond
from tracker.presenters.finish import days_words
from tracker.presenters.yarn import order_words
from tracker.words import _, day, number

SPACE = uuid.UUID("6d2f5a53-3f0c-4a0e-9d35-7f5f0a4b61c2")
"""Namespace of our UIDs (RFC 9562, version 5)."""
FIRST_SEQUENCE = date(2020, 1, 1)
ORDER_REMINDER = timedelta(hours=8)
"""When on the day before an order's day the phone speaks up: so long before midnight."""


def uid_of(*parts: str) -> str:
    """Return the lasting name of an event about something of one rug."""
    return f"{uuid.uuid5(SPACE, '/'.join(parts))}@loomside"


def _plain(text: str) -> str:
    """Return text a calendar can hold: no control characters but line breaks."""
    return "".join(
        letter
        for letter in text
        if letter == "\n" or (ord(letter) >= 32 and ord(letter) != 127 and not 0xD800 <= ord(letter) < 0xE000)
    )


def calendar_file(book: RugBook, answers: Answers, made_at: datetime) -> bytes:
    """Return the calendar file of one rug.

    Parameters
    ----------
    book, answers
        The rug and its answers.
    made_at
        The instant of writing, with its zone.

    Raises
    ------
    BadEntry
        Nothing lies ahead: every row is woven and no day off is to come.
    """
    from icalendar import Alarm, Calendar, Event, vText

    today, finish, rug = answers.day, answers.finish, book.plan
    file = Calendar()
    file.add("version", "2.0")
    file.add("prodid", "-//Loomside//Loomside//EN")
    file.add("calscale", "GREGORIAN")
    file.add("method", "PUBLISH")
    # vText escapes; older and newer icalendar know these two properties by different types.
    for key in ("NAME", "X-WR-CALNAME"):
        file[key] = vText(_plain(rug.name))
    stamp = made_at.astimezone(UTC).replace(microsecond=0)

    def add(
        uid: str, first: date, summary: str, description: str, last: date | None = None, remind: bool = False
    ) -> None:
        event = Event()
        event.add("uid", uid)
        event.add("dtstamp", stamp)
        event.add("sequence", max(0, (today - FIRST_SEQUENCE).days))
        event.add("dtstart", first)
        event.add("dtend", (last or first) + timedelta(days=1))
        event.add("summary", _plain(summary))
        if description:
            event.add("description", _plain(description))
        event.add("transp", "TRANSPARENT")
        event.add("class", "PRIVATE")
        if remind:
            alarm = Alarm()
            alarm.add("action", "DISPLAY")
            alarm.add("description", _plain(summary))
            alarm.add("trigger", -ORDER_REMINDER)
            event.add_component(alarm)
        file.add_component(event)

    if finish is not None:
        said = []
        if finish.early != finish.late:
            said.append(_("The last row: {range}.").format(range=day_range(finish.early, finish.late, today)))
        if finish.chance_of_wish is not None and rug.wished_day is not None:
            said.append(
                _("By the target date, {day}: {chance}.").format(
                    day=day(rug.wished_day), chance=chance_words(finish.chance_of_wish)
                )
            )
        said.append(_("As it looked on {day}.").format(day=day(today)))
        # A day beyond reckoning is none to be written on.
        if not is_beyond(finish.middle, today):
            add(
                uid_of(rug.id, "finish"),
                finish.middle,
                _("{rug}: last row about today").format(rug=rug.name),
                "\n".join(said),
            )
        ready = finish.ready
        if ready is not None and ready > finish.middle and not is_beyond(ready, today):
            steps = [
                f"{step.name}: {days_words(step.days)}" for step in book.after_steps if step.done_day is None
            ]
            add(
                uid_of(rug.id, "ready"),
                ready,
                _("{rug}: ready about today").format(rug=rug.name),
                "\n".join(steps),
            )
        seen: list[int] = []
        for name, row, early, middle, late in finish.marks:
            # By its row, not its name, which another language changes; two marks may share a row.
            seen.append(row)
            if is_beyond(middle, today):
                continue
            add(
                uid_of(rug.id, "mark", str(row), *(["again"] * (seen.count(row) - 1))),
                middle,
                _("{rug}: {mark}, row {row}, about today").format(rug=rug.name, mark=name, row=number(row)),
                day_range(early, late, today) if early != late else "",
            )
        if rug.wished_day is not None and rug.wished_day >= today:
            add(uid_of(rug.id, "wish"), rug.wished_day, _("{rug}: target date").format(rug=rug.name), "")
    yarns = {yarn.id: yarn for yarn in book.yarns}
    for answer in answers.yarns:
        yarn = yarns.get(answer.yarn_id)
        if yarn is None or answer.order_by is None or answer.order_g <= 0:
            continue
        # An order that is late is due today.
        add(
            uid_of(rug.id, "order", yarn.id),
            max(answer.order_by, today),
            _("{rug}: order {yarn}").format(rug=rug.name, yarn=yarn.name),
            order_words(yarn, answer, today),
            remind=True,
        )
    # Of a rug whose last row is woven the days off are no longer.
    for off in () if answers.finished else book.days_off:
        if off.last_day >= today:
            add(
                uid_of("days off", off.id),
                off.first_day,
                off.reason or _("Day off from the loom"),
                "",
                off.last_day,
            )
    if not file.subcomponents:
        raise BadEntry(_("The last row of this rug is woven, so a calendar file would be empty."))
    return bytes(file.to_ical())
