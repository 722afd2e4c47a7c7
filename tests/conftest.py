"""What all tests share: pictures and records in folders of their own, and a signed-in person."""

import os

import hypothesis
import pytest
import time_machine
from django.conf import settings as project_settings

from decaljobs.craft.stages import Build, Stage
from decaljobs.models import Role
from decaljobs.services.bench import steps
from tests.factories import EVENING, make_decals, make_person, sealed_decal, sealed_sheet

# How fast a busy machine is says nothing of what is tested; and a change is judged by the same
# examples wherever it is tested. HYPOTHESIS_PROFILE=search looks for new ones.
for _profile, _same in (("tests", True), ("search", False)):
    hypothesis.settings.register_profile(
        _profile,
        deadline=None,
        derandomize=_same,
        suppress_health_check=[hypothesis.HealthCheck.too_slow],
    )
hypothesis.settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "tests"))


@pytest.fixture(autouse=True)
def _folders_of_its_own(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.BACKUP_FOLDER = tmp_path / "backups"


@pytest.fixture
def maker(db):
    return make_person(Role.MAKER, username="mara")


@pytest.fixture
def owner(db):
    return make_person(Role.OWNER, username="olle")


@pytest.fixture
def onlooker(db):
    return make_person(Role.ONLOOKER, username="ona")


@pytest.fixture
def signed_in(client, maker):
    """A test client in which a maker is signed in."""
    client.force_login(maker)
    return client


@pytest.fixture
def in_the_evening():
    """The clock stands still at EVENING."""
    with time_machine.travel(EVENING, tick=False):
        yield


@pytest.fixture
def sealed(maker):
    """A laminated decal with both its pieces sealed and dry."""
    return sealed_decal(maker, place="Left side")


@pytest.fixture
def drying(maker):
    """A decal whose base was applied at EVENING."""
    decal = sealed_decal(maker)
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    decal.refresh_from_db()
    return decal


@pytest.fixture
def twins(maker):
    """One with three clear pieces sealed and dry, and an equal decal with none."""
    has, wants = make_decals(2, Build.CLEAR_ALONE, place="Door")
    sealed_sheet("clear", [has], maker, copies=3)
    has.refresh_from_db()
    return has, wants


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings):
    """The records of tests lie in a file: kept in memory, all threads of a live server would
    share one connection and trip over each other's transactions."""
    database = project_settings.DATABASES["default"]
    if database["ENGINE"] == "workshop.sqlite":
        database.setdefault("TEST", {})["NAME"] = project_settings.DATA / "tests.sqlite3"


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config, items):
    """Whatever drives a browser, or does harm to a server of its own, takes its time."""
    if os.environ.get("DECALJOBS_TESTS") == "records":
        leave_out_what_knows_no_records(config, items)
    for item in items:
        if "chromium" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.browser)
        if item.get_closest_marker("browser") or "faults" in item.path.parts:
            item.add_marker(pytest.mark.slow)


def leave_out_what_knows_no_records(config, items):
    """To a test that asks no database, or starts a server on its own, another is all the same."""
    asking, others = [], []
    for item in items:
        fixtures = {"db", "transactional_db"} & set(getattr(item, "fixturenames", ()))
        asks = fixtures or item.get_closest_marker("django_db")
        (asking if asks else others).append(item)
    config.hook.pytest_deselected(items=others)
    items[:] = asking


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item):
    """Where browser tests are required, one that is skipped has failed."""
    report = yield
    required = os.environ.get("DECALJOBS_BROWSER_TESTS") == "required"
    if required and report.skipped and item.get_closest_marker("browser"):
        report.outcome = "failed"
        report.longrepr = f"A browser test may not be skipped here: {report.longrepr[-1]}"
    return report
