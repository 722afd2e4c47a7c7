"""The job card from a terminal."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from pypdfium2 import PdfDocument

from tests.factories import make_decals, make_project

pytestmark = pytest.mark.django_db


def test_it_writes_a_card_on_the_paper_asked_for(tmp_path):
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
