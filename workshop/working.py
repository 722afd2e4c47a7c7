"""What runs beside the server, minded and gone when it is gone: a worker, more page servers."""

import os
import socket
import subprocess
import sys
import threading
import time
import zlib
from collections.abc import Sequence
from pathlib import Path

from workshop.paths import CHECKOUT, data_folder

BEAT = "worker.beat"
#: The worker says so often that it is there, seconds; one silent for thrice as long is not.
BEAT_EVERY = 5.0
#: Between the end of one worker and the start of the next, seconds.
PAUSE = 1.0
#: No process beside the server takes longer to end, seconds.
LONGEST_END = 8.0


def prefix() -> str:
    """What the names of all workers of this machine on these records begin with."""
    place = zlib.crc32(f"{socket.gethostname()} {data_folder()}".encode())
    return f"{place:08x}-"


def worker_name() -> str:
    """The name of the worker in this process."""
    return f"{prefix()}{os.getpid()}-{born(os.getpid())}"


def born(number: int) -> str:
    """When a process began, so that another that comes by its number later is told from it.

    In ticks since the machine was started; empty where the system does not say, or the process
    has ended and only its number is still taken.
    """
    try:
        said = Path(f"/proc/{number}/stat").read_text()
    except OSError:
        return ""
    state, *rest = said.rpartition(")")[2].split()  # from the third of all on, proc(5)
    return "" if state in "ZX" else rest[18]


def is_gone(name: str) -> bool:
    """Whether a worker no longer runs; of one on another machine nothing is known."""
    if not name.startswith(prefix()):
        return False
    if os.name == "nt":  # there is one worker there, and it is the one that asks
        return name != worker_name()
    number, _, birth = name[len(prefix()) :].partition("-")
    try:
        os.kill(int(number), 0)
    except (ProcessLookupError, ValueError):
        return True
    except PermissionError:  # it is somebody else's
        pass
    return name == worker_name() or born(int(number)) != birth


def beat() -> None:
    """Say over and over that this worker is there."""
    path = data_folder() / BEAT
    while True:
        path.touch()
        time.sleep(BEAT_EVERY)


def is_beating() -> bool:
    """Whether a worker of these records said lately that it is there."""
    try:
        return time.time() - (data_folder() / BEAT).stat().st_mtime < 3 * BEAT_EVERY
    except FileNotFoundError:
        return False


def end_with_the_server() -> None:
    """Wait for the server's end of the pipe to close, however the server ended, and end too."""
    # Read below Python's own buffer, whose lock a process that ends by itself would wait for.
    while os.read(sys.stdin.fileno(), 1024):
        pass
    os._exit(0)


class Minder:
    """Keeps one process running beside this one, until it is told to stop or this one is gone.

    held: sockets that the process is given, by their numbers.
    """

    def __init__(self, name: str, command: list[str], held: Sequence[socket.socket] = ()) -> None:
        self.command, self.held = command, [each.fileno() for each in held]
        self.closing = threading.Event()
        self.child: subprocess.Popen[bytes] | None = None
        self.thread = threading.Thread(target=self._mind, daemon=True, name=name)
        self.thread.start()

    def _mind(self) -> None:
        while not self.closing.is_set():
            with subprocess.Popen(  # noqa: S603
                self.command, stdin=subprocess.PIPE, pass_fds=self.held, cwd=CHECKOUT
            ) as self.child:
                if self.closing.is_set():
                    self.child.terminate()
                self.child.wait()
            self.closing.wait(PAUSE)

    def stop(self) -> None:
        """End the process in order, and let no other come."""
        self.closing.set()
        if self.child is not None:
            self.child.terminate()
        self.thread.join(LONGEST_END)


def start_beside(held: list[socket.socket], processes: int) -> list[Minder]:
    """The other processes that serve what is held here, besides this one, each minded."""
    numbers = [str(each.fileno()) for each in held]
    command = [sys.executable, "-m", "workshop.beside", *numbers]
    return [Minder(f"pages {n}", command, held) for n in range(1, processes)]


def start_worker() -> Minder:
    """Start a worker, minded for as long as this process runs."""
    command = [sys.executable, str(CHECKOUT / "manage.py"), "worker", "--with-server"]
    return Minder("worker's minder", command)
