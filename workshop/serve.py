"""Serve the workshop here: hold the port, bring the records up to date, let people in."""

import argparse
import logging
import os
import signal
import socket
import sys
import threading
import time
import webbrowser
from typing import Any

from waitress.server import create_server

from workshop.lan import let_in, network_address, require_passwords, show_qr
from workshop.options import HOST, port_refused
from workshop.refusal import Refusal
from workshop.turns import Turns
from workshop.working import start_beside, start_worker

PATIENCE = 0.2  # seconds that a page waits for others to be drawn before it is drawn beside them
LOOK_EVERY = 600.0  # seconds between two looks for the daily backup
#: So many at once, far more than a club has browsers open: who only holds one keeps nobody out.
MOST_CONNECTIONS = 500
LONGEST_SILENCE = 60  # seconds after which a visitor who says nothing is hung up on
BODY_LIMIT = 25 * 1024 * 1024  # bytes; an A4 picture at 600 dpi is about 20 MB as a PNG


def start(choices: argparse.Namespace) -> int:
    """Serve until an interrupt or a termination signal; the exit code."""
    stop_on_signals()
    os.environ["DECALJOBS_DATA"] = choices.data
    os.environ["DECALJOBS_WORKER"] = "1"
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
    # The port comes first: of two starts on one data folder only one touches the records.
    pages = Pages()
    lan = [] if choices.lan is None else [network_address(choices.lan)]
    held = hold_port([HOST, *lan], choices.port)
    server = open_server(pages, held)
    port = held[0].getsockname()[1]
    sites = [let_in(address, port) for address in lan]
    bring_up_to_date()
    if choices.demo:
        load_example()
    take_up_left_work()
    if lan:
        require_passwords()
    pages.load()
    announce(entering_link(port), sites, choices)
    start_worker()
    beside = start_beside(held, choices.processes)
    threading.Thread(target=back_up_daily, daemon=True, name="daily backup").start()
    server.run()
    for each in beside:
        each.stop()
    say("Stopped.")
    return 0


def stop_on_signals() -> None:
    """Make Ctrl-C and SIGTERM end this process in order, once."""

    def stop(signum: int, frame: Any) -> None:
        for each in (signal.SIGINT, signal.SIGTERM):
            signal.signal(each, signal.SIG_IGN)
        sys.exit(0)

    for each in (signal.SIGINT, signal.SIGTERM):
        signal.signal(each, stop)


class Pages:
    """The program as the server sees it, loaded long after the server holds its port.

    Pages that are only read are drawn one after the other: side by side each would take longer,
    since one processor draws them all. One that takes long keeps the next no longer than PATIENCE.
    """

    def __init__(self) -> None:
        self.turns = Turns()

    def load(self) -> None:
        """Read all that the pages need, so that what is broken shows before anybody is let in."""
        from django.urls import get_resolver

        from workshop.wsgi import application

        get_resolver().url_patterns  # noqa: B018
        self.application = application

    def __call__(self, environ: dict[str, Any], start_response: Any) -> Any:
        if environ["REQUEST_METHOD"] not in ("GET", "HEAD") or not self.turns.take(PATIENCE):
            return self.application(environ, start_response)
        try:
            return self.application(environ, start_response)
        finally:
            self.turns.give_back()


def hold_port(hosts: list[str], port: int) -> list[socket.socket]:
    """The same port, held at each of these addresses of this machine; 0 takes any free one."""
    held: list[socket.socket] = []
    for host in hosts:
        each = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        if os.name != "nt":  # there the option would let two programs share the port
            each.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            each.bind((host, held[0].getsockname()[1] if held else port))
        except OSError as error:
            raise port_refused(port, error) from error
        held.append(each)
    return held


def open_server(pages: Pages, held: list[socket.socket]) -> Any:
    """A server at the held port; who connects waits until it runs."""
    proxy: dict[str, Any] = {}
    if os.environ.get("DECALJOBS_HTTPS") == "1":
        # The proxy that speaks HTTPS stands on this machine; nobody else's word is taken.
        proxy = {
            "trusted_proxy": HOST,
            "trusted_proxy_headers": {"x-forwarded-proto", "x-forwarded-for"},
        }
    try:
        return create_server(
            pages,
            sockets=held,
            max_request_body_size=BODY_LIMIT,
            connection_limit=MOST_CONNECTIONS,
            channel_timeout=LONGEST_SILENCE,
            ident=None,
            **proxy,
        )
    except OSError as error:
        raise port_refused(held[0].getsockname()[1], error) from error


