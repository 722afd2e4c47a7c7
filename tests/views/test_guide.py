"""The first evening's guide: it ticks itself off, goes when it is done, and can be put away."""

from datetime import timedelta

import pytest
from django.urls import reverse

from decaljobs.craft.stages import Stage
from decaljobs.models import Room
from decaljobs.services.bench import steps, undoing
from decaljobs.services.demo.loading import load_demo
from decaljobs.services.drying import rooms
from decaljobs.services.people.first_evening import STEPS, done_steps
from tests.factories import EVENING, make_artwork, make_project, make_sheet, sealed_decal

pytestmark = pytest.mark.django_db


def ticked(person):
    return [step for step, done in done_steps(person).items() if done]


def bench(client, **headers):
    return client.get(reverse("bench"), headers=headers).content.decode()


def test_each_step_ticks_itself_off_from_the_records(maker):
    assert ticked(maker) == []
    make_project()
    assert ticked(maker) == ["project"]
    make_artwork()
    make_sheet()
    assert ticked(maker) == ["project", "artwork", "sheet"]
    room = Room.objects.get()
    rooms.add_reading(room=room.pk, at=EVENING, temperature=19.0, humidity=55.0, moment=EVENING)
    assert ticked(maker) == ["project", "artwork", "sheet", "room"]


def test_a_first_layer_counts_until_it_is_undone(maker):
    decal = sealed_decal(maker)
    assert "layer" not in ticked(maker)
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    assert "layer" in ticked(maker)
    undoing.undo_last(decal=decal.pk, by=maker, moment=EVENING + timedelta(minutes=1), seen=None)
    assert "layer" not in ticked(maker)


def test_stated_air_of_one_s_own_is_enough_for_the_room(maker):
    Room.objects.update(night_temperature=14)
    assert ticked(maker) == ["room"]


@pytest.mark.slow
def test_the_example_s_records_are_nobody_s_first_evening(owner):
    load_demo(moment=EVENING)
    assert ticked(owner) == []


def test_it_stands_open_on_an_empty_bench_and_leads_on(signed_in):
    page = bench(signed_in)
    assert "Your first evening: 0 of 5 steps done" in page
    assert '<details class="panel guide" open>' in page
    for name in ("project-new", "artwork-new", "sheet-new", "sheets"):
        assert f'href="{reverse(name)}"><strong>' in page
    assert f'href="{Room.objects.get().get_absolute_url()}"><strong>' in page


def test_it_stands_aside_once_there_is_work(signed_in, maker):
    sealed_decal(maker)
    assert f'hx-get="{reverse("guide")}"' in bench(signed_in)
    page = signed_in.get(reverse("guide"), headers={"hx-request": "true"}).content.decode()
    assert "Your first evening: 3 of 5 steps done. Next: Log your first layer" in page
    assert '<details class="panel guide">' in page


def test_it_goes_when_all_is_done(signed_in, maker):
    decal = sealed_decal(maker)
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    Room.objects.update(night_temperature=14)
    assert all(done_steps(maker).values())
    assert "steps done" not in signed_in.get(reverse("guide")).content.decode()


def test_it_is_put_away_for_one_person_and_brought_back(client, maker, owner):
    client.force_login(maker)
    answer = client.post(reverse("guide"), follow=True)
    assert "the settings bring it back" in answer.content.decode()
    assert "first evening:" not in bench(client)
    settings = client.get(reverse("settings")).content.decode()
    assert "Show the first evening" in settings
    client.force_login(owner)
    assert "first evening:" in bench(client)
    assert "Show the first evening" not in client.get(reverse("settings")).content.decode()
    client.force_login(maker)
    client.post(reverse("guide"), {"shown": "on"})
    assert "first evening:" in bench(client)


def test_onlookers_and_scripts_are_not_shown_it(client, onlooker, maker):
    client.force_login(onlooker)
    assert "first evening" not in bench(client)
    assert client.post(reverse("guide")).status_code == 403
    client.force_login(maker)
    assert "first evening" not in bench(client, **{"hx-request": "true"})


def test_it_asks_once(maker, django_assert_num_queries):
    with django_assert_num_queries(1):
        assert tuple(done_steps(maker)) == STEPS
