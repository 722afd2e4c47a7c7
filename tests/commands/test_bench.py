"""The bench and the job card from a terminal."""

import json
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.utils.dateparse import parse_datetime
from pypdfium2 import PdfDocument

from decaljobs.craft.stages import Stage
from decaljobs.services import steps
from tests.factories import EVENING, make_decal, make_decals, make_project, sealed_decal

pytestmark = pytest.mark.django_db


def bench(*options: str) -> dict:
    said = StringIO()
    call_command("bench", "--json", *options, stdout=said)
    return json.loads(said.getvalue())


def test_it_tells_ready_drying_and_held_at_a_moment(maker):
    sealed_decal(maker, place="Bow")
    wet = sealed_decal(maker, place="Stern")
    make_decal(place="Mast")
    steps.log_step(decals=[wet.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    told = bench("--at", (EVENING + timedelta(hours=3)).isoformat())
    assert [(row["decal"], row["progress"]) for row in told["ready"]] == [("Bow", 1.0)]
    (drying,) = told["drying"]
    assert (drying["stage"], drying["next"]) == ("base_applied", "clear_applied")
    assert parse_datetime(drying["ready_at"]) == EVENING + timedelta(hours=12)
    assert drying["progress"] == 0.25
    assert drying["reason"].startswith("3 of 12 reference hours")
    assert [(row["decal"], row["progress"]) for row in told["held"]] == [("Mast", None)]
    assert told["held"][0]["ready_at"] is None
    later = bench("--at", (EVENING + timedelta(hours=12)).isoformat())
    assert [(row["decal"], row["stage"]) for row in later["ready"]][-1] == ("Stern", "cured")


def test_it_takes_a_moment_in_the_workshop_s_zone(maker):
    assert bench("--at", "2026-07-01T12:00")["at"] == "2026-07-01T12:00:00+01:00"


@pytest.mark.parametrize("text", ["yesterdayish", "2026-13-01T10:00", ""])
def test_it_rejects_what_is_no_moment(text):
    with pytest.raises(CommandError, match="is not a moment"):
        call_command("bench", "--at", text)


def test_it_reads_well_without_json(maker, capsys):
    sealed_decal(maker, place="Bow")
    call_command("bench")
    assert "Ready: 1\n  P-01  Bow: base applied" in capsys.readouterr().out


def test_it_writes_a_job_card(tmp_path):
    project = make_project(name="Tug")
    make_decals(2, project=project)
    said = StringIO()
    file = tmp_path / "card.pdf"
    call_command("job_card", "p-01", "-o", str(file), "--paper", "Letter", "--json", stdout=said)
    assert json.loads(said.getvalue()) == {"project": "P-01", "file": str(file), "decals": 2}
    # US Letter, ASME Y14.1 A: 8.5 by 11 in of 72 points.
    with PdfDocument(file) as pdf:
        assert pdf[0].get_size() == (612, 792)


def test_it_rejects_a_project_that_is_not_there(tmp_path):
    with pytest.raises(CommandError, match="no project P-99"):
        call_command("job_card", "P-99", "-o", str(tmp_path / "card.pdf"))


def test_it_rejects_a_file_that_cannot_be_written(tmp_path):
    make_project()
    with pytest.raises(CommandError, match="cannot be written"):
        call_command("job_card", "P-01", "-o", str(tmp_path / "none" / "card.pdf"))
