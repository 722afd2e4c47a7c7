"""Copies to print: the rule from the workshop's own record, and the maker's word over it."""

import pytest

from decaljobs.craft.film.copies import Success
from decaljobs.craft.stages import Build, Layer
from decaljobs.models import QueuedDecal
from decaljobs.services.bench import spoiling, steps
from decaljobs.services.bench.undoing import undo_last
from decaljobs.services.film.lost_sheets import lose_sheet
from decaljobs.services.film.sheets import log_printed
from decaljobs.services.layout import queue
from decaljobs.services.layout.copies import wanted_of
from decaljobs.services.records.piece_steps import steps_by_layer
from tests.factories import EVENING, make_decals, placed_sheet, sealed_decal, sealed_sheet
from tests.queues import all_wanted, queued

pytestmark = pytest.mark.django_db


def spoil(decal, maker, layer, cause):
    piece = decal.pieces.filter(layer=layer).first()
    return spoiling.spoil_piece(piece=piece.pk, by=maker, moment=EVENING, cause=cause)


def known():
    """What is known of each step, by layer."""
    return {
        layer: tuple(step.success for step in steps) for layer, steps in steps_by_layer().items()
    }


def test_without_a_record_three_copies_make_one_good_one(maker):
    # scipy.stats.betabinom summed over the survivors of the first step: k = 1 at 95 % with
    # Beta(18, 2), then Beta(17, 3) wants n = 3.
    (wanted,) = queued(maker, *make_decals(1))
    assert [(layer.layer, layer.copies) for layer in wanted.layers] == [
        (Layer.BASE, 3),
        (Layer.CLEAR, 3),
    ]
    reason = wanted.layers[0].reason
    assert "printing and sealing 90 % (usual), cutting and laying 85 % (usual)" in reason


def test_more_certainty_wants_more_copies(maker):
    queued(maker, *make_decals(1))
    rows = list(QueuedDecal.objects.for_sheet())
    wanted = {chance: wanted_of(rows, sureness=chance)[0].most for chance in (0.9, 0.95, 0.99)}
    # scipy.stats.betabinom over both steps: n = 2 gives 0.937, 3 gives 0.980, 4 gives 0.993.
    assert wanted == {0.9: 2, 0.95: 3, 0.99: 4}


def test_each_step_has_the_workshops_own_record_by_layer(maker):
    """Two copies of each layer: by hand, spares that lie sealed speak for the sealing alone."""
    decal = sealed_decal(maker)
    steps.log_step(decals=[decal.pk], step="base_applied", by=maker, moment=EVENING)
    spoil(decal, maker, "clear", "scratched")
    assert known() == {
        Layer.BASE: (Success(20, 2), Success(18, 3)),
        Layer.CLEAR: (Success(20, 2), Success(17, 4)),
    }


def test_ink_that_bled_is_counted_where_it_went_wrong(maker):
    spoil(sealed_decal(maker), maker, "clear", "bled")
    assert known()[Layer.CLEAR] == (Success(19, 3), Success(17, 3))


def test_a_layer_spoiled_on_the_model_counts_as_laid_badly_until_that_is_undone(maker):
    decal = sealed_decal(maker)
    steps.log_step(decals=[decal.pk], step="base_applied", by=maker, moment=EVENING)
    spoiling.spoil_layer(decal=decal.pk, layer=Layer.BASE, by=maker, moment=EVENING)
    assert known()[Layer.BASE] == (Success(20, 2), Success(17, 4))
    undo_last(decal=decal.pk, by=maker, moment=EVENING)
    assert known()[Layer.BASE] == (Success(20, 2), Success(18, 3))


def test_pieces_that_are_not_sealed_yet_say_nothing(maker):
    sheet = placed_sheet("clear", make_decals(3, Build.CLEAR_ALONE))
    log_printed(sheet=sheet.pk, by=maker, moment=EVENING)
    assert known()[Layer.CLEAR] == (Success(18, 2), Success(17, 3))


def test_a_careful_hand_prints_fewer_and_is_told_its_own_numbers(maker):
    for decal in make_decals(12, Build.CLEAR_ALONE):
        sealed_sheet("clear", [decal], maker)
        steps.log_step(decals=[decal.pk], step="clear_applied", by=maker, moment=EVENING)
    (wanted,) = queued(maker, *make_decals(1, Build.CLEAR_ALONE, place="Tail"))
    (layer,) = wanted.layers
    assert layer.copies == 2
    assert "cutting and laying" in layer.reason and "usual and 12 own" in layer.reason


def test_a_lost_sheet_says_nothing_of_the_hand(maker):
    sheet = sealed_sheet("clear", make_decals(1, Build.CLEAR_ALONE), maker)
    lose_sheet(sheet=sheet.pk, by=maker, moment=EVENING)
    assert known()[Layer.CLEAR] == (Success(18, 2), Success(17, 3))


def test_the_makers_word_goes_first(maker):
    (decal,) = make_decals(1)
    queued(maker, decal)
    queue.set_copies(decal=decal.pk, base=7, clear=None)
    (wanted,) = all_wanted()
    assert [(layer.copies, layer.overruled) for layer in wanted.layers] == [(7, True), (3, False)]
    assert wanted.most == 7
    said = wanted.layers[0].reason
    assert said.startswith("overruled by the maker. By the rule 3: 1 wanted; ")


def test_a_decal_laid_meanwhile_falls_out(maker, django_assert_num_queries):
    decal = sealed_decal(maker, Build.CLEAR_ALONE)
    queued(maker, decal, *make_decals(4))
    steps.log_step(decals=[decal.pk], step="clear_applied", by=maker, moment=EVENING)
    rows = list(QueuedDecal.objects.for_sheet())
    with django_assert_num_queries(3):
        assert len(wanted_of(rows)) == 4
