"""A good piece taken from a twin: offered where one has it to spare, on the decal and the bench."""

import pytest
from django.urls import reverse

from decaljobs.craft.stages import Build, Layer
from decaljobs.models import Decal, StageEvent
from decaljobs.services.bench import spoiling, steps
from tests.factories import (
    EVENING,
    make_decal,
    make_decals,
    make_project,
    sealed_sheet,
)
from tests.views.decalpages import page_of

pytestmark = pytest.mark.usefixtures("in_the_evening")


def take(client, wants, has, layer="clear", **data):
    url = reverse("decal-take-piece", args=[wants.pk])
    return client.post(url, {"take_from": f"{has.pk}:{layer}", **data})


def test_it_is_offered_on_the_page_of_the_decal_that_is_held_and_taken(signed_in, twins):
    has, wants = twins
    page = page_of(signed_in, wants)
    button = f'name="take_from" value="{has.pk}:clear"><span>Take a good clear piece from <bdi>Door'
    assert button in page
    assert "It has 2 to spare." in page
    assert 'name="take_from"' not in page_of(signed_in, has)
    answer = take(signed_in, wants, has, seen="0")
    assert answer["Location"] == wants.get_absolute_url()
    page = page_of(signed_in, wants)
    assert "Clear piece taken from Door 1 of 2 (Harbour launch): Door 2 of 2." in page
    assert 'name="take_from"' not in page
    assert wants.pieces.count() == 1


def test_it_is_undone_like_any_line_of_the_log(signed_in, twins):
    has, wants = twins
    take(signed_in, wants, has)
    assert "Undo ‘Clear piece taken from" in page_of(signed_in, wants)
    signed_in.post(reverse("decal-undo", args=[wants.pk]))
    assert (has.pieces.count(), wants.pieces.count()) == (3, 0)
    assert "Undone" in page_of(signed_in, has)


def test_a_twin_of_another_project_is_named_with_it(signed_in, twins):
    has, _ = twins
    other = make_decal(Build.CLEAR_ALONE, artwork=has.artwork, project=make_project(name="Tram"))
    assert "<bdi>Harbour launch</bdi>: the same art at the same width" in page_of(signed_in, other)


def test_a_base_that_dries_is_no_reason_to_wait_for_the_clear_piece(signed_in, maker):
    has, wants = make_decals(2, place="Door")
    sealed_sheet("white", [has, wants], maker)
    sealed_sheet("clear", [has, wants], maker)
    steps.log_step(decals=[wants.pk], step="base_applied", by=maker, moment=EVENING)
    for piece in wants.pieces.filter(layer=Layer.CLEAR):
        spoiling.spoil_piece(piece=piece.pk, by=maker, moment=EVENING)
    page = page_of(signed_in, wants)
    assert f'value="{has.pk}:clear"' in page.split('id="pieces"')[1]
    take(signed_in, wants, has)
    wants.refresh_from_db()
    assert wants.held_because == ""


def test_one_that_is_too_late_is_told_and_nothing_moves(signed_in, maker, twins):
    has, wants = twins
    for piece in has.pieces.all()[1:]:
        spoiling.spoil_piece(piece=piece.pk, by=maker, moment=EVENING)
    answer = signed_in.post(
        reverse("decal-take-piece", args=[wants.pk]),
        {"take_from": f"{has.pk}:clear"},
        follow=True,
    )
    assert "has no good clear piece to spare any more" in answer.content.decode()
    assert not wants.pieces.exists()


@pytest.mark.parametrize(
    "value", ["", "x", "1", "1:red", "-1:clear", "9" * 30 + ":clear", "1:clear\x00"]
)
def test_a_button_that_is_not_ours_is_refused(signed_in, twins, value):
    url = reverse("decal-take-piece", args=[twins[1].pk])
    answer = signed_in.post(url, {"take_from": value}, follow=True)
    assert '<li class="refused">' in answer.content.decode()
    assert not StageEvent.objects.filter(kind="taken").exists()


def test_a_decal_that_is_gone_is_refused(signed_in, twins):
    answer = signed_in.post(
        reverse("decal-take-piece", args=[twins[1].pk]), {"take_from": "999999:clear"}, follow=True
    )
    assert "no longer there" in answer.content.decode()


def test_onlookers_and_strangers_take_nothing(client, onlooker, twins):
    has, wants = twins
    assert take(client, wants, has)["Location"].startswith("/sign-in/")
    client.force_login(onlooker)
    assert 'name="take_from"' not in page_of(client, wants)
    assert take(client, wants, has).status_code == 403
    assert not wants.pieces.exists()


def test_sent_twice_with_one_key_it_is_taken_once(signed_in, twins):
    has, wants = twins
    for _ in range(2):
        answer = take(signed_in, wants, has, key="k" * 20)
    assert answer["Location"] == wants.get_absolute_url()
    assert wants.pieces.count() == 1


def test_the_bench_offers_it_beside_the_decal_that_is_held(signed_in, twins):
    has, wants = twins
    page = signed_in.get("/").content.decode()
    href = f"{reverse('decal-take-piece', args=[wants.pk])}?next=%2F"
    assert f'formaction="{href}" name="take_from" value="{has.pk}:clear"' in page
    assert "Take a good clear piece from Door 1 of 2" in page
    answer = signed_in.post(href, {"take_from": f"{has.pk}:clear"})
    assert answer["Location"] == "/"
    assert 'name="take_from"' not in signed_in.get("/").content.decode()


def test_the_bench_offers_no_piece_that_the_twin_needs_or_that_is_not_the_same(signed_in, maker):
    has, wants = make_decals(2, place="Door")
    sealed_sheet("white", [has], maker, copies=1)
    assert 'name="take_from"' not in signed_in.get("/").content.decode()
    sealed_sheet("white", [has], maker, copies=1)
    assert f'value="{has.pk}:base"' in signed_in.get("/").content.decode()
    Decal.objects.filter(pk=wants.pk).update(upright=True)
    assert 'name="take_from"' not in signed_in.get("/").content.decode()


def test_one_whose_layer_is_laid_is_offered_as_a_lender_with_a_single_piece(signed_in, maker):
    has, wants = make_decals(2, Build.CLEAR_ALONE, place="Door")
    sealed_sheet("clear", [has], maker, copies=2)
    steps.log_step(decals=[has.pk], step="clear_applied", by=maker, moment=EVENING)
    assert f'value="{has.pk}:clear"' in signed_in.get("/").content.decode()


@pytest.mark.parametrize("number", [2, 7])
def test_a_decals_page_takes_as_many_queries_for_any_number_of_twins(
    signed_in, maker, django_assert_max_num_queries, number
):
    *have, wants = make_decals(number, Build.CLEAR_ALONE, place="Door")
    sealed_sheet("clear", have, maker, copies=3)
    signed_in.get(wants.get_absolute_url())
    with django_assert_max_num_queries(30):
        page = page_of(signed_in, wants)
    assert page.count('name="take_from"') == min(3, number - 1)
