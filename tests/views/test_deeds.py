"""Every change is noted with who, what, when and from which device; the owner looks through."""

from datetime import timedelta

import pytest
from django.urls import reverse

from decaljobs.models import Deed
from decaljobs.services.people.deeds import KEPT, SWEPT_EVERY, note_deed
from tests.factories import EVENING, make_artwork, make_decal

pytestmark = pytest.mark.django_db
PHONE = "Mozilla/5.0 (Linux; Android 14) Gecko/128 Firefox/128"


def test_it_notes_a_change_and_no_reading_and_no_refusal(signed_in, maker):
    artwork = make_artwork()
    change = reverse("artwork-change", args=[artwork.pk])
    signed_in.get(change)
    signed_in.post(change, {"name": ""})
    assert not Deed.objects.exists()
    form = {"name": "New name", "width_mm": "20"}
    answer = signed_in.post(change, form, headers={"user-agent": PHONE})
    assert answer.status_code == 302, answer.context["form"].errors
    deed = Deed.objects.get()
    assert (deed.who, deed.what, deed.path) == ("mara", "changed an artwork", change)
    assert deed.device == "Firefox on Android"


def test_it_notes_no_refusal_that_leads_back(signed_in):
    decal = make_decal()
    answer = signed_in.post(reverse("decal-undo", args=[decal.pk]))
    assert answer.status_code == 302 and not Deed.objects.exists()


def test_the_owner_alone_looks_through_and_searches(client, owner, maker):
    for what in ("logged a sealing coat", "undid a step of a decal"):
        note_deed(person=maker, agent=PHONE, what=what, path="/x/", moment=EVENING)
    client.force_login(maker)
    assert client.get(reverse("deeds")).status_code == 403
    client.force_login(owner)
    page = client.get(reverse("deeds"), {"q": "undid android"}).content.decode()
    assert "undid a step of a decal" in page and "sealing coat" not in page


def test_the_name_stays_when_the_person_goes(maker):
    note_deed(person=maker, agent=PHONE, what="x", path="/x/", moment=EVENING)
    maker.delete()
    assert Deed.objects.get().who == "mara"


def test_lines_of_more_than_a_year_ago_go(maker):
    for _ in range(SWEPT_EVERY):
        note_deed(person=maker, agent="", what="x", path="/", moment=EVENING - KEPT)
    note_deed(person=maker, agent="", what="x", path="/", moment=EVENING + timedelta(days=1))
    last = Deed.objects.latest("pk").pk
    for _ in range(SWEPT_EVERY - last % SWEPT_EVERY):
        note_deed(person=maker, agent="", what="x", path="/", moment=EVENING + timedelta(days=1))
    assert not Deed.objects.filter(at=EVENING - KEPT).exists()
    assert Deed.objects.exists()
