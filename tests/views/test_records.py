"""The records' pages: real against planned, film, customers, the paper and the tables."""

import csv
import io
import zipfile
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pypdfium2 import PdfDocument

from decaljobs.craft.doings import Doing
from decaljobs.craft.stages import Stage
from decaljobs.models import Project, StepMinutes
from decaljobs.services.bench.spoiling import spoil_piece
from decaljobs.services.bench.steps import log_step
from decaljobs.services.plan.benchminutes import keep_minutes
from tests.factories import EVENING, make_project, sealed_decal

pytestmark = pytest.mark.django_db


def laid(maker, **fields):
    decal = sealed_decal(maker, project=make_project(**fields))
    log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    return decal


def six_layings(maker):
    """Six bases laid twelve minutes apart: five gaps of 12 minutes in the maker's log."""
    project = make_project()
    decals = [sealed_decal(maker, project=project, place=f"Side {n}") for n in range(6)]
    for number, decal in enumerate(decals):
        at = EVENING + timedelta(minutes=12 * number)
        log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=at)


def test_the_log_proposes_minutes_and_only_the_owner_takes_them(client, owner, maker):
    six_layings(maker)
    keep_minutes(minutes={Doing.BASE: 20})
    client.force_login(maker)
    page = client.get(reverse("record-times")).content.decode()
    assert "12 min in place of 20" in page and "The owner decides" in page
    assert client.post(reverse("record-times-take"), {"doing": "base"}).status_code == 403
    client.force_login(owner)
    client.post(reverse("record-times-take"), {"doing": "base"})
    assert StepMinutes.objects.get(doing="base").minutes == 12
    assert "in place of" not in client.get(reverse("record-times")).content.decode()


@pytest.mark.parametrize("doing", ["", "clear", "nonsense"])
def test_what_is_not_proposed_is_not_taken(client, owner, doing):
    client.force_login(owner)
    answer = client.post(reverse("record-times-take"), {"doing": doing}, follow=True)
    assert "proposes nothing else" in answer.content.decode()
    assert not StepMinutes.objects.exists()


def test_film_is_shown_with_its_chart_and_table(signed_in, maker):
    laid(maker)
    page = signed_in.get(reverse("record-film")).content.decode()
    assert '<svg class="record-chart" role="img"' in page and "White film, inkjet" in page


def test_customers_are_listed_and_added_up(signed_in, maker):
    laid(maker, customer="Mrs Ferry & Sons")
    assert "Mrs Ferry &amp; Sons" in signed_in.get(reverse("record-customers")).content.decode()
    answer = signed_in.get(reverse("record-customers"), {"customer": "Mrs Ferry & Sons"})
    assert "cost so far" in answer.content.decode() and "Together" in answer.content.decode()
    nobody = signed_in.get(reverse("record-customers"), {"customer": "nobody"})
    assert "No project is for this customer" in nobody.content.decode()


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_the_paper_has_every_section_of_the_pages(signed_in, maker, size):
    decal = laid(maker)
    piece = decal.pieces.good()[0]
    spoil_piece(piece=piece.pk, by=maker, moment=EVENING, cause="torn")
    answer = signed_in.get(reverse("records-paper"), {"paper_size": size})
    pages = PdfDocument(answer.content)
    text = "".join(page.get_textpage().get_text_bounded() for page in pages)
    for words in ("By layer", "By step", "By size", "Causes", "Torn", "Waits", "too few yet"):
        assert words in text
    assert "White film, inkjet" in text and "Minutes at the bench" in text


def test_the_tables_are_csv_that_no_spreadsheet_runs(signed_in, maker):
    decal = laid(maker, customer="=1+1")
    Project.objects.update(example=False)
    answer = signed_in.get(reverse("record-tables"))
    packed = zipfile.ZipFile(io.BytesIO(b"".join(answer)))
    tables = {
        name: list(csv.reader(io.StringIO(packed.read(name).decode("utf-8-sig"))))
        for name in packed.namelist()
    }
    assert {"layers.csv", "causes.csv", "waits.csv", "film.csv", "costs.csv", "stores.csv"} <= set(
        tables
    )
    assert tables["layers.csv"][1][:3] == ["Base layer", "1", "0"]
    assert any(
        row[0] == "Sheet " + decal.pieces.first().sheet.code for row in tables["waits-each.csv"]
    )


def test_an_onlooker_does_not_take_the_tables_out(client, owner):
    owner.role = "onlooker"
    owner.save()
    client.force_login(owner)
    assert client.get(reverse("record-tables")).status_code == 403


def test_a_project_is_done_again_as_a_new_one(signed_in, maker):
    decal = laid(maker, name="Launch")
    page = signed_in.get(reverse("record", args=[decal.project.code])).content.decode()
    assert reverse("project-copy", args=[decal.project.code]) in page and "Do this again" in page
    signed_in.post(
        reverse("project-copy", args=[decal.project.code]), {"name": "Launch again", "code": ""}
    )
    again = Project.objects.get(name="Launch again")
    assert [(d.place, d.stage) for d in again.decals.all()] == [(decal.place, "planned")]


def test_the_records_ask_no_more_than_fifteen_questions(
    signed_in, maker, django_assert_max_num_queries
):
    for name in ("Launch", "Tender", "Pinnace"):
        decal = laid(maker, name=name)
        piece = decal.pieces.good()[0]
        spoil_piece(piece=piece.pk, by=maker, moment=EVENING, cause="torn")
    with django_assert_max_num_queries(15):
        page = signed_in.get(reverse("records")).content.decode()
    assert "Torn" in page


def test_looking_back_asks_the_same_for_any_number_of_decals(signed_in, maker):
    project, asked = make_project(), []
    for number in (1, 4):
        for _ in range(number):
            sealed_decal(maker, project=project)
        with CaptureQueriesContext(connection) as queries:
            page = signed_in.get(reverse("record", args=[project.code])).content.decode()
        assert all(decal.words in page for decal in project.decals.all())
        asked.append(len(queries))
    assert asked[0] == asked[1] <= 45
