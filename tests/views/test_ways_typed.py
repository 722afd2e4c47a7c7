"""What somebody types in inches, 12 hours and their own order of a date is read as it is meant."""

from datetime import date
from urllib.parse import urlsplit

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from decaljobs.models import BenchDay, Panel, Placing, Project, Supply
from decaljobs.services.layout import queue
from tests.factories import EVENING, make_decal, make_decals, make_person, make_project
from tests.services.projects.test_placing import make_panel, put

AMERICAN = {"length_unit": "in", "clock": "12", "date_order": "mdy", "zone": "America/New_York"}
WEEK = {f"day{number}": "" for number in range(7)}


@pytest.fixture(autouse=True)
def _evening(db):
    with time_machine.travel(EVENING, tick=False):
        yield


@pytest.fixture
def ana():
    return make_person(username="ana", **AMERICAN)


@pytest.fixture
def american(client, ana):
    client.force_login(ana)
    return client


def said(client, address):
    return client.get(address).content.decode().replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("written", "kept"),
    [
        ("7 pm–10 pm", [("19:00", "22:00")]),
        ("7-10 pm", [("19:00", "22:00")]),
        ("9–1 pm", [("09:00", "13:00")]),
        ("9:30 am to 12, 7 PM - 12 am", [("09:30", "12:00"), ("19:00", "00:00")]),
        ("12-3 pm", [("12:00", "15:00")]),
        ("11-1 am", [("23:00", "01:00")]),
        ("19:00–22:00", [("19:00", "22:00")]),
        ("19-10 pm", [("19:00", "22:00")]),
    ],
)
def test_bench_hours_are_read_by_the_clock_of_twelve(american, ana, written, kept):
    answer = american.post(reverse("plan-hours"), {**WEEK, "day0": written})
    assert answer.status_code == 302
    hours = ana.bench_hours.all()
    assert [(f"{h.starts:%H:%M}", f"{h.ends:%H:%M}") for h in hours] == kept


@pytest.mark.parametrize("written", ["13-2 pm to 3 pm", "0–3 am", "7 pm–13 pm", "7 xm–9 pm"])
def test_hours_that_no_clock_of_twelve_has_are_refused_in_its_words(american, written):
    answer = american.post(reverse("plan-hours"), {**WEEK, "day0": written})
    assert answer.status_code == 422
    told = str(answer.context["week_form"].errors["day0"]).replace("\u00a0", " ")
    assert "is not read. Write hours such as 7:00 pm–10:00 pm" in told


def test_bench_hours_shown_and_kept_again_are_the_same(american, ana):
    before = list(ana.bench_hours.values_list("weekday", "starts", "ends"))
    page = american.get(reverse("plan-hours"))
    form = page.context["week_form"]
    assert str(form["day0"].value()).replace("\u00a0", " ") == "7:00 pm–10:00 pm"
    sent = {name: form[name].value() or "" for name in form.fields}
    assert american.post(reverse("plan-hours"), sent).status_code == 302
    assert list(ana.bench_hours.values_list("weekday", "starts", "ends")) == before
    assert "such as 2:00 pm–6:00 pm" in said(american, reverse("plan-hours"))


def test_a_decal_is_placed_in_inches_and_warned_of_in_inches(american):
    project = make_project()
    panel = make_panel(project, width=127, height=50.8)
    decal = make_decal(project=project, place="Door")
    sent = {"decal": decal.pk, "x_mm": "2.5", "y_mm": "1", "turn": ""}
    american.post(reverse("panel-place", args=[panel.pk]), sent)
    placing = Placing.objects.get()
    assert (str(placing.x_mm), str(placing.y_mm)) == ("63.50", "25.40")
    page = said(american, reverse("project-placing", args=[project.code]))
    assert 'value="2.5"' in page
    assert "5 × 2 in on the model" in page
    assert 'data-unit="25.4"' in page
    put(decal, panel, x=0, y=20)
    page = said(american, reverse("project-placing", args=[project.code]))
    assert "hangs over the left edge by 0.472 in" in page


