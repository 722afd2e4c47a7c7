"""A PostgreSQL of one's own, from Debian's package, in a folder that is gone afterwards."""

from __future__ import annotations

import contextlib
import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

BASE = "decals"


def programs() -> Path | None:
    """Where the newest server's programs lie; None where there is none."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return found[-1].parent if found else None


def free_port() -> int:
    """A port of this machine that nobody holds."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@dataclass
class Server:
    """A server that can be stopped and started; it never runs as root, which it refuses."""

    folder: Path
    port: int

    @property
    def address(self) -> str:
        return f"postgres://{BASE}@127.0.0.1:{self.port}/{BASE}"

    def run(self, program: str, *words: object) -> None:
        own = ["runuser", "-u", "postgres", "--"] if os.getuid() == 0 else []
        found = programs()
        assert found is not None
        done = subprocess.run(
            [*own, str(found / program), *map(str, words)],
            cwd=self.folder,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            timeout=120,
            check=False,
        )
        assert done.returncode == 0, done.stderr

    def make(self) -> None:
        self.run("initdb", "-D", self.folder / "db", "-A", "trust", "-U", BASE)
        self.start()
        self._ask("createdb")

    def empty(self) -> None:
        """Throw the database away, and make a new one of its name."""
        self._ask("dropdb")
        self._ask("createdb")

    def _ask(self, program: str) -> None:
        self.run(program, "-h", "127.0.0.1", "-p", self.port, "-U", BASE, BASE)

    def start(self) -> None:
        settings = f"-p {self.port} -k {self.folder} -c listen_addresses=127.0.0.1 -c fsync=off"
        log = self.folder / "log"
        self.run("pg_ctl", "-D", self.folder / "db", "-l", log, "-w", "-o", settings, "start")

    def stop(self) -> None:
        self.run("pg_ctl", "-D", self.folder / "db", "-m", "immediate", "stop")


@contextmanager
def server() -> Iterator[Server]:
    """One that runs, with an empty database."""
    folder = Path(tempfile.mkdtemp(prefix="decaljobs-postgres-"))
    if os.getuid() == 0:
        shutil.chown(folder, "postgres")
    own = Server(folder, free_port())
    try:
        own.make()
        yield own
    finally:
        with contextlib.suppress(AssertionError):  # a test has stopped it
            own.stop()
        shutil.rmtree(folder, ignore_errors=True)
