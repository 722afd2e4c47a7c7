"""Equal decals are counted together: how many copies they get, and how these are dealt out."""

import pytest

from decaljobs.craft.stages import Build, Layer
from decaljobs.models import QueuedDecal
from decaljobs.services.bench import steps
from decaljobs.services.layout import queue
from decaljobs.services.layout.layouts import LayoutWishes, plan_layout
from decaljobs.services.layout.next_sheet import lay_down
from decaljobs.services.refused import Refused
from tests.factories import (
    EVENING,
    make_artwork,
    make_decals,
    make_project,
    placed_sheet,
    sealed_decal,
    sealed_sheet,
)
from tests.queues import all_wanted, queued

pytestmark = pytest.mark.django_db
WISHES = LayoutWishes("inkjet", 210, 297, 7, seconds=0.02)


def copies(wanted, layer=Layer.CLEAR):
    return [one.copies for want in wanted for one in want.told if one.layer == layer]


def test_four_equal_decals_get_the_eight_copies_of_the_rule_for_four(maker):
    # scipy.stats.betabinom over both steps gives n = 8 for k = 4 (tests/outside).
    wanted = queued(maker, *make_decals(4))
    assert copies(wanted, Layer.BASE) == copies(wanted, Layer.CLEAR) == [2, 2, 2, 2]
    said = wanted[0].told[0].reason
    assert said.startswith("4 equal decals share 8 copies. 4 wanted; come out good: ")
    assert "8 copies give at least 4 with 9" in said


def test_what_cannot_be_dealt_out_evenly_goes_to_the_first(maker):
    # scipy.stats.betabinom over both steps gives n = 13 for k = 7 (tests/outside).
    assert copies(queued(maker, *make_decals(7, Build.CLEAR_ALONE))) == [2, 2, 2, 2, 2, 2, 1]


@pytest.mark.parametrize("apart", ["artwork", "upright"])
def test_decals_whose_pieces_could_not_be_swapped_are_counted_apart(maker, apart):
    art = make_artwork()
    (first,) = make_decals(1, Build.CLEAR_ALONE, artwork=art)
    (other,) = make_decals(
        1, Build.CLEAR_ALONE, artwork=make_artwork() if apart == "artwork" else art
    )
    if apart == "upright":
        other.upright = True
        other.save()
    assert copies(queued(maker, first, other)) == [3, 3]


def test_bases_of_two_builds_are_counted_apart_and_their_clear_layers_together(maker):
    """Of a laminated base only the band may be printed; clear film always bears the whole art."""
    art = make_artwork()
    both, clear, white = (
        make_decals(1, build, artwork=art)[0]
        for build in (Build.LAMINATED, Build.CLEAR_ALONE, Build.WHITE_ALONE)
    )
    wanted = queued(maker, both, clear, white)
    assert copies(wanted, Layer.BASE) == [3, 3]
    assert sum(copies(wanted, Layer.CLEAR)) == 5


def test_equal_decals_of_two_projects_are_counted_together(maker):
    art = make_artwork()
    decals = [
        make_decals(2, Build.CLEAR_ALONE, artwork=art, project=make_project())[0] for _ in range(2)
    ]
    assert copies(queued(maker, *decals)) == [3, 2]


def test_what_lies_good_already_counts_and_is_evened_out(maker):
    one, two = make_decals(2, Build.CLEAR_ALONE)
    sealed_sheet("clear", [one], maker, copies=2)
    wanted = queued(maker, one, two)
    # Two of two through the last step alone: 0.85 · 0.85 and a little; three more are wanted.
    assert "2 wanted, 2 lie here; come out good" in wanted[0].told[0].reason
    assert copies(wanted) == [0, 2]


def test_pieces_on_a_sheet_that_is_not_printed_yet_have_every_step_before_them(maker):
    (decal,) = make_decals(1, Build.CLEAR_ALONE)
    placed_sheet("clear", [decal], copies=2)
    # 3 copies are the rule for one: two are laid out, one more is wanted.
    assert copies(queued(maker, decal)) == [1]


def test_what_a_finished_twin_has_left_over_counts_but_not_what_one_still_needs(maker):
    finished, waiting, wanting = make_decals(3, Build.CLEAR_ALONE)
    sealed_sheet("clear", [finished, waiting], maker, copies=3)
    (wanted,) = queued(maker, wanting)
    assert wanted.most == 3
    steps.log_step(decals=[finished.pk], step="clear_applied", by=maker, moment=EVENING)
    (wanted,) = all_wanted()
    assert "1 wanted, 2 lie here" in wanted.told[0].reason
    assert wanted.most == 0


def test_where_enough_lies_nothing_is_laid_out_and_the_maker_may_still_overrule(maker):
    decal = sealed_decal(maker, Build.CLEAR_ALONE)
    sealed_sheet("clear", [decal], maker, copies=2)
    wanted = queued(maker, decal)
    assert "They give at least 1 with" in wanted[0].told[0].reason
    with pytest.raises(Refused, match="lie here already"):
        plan_layout(wanted, WISHES)
    queue.set_copies(decal=decal.pk, base=None, clear=1)
    plan = plan_layout(all_wanted(), WISHES)
    assert [len(laid.pieces) for laid in plan.laid] == [1]


def test_a_decal_that_gets_no_copy_leaves_the_queue_with_its_twins(maker):
    one, two = make_decals(2, Build.CLEAR_ALONE)
    sealed_sheet("clear", [one], maker, copies=2)
    (sheet,) = lay_down(plan=plan_layout(queued(maker, one, two), WISHES), by=maker, moment=EVENING)
    assert set(sheet.pieces.values_list("decal", flat=True)) == {two.pk}
    assert not QueuedDecal.objects.exists()


def test_overruling_one_twin_leaves_the_others_as_they_are(maker):
    decals = make_decals(4, Build.CLEAR_ALONE)
    queued(maker, *decals)
    queue.set_copies(decal=decals[1].pk, base=None, clear=5)
    wanted = all_wanted()
    assert copies(wanted) == [2, 5, 2, 2]
    assert wanted[1].told[0].reason.startswith("overruled by the maker. By the rule 2: 4 equal")
