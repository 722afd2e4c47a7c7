"""The calendar's address: secret, renewed, and nothing without it."""

import pytest
from django.urls import reverse
from icalendar import Calendar

from decaljobs.models import BenchPlan
from decaljobs.services.plan import calendars, plans
from tests.factories import EVENING, sealed_decal

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("in_the_evening")]


def feed(secret):
    return reverse("calendar", args=[secret])


def test_it_is_made_when_it_is_asked_for_and_shown_whole(signed_in, maker):
    assert "no address yet" in signed_in.get(reverse("plan-calendar")).content.decode()
    signed_in.post(reverse("plan-calendar-renew"))
    maker.refresh_from_db()
    html = signed_in.get(reverse("plan-calendar")).content.decode()
    assert f"http://testserver{feed(maker.calendar_secret)}" in html


def test_a_calendar_program_reads_it_without_signing_in(client, maker):
    sealed_decal(maker)
    plans.make_now(moment=EVENING, iterations=5)
    answer = client.get(feed(calendars.renew_secret(person=maker)))
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert len(Calendar.from_ical(answer.content).walk("VEVENT")) == 2
    assert "no-store" in answer["Cache-Control"]


def test_a_wrong_or_ended_secret_answers_404(client, maker):
    old = calendars.renew_secret(person=maker)
    calendars.renew_secret(person=maker)
    for secret in (old, "0" * 48, old[::-1]):
        answer = client.get(feed(secret))
        assert answer.status_code == 404
        assert b"VCALENDAR" not in answer.content


def test_a_plan_that_is_out_of_date_is_made_anew_for_it(client, maker, settings, monkeypatch):
    settings.WORK_BEHIND = "page"
    monkeypatch.setattr(plans, "MOST_SECONDS", 0.05)
    secret = calendars.renew_secret(person=maker)
    sealed_decal(maker)
    client.get(feed(secret))
    assert BenchPlan.objects.get().state == "made"
    client.get(feed(secret))
    assert BenchPlan.objects.count() == 1


def test_it_is_a_file_too(signed_in, maker):
    sealed_decal(maker)
    plans.make_now(moment=EVENING, iterations=5)
    answer = signed_in.get(reverse("plan-calendar-file"))
    assert answer["Content-Disposition"] == 'attachment; filename="bench.ics"'
    assert Calendar.from_ical(answer.content)["version"] == "2.0"


def test_the_feed_takes_a_bounded_number_of_queries(client, maker, django_assert_max_num_queries):
    secret = calendars.renew_secret(person=maker)
    for _ in range(4):
        sealed_decal(maker)
    plans.make_now(moment=EVENING, iterations=5)
    with django_assert_max_num_queries(22):
        answer = client.get(feed(secret))
    assert answer.content.count(b"BEGIN:VEVENT") > 1
