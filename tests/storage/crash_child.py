"""A weaver's phone that will be killed: works on a book and says on its standard output what was acknowledged."""

from __future__ import annotations

import json
import os
import random
import sys
import traceback
from dataclasses import replace
from datetime import date, timedelta

from storage import copies, reading
from storage.book import Book
from tests.storage.book_samples import one_of_every_kind, session
from tracker.domain.rug import RugPlan


def say(told: object) -> None:
    """Tell the test, at once."""
    sys.stdout.write(json.dumps(told) + "\n")
    sys.stdout.flush()


def main(path: str, seed: int) -> None:
    """Work until killed. Before each act say what it will be, after it say that it is done."""
    chance = random.Random(seed)
    book = Book.open(path, "phone to be killed")
    say(["open"])
    if not reading.rugs(book):
        values = one_of_every_kind()
        say(["start", "begin", sorted(value.id for value in values if type(value).__name__ != "Setting")])
        with book.act("begin") as act:
            act.act_id = "begin"
            for value in values:
                act.write(value)
        say(["done", "begin"])
    (rug,) = reading.rugs(book)
    assert isinstance(rug, RugPlan)
    number = 0
    while True:
        number += 1
        choice = chance.random()
        act_id = f"a.{seed}.{number}"
        sessions = reading.rug_book(book, rug.id, with_cartoon=False).sessions
        if choice < 0.6 or not sessions:
            written = [
                session(
                    rug.id,
                    date(2026, 3, 2) + timedelta(days=number),
                    rows=chance.randint(-2, 9),
                    note="x" * 300,
                )
                for _one in range(chance.randint(1, 5))
            ]
            say(["start", act_id, sorted(one.id for one in written)])
            with book.act("sessions logged") as act:
                act.act_id = act_id
                for one in written:
                    act.write(one)
        elif choice < 0.75:
            chosen = chance.choice(sessions)
            say(["start", act_id, [chosen.id]])
            with book.act("session corrected") as act:
                act.act_id = act_id
                act.write(replace(chosen, rows=chosen.rows + 1, note=act_id))
        elif choice < 0.9:
            chosen = chance.choice(sessions)
            say(["start", act_id, [chosen.id]])
            with book.act("session withdrawn") as act:
                act.act_id = act_id
                act.withdraw(chosen.id)
        elif choice < 0.95:
            copies.copy_now(book)
            continue
        else:
            with book.reading() as connection:
                connection.exec_driver_sql("SELECT 1")
            book.close()
            book = Book.open(path, "phone to be killed")
            continue
        say(["done", act_id])


def nursery() -> None:
    """Bring forth one life after another, as asked for on the standard input; a fork is born in no time."""
    for line in sys.stdin:
        path, seed = json.loads(line)
        pid = os.fork()
        if pid == 0:
            try:
                main(path, seed)
            except BaseException:
                traceback.print_exc()
            os._exit(1)
        say(["born", pid])
        _pid, status = os.waitpid(pid, 0)
        say(["dead", status])


if __name__ == "__main__":
    if len(sys.argv) > 1:
        main(sys.argv[1], int(sys.argv[2]))
    else:
        nursery()
