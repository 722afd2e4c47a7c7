"""The pages of bench hours and minutes: what is kept, and what is said of nonsense."""

from datetime import date, time

import pytest
from django.urls import reverse

from decaljobs.models import BenchDay, BenchPlan, StepMinutes

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("in_the_evening")]
WEEK = {f"day{number}": "" for number in range(7)}


def hours(person):
    return [(h.weekday, f"{h.starts:%H:%M}", f"{h.ends:%H:%M}") for h in person.bench_hours.all()]


def test_the_week_stands_in_the_form_as_it_is(signed_in):
    html = signed_in.get(reverse("plan-hours")).content.decode()
    assert html.count('value="19:00–22:00"') == 5
    assert 'value="09:00–13:00"' in html


@pytest.mark.parametrize(
    ("written", "kept"),
    [
        ("19-22", [(0, "19:00", "22:00")]),
        ("9.30–12:00, 19:00 to 22:15", [(0, "09:30", "12:00"), (0, "19:00", "22:15")]),
        ("22:00-1:00", [(0, "22:00", "01:00")]),
        ("20–24", [(0, "20:00", "00:00")]),
        ("", []),
    ],
)
def test_hours_are_read_as_a_maker_types_them(signed_in, maker, written, kept):
    answer = signed_in.post(reverse("plan-hours"), {**WEEK, "day0": written})
    assert answer.status_code == 302
    assert hours(maker) == kept
    assert BenchPlan.objects.get().state == "running"


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("evenings", "‘evenings’ is not read. Write hours such as 19:00–22:00"),
        ("25:00-26:00", "is not read"),
        ("19:00-19:00", "must not start and end at the same time"),
        ("19-22, 21-23", "Mon 19:00–22:00 and Mon 21:00–23:00 overlap."),
        ("١٩-٢٢", "is not read"),
        ("9" * 90, "is not read"),
    ],
)
def test_nonsense_is_refused_beside_the_field_and_kept_as_typed(signed_in, maker, written, said):
    before = hours(maker)
    answer = signed_in.post(reverse("plan-hours"), {**WEEK, "day0": written})
    assert answer.status_code == 422
    assert said in str(answer.context["week_form"].errors["day0"])
    assert f'value="{written}"' in answer.content.decode()
    assert hours(maker) == before


def test_hours_past_midnight_overlap_the_next_morning(signed_in):
    answer = signed_in.post(
        reverse("plan-hours"), {**WEEK, "day6": "22:00-2:00", "day0": "1:00-3:00"}
    )
    assert answer.status_code == 422
    assert "overlap" in answer.content.decode()


def test_a_day_that_differs_is_kept_shown_and_dropped(signed_in, maker):
    extra = {"day": "2026-11-08", "hours": "14:00–18:00", "note": "rain"}
    signed_in.post(reverse("plan-day-add"), extra)
    signed_in.post(reverse("plan-day-add"), {"day": "2026-11-10", "hours": ""})
    kept = [(d.day, d.starts, d.ends) for d in BenchDay.objects.all()]
    assert kept == [
        (date(2026, 11, 8), time(14), time(18)),
        (date(2026, 11, 10), None, None),
    ]
    html = signed_in.get(reverse("plan-hours")).content.decode()
    assert "also 14:00–18:00 · rain" in html
    assert "no bench hours" in html
    for day in BenchDay.objects.all():
        signed_in.post(reverse("plan-day-drop", args=[day.pk]))
    assert not BenchDay.objects.exists()


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("day", "", "required"),
        ("day", "1870-01-01", "Write a day from 2000 to 2100."),
        ("hours", "9-10, 11-12", "Write one stretch"),
        ("hours", "noon", "is not read"),
    ],
)
def test_a_day_that_makes_no_sense_is_refused_beside_the_field(signed_in, field, typed, said):
    answer = signed_in.post(
        reverse("plan-day-add"), {"day": "2026-11-08", "hours": "14-15", field: typed}
    )
    assert answer.status_code == 422
    assert said in str(answer.context["day_form"].errors[field])
    assert not BenchDay.objects.exists()


