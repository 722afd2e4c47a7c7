"""Three web processes behind nginx on one PostgreSQL: `python -m tests.three_processes`.

Does on this machine, in a folder that is gone afterwards, what DEVELOPERS.md describes, and checks
it: each process answers through the one address, what one writes another shows, several workers do
the work behind the pages, and one process that dies keeps nobody out. It stops all it started.
"""

from __future__ import annotations

import http.cookiejar
import os
import re
import socket
import subprocess
import sys
import tempfile
import time
import urllib.parse
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from tests.checkout import TOP, Started, manage, started
from tests.postgres import Server, free_port, programs, server

WEB, MOST_WORK = 3, 30
PATIENCE = 300.0  # seconds; every look starts a Python, which takes long on a busy machine
CONFIG = """
daemon off;
{user}
pid {folder}/nginx.pid;
error_log {folder}/nginx-error.log;
worker_processes 1;
events {{ worker_connections 512; }}
http {{
    access_log off;
    client_body_temp_path {folder}/body;
    proxy_temp_path {folder}/proxy;
    fastcgi_temp_path {folder}/fastcgi;
    uwsgi_temp_path {folder}/uwsgi;
    scgi_temp_path {folder}/scgi;
    client_max_body_size 25m;
    upstream workshop {{
        {upstreams}
    }}
    server {{
        listen 127.0.0.1:{port};
        location / {{
            proxy_pass http://workshop;
            proxy_http_version 1.1;
            proxy_set_header Connection "";
            proxy_set_header Host $http_host;
            proxy_set_header X-Forwarded-For $proxy_add_x_forwarded_for;
            proxy_set_header X-Forwarded-Proto $scheme;
            add_header X-Answered-By $upstream_addr always;
        }}
    }}
}}
"""


class Browser:
    """Somebody who comes in through nginx, and notes which process answered."""

    def __init__(self, site: str) -> None:
        self.site = site
        self.seen: set[str | None] = set()
        self.jar = http.cookiejar.CookieJar()
        self.opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(self.jar))

    def get(self, page: str) -> str:
        with self.opener.open(self.site + page, timeout=60) as answer:
            self.seen.add(answer.headers["X-Answered-By"])
            return answer.read().decode()

    def post(self, page: str, **fields: str) -> str:
        """Send the form of a page, with the token that stands on it."""
        found = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', self.get(page))
        assert found, f"{page} has no form"
        fields["csrfmiddlewaretoken"] = found.group(1)
        data = urllib.parse.urlencode(fields).encode()
        request = urllib.request.Request(self.site + page, data)  # noqa: S310
        request.add_header("Referer", self.site + page)
        with self.opener.open(request, timeout=60) as answer:
            return answer.read().decode()


@contextmanager
def nginx(folder: Path, ports: list[int]) -> Iterator[str]:
    """nginx before these ports; its own address."""
    port, root = free_port(), os.getuid() == 0
    upstreams = "\n        ".join(f"server 127.0.0.1:{each} max_fails=1;" for each in ports)
    file = folder / "nginx.conf"
    user = "user root;" if root else ""
    file.write_text(CONFIG.format(user=user, folder=folder, upstreams=upstreams, port=port))
    with subprocess.Popen(["/usr/sbin/nginx", "-c", str(file)]) as process:
        try:
            wait_until(lambda: _listens(port), "nginx does not start")
            yield f"http://127.0.0.1:{port}"
        finally:
            process.terminate()


def _listens(port: int) -> bool:
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) == 0


@contextmanager
def three(folder: Path, base: Server) -> Iterator[list[Started]]:
    """Three of them on one data folder and one database, brought up to date once before."""
    data = folder / "data"
    run = manage(TOP, "migrate", "-v0", DECALJOBS_DATA=data, DATABASE_URL=base.address)
    assert run.returncode == 0, run.stderr
    alone = ("--demo", "--processes", "1")
    with ExitStack() as stack:
        yield [
            stack.enter_context(started(data, *alone, DATABASE_URL=base.address))
            for _ in range(WEB)
        ]


def wait_until(so: Callable[[], bool], what: str) -> None:
    end = time.monotonic() + PATIENCE
    while not so():
        assert time.monotonic() < end, what
        time.sleep(0.2)


def check(site: str, web: list[Started], ask: Callable[[str], str]) -> None:
    """Go in at the one address and see that it is one workshop."""
    browser = Browser(site)
    # Each start makes a link for the owner, and the newest is the one that opens.
    browser.get(urllib.parse.urlsplit(web[-1].link).path)
    if "/enter/" in browser.opener.open(site + "/", timeout=60).url:
        raise AssertionError("the link did not let anybody in")
    browser.post(
        "/projects/new/",
        name="Three at the rope",
        scale="1:72",
        finish="matt",
        weight="1",
        body_colour="#223344",
    )
    for _ in range(4 * WEB):
        assert "Three at the rope" in browser.get("/projects/"), "one of them shows it not"
    assert len(browser.seen) == WEB, f"only {browser.seen} answered"
    print(f"{WEB} processes answer at one address and show the same records")
    begun, workers = 0, set[str]()
    while len(workers) < 2 and begun < MOST_WORK:  # the first may be done before others look
        begun += len(ask(WORK).split())
        wait_until(lambda least=begun: len(ask(DONE).split()) >= least, "the work is not done")
        workers = {line.split("|")[1] for line in ask(DONE).split()}
    print(f"{begun} pieces of work done by {len(workers)} workers")
    assert len(workers) >= 2, "one worker did it all"
    web[0].process.kill()
    web[0].process.wait()
    for _ in range(3 * WEB):
        assert "Three at the rope" in browser.get("/projects/")
    print("one was killed, and nobody was kept out")


#: All of the example's artwork measured anew, by whichever worker is free.
WORK = """
from django.db import transaction
from decaljobs.models import Measuring
from decaljobs.services import behind
path = "decaljobs.services.artwork.measuring.run"
with transaction.atomic():
    for each in Measuring.objects.all():
        Measuring.objects.filter(pk=each.pk).update(state="running")
        behind.do_work.enqueue(name="again", path=path, pk=each.pk)
        print("begun")
"""
DONE = """
from django_tasks_db.models import DBTaskResult
for each in DBTaskResult.objects.finished():
    print("done|" + each.worker_ids[-1])
"""


def main() -> int:
    """0 when all that is checked held."""
    if programs() is None or not Path("/usr/sbin/nginx").exists():
        print("This wants Debian's packages postgresql and nginx-light.", file=sys.stderr)
        return 2
    with tempfile.TemporaryDirectory() as name, server() as base:
        folder = Path(name)

        def ask(code: str) -> str:
            settings = {"DECALJOBS_DATA": folder / "data", "DATABASE_URL": base.address}
            run = manage(TOP, "shell", "-v0", "-c", code, **settings)
            assert run.returncode == 0, run.stderr
            return run.stdout

        with three(folder, base) as web, nginx(folder, [each.port for each in web]) as site:
            check(site, web, ask)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
