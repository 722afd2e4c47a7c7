"""Much that is read at one go is of one moment, and nobody who writes waits for it."""

import threading

import pytest
from django.db import connection

from decaljobs.models import Project
from decaljobs.services.one_moment import one_moment
from tests.factories import make_project

#: Longer than any write takes, shorter than a writer is patient.
PATIENCE = 10


def write_elsewhere() -> threading.Thread:
    """Somebody else begins a project, on a connection of their own."""

    def write():
        make_project(name="Tug Heron")
        connection.close()

    thread = threading.Thread(target=write, daemon=True)
    thread.start()
    thread.join(PATIENCE)
    return thread


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_others_write_meanwhile_and_it_is_not_seen():
    with one_moment():
        assert not Project.objects.exists()
        assert not write_elsewhere().is_alive(), "the writer waits"
        assert not Project.objects.exists()
    assert Project.objects.get().name == "Tug Heron"
    make_project(name="Afterwards as ever")


@pytest.mark.django_db
def test_within_a_transaction_it_adds_nothing():
    with one_moment():
        make_project()
    assert Project.objects.count() == 1
