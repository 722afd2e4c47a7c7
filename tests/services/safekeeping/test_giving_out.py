"""Everything given out: nothing forgotten, nothing secret, nothing a spreadsheet would run."""

import csv
import io
import json
import zipfile
from datetime import UTC, datetime

import pytest
from django.apps import apps

from decaljobs.models import Decal, Person, Project, StageEvent
from decaljobs.services.safekeeping import giving_out
from tests import addresses
from tests.factories import EVENING, make_decals, make_person, make_project


@pytest.fixture
def furnished(db):
    return addresses.furnish(EVENING)


def csv_tables():
    file = io.BytesIO()
    giving_out.write_zip(file)
    with zipfile.ZipFile(file) as packed:
        texts = {name: packed.read(name).decode("utf-8-sig") for name in packed.namelist()}
    return {name: list(csv.reader(io.StringIO(text))) for name, text in texts.items()}


def json_tables():
    file = io.BytesIO()
    giving_out.write_json(file, moment=EVENING)
    return json.loads(file.getvalue())


@pytest.mark.slow
def test_every_kind_of_record_is_given_out_or_named_as_left_behind(furnished):
    kinds = {kind.__name__ for kind in apps.get_app_config("decaljobs").get_models()}
    assert {kind.__name__ for kind in giving_out.tables()} == kinds - set(giving_out.LEFT_OUT)
    assert set(giving_out.LEFT_OUT) <= kinds
    assert len(csv_tables()) == len(json_tables()["tables"]) == len(giving_out.tables())


@pytest.mark.slow
def test_every_record_is_there(furnished):
    tables, lines = json_tables()["tables"], csv_tables()
    for kind in giving_out.tables():
        name = giving_out.table_name(kind)
        assert len(tables[name]) == len(lines[f"{name}.csv"]) - 1 == kind._default_manager.count()
    assert len(tables["stage-events"]) == StageEvent.objects.count() > 20


@pytest.mark.slow
def test_no_column_lets_anybody_in(furnished):
    make_person(username="mara", password="a long one for mara")  # noqa: S106
    given = json.dumps(json_tables())
    person = Person.objects.get(username="mara")
    assert person.password not in given
    assert person.calendar_secret == "" or person.calendar_secret not in given
    for kind in giving_out.tables():
        for column in giving_out.columns(kind):
            assert column.name not in ("password", "calendar_secret", "session", "digest")


def test_no_cell_begins_as_a_formula(db):
    make_project(name="=SUM(A1)", customer="+44 20", notes="@home", code="P-01")
    make_decals(1, project=Project.objects.get(), place="-3 mm aft", note="\tindented")
    for lines in csv_tables().values():
        for cell in (cell for line in lines for cell in line):
            # A number below nothing is no text and no formula.
            assert not cell.startswith(("=", "+", "-", "@", "\t", "\r")) or _is_number(cell), cell
    (head, row) = csv_tables()["projects.csv"]
    assert row[head.index("name")] == "'=SUM(A1)"


def _is_number(cell):
    try:
        float(cell)
    except ValueError:
        return False
    return True


def test_records_name_each_other_in_words_in_the_tables_and_by_number_in_json(db):
    (decal,) = make_decals(1, project=make_project(code="P-07"))
    (head, row) = csv_tables()["decals.csv"]
    assert row[head.index("project")] == "P-07"
    assert row[head.index("artwork")] == "Roundel"
    (kept,) = json_tables()["tables"]["decals"]
    assert (kept["id"], kept["project_id"]) == (decal.pk, decal.project_id)


def test_moments_are_written_in_utc(db):
    make_project(moment=datetime(2026, 7, 1, 19, tzinfo=UTC))
    (head, row) = csv_tables()["projects.csv"]
    assert row[head.index("made_at")] == "2026-07-01T19:00:00Z"
    assert json_tables()["given_out_at"] == "2026-11-02T19:00:00Z"


def test_an_empty_workshop_is_given_out_too(db):
    assert csv_tables()["decals.csv"] == [[f.name for f in giving_out.columns(Decal)]]
    assert json_tables()["tables"]["decals"] == []
