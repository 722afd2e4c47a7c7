"""The worker beside the server: named, minded, and gone when the server is gone."""

import os
import socket
import subprocess
import sys
import threading
import time
import zlib

from workshop.paths import CHECKOUT, data_folder

BEAT = "worker.beat"
#: The worker says so often that it is there, seconds; one silent for thrice as long is not.
BEAT_EVERY = 5.0
#: Between the end of one worker and the start of the next, seconds.
PAUSE = 1.0


def prefix() -> str:
    """What the names of all workers of this machine on these records begin with."""
    place = zlib.crc32(f"{socket.gethostname()} {data_folder()}".encode())
    return f"{place:08x}-"


def worker_name() -> str:
    """The name of the worker in this process."""
    return f"{prefix()}{os.getpid()}"


def is_gone(name: str) -> bool:
    """Whether a worker no longer runs; of one on another machine nothing is known."""
    if not name.startswith(prefix()):
        return False
    number = name[len(prefix()) :]
    if os.name == "nt":  # there is one worker there, and it is the one that asks
        return name != worker_name()
    try:
        os.kill(int(number), 0)
    except (ProcessLookupError, ValueError):
        return True
    except PermissionError:
        return False
    return name == worker_name()


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
    sys.stdin.buffer.read()
    os._exit(0)


def mind(children: list[subprocess.Popen[bytes]]) -> None:
    """Keep one worker running for as long as this process does."""
    command = [sys.executable, str(CHECKOUT / "manage.py"), "worker", "--with-server"]
    while True:
        with subprocess.Popen(command, stdin=subprocess.PIPE) as child:  # noqa: S603
            children[:] = [child]
            child.wait()
        time.sleep(PAUSE)


def start_worker() -> list[subprocess.Popen[bytes]]:
    """Start a worker and a thread that minds it; the list holds the one that runs."""
    children: list[subprocess.Popen[bytes]] = []
    threading.Thread(target=mind, args=[children], daemon=True, name="worker's minder").start()
    return children
