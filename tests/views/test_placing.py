"""The placing page: panels added in any measure, decals put on, moved, warned of, taken off."""

from decimal import Decimal

import pytest
from django.urls import reverse

from decaljobs.craft.ways import NO_BREAK
from decaljobs.models import Panel, Placing
from tests.factories import make_decal, make_decals, make_project
from tests.services.projects.test_placing import make_panel, put

pytestmark = pytest.mark.django_db


def page_of(project):
    return reverse("project-placing", args=[project.code])


def add(client, project, **fields):
    start = {"name": "Left side", "measured": "model", "width_mm": "120", "height_mm": "30"}
    return client.post(page_of(project), start | fields)


@pytest.mark.parametrize(
    ("fields", "size"),
    [
        ({}, (120, 30)),
        # A body of 8.64 m by 2.88 m at 1:72, and the same in millimetres and feet.
        ({"measured": "m", "width_mm": "8.64", "height_mm": "2.88"}, (120, 40)),
        ({"measured": "mm", "width_mm": "8640", "height_mm": "2880"}, (120, 40)),
        # 30 ft at 4 mm to the foot.
        ({"measured": "ft", "width_mm": "30", "height_mm": "8", "scale": "4 mm/ft"}, (120, 32)),
        ({"measured": "m", "width_mm": "3.6", "height_mm": "1.8", "scale": ""}, (50, 25)),
    ],
)
def test_a_panel_is_measured_on_the_model_or_on_the_original(signed_in, fields, size):
    project = make_project()
    answer = add(signed_in, project, **fields)
    assert answer["Location"] == page_of(project)
    panel = Panel.objects.get()
    assert (panel.width_mm, panel.height_mm) == size


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"width_mm": "0"}, "That is 0.00 mm on the model: a panel has 1 to 2000 mm."),
        ({"width_mm": "2001"}, "a panel has 1 to 2000 mm."),
        ({"measured": "m", "width_mm": "0.02"}, "That is 0.28 mm on the model"),
        ({"height_mm": "NaN"}, "Enter a number."),
        ({"measured": "m", "scale": "tiny"}, "That is not a scale."),
        ({"measured": "cubits"}, "Select a valid choice."),
        ({"name": ""}, "This field is required."),
    ],
)
def test_a_panel_that_cannot_be_is_refused_beside_its_field(signed_in, fields, told):
    answer = add(signed_in, make_project(), **fields)
    assert answer.status_code == 422
    assert told in answer.content.decode().replace(NO_BREAK, " ")
    assert not Panel.objects.exists()


def test_a_second_panel_of_the_same_name_is_refused_beside_the_name(signed_in):
    panel = make_panel()
    answer = add(signed_in, panel.project)
    assert answer.status_code == 422
    assert "There is a panel ‘Left side’ already." in answer.content.decode()


def test_a_decal_is_put_on_moved_and_taken_off(signed_in):
    decal = make_decal(place="Tail")
    panel = make_panel(decal.project)
    path = reverse("panel-place", args=[panel.pk])
    signed_in.post(path, {"decal": decal.pk, "x_mm": "60", "y_mm": "15", "turn": ""})
    page = signed_in.get(page_of(decal.project)).content.decode()
    # Drawn from the upper left corner downwards, its art 24 by 12 mm round its centre.
    assert 'transform="translate(60 15) rotate(0)"' in page
    assert 'x="-12" y="-6" width="24" height="12"' in page
    assert "48.0\xa0mm from the left edge" in page
    signed_in.post(path, {"decal": decal.pk, "x_mm": "20.5", "y_mm": "10", "turn": "-30"})
    kept = Placing.objects.get()
    assert (kept.x_mm, kept.turn) == (Decimal("20.5"), 330)
    assert "translate(20.5 20) rotate(30)" in signed_in.get(page_of(decal.project)).text
    answer = signed_in.post(reverse("decal-take-off", args=[decal.pk]), follow=True)
    assert "Tail is taken off its panel." in answer.content.decode()
    assert not Placing.objects.exists()


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"x_mm": "left"}, "Enter a number."),
        ({"y_mm": "5000"}, "It must be -4000 to 4000\u00a0mm."),
        ({"turn": "400"}, "less than or equal to 360"),
        ({"decal": "0"}, "Select a valid choice."),
    ],
)
def test_a_place_that_cannot_be_is_refused_and_what_was_typed_stays(signed_in, fields, told):
    decal = make_decal()
    panel = make_panel(decal.project)
    put(decal, panel, 20, 15)
    data = {"decal": decal.pk, "x_mm": "33", "y_mm": "14", "turn": "0"} | fields
    answer = signed_in.post(reverse("panel-place", args=[panel.pk]), data)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert told in page
    assert f'value="{data["x_mm"]}"' in page
    assert Placing.objects.get().x_mm == 20