def bring_up_to_date() -> None:
    """Apply the migrations that the database lacks; only a look where it lacks none.

    Records that are there already are backed up first.
    """
    import django

    django.setup()
    from django.core.management import call_command
    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor

    refuse_damaged()
    executor = MigrationExecutor(connection)
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        if ("decaljobs", "0001_initial") in executor.loader.applied_migrations:
            back_up_first()
        say("Bringing the records up to date.")
        call_command("migrate", interactive=False, verbosity=0)


def refuse_damaged() -> None:
    """Refuse to serve records that are damaged, and name the backup to go back to."""
    from django.db import DatabaseError, connection

    from decaljobs.services.safekeeping.backups import all_kept

    try:
        with connection.cursor() as cursor:
            check = "PRAGMA quick_check" if connection.vendor == "sqlite" else "SELECT 'ok'"
            cursor.execute(check)
            said = cursor.fetchone()[0]
    except DatabaseError as error:
        said = str(error)
    if said == "ok":
        return
    last = next(iter(all_kept()), None)
    mend = f"go back to the last good backup with: restore {last.path}" if last else "no backup"
    raise Refusal(f"The records in {connection.settings_dict['NAME']} are damaged ({said}); {mend}")


def back_up_first() -> None:
    """A backup before the records are changed; without it they are left alone."""
    from django.utils import timezone

    from decaljobs.services.refused import Refused
    from decaljobs.services.safekeeping.backups import Occasion, take_into_folder

    try:
        kept = take_into_folder(Occasion.BEFORE_UPDATE, moment=timezone.now())
    except Refused as refusal:
        raise Refusal(f"{refusal} The records are not brought up to date without one.") from refusal
    say(f"Backed up to {kept.path}")


def back_up_daily() -> None:
    """Look now and then whether today's backup is there, for as long as the server runs."""
    from django.db import connections
    from django.utils import timezone

    from decaljobs.services.safekeeping.backups import take_daily

    while True:
        try:
            take_daily(timezone.now())
        except Exception:
            logging.getLogger(__name__).exception("the daily backup failed")
        finally:
            connections.close_all()
        time.sleep(LOOK_EVERY)


def take_up_left_work() -> None:
    """Put back in the queue what a worker was at when it was killed, before anybody is let in."""
    from decaljobs.services.behind import begin_again
    from workshop.working import is_gone

    begin_again(is_gone)


def load_example() -> None:
    """Fill an empty data folder with the example workshop, and give it an owner."""
    from django.core.management import call_command

    from decaljobs.models import Person, Project, Role
    from decaljobs.services.people.people import add_person

    if not Project.objects.exists():
        say("Loading the example workshop.")
        call_command("load_demo", verbosity=0)
    if not Person.objects.owners().exists():
        add_person(name="maker", role=Role.OWNER)


def entering_link(port: int) -> str:
    """A link that lets its opener in once: as the owner, or as the one who becomes it."""
    from django.conf import settings
    from django.utils import timezone

    from decaljobs.models import Person
    from decaljobs.services.people.people import make_enter_link

    owner = Person.objects.owners().first()
    outside = settings.HTTPS and settings.HOSTS
    site = f"https://{settings.HOSTS[0]}" if outside else f"http://{HOST}:{port}"
    return site + make_enter_link(person=owner, moment=timezone.now())


def announce(link: str, sites: list[str], choices: argparse.Namespace) -> None:
    """Say where the workshop is and open it in the browser."""
    say(f"The records are in {choices.data}")
    say(f"Open this link to enter; it works once: {link}")
    for site in sites:
        say(f"In your network: {site}/ (not encrypted: only in a network you trust)")
        show_qr(f"{site}/")
    say("Ctrl-C stops the workshop.")
    if not choices.no_browser and has_screen():
        # A thread, since some browsers return only when they are closed.
        threading.Thread(target=webbrowser.open, args=[link], daemon=True).start()


def has_screen() -> bool:
    """Whether a browser can show itself; a text browser would take over the terminal."""
    if sys.platform in ("win32", "darwin"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def say(words: str) -> None:
    """Print at once, also into a file or a pipe."""
    print(words, flush=True)
