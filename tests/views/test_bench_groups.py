"""How the bench gathers its rows: one caution for a step, one reason for what is held, folds."""

from html import unescape
from types import SimpleNamespace

import pytest

from decaljobs.craft.cautions import advice
from decaljobs.craft.stages import Build, Film, Stage
from decaljobs.services.film import sheets
from decaljobs.views.bench_groups import LONGEST_UNFOLDED, Rows, held_groups, told_apart
from tests.factories import make_decals, make_sheet, sealed_decal, sealed_sheet


def part_of(page: str, name: str) -> str:
    return unescape(page).split(f'id="{name}"')[1].split("</section>")[0]


def test_a_caution_stands_once_above_all_rows_of_its_step(signed_in, maker):
    for place in ("Left side", "Right side", "Tail"):
        sealed_decal(maker, Build.WHITE_ALONE, place=place)
    ready = part_of(signed_in.get("/").content.decode(), "ready")
    assert ready.count("Base applied</button>") == 3
    for sentence in advice("base_applied", build=Build.WHITE_ALONE).caution.split(". "):
        assert ready.count(sentence.removesuffix(".")) == 1, sentence
        assert ready.index(sentence.removesuffix(".")) < ready.index("Base applied</button>")


def test_what_only_one_build_has_to_heed_stands_above_its_own_rows():
    both = tuple(advice("clear_applied", build=b).caution for b in (Build.LAMINATED, "clear_alone"))
    common, (laminated, alone) = told_apart(both)
    assert "The blade is sharp" in common
    assert "No fluid beneath: it softens the base." in laminated
    assert "Old paint may hold lead" in alone
    assert "No fluid beneath" not in common + alone


@pytest.mark.parametrize("step", list(Stage)[1:])
def test_no_sentence_of_a_caution_is_lost(step):
    whole = tuple({advice(step, build=build).caution: None for build in Build})
    common, own = told_apart(whole)
    for caution, rest in zip(whole, own, strict=True):
        assert sorted(f"{common} {rest}".split()) == sorted(caution.split())


def test_a_long_list_is_folded_and_nothing_of_it_is_left_out():
    for many in range(1, 3 * LONGEST_UNFOLDED):
        part = Rows("drying", list(range(many)))
        assert [*part.shown, *part.folded] == list(range(many))
        assert bool(part.folded) == (many > LONGEST_UNFOLDED)
        assert len(part.folded) != 1


def test_a_fold_says_how_many_it_holds_and_can_be_pressed_as_ever(signed_in, maker):
    decals = make_decals(LONGEST_UNFOLDED + 3, Build.WHITE_ALONE, place="Wheel")
    sealed_sheet(Film.WHITE, decals, maker, copies=1)
    ready = part_of(signed_in.get("/").content.decode(), "ready")
    before, folded = ready.split('<details class="folded" id="ready-base_applied-0-folded">')
    assert before.count("Base applied</button>") == LONGEST_UNFOLDED - 1
    assert "<summary>4 more</summary>" in folded
    assert folded.count("Base applied</button>") == 4


def test_a_fold_with_ticked_rows_stands_open_when_the_step_was_refused(signed_in, maker):
    decals = make_decals(LONGEST_UNFOLDED + 1, Build.WHITE_ALONE, place="Wheel")
    sealed_sheet(Film.WHITE, decals, maker, copies=1)
    data = {"decal": [decals[-1].pk], "step": "base_applied", "at": "soon"}
    page = signed_in.post("/bench/log/", data).content.decode()
    assert 'id="ready-base_applied-0-folded" open>' in page


def test_why_decals_are_held_stands_once_with_its_remedy(signed_in):
    decals = make_decals(3, Build.WHITE_ALONE, place="Wheel")
    sheet = make_sheet(Film.WHITE)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk for decal in decals], copies=1)
    held = part_of(signed_in.get("/").content.decode(), "held")
    assert held.count(f"Sheet {sheet.code} is not printed yet.") == 1
    assert held.count(f"Open sheet {sheet.code}") == 1
    assert held.count('class="row held"') == 3
    assert held.index("Wheel 1 of 3") < held.index("Wheel 2 of 3") < held.index("Wheel 3 of 3")


def test_different_reasons_are_kept_apart_in_their_order():
    rows = [SimpleNamespace(reason=r, remedy="", remedy_href="") for r in "abab"]
    assert [(group.reason, len(group.rows)) for group in held_groups(rows)] == [("a", 2), ("b", 2)]
