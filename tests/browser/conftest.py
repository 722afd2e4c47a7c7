"""A real browser on a real server: whatever goes wrong in either fails the test."""

import shutil
from collections.abc import Callable, Iterator
from datetime import timedelta

import pytest
import time_machine
from django.db import DEFAULT_DB_ALIAS, connections
from django.utils import timezone
from playwright.sync_api import sync_playwright

from decaljobs.models import Person, Role
from decaljobs.services.people.people import make_enter_link
from tests.browser.visitor import FLAGS, Visitor
from tests.factories import EVENING, make_person


@pytest.fixture(scope="package")
def chromium(django_db_setup) -> Iterator:
    """Debian's chromium, started once; the tests that need it are skipped where it is missing."""
    program = shutil.which("chromium")
    if program is None:
        pytest.skip("no browser here: install Debian's package chromium")
    seeded = connections[DEFAULT_DB_ALIAS]._test_serialized_contents
    with sync_playwright() as driver, pytest.MonkeyPatch.context() as patch:
        # The driver runs a loop of its own in this thread. The records are still read in turn, but
        # Django now has other connections, which must know what the migrations left behind.
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        connections[DEFAULT_DB_ALIAS]._test_serialized_contents = seeded
        browser = driver.chromium.launch(executable_path=program, args=FLAGS)
        yield browser
        browser.close()


class Clock:
    """The clock of the server, which the test sets; the browser's own runs on."""

    def __init__(self, travel: time_machine.Traveller) -> None:
        self.travel = travel

    def pass_hours(self, hours: float) -> None:
        self.travel.shift(timedelta(hours=hours))


@pytest.fixture
def clock(settings) -> Iterator[Clock]:
    """The server at one evening, standing still until it is told to go on."""
    # Cookies without an end: the browser would measure it by its own clock.
    settings.SESSION_EXPIRE_AT_BROWSER_CLOSE = True
    settings.CSRF_COOKIE_AGE = None
    with time_machine.travel(EVENING, tick=False) as travel:
        yield Clock(travel)


@pytest.fixture
def workshop(clock, live_server, django_db_serialized_rollback) -> str:
    """The address of a running workshop with the records of the migrations."""
    return live_server.url


@pytest.fixture
def mara(workshop) -> Person:
    return make_person(Role.MAKER, username="mara")


@pytest.fixture
def visit(chromium, workshop) -> Iterator[Callable[..., Visitor]]:
    """Opens a browser window in which somebody comes in by a one-time link, or nobody does."""
    visitors: list[Visitor] = []

    def come_in(person: Person | None = None, **options: object) -> Visitor:
        visitor = Visitor(chromium.new_context(base_url=workshop, **options), workshop)
        visitors.append(visitor)
        if person is not None:
            visitor.go(make_enter_link(person=person, moment=timezone.now()))
        return visitor

    yield come_in
    for visitor in visitors:
        visitor.say_where()
        visitor.context.close()
    faults = [fault for visitor in visitors for fault in visitor.faults]
    assert not faults, "\n".join(faults)