def test_a_panel_too_large_is_told_of_in_inches(american):
    project = make_project()
    sent = {"name": "Side", "measured": "in", "width_mm": "80", "height_mm": "2"}
    answer = american.post(reverse("project-placing", args=[project.code]), sent)
    told = answer.content.decode().replace("\u00a0", " ")
    assert "That is 80.0000 in on the model: a panel has 0.0394 to 78.7402 in." in told
    assert not Panel.objects.exists()


def test_offsets_are_read_off_a_strip_in_inches(american, ana):
    figures = {"knife_mm": "0.006", "lay_down_mm": "0.006", "clear_margin_mm": "0.04"}
    american.post("/hand/", {**figures, "knife_offsets": "0.01 -0.01 0.01 -0.01 0.01"})
    ana.refresh_from_db()
    assert ana.knife_mm == pytest.approx(0.254)
    assert "in in, with a space" in said(american, "/hand/")
    refused = american.post("/hand/", {**figures, "knife_offsets": "1 1 1 1 1"})
    assert "An offset lies from -0.20 to 0.20 in" in refused.content.decode().replace("\u00a0", " ")


def test_a_supply_s_sheet_is_measured_in_inches(american):
    sent = {"name": "Film", "kind": "film", "film": "white", "printer": "inkjet", "low_at": "1"}
    american.post("/stores/new/", {**sent, "width_mm": "8.5", "height_mm": "11"})
    supply = Supply.objects.get()
    assert (str(supply.width_mm), str(supply.height_mm)) == ("215.9", "279.4")


def test_an_address_of_the_next_sheet_means_the_same_to_everybody(american, ana, maker):
    decals = make_decals(2, place="Bow")
    queue.queue_decals(decals=[d.pk for d in decals], by=ana, moment=EVENING)
    typed = {
        "printer": "inkjet",
        "size": "free",
        "width_mm": "8",
        "height_mm": "4",
        "margin_mm": "0.25",
        "gap": "0.12",
        "sureness": "0.95",
        "seconds": "1",
        "unit": "in",
    }
    answer = american.get("/sheets/next/", typed)
    address = answer["Location"]
    assert "width_mm=203.2&height_mm=101.6&margin_mm=6.4&gap=3.05" in urlsplit(address).query
    assert "unit" not in address
    other = Client()
    other.force_login(maker)
    assert 'name="width_mm" value="203.2"' in said(other, address)
    assert 'name="width_mm" value="8"' in said(american, address)
    shown = [client.get(address).context["seen"] for client in (american, other)]
    assert shown[0] == shown[1]


@pytest.mark.parametrize("gap", ["wide", "NaN", "1e400", "-3", ""])
@pytest.mark.parametrize("unit", ["mm", "in", "furlong"])
def test_an_address_of_nonsense_is_refused_beside_its_field(american, gap, unit):
    answer = american.get("/sheets/next/", {"size": "A4", "gap": gap, "unit": unit})
    assert answer.status_code == 422
    assert answer.context["form"].errors["gap"]


def test_a_day_stands_in_the_reader_s_order_beside_the_browser_s_calendar(american):
    project = make_project(code="P-01", due=date(2026, 12, 3))
    assert "now Thu Dec 3, 2026" in said(american, "/projects/P-01/change/")
    sent = {"name": project.name, "scale": "1:72", "body_colour": "#112233", "finish": "gloss"}
    american.post("/projects/P-01/change/", {**sent, "due": "12/24/2026"})
    assert Project.objects.get().due == date(2026, 12, 24)
    refused = american.post("/projects/P-01/change/", {**sent, "due": "24/12/2026"})
    assert "Write a day such as 2026-11-24" in refused.content.decode()
    american.post("/plan/hours/days/", {"day": "12/24/2026", "hours": "2–6 pm"})
    day = BenchDay.objects.get()
    assert (day.day, f"{day.starts:%H:%M}") == (date(2026, 12, 24), "14:00")
