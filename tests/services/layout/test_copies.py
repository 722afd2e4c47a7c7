"""Copies to print: the rule from the workshop's own record, and the maker's word over it."""

import pytest

from decaljobs.craft.copies import Success
from decaljobs.craft.stages import Build, Layer
from decaljobs.models import QueuedDecal
from decaljobs.services.bench import spoiling, steps
from decaljobs.services.film.lost_sheets import lose_sheet
from decaljobs.services.layout import queue
from decaljobs.services.layout.copies import success_by_layer, wanted_of
from tests.factories import EVENING, make_decals, sealed_decal, sealed_sheet

pytestmark = pytest.mark.django_db


def queued(maker, *decals):
    queue.queue_decals(decals=[d.pk for d in decals], by=maker, moment=EVENING)
    return wanted_of(list(QueuedDecal.objects.for_sheet()))


def test_without_a_record_three_copies_make_one_good_one(maker):
    # scipy.stats.betabinom: k = 1 at 95 % with Beta(8, 2) wants n = 3.
    (wanted,) = queued(maker, *make_decals(1))
    assert [(layer.layer, layer.copies) for layer in wanted.layers] == [
        (Layer.BASE, 3),
        (Layer.CLEAR, 3),
    ]
    assert "8 of 10 pieces come out good" in wanted.layers[0].reason


def test_more_certainty_wants_more_copies(maker):
    queued(maker, *make_decals(1))
    rows = list(QueuedDecal.objects.for_sheet())
    wanted = {chance: wanted_of(rows, sureness=chance)[0].most for chance in (0.9, 0.95, 0.99)}
    # scipy.stats.betabinom(n, 8, 2).sf(0): n = 2 gives 0.9455, 3 gives 0.9818, 4 gives 0.9930.
    assert wanted == {0.9: 2, 0.95: 3, 0.99: 4}


def test_the_workshops_own_record_counts_by_layer(maker):
    decal = sealed_decal(maker)
    steps.log_step(decals=[decal.pk], step="base_applied", by=maker, moment=EVENING)
    spoiling.spoil_piece(
        piece=decal.pieces.filter(layer="clear").first().pk, by=maker, moment=EVENING
    )
    assert success_by_layer() == {Layer.BASE: Success(9, 2), Layer.CLEAR: Success(8, 3)}


def test_a_lost_sheet_says_nothing_of_the_hand(maker):
    sheet = sealed_sheet("clear", make_decals(1, Build.CLEAR_ALONE), maker)
    lose_sheet(sheet=sheet.pk, by=maker, moment=EVENING)
    assert success_by_layer()[Layer.CLEAR] == Success(8, 2)


def test_the_makers_word_goes_first(maker):
    (decal,) = make_decals(1)
    queued(maker, decal)
    queue.set_copies(decal=decal.pk, base=7, clear=None)
    (wanted,) = wanted_of(list(QueuedDecal.objects.for_sheet()))
    assert [(layer.copies, layer.overruled) for layer in wanted.layers] == [(7, True), (3, False)]
    assert wanted.most == 7
    said = wanted.layers[0].reason
    assert said.startswith("overruled by the maker. By the rule 3: 1 wanted, ")


def test_a_decal_laid_meanwhile_falls_out(maker, django_assert_num_queries):
    decal = sealed_decal(maker, Build.CLEAR_ALONE)
    queued(maker, decal, *make_decals(4))
    steps.log_step(decals=[decal.pk], step="clear_applied", by=maker, moment=EVENING)
    rows = list(QueuedDecal.objects.for_sheet())
    with django_assert_num_queries(2):
        assert len(wanted_of(rows)) == 4
