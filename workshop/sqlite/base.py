"""Django's SQLite, its writers in this process one after the other in the order of their coming.

SQLite lets whoever asks at the right moment write next; who is told to wait looks again every
tenth of a second. With twenty writers some wait for many seconds while others write on and on.
"""

from collections import defaultdict
from typing import Any

from django.db.backends.sqlite3.base import *  # noqa: F403 (as a backend has it)
from django.db.backends.sqlite3.base import DatabaseWrapper as SQLite

from workshop.turns import Turns

#: For each file those who want to write to it.
_TURNS: dict[str, Turns] = defaultdict(Turns)
#: After so many seconds it is tried without a turn, and SQLite says what it makes of that.
PATIENCE = 20.0


class DatabaseWrapper(SQLite):
    """A connection that waits its turn before it begins a transaction that writes."""

    def __init__(self, *args: Any, **settings: Any) -> None:
        super().__init__(*args, **settings)
        self._turns: Turns | None = None

    def _start_transaction_under_autocommit(self) -> None:
        if self.transaction_mode == "DEFERRED":
            return super()._start_transaction_under_autocommit()
        turns = _TURNS[str(self.settings_dict["NAME"])]
        if self._turns is None and turns.take(PATIENCE):
            self._turns = turns
        try:
            super()._start_transaction_under_autocommit()
        except BaseException:
            self._give_back()
            raise

    def _commit(self) -> None:
        super()._commit()
        self._give_back()

    def _rollback(self) -> None:
        try:
            super()._rollback()
        finally:
            self._give_back()

    def _close(self) -> None:
        try:
            super()._close()
        finally:
            self._give_back()

    def _give_back(self) -> None:
        held, self._turns = self._turns, None
        if held is not None:
            held.give_back()
