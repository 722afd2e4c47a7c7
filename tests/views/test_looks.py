"""Light or dark on a device; units, clock, date order and zone for a person."""

import re
from datetime import date, timedelta

import pytest
import time_machine
from django.test import Client

from decaljobs.craft.stages import Build, Film, Stage
from decaljobs.models import Artwork, Decal, Sheet
from decaljobs.services.bench import steps
from tests.checkout import TOP
from tests.factories import (
    EVENING,
    make_artwork,
    make_decal,
    make_person,
    make_project,
    make_sheet,
    sealed_decal,
)

AMERICAN = {"length_unit": "in", "clock": "12", "date_order": "mdy", "zone": "America/New_York"}


def said(client, address="/looks/"):
    return client.get(address).content.decode()


@pytest.fixture
def american(client, db):
    person = make_person(username="ana", **AMERICAN)
    client.force_login(person)
    return client


@pytest.mark.parametrize("chosen", ["light", "dark"])
def test_a_theme_is_kept_by_the_device_and_drawn_with_the_page(signed_in, chosen):
    signed_in.post("/looks/theme/", {"theme": chosen})
    for address in ("/", "/nothing/"):
        page = said(signed_in, address)
        assert f'<html lang="en" data-theme="{chosen}">' in page
    assert f'content="{chosen}"' in said(signed_in, "/")
    signed_in.post("/sign-out/")
    assert f'data-theme="{chosen}"' in said(signed_in, "/sign-in/")


@pytest.mark.parametrize("chosen", ["", "purple", '"><script>'])
def test_otherwise_the_page_is_as_the_system_wants_it(signed_in, chosen):
    signed_in.post("/looks/theme/", {"theme": "dark"})
    signed_in.post("/looks/theme/", {"theme": chosen})
    assert '<html lang="en">' in said(signed_in, "/")
    signed_in.cookies["theme"] = "purple"
    assert '<html lang="en">' in said(signed_in, "/")


def test_dark_is_the_same_whether_the_system_or_the_maker_wants_it():
    text = (TOP / "static" / "css" / "variables.css").read_text()
    system = text.split(':root:not([data-theme="light"])')[1].split("}")[0]
    chosen = text.split(':root[data-theme="dark"]')[1].split("}")[0]
    names = [re.findall(r"--[\w-]+: [^;]+;", block) for block in (system, chosen)]
    assert names[0] == names[1]
    assert len(names[0]) > 15


def test_each_person_has_ways_of_their_own(signed_in, maker):
    answer = signed_in.post("/looks/", AMERICAN, follow=True).content.decode()
    maker.refresh_from_db()
    assert (maker.length_unit, maker.clock, maker.zone) == ("in", "12", "America/New_York")
    assert "8.2677 × 11.6929\u00a0in" in answer
    other = Client()
    other.force_login(make_person())
    assert "210 × 297\u00a0mm" in said(other)


@pytest.mark.parametrize("zone", ["Mars/Olympus", "../etc/passwd", "x" * 70, "a\x00b"])
def test_a_zone_that_is_none_is_refused_beside_its_field(signed_in, maker, zone):
    page = signed_in.post("/looks/", {**AMERICAN, "zone": zone}).content.decode()
    assert 'aria-invalid="true"' in page
    maker.refresh_from_db()
    assert (maker.zone, maker.length_unit) == ("", "mm")


def test_lengths_and_dates_are_written_in_the_reader_s_ways(american, maker):
    project = make_project(code="P-01", due=date(2026, 12, 3))
    make_decal(project=project, artwork=make_artwork(width_mm="25.40"), place="Door")
    make_sheet(Film.WHITE, width_mm="215.9", height_mm="279.4")
    assert "1.000\u00a0in" in said(american, "/projects/P-01/")
    assert "Thu Dec 3, 2026" in said(american, "/projects/")
    assert "8.5 × 11\u00a0in" in said(american, "/sheets/")


def test_moments_are_written_by_the_reader_s_clock_and_zone(american, maker):
    decal = sealed_decal(maker, Build.WHITE_ALONE, place="Door")
    at = EVENING - timedelta(hours=1)  # 18:00 UTC: 1 pm in New York
    with time_machine.travel(EVENING, tick=False):
        steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING, at=at)
        page = said(american, f"/decals/{decal.pk}/")
    assert "today 1:00\u00a0pm" in page


def test_forms_take_what_they_show_and_nothing_drifts(american):
    art = make_artwork(name="Shield", width_mm="33.33")
    address = f"/artwork/{art.pk}/change/"
    for _ in range(5):
        shown = re.search(r'name="width_mm" value="([^"]+)"', said(american, address))[1]
        american.post(address, {"name": "Shield", "width_mm": shown})
    assert str(Artwork.objects.get().width_mm) == "33.33"
    assert "Print width, in" in said(american, address)
    american.post(address, {"name": "Shield", "width_mm": "1"})
    assert str(Artwork.objects.get().width_mm) == "25.40"


def test_a_sheet_is_taken_in_inches(american):
    wanted = {"film": "white", "printer": "inkjet", "sealer": "water", "coats_wanted": "3"}
    american.post("/sheets/new/", {**wanted, "size": "free", "width_mm": "8.5", "height_mm": "11"})
    sheet = Sheet.objects.get()
    assert (str(sheet.width_mm), str(sheet.height_mm)) == ("215.9", "279.4")


def test_a_moment_is_typed_by_the_reader_s_clock_and_zone(american, maker):
    decal = sealed_decal(maker, Build.WHITE_ALONE, place="Door")
    with time_machine.travel(EVENING, tick=False):
        american.post(
            f"/decals/{decal.pk}/log/",
            {"step": "base_applied", "at": "11/2/2026 1:30 pm", "seen": decal.events_logged},
        )
    decal.refresh_from_db()
    assert decal.stage_at == EVENING - timedelta(minutes=30)


def test_no_calculation_sees_who_reads(maker):
    """The same step, logged by a maker here and by one whose pages are written for Tokyo."""
    found = []
    for number, zone in enumerate(["", "Asia/Tokyo"]):
        person = make_person(zone=zone, length_unit="in" if zone else "mm")
        decal = sealed_decal(maker, Build.LAMINATED, place="Door")
        client = Client()
        client.force_login(person)
        with time_machine.travel(EVENING, tick=False):
            client.post(
                f"/decals/{decal.pk}/log/",
                {"step": "base_applied", "at": "", "seen": decal.events_logged},
            )
        found.append(Decal.objects.get(pk=decal.pk))
        assert found[number].stage == Stage.BASE_APPLIED
    assert found[0].ready_at == found[1].ready_at


def test_paper_keeps_millimetres_24_hours_and_the_workshop_s_zone(american, maker, monkeypatch):
    make_decal(project=make_project(code="P-01", due=date(2026, 12, 3)), place="Door")
    cards = []
    monkeypatch.setattr(
        "decaljobs.views.projects.job_card_pdf", lambda card, paper: cards.append(card) or b"%PDF"
    )
    with time_machine.travel(EVENING, tick=False):
        american.get("/projects/P-01/job-card/")
    assert cards[0].printed_at.endswith("19:00")
    assert cards[0].due == "Thu 3 Dec 2026"
    assert cards[0].zone == "Europe/London"