def test_a_day_closed_twice_is_said_beside_it(signed_in):
    for _ in range(2):
        answer = signed_in.post(reverse("plan-day-add"), {"day": "2026-11-08"})
    assert answer.context["day_form"].errors["day"] == ["This day is closed already."]


def test_nobody_drops_a_day_of_somebody_elses(client, owner, signed_in, maker):
    signed_in.post(reverse("plan-day-add"), {"day": "2026-11-08"})
    client.force_login(owner)
    client.post(reverse("plan-day-drop", args=[BenchDay.objects.get().pk]))
    assert BenchDay.objects.count() == 1


def test_minutes_are_set_and_left_to_custom_again(signed_in):
    html = signed_in.get(reverse("plan-minutes")).content.decode()
    assert "15 min now: common practice" in html
    signed_in.post(reverse("plan-minutes"), {"base": "22", "airbrush_cleaning": "0"})
    assert dict(StepMinutes.objects.values_list("doing", "minutes")) == {
        "base": 22,
        "airbrush_cleaning": 0,
    }
    assert "22 min now: set by hand" in signed_in.get(reverse("plan-minutes")).content.decode()
    signed_in.post(reverse("plan-minutes"), {})
    assert not StepMinutes.objects.exists()


@pytest.mark.parametrize("typed", ["0", "601", "-3", "ten", "1e3"])
def test_minutes_out_of_range_are_refused_beside_the_field(signed_in, typed):
    answer = signed_in.post(reverse("plan-minutes"), {"base": typed})
    assert answer.status_code == 422
    assert answer.context["form"].errors["base"]
    assert not StepMinutes.objects.exists()


def test_onlookers_have_no_bench_hours(client, onlooker):
    client.force_login(onlooker)
    for name in ("plan-hours", "plan-minutes"):
        assert client.get(reverse(name)).status_code == 403


def test_the_owner_sets_the_hours_and_days_of_somebody_else(client, owner, maker):
    client.force_login(owner)
    page = f"{reverse('plan-hours')}?person={maker.pk}"
    before = hours(owner)
    assert "When mara has time at the bench" in client.get(page).content.decode()
    answer = client.post(page, {**WEEK, "day2": "18-20"})
    assert answer.url == page
    assert hours(maker) == [(2, "18:00", "20:00")]
    closed = {"day": "2026-11-10", "hours": ""}
    client.post(f"{reverse('plan-day-add')}?person={maker.pk}", closed)
    day = BenchDay.objects.get(person=maker)
    client.post(f"{reverse('plan-day-drop', args=[day.pk])}?person={maker.pk}")
    assert not BenchDay.objects.exists()
    assert hours(owner) == before


def test_the_page_of_a_maker_leads_the_owner_to_their_hours(client, owner, maker, onlooker):
    client.force_login(owner)
    link = f"{reverse('plan-hours')}?person={maker.pk}"
    assert link in client.get(reverse("person", args=[maker.pk])).content.decode()
    page = client.get(reverse("person", args=[onlooker.pk])).content.decode()
    assert reverse("plan-hours") not in page.partition('id="person"')[2]
    assert client.get(f"{reverse('plan-hours')}?person={onlooker.pk}").status_code == 404


def test_a_maker_does_not_set_the_hours_of_somebody_else(signed_in, owner):
    before = hours(owner)
    page = f"{reverse('plan-hours')}?person={owner.pk}"
    assert signed_in.get(page).status_code == 403
    assert signed_in.post(page, {**WEEK, "day2": "18-20"}).status_code == 403
    closed = {"day": "2026-11-10", "hours": ""}
    added = signed_in.post(f"{reverse('plan-day-add')}?person={owner.pk}", closed)
    assert added.status_code == 403
    assert hours(owner) == before
    assert not BenchDay.objects.exists()
