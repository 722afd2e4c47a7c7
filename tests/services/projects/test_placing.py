"""Panels and places, as they are kept and told of."""

from decimal import Decimal

import pytest

from decaljobs.models import Decal, Panel, Placing
from decaljobs.services.projects import placing
from decaljobs.services.projects.jobcard import job_card
from decaljobs.services.refused import Refused
from tests.factories import EVENING, make_decal, make_decals, make_project

pytestmark = pytest.mark.django_db


def make_panel(project=None, name="Left side", width=120, height=30):
    return placing.add_panel(
        project=project or make_project(),
        name=name,
        width_mm=Decimal(width),
        height_mm=Decimal(height),
    )


def put(decal, panel, x, y, turn=0):
    return placing.place_decal(
        decal=decal, panel=panel, x_mm=Decimal(x), y_mm=Decimal(y), turn=Decimal(turn)
    )


def test_a_decal_is_placed_once_and_moved():
    decal = make_decal()
    side, lid = make_panel(decal.project), make_panel(decal.project, "Lid")
    put(decal, side, 30, 15, 370)
    put(decal, lid, 40, 15, -90)
    kept = Placing.objects.get()
    assert (kept.panel, kept.x_mm, kept.turn) == (lid, 40, 270)


def test_it_says_what_is_wrong_on_a_panel():
    one, other = make_decals(2)  # 24 by 12 mm each
    panel = make_panel(one.project)
    put(one, panel, 10, 15)
    put(other, panel, 30, 15)
    (shown,) = placing.panels_of(one.project)
    assert shown.warnings == (
        f"{one.words} hangs over the left edge by 2.0\u00a0mm.",
        f"{one.words} and {other.words} overlap by 4.0\u00a0mm.",
    )
    assert [round(lies.free.right, 6) for lies in shown.decals] == [98, 78]


def test_another_project_s_decal_is_refused():
    with pytest.raises(Refused, match="another project"):
        put(make_decal(), make_panel(), 10, 10)
    assert not Placing.objects.exists()


def test_a_name_is_given_once_a_project():
    panel = make_panel()
    with pytest.raises(Refused, match="There is a panel ‘Left side’ already"):
        make_panel(panel.project)
    lid = make_panel(panel.project, "Lid")
    with pytest.raises(Refused, match="already"):
        placing.change_panel(panel=lid, name="Left side", width_mm=Decimal(9), height_mm=Decimal(9))
    assert Panel.objects.filter(name="Lid").exists()


def test_a_panel_that_is_removed_leaves_its_decals():
    decal = make_decal()
    panel = make_panel(decal.project)
    put(decal, panel, 10, 10)
    placing.drop_panel(panel=panel)
    assert list(Decal.objects.filter(placing=None)) == [decal]
    with pytest.raises(Refused, match="lies on no panel"):
        placing.take_off(decal=decal)


def test_there_is_an_end_to_panels(monkeypatch):
    monkeypatch.setattr(placing, "MOST_PANELS", 1)
    panel = make_panel()
    with pytest.raises(Refused, match="at most 1 panels"):
        make_panel(panel.project, "Lid")


def test_the_job_card_gets_the_panels_with_the_true_size_of_the_art():
    decal = make_decal()
    put(decal, make_panel(decal.project, width=100.5, height=20), 50, 10, 15)
    (panel,) = job_card(project=decal.project, address="http://x/", moment=EVENING).panels
    assert (panel.name, panel.panel.width_mm) == ("Left side", 100.5)
    (placed,) = panel.decals
    assert (placed.width_mm, placed.height_mm, placed.turn) == (24, 12, 15)


@pytest.mark.parametrize("number", [1, 30])
def test_panels_are_read_with_the_same_queries_for_any_number(django_assert_num_queries, number):
    decals = make_decals(number)
    for count, decal in enumerate(decals):
        put(decal, make_panel(decal.project, f"Panel {count}"), 10, 10)
    with django_assert_num_queries(2):
        assert len(placing.panels_of(decals[0].project)) == number
