"""Artwork measured and kept, and new versions made of it."""

from datetime import timedelta

import pytest
from PIL import Image, ImageDraw

from decaljobs.craft.stages import Build
from decaljobs.models import Artwork, Measuring, measurings
from decaljobs.services import behind
from decaljobs.services.artwork import measuring, reworking
from decaljobs.services.artwork.keeping import change_artwork
from decaljobs.services.refused import Refused
from tests.factories import EVENING, make_artwork, make_decals, make_person, sealed_sheet


def disc(radius_px=150, band_px=20):
    """A light disc in a dark ring: the band is band_px wide all round."""
    side = 2 * radius_px + 20
    picture = Image.new("RGBA", (4 * side, 4 * side), (0, 0, 0, 0))
    draw = ImageDraw.Draw(picture)
    for inset, colour in ((10, "#102030"), (10 + band_px, "#f0e8d0")):
        edge = 4 * inset
        draw.ellipse((edge, edge, 4 * side - edge, 4 * side - edge), fill=colour)
    return picture.resize((side, side), Image.Resampling.LANCZOS)


@pytest.fixture
def badge(db):
    # 300 px at 15 mm: 20 px to the mm, so that the band of 20 px is 1 mm wide.
    return make_artwork(name="Badge", picture=disc(), width_mm=15)


def measured(artwork, person, **fields):
    return measuring.measure_artwork(artwork=artwork, person=person, moment=EVENING, **fields)


def test_it_measures_a_ring_of_known_width(badge, maker):
    found = measured(badge, maker)
    assert found.state == "done"
    assert found.found["band"]["min_mm"] == pytest.approx(1.0, abs=0.02)
    assert found.found["band"]["median_mm"] == pytest.approx(1.0, abs=0.02)
    # The middle line is a circle of radius 7 mm.
    assert found.found["base_cut"]["length_mm"] == pytest.approx(2 * 3.14159 * 7, rel=0.01)


def test_a_result_is_kept_for_each_size_and_hand(badge, maker):
    first = measured(badge, maker)
    assert measured(badge, maker).pk == first.pk
    assert measured(badge, make_person()).pk == first.pk  # the same hand
    measuring.keep_hand(person=maker, knife_mm=0.3, lay_down_mm=0.2, clear_margin_mm=1.0)
    assert measuring.measuring_of(badge, maker) is None
    assert measured(badge, maker).found["clean_chance"] < first.found["clean_chance"]
    change_artwork(artwork=badge, name="Badge", width_mm=30)
    assert measured(badge, maker).found["band"]["min_mm"] == pytest.approx(2.0, abs=0.04)
    assert Measuring.objects.count() == 3


def test_a_band_colour_set_by_hand_is_measured_anew(badge, maker):
    first = measured(badge, maker)
    second = measured(badge, maker, band_colour="#102030")
    assert (second.pk != first.pk, second.band_colour) == (True, "#102030")
    assert measured(badge, maker).pk == second.pk


def test_a_large_picture_is_measured_behind_the_page(
    badge, maker, monkeypatch, django_capture_on_commit_callbacks
):
    started = []
    monkeypatch.setattr(behind, "start", lambda name, work, pk: started.append((work, pk)))
    monkeypatch.setattr(measuring, "QUICK_PIXELS", 10)
    with django_capture_on_commit_callbacks(execute=True):
        begun = measured(badge, maker)
    assert begun.state == "running"
    ((work, pk),) = started
    work(pk)
    work(pk)  # run twice, it does nothing more
    begun.refresh_from_db()
    assert begun.state == "done"


def test_a_measuring_that_died_is_begun_anew(badge, maker):
    found = measured(badge, maker)
    Measuring.objects.update(state="running", found=None)
    assert (
        measuring.measure_artwork(
            artwork=badge, person=maker, moment=EVENING + timedelta(minutes=4)
        ).state
        == "done"
    )
    assert not Measuring.objects.filter(pk=found.pk).exists()


def test_a_measuring_that_takes_too_long_is_ended_with_a_sentence(badge, maker, monkeypatch):
    monkeypatch.setattr(measuring, "LONGEST_SECONDS", 0)
    found = measured(badge, maker)
    assert (found.state, found.found) == ("failed", None)
    assert found.problem.startswith("Measuring this picture took too long and was ended")
    assert found.problem == measuring._TOO_LONG, "it fits its column"


def test_a_measuring_ends_before_it_counts_as_dead():
    assert timedelta(seconds=1.5 * measuring.LONGEST_SECONDS) < measurings.LONGEST


def test_a_measuring_notes_how_far_it_is(badge, maker, monkeypatch):
    monkeypatch.setattr(measuring, "NOTED_EVERY", 0)
    found = measured(badge, maker)
    assert (found.state, 90 <= found.percent_done < 100) == ("done", True)


def test_widening_makes_a_version_that_reaches_the_width(badge, maker):
    made = reworking.widen(
        measuring=measured(badge, maker), by_mm=0.5, moment=EVENING, move_decals=False
    )
    assert (made.version, made.came_from, made.change) == (2, badge, "band widened by 0.5 mm")
    assert float(made.width_mm) == pytest.approx(16, abs=0.1)
    assert measured(made, maker).found["band"]["min_mm"] == pytest.approx(1.5, abs=0.03)
    badge.refresh_from_db()
    assert (badge.version, float(badge.width_mm)) == (1, 15)


def test_versions_follow_the_drawing_and_not_its_name(badge, maker):
    namesake = make_artwork(name=badge.name)
    wider = reworking.widen(
        measuring=measured(badge, maker), by_mm=0.5, moment=EVENING, move_decals=False
    )
    wider.name = "Badge, wide"
    wider.save()
    again = reworking.recolour(
        measuring=measured(wider, maker), colour="#1d2f57", moment=EVENING, move_decals=False
    )
    assert again.version == 3
    for one in (badge, wider, again):
        assert reworking.versions_of(one) == [again, wider, badge]
    assert reworking.versions_of(namesake) == [namesake]


def test_recolouring_makes_a_version_in_the_body_s_colour(badge, maker):
    made = reworking.recolour(
        measuring=measured(badge, maker), colour="#1d2f57", moment=EVENING, move_decals=False
    )
    with made.picture.open("rb") as opened:
        pixels = Image.open(opened).convert("RGBA")
        assert pixels.getpixel((pixels.width // 2, 8))[:3] == (0x1D, 0x2F, 0x57)
        assert pixels.getpixel((pixels.width // 2, pixels.height // 2))[:3] == (0xF0, 0xE8, 0xD0)


def test_decals_on_a_sheet_keep_the_version_they_were_laid_out_with(badge, maker):
    (planned,) = make_decals(1, artwork=badge, place="Bow")
    (printed,) = make_decals(1, Build.CLEAR_ALONE, artwork=badge, place="Stern")
    sealed_sheet("clear", [printed], maker)
    made = reworking.widen(
        measuring=measured(badge, maker), by_mm=0.5, moment=EVENING, move_decals=True
    )
    planned.refresh_from_db()
    printed.refresh_from_db()
    assert (planned.artwork, printed.artwork) == (made, badge)


@pytest.mark.parametrize("by_mm", [0.0, 50.0])
def test_it_refuses_a_widening_out_of_range(badge, maker, by_mm):
    with pytest.raises(Refused, match="widened by"):
        reworking.widen(
            measuring=measured(badge, maker), by_mm=by_mm, moment=EVENING, move_decals=False
        )
    assert Artwork.objects.count() == 1
