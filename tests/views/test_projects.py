"""Projects, as they are begun, changed and read."""

from datetime import timedelta

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from pypdfium2 import PdfDocument

from decaljobs.craft.stages import Build, Stage
from decaljobs.models import Artwork, Project
from decaljobs.services.bench import steps
from decaljobs.services.layout import queue
from tests.factories import (
    EVENING,
    make_artwork,
    make_decals,
    make_project,
    picture_bytes,
    sealed_decal,
)
from tests.queues import queue_up

WRONG_SCALES = ["0", "-1", "NaN", "1e308", "small", "1:0", ""]
LONG = "x" * 500


def project_data(**fields):
    start = {
        "name": "Harbour launch",
        "scale": "1:72",
        "body_colour": "#1d2f57",
        "finish": "gloss",
        "overcoat": "on",
    }
    return {**start, **fields}


def decal_data(**fields):
    return {"place": "Bow", "build": "laminated", "count": 1, **fields}


def upload(name="art.png", kind="PNG"):
    return SimpleUploadedFile(name, picture_bytes(kind), content_type="image/png")


@pytest.mark.parametrize("number", [1, 30])
def test_it_lists_projects_with_the_same_queries_for_any_number(
    signed_in, django_assert_num_queries, number
):
    art = make_artwork()
    for count in range(number):
        make_decals(1, project=make_project(name=f"Model {count}"), artwork=art)
    with django_assert_num_queries(4):
        answer = signed_in.get(reverse("projects"))
    assert f"Model {number - 1}" in answer.content.decode()


@pytest.mark.parametrize("number", [1, 30])
def test_it_shows_a_project_with_the_same_queries_for_any_number_of_decals(
    signed_in, django_assert_num_queries, number
):
    project = make_project()
    decals = make_decals(number, project=project)
    with django_assert_num_queries(11):
        page = signed_in.get(project.get_absolute_url()).content.decode()
    assert all(decal.words in page for decal in decals)


def test_a_step_has_the_name_that_the_bench_gives_it(signed_in, maker):
    decal = sealed_decal(maker)
    page = signed_in.get(decal.project.get_absolute_url()).content.decode()
    assert "Sealed. Ready for: base layer." in page


def test_one_that_is_held_says_what_is_missing(signed_in):
    decal = make_decals(1, Build.CLEAR_ALONE)[0]
    page = signed_in.get(decal.project.get_absolute_url()).content.decode()
    assert "Planned, held. No good clear piece: print it on clear film." in page


def test_it_says_the_minute_that_the_bench_says(signed_in, maker):
    laid = sealed_decal(maker)
    at = EVENING - timedelta(hours=1, seconds=-20)
    with time_machine.travel(EVENING, tick=False):
        steps.log_step(decals=[laid.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING, at=at)
        bench = signed_in.get(reverse("bench")).content.decode()
        page = signed_in.get(laid.project.get_absolute_url()).content.decode()
    said = bench.split('<p class="when"><b>')[1].split("</b>")[0]
    assert f"Next: clear layer, not before {said}." in page


def test_decals_without_a_piece_lead_on_to_the_queue(signed_in, maker):
    decals = make_decals(2)
    page = decals[0].project.get_absolute_url()
    assert "2 decals have no piece to lay." in signed_in.get(page).content.decode()
    queue_up(maker, decals[0])
    assert "1 decal has no piece to lay." in signed_in.get(page).content.decode()
    queue_up(maker, decals[1])
    assert "no piece to lay" not in signed_in.get(page).content.decode()


def test_queued_decals_lead_on_to_the_next_sheet(signed_in, maker):
    decal = make_decals(2)[0]
    page = decal.project.get_absolute_url()
    assert "Lay out the next sheet" not in signed_in.get(page).content.decode()
    queue.queue_project(project=decal.project.code, by=maker, moment=EVENING)
    shown = signed_in.get(page).content.decode()
    assert "2 decals wait to be laid out on film." in shown
    assert f'href="{reverse("sheet-next")}">Lay out the next sheet' in shown
    assert shown.count("Planned, queued for the next sheet.") == 2
    assert "Queue for the next sheet" not in shown  # there is nothing left to queue


def test_it_leads_to_its_record_unless_it_is_in_the_bin(signed_in, maker):
    project = make_project()
    link = f'href="{reverse("record", args=[project.code])}"'
    assert link in signed_in.get(project.get_absolute_url()).content.decode()
    signed_in.post(reverse("project-throw-away", args=[project.code]))
    assert link not in signed_in.get(project.get_absolute_url()).content.decode()


def test_it_says_what_a_project_is_when_there_is_none(signed_in):
    assert "A project is one model" in signed_in.get(reverse("projects")).content.decode()


def test_it_begins_a_project_and_goes_on_to_its_decals(signed_in):
    answer = signed_in.post(reverse("project-new"), project_data(scale="4 mm/ft"))
    project = Project.objects.get()
    assert answer["Location"] == reverse("decals-new", args=[project.code])
    assert (project.code, float(project.scale_ratio)) == ("P-01", 76.2)


@pytest.mark.parametrize("scale", WRONG_SCALES)
def test_it_rejects_a_scale_that_makes_no_sense(signed_in, scale):
    answer = signed_in.post(reverse("project-new"), project_data(scale=scale))
    assert answer.context["form"].errors["scale"]
    assert 'value="Harbour launch"' in answer.content.decode()
    assert not Project.objects.exists()


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("due", "0000-01-01"),
        ("due", "1899-12-31"),
        ("due", "soon"),
        ("name", LONG),
        ("name", ""),
        ("body_colour", "red"),
        ("body_colour", "#12345"),
        ("body_colour", "url(x)"),
        ("finish", "sparkling"),
        ("code", "a b/c"),
        ("name", "nul\x00byte"),
    ],
)
def test_it_rejects_a_wrong_value_beside_its_field(signed_in, field, value):
    answer = signed_in.post(reverse("project-new"), project_data(**{field: value}))
    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == [field]
    assert not Project.objects.exists()


