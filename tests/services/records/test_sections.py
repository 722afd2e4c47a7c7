"""The records in sections: charts and tables tell the same, and too few is said."""

from datetime import UTC, datetime, timedelta

import pytest
from scipy.stats import beta

from decaljobs.craft.stages import Layer, Stage
from decaljobs.models import Piece, StageEvent
from decaljobs.services.bench.spoiling import spoil_layer, spoil_piece
from decaljobs.services.bench.steps import log_step
from decaljobs.services.film.lost_sheets import lose_sheet
from decaljobs.services.records import sections
from decaljobs.services.records.mishaps import mishaps
from decaljobs.services.records.realwaits import newest_waits, waits_of
from tests.factories import EVENING, make_project, sealed_decal, sealed_sheet

pytestmark = pytest.mark.django_db


def lay(decal, maker, stage=Stage.BASE_APPLIED, at=EVENING, **more):
    log_step(decals=[decal.pk], step=stage, by=maker, moment=at, **more)


def step_rows():
    return {row.words: (row.rate.good, row.rate.spoiled) for row in mishaps(moment=EVENING).steps}


def test_each_mishap_is_counted_at_its_step(maker):
    decal = sealed_decal(maker)
    scratched = decal.pieces.get(layer="base", copy=2)
    spoil_piece(piece=scratched.pk, by=maker, moment=EVENING, cause="scratched")
    bled = decal.pieces.get(layer="clear", copy=2)
    spoil_piece(piece=bled.pk, by=maker, moment=EVENING, cause="bled")
    lay(decal, maker)
    lay(decal, maker, Stage.CLEAR_APPLIED, EVENING + timedelta(hours=30))
    later = EVENING + timedelta(hours=31)
    spoil_layer(decal=decal.pk, layer=Layer.CLEAR, by=maker, moment=later, cause="torn")
    assert step_rows() == {
        "printing and sealing": (3, 1),
        "cutting and storing": (2, 1),
        "laying the base": (1, 0),
        "laying the clear layer": (0, 1),
    }


def test_a_sheet_lost_as_a_whole_says_nothing_of_the_hand(maker):
    decal = sealed_decal(maker)
    lose_sheet(sheet=Piece.objects.filter(decal=decal)[0].sheet_id, by=maker, moment=EVENING)
    assert StageEvent.objects.filter(kind="piece_spoiled").exists()
    found = mishaps(moment=EVENING)
    assert step_rows() == {
        "printing and sealing": (2, 0),  # the other film's, which lie there
        "cutting and storing": (0, 0),
        "laying the base": (0, 0),
        "laying the clear layer": (0, 0),
    }
    assert not found.causes and not found.people and not found.trend


def test_the_trend_goes_by_the_workshops_quarters_and_no_further_than_two_years(
    maker, django_assert_num_queries
):
    """By hand: 1 October 2026 00:30 in London is 30 September 23:30 UTC, in the fourth quarter."""
    decal = sealed_decal(maker, moment=EVENING - timedelta(days=900))
    lay(decal, maker)
    event = StageEvent.objects.get(kind="step", to_stage="base_applied")
    for at, words in (
        (datetime(2026, 9, 30, 23, 30, tzinfo=UTC), "2026, quarter 4"),
        (datetime(2026, 9, 30, 22, 30, tzinfo=UTC), "2026, quarter 3"),
        (datetime(2026, 1, 1, tzinfo=UTC), "2026, quarter 1"),
        (datetime(2024, 10, 1, tzinfo=UTC), "2024, quarter 4"),
    ):
        StageEvent.objects.filter(pk=event.pk).update(at=at)
        with django_assert_num_queries(3):
            (row,) = mishaps(moment=EVENING).trend
        assert (row.words, row.rate.good) == (words, 1)
    StageEvent.objects.filter(pk=event.pk).update(at=datetime(2024, 9, 30, tzinfo=UTC))
    assert not mishaps(moment=EVENING).trend


def test_rates_stand_in_the_table_and_the_chart_as_scipy_has_them(maker):
    """Source: scipy.stats.beta, equal tails of Beta(1 + good, 1 + spoiled)."""
    project = make_project()
    for number in range(6):
        decal = sealed_decal(maker, project=project, place=f"Side {number}")
        lay(decal, maker)
    spoil_layer(decal=decal.pk, layer=Layer.BASE, by=maker, moment=EVENING, cause="slipped")
    layers, *_ = sections.rate_sections(mishaps(moment=EVENING))
    low, high = beta.interval(0.9, 6, 2)
    shown = f"{100 * low:.0f} to {100 * high:.0f} %"
    assert layers.rows == (
        ("Base layer", "5", "1", "83 %", shown),
        ("Clear layer", "0", "0", "too few yet (0)", ""),
    )
    bars = [area for area in layers.chart.areas if area.look == "range"]
    assert len(bars) == 1, "what has too few has no bar"
    assert bars[0].width == pytest.approx((high - low) * 316, abs=0.01)
    assert "too few yet (0)" in layers.chart.sentence


def test_nothing_yet_is_said():
    found = {section.name: section for section in sections.all_sections(moment=EVENING)}
    assert found.pop("minutes").rows, "what is usual is known before anything is logged"
    assert set(found) == {
        "layers",
        "steps",
        "sizes",
        "people",
        "quarters",
        "causes",
        "waits",
        "film",
    }
    for section in found.values():
        assert not section.rows and section.chart is None and section.empty, section.name


def test_waits_are_told_as_they_were_beside_what_drying_took(maker):
    decal = sealed_decal(maker)
    lay(decal, maker)
    lay(decal, maker, Stage.CLEAR_APPLIED, EVENING + timedelta(hours=30))
    waits = {wait.kind.value: wait for wait in waits_of(decal.project)}
    base = waits["base_cured"]
    assert base.lay == 30 and not base.early
    dried = StageEvent.objects.get(decal=decal, to_stage="cured")
    assert base.asked == (dried.at - EVENING) / timedelta(hours=1) < 30
    first = waits["printed_inkjet"]
    assert first.thing.startswith("Sheet") and first.lay == 13 and first.asked < 13
    assert waits["last_coat_inkjet_water"].lay == 60 - 14
    assert sorted(map(str, newest_waits())) == sorted(map(str, waits_of(decal.project)))


def test_a_step_before_its_time_and_a_finger_are_told(maker):
    decal = sealed_decal(maker)
    lay(decal, maker)
    lay(decal, maker, Stage.CLEAR_APPLIED, EVENING + timedelta(hours=3), reason="show tomorrow")
    waits = [wait for wait in waits_of(decal.project) if wait.kind.value == "base_cured"]
    assert waits[0].early and waits[0].lay == 3 and waits[0].asked > 3


def test_film_is_told_by_kind_and_adds_up(maker):
    sealed_sheet("white", [sealed_decal(maker)], maker)
    section = sections.film_section(sections.all_film())
    assert [row[:2] for row in section.rows] == [
        ("Clear film, inkjet", "1"),
        ("White film, inkjet", "2"),
    ]
    for row in section.rows:
        *parts, whole = (float(cell.removesuffix(" cm²")) for cell in row[2:])
        assert sum(parts) == pytest.approx(whole, abs=0.2)
        assert whole == pytest.approx(float(row[1]) * 21 * 29.7, abs=0.1)
