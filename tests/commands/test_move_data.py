"""All records from another database, from a terminal."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from decaljobs.models import Project
from decaljobs.services.safekeeping.backup_file import RECORDS, unpack
from decaljobs.services.safekeeping.backups import take_backup
from tests.factories import EVENING, make_project

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)


@pytest.fixture
def records(tmp_path):
    """The file of a workshop with one project, the Tug, which is called otherwise since."""
    make_project(name="Tug")
    take_backup(tmp_path / "b.zip", moment=EVENING)
    (tmp_path / "out").mkdir()
    unpack(tmp_path / "b.zip", tmp_path / "out")
    Project.objects.update(name="Tender")
    return str(tmp_path / "out" / RECORDS)


def test_it_takes_the_place_of_records_only_where_it_is_told_to(records):
    with pytest.raises(CommandError, match=r"already.* Nothing is changed\."):
        call_command("move_data", records)
    assert Project.objects.get().name == "Tender"
    said = StringIO()
    call_command("move_data", records, "--replace", stdout=said)
    assert Project.objects.get().name == "Tug"
    assert said.getvalue().endswith(" rows are here now.\n")


def test_it_says_in_one_line_what_it_cannot_read(tmp_path):
    with pytest.raises(CommandError, match=r"no file.* Nothing is changed\."):
        call_command("move_data", str(tmp_path / "none.sqlite3"))