def test_another_project_s_decal_is_no_choice(signed_in):
    panel = make_panel()
    data = {"decal": make_decal().pk, "x_mm": "5", "y_mm": "5"}
    assert signed_in.post(reverse("panel-place", args=[panel.pk]), data).status_code == 422
    assert not Placing.objects.exists()


def test_a_script_gets_the_page_s_part_alone(signed_in):
    decal = make_decal()
    panel = make_panel(decal.project)
    answer = signed_in.post(
        reverse("panel-place", args=[panel.pk]),
        {"decal": decal.pk, "x_mm": "5", "y_mm": "15"},
        headers={"hx-request": "true"},
    )
    page = answer.content.decode()
    assert "<!doctype" not in page
    assert f"{decal.words} is placed." in page
    assert "hangs over the left edge by 7.0\u00a0mm." in page


def test_the_project_s_page_shows_its_panels_with_links_to_the_decals(signed_in):
    one, other = make_decals(2)
    panel = make_panel(one.project)
    put(one, panel, 60, 15)
    put(other, panel, 64, 15)
    page = signed_in.get(one.project.get_absolute_url()).content.decode()
    assert "Left side to scale, 2 decals on it" in page
    assert f'<a href="{one.get_absolute_url()}" aria-label="{one.words}">' in page
    assert f"{one.words} and {other.words} overlap" in page


def test_a_panel_is_changed_and_removed(signed_in):
    panel = make_panel()
    path = reverse("panel-change", args=[panel.pk])
    assert 'value="120"' in signed_in.get(path).content.decode()
    fields = {"name": "Port side", "measured": "model", "width_mm": "90", "height_mm": "30"}
    assert signed_in.post(path, fields)["Location"] == page_of(panel.project)
    panel.refresh_from_db()
    assert (panel.name, panel.width_mm) == ("Port side", 90)
    make_panel(panel.project, "Lid")
    assert "already" in signed_in.post(path, fields | {"name": "Lid"}).content.decode()
    signed_in.post(reverse("panel-drop", args=[panel.pk]))
    assert [left.name for left in Panel.objects.all()] == ["Lid"]


def test_an_onlooker_looks_and_changes_nothing(client, onlooker):
    decal = make_decal()
    panel = make_panel(decal.project)
    put(decal, panel, 20, 15)
    client.force_login(onlooker)
    page = client.get(page_of(decal.project)).content.decode()
    assert "Left side" in page
    assert "<form" not in page.split('id="placing"')[1]
    for path in (
        page_of(decal.project),
        reverse("panel-place", args=[panel.pk]),
        reverse("panel-change", args=[panel.pk]),
        reverse("panel-drop", args=[panel.pk]),
        reverse("decal-take-off", args=[decal.pk]),
    ):
        assert client.post(path).status_code == 403
    assert Placing.objects.exists()


def test_without_a_panel_it_says_what_panels_are_for(signed_in):
    page = signed_in.get(page_of(make_project())).content.decode()
    assert "A panel is a flat part of the model" in page


def test_the_decal_s_page_says_where_it_sits(signed_in):
    decal = make_decal()
    put(decal, make_panel(decal.project), 20, 12.5, 15)
    page = " ".join(signed_in.get(decal.get_absolute_url()).content.decode().split())
    assert "Left side</a>, centre 20.0 mm from the left, 12.5 mm from below, turned 15°" in page


@pytest.mark.parametrize("number", [1, 30])
def test_the_page_asks_the_same_for_any_number_of_decals(
    signed_in, django_assert_num_queries, number
):
    decals = make_decals(number)
    panel = make_panel(decals[0].project)
    for decal in decals[::2]:
        put(decal, panel, 20, 15)
    with django_assert_num_queries(6):
        page = signed_in.get(page_of(panel.project)).content.decode()
    assert page.count('transform="translate(20 15) rotate(0)"') == len(decals[::2])
