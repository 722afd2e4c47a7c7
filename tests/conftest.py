"""What all tests share: a data folder of their own and a signed-in person."""

import os
import tempfile

# Before the settings are read: tests never touch the maker's own data.
_data = tempfile.TemporaryDirectory(prefix="decaljobs-tests-", ignore_cleanup_errors=True)
os.environ["DECALJOBS_DATA"] = _data.name

import pytest  # noqa: E402

from decaljobs.models import Role  # noqa: E402
from tests.factories import make_person  # noqa: E402


@pytest.fixture(autouse=True)
def _media_in_a_folder_of_its_own(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"


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
