"""Turns come in the order of asking, and whoever gives up waiting is left out."""

import threading
import time

import pytest
from django.db import connections, transaction

from workshop.database import sqlite
from workshop.sqlite.base import DatabaseWrapper
from workshop.turns import Turns

PATIENCE = 30.0


def wait_for(turns: Turns, number: int) -> None:
    end = time.monotonic() + PATIENCE
    while len(turns._waiting) < number:
        assert time.monotonic() < end, "nobody waits"
        time.sleep(0.001)


def test_turns_come_in_the_order_of_asking():
    turns, came = Turns(), []
    assert turns.take(0)

    def ask(number: int) -> None:
        assert turns.take(PATIENCE)
        came.append(number)
        turns.give_back()

    threads = [threading.Thread(target=ask, args=[number]) for number in range(10)]
    for number, thread in enumerate(threads, 1):
        thread.start()
        wait_for(turns, number)
    turns.give_back()
    for thread in threads:
        thread.join(PATIENCE)
    assert came == list(range(10))
    assert turns.take(0), "nobody has it any longer"


def test_who_gives_up_is_not_called():
    turns = Turns()
    assert turns.take(0)
    assert not turns.take(0.01)
    turns.give_back()
    assert turns.take(0)


@pytest.mark.slow
@pytest.mark.django_db
@pytest.mark.parametrize("ending", ["commit", "rollback", "close", "failure"])
def test_a_transaction_gives_its_turn_back_however_it_ends(tmp_path, ending):
    whole = connections.configure_settings({"default": {}, "one": sqlite(tmp_path / "one.db")})
    for _ in range(2):
        one = DatabaseWrapper(whole["one"], "one")
        one.ensure_connection()
        one.set_autocommit(False, force_begin_transaction_with_broken_autocommit=True)
        assert one._turns is not None
        if ending == "failure":
            with pytest.raises(Exception, match="within a transaction"):
                one._start_transaction_under_autocommit()
            # What the failure still holds on to would keep the file locked until it is swept.
            one.connection.rollback()
        else:
            getattr(one, ending)()
        assert one._turns is None
        one.close()


@pytest.mark.django_db
def test_the_records_are_written_in_turns():
    connection = connections["default"]
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL has turns of its own")
    with transaction.atomic():
        assert connection._turns is not None
    assert connection._turns is not None, "the test itself stands in a transaction"
