"""The Drying page and its chart on paper."""

from datetime import timedelta

import numpy as np
import pypdfium2
import pytest
import time_machine
from django.urls import reverse

from decaljobs.models import Room
from decaljobs.models.rooms import minute_of
from decaljobs.services.drying import rooms
from decaljobs.services.words import say_moment
from tests.factories import EVENING

pytestmark = pytest.mark.django_db
URL = "/drying/"


@pytest.fixture(autouse=True)
def _this_evening():
    with time_machine.travel(EVENING, tick=False):
        yield


@pytest.fixture
def shed():
    """A cold shed read every ten minutes for the last three days."""
    made = rooms.add_room(name="Shed", kind="shed", day_temperature=8, night_temperature=6)
    minutes = minute_of(EVENING) - np.arange(0, 3 * 1440, 10)
    full = np.ones(minutes.size)
    rooms.keep_readings(
        room=made.pk, minutes=minutes, temperatures=full * 7.5, humidities=full * 80
    )
    return Room.objects.get(pk=made.pk)


def page_of(client, query=""):
    answer = client.get(URL + query)
    assert answer.status_code == 200
    return answer


def test_it_shows_each_room_with_its_air_and_what_an_hour_counts(signed_in, shed):
    page = page_of(signed_in).content.decode()
    assert "20.0 °C and 50 % RH, as stated: it was never read." in page
    assert "7.5 °C and 80 % RH, read today 19:00." in page
    assert "Held: 7.5 °C is under the film-forming minimum of 10 °C." in page


def test_the_chart_and_the_table_say_the_same(signed_in, shed):
    answer = page_of(signed_in, f"?room={shed.pk}")
    assert answer.context["room"] == shed
    page = answer.content.decode()
    at = say_moment(EVENING - timedelta(hours=5), now=EVENING)
    row = f'<tr><td class="whole">{at}</td>' + "".join(
        f'<td class="number">{figure}</td>' for figure in ("7.5", "80", "stands still")
    )
    assert page.count('<tr><td class="whole">') == 241
    assert page.count(f"{row}<td>read</td></tr>") == 1
    assert answer.context["chart"].sentence.replace("&", "&amp;") in page
    assert "drying stands still for 240 of 240 hours" in page
    assert '<rect class="air-still"' in page
    assert page.count("stands still</td>") == 241


def test_another_wait_counts_by_its_own_clock(signed_in, shed):
    page = page_of(signed_in, f"?room={shed.pk}&wait=printed_laser").content.decode()
    assert "by the clock of ‘printed (laser) → sealing coat’" in page


@pytest.mark.parametrize("query", ["?room=999", "?room=x&wait=none", "?room=%00", "?wait="])
def test_nonsense_in_the_address_is_passed_over(signed_in, query):
    assert page_of(signed_in, query).context["room"].is_default


def test_its_queries_grow_with_the_rooms_only(signed_in, shed, django_assert_max_num_queries):
    page_of(signed_in)
    with django_assert_max_num_queries(6):
        page = page_of(signed_in, f"?room={shed.pk}")
    assert shed.name in page.content.decode()


def test_htmx_gets_the_fragment(signed_in):
    answer = signed_in.get(URL, headers={"HX-Request": "true"})
    assert "<html" not in answer.content.decode()
    assert "HX-Request" in answer["Vary"]


def test_onlookers_see_it_without_forms_to_change_anything(client, onlooker):
    client.force_login(onlooker)
    page = page_of(client).content.decode()
    assert "Write down a reading" not in page
    assert "Add a room" not in page


def test_the_chart_on_paper_is_one_page_with_the_same_words(signed_in, shed):
    answer = signed_in.get(reverse("drying-chart"), {"room": shed.pk})
    assert answer["Content-Type"] == "application/pdf"
    paper = pypdfium2.PdfDocument(answer.content)
    try:
        assert len(paper) == 1
        text = paper[0].get_textpage().get_text_bounded()
    finally:
        paper.close()
    said = " ".join(text.split())
    assert "Shed: base applied" in said
    assert "Temperature, °C" in said
    assert "drying stands still for 240 of 240 hours" in said