@pytest.mark.parametrize("name", ["سفينة الميناء", "🚤 Launch", "<b>bold</b>", "'; DROP TABLE--"])
def test_it_keeps_any_writing_as_typed(signed_in, name):
    signed_in.post(reverse("project-new"), project_data(name=name))
    project = Project.objects.get()
    assert project.name == name
    page = signed_in.get(project.get_absolute_url()).content.decode()
    assert "<b>bold</b>" not in page


def test_it_rejects_a_code_that_is_taken(signed_in):
    make_project(code="BOAT")
    answer = signed_in.post(reverse("project-new"), project_data(code="boat"))
    assert "code" in answer.context["form"].errors


def test_it_changes_a_project(signed_in):
    project = make_project()
    signed_in.post(reverse("project-change", args=[project.code]), project_data(name="Tug"))
    project.refresh_from_db()
    assert (project.name, project.overcoat) == ("Tug", True)


def test_it_adds_several_decals_with_a_picture_of_their_own(signed_in):
    project = make_project()
    data = decal_data(count=3, picture=upload(), width_mm="24")
    answer = signed_in.post(reverse("decals-new", args=[project.code]), data)
    assert answer.status_code == 302
    assert [str(d) for d in project.decals.all()] == ["Bow 1 of 3", "Bow 2 of 3", "Bow 3 of 3"]
    assert Artwork.objects.get().width_mm == 24


@pytest.mark.parametrize("width", ["0", "-1", "NaN", "1e308", "wide", ""])
def test_it_rejects_a_width_that_makes_no_sense(signed_in, width):
    project = make_project()
    data = decal_data(picture=upload(), width_mm=width)
    answer = signed_in.post(reverse("decals-new", args=[project.code]), data)
    assert "width_mm" in answer.context["form"].errors
    assert not project.decals.exists()
    assert not Artwork.objects.exists()


@pytest.mark.parametrize("count", ["0", "-1", "201", "NaN", "many", ""])
def test_it_rejects_a_count_that_makes_no_sense(signed_in, count):
    project = make_project()
    data = decal_data(artwork=make_artwork().pk, count=count)
    answer = signed_in.post(reverse("decals-new", args=[project.code]), data)
    assert "count" in answer.context["form"].errors


def test_it_rejects_a_place_named_twice(signed_in):
    project = make_project()
    make_decals(1, project=project, place="Bow")
    data = decal_data(artwork=make_artwork().pk)
    answer = signed_in.post(reverse("decals-new", args=[project.code]), data)
    assert "another name" in str(answer.context["form"].errors["place"])


def test_it_asks_for_art(signed_in):
    answer = signed_in.post(reverse("decals-new", args=[make_project().code]), decal_data())
    assert "picture" in answer.context["form"].errors


@pytest.mark.parametrize(
    ("asked", "size"), [("", (595, 842)), ("Letter", (612, 792)), ("A9", (595, 842))]
)
def test_it_prints_the_job_card_on_the_paper_asked_for(signed_in, asked, size):
    project = make_project()
    make_decals(2, project=project)
    url = reverse("job-card", args=[project.code])
    answer = signed_in.get(url, {"paper_size": asked})
    assert answer["Content-Type"] == "application/pdf"
    page = PdfDocument(answer.content)[0]
    assert tuple(round(side) for side in page.get_size()) == size


def test_it_finds_a_project_whatever_the_case_of_its_code(signed_in):
    project = make_project()
    assert signed_in.get(f"/projects/{project.code.lower()}/").status_code == 200
    assert signed_in.get("/projects/P-99/").status_code == 404


def test_it_requires_a_maker_to_change_anything(client, onlooker):
    project = make_project()
    client.force_login(onlooker)
    assert client.get(project.get_absolute_url()).status_code == 200
    for name, args in (("project-new", []), ("project-change", [project.code])):
        assert client.post(reverse(name, args=args), project_data()).status_code == 403
    assert Project.objects.get().name == "Harbour launch"


def test_it_keeps_how_much_a_late_day_counts(signed_in):
    typed = {"name": "Launch", "scale": "1:72", "body_colour": "#1d2f57", "finish": "gloss"}
    assert signed_in.post("/projects/new/", {**typed, "weight": "4"}).status_code == 302
    assert Project.objects.get().weight == 4
    answer = signed_in.post("/projects/new/", {**typed, "weight": "6"})
    assert answer.context["form"].errors["weight"]
