"""Turns at something that only one thread may do at a time, in the order of their coming."""

import threading
from collections import deque


class Turns:
    """A lock that is fair: who waits longest comes next, and at once."""

    def __init__(self) -> None:
        self._guard = threading.Lock()
        self._is_taken = False
        self._waiting: deque[threading.Lock] = deque()

    def take(self, timeout: float) -> bool:
        """Wait for one's turn, no longer than so many seconds; whether it came."""
        with self._guard:
            if not self._is_taken:
                self._is_taken = True
                return True
            called = threading.Lock()
            called.acquire()
            self._waiting.append(called)
        if called.acquire(timeout=timeout):
            return True
        with self._guard:
            if called in self._waiting:
                self._waiting.remove(called)
                return False
        return True  # the turn came in the last moment

    def give_back(self) -> None:
        """Let the next one have it."""
        with self._guard:
            if self._waiting:
                self._waiting.popleft().release()
            else:
                self._is_taken = False
