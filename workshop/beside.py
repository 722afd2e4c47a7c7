"""More processes that serve the pages at the same port, so that each processor has work.

python -m workshop.beside SOCKET..., run by `start` with the numbers of the sockets it holds.
"""

import os
import signal
import socket
import sys
import threading

from workshop.serve import Pages, open_server, stop_on_signals
from workshop.working import end_with_the_server


def main(numbers: list[str]) -> None:
    """Serve the held sockets until told to end, or until who holds them is gone."""
    stop_on_signals()
    # Ctrl-C reaches all processes of a terminal; the one that was started ends the others.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=end_with_the_server, daemon=True, name="server's end").start()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
    pages = Pages()
    server = open_server(pages, [socket.socket(fileno=int(each)) for each in numbers])
    pages.load()
    server.run()


if __name__ == "__main__":
    main(sys.argv[1:])
