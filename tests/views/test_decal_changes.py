"""A decal's page: what it is is changed, and a decal is removed."""

import pytest

from decaljobs.craft.stages import Build
from decaljobs.models import Decal
from tests.factories import (
    make_artwork,
    make_decal,
)
from tests.views.decalpages import address, page_of

pytestmark = pytest.mark.usefixtures("in_the_evening")


def test_it_is_changed(signed_in):
    decal, other = make_decal(), make_artwork(name="Shield")
    data = {"place": "Tail", "artwork": other.pk, "build": "clear_alone", "note": "small"}
    data["upright"] = "on"
    response = signed_in.post(address(decal, "decal-change"), data)
    assert response["Location"] == address(decal)
    decal.refresh_from_db()
    assert (decal.place, decal.artwork, decal.note) == ("Tail", other, "small")
    assert decal.build == Build.CLEAR_ALONE
    assert decal.upright


def test_its_art_and_build_stay_once_pieces_lie_on_a_sheet(signed_in, sealed):
    other = make_artwork(name="Shield")
    data = {"place": "Tail", "artwork": other.pk, "build": "clear_alone"}
    assert "stays: pieces" in signed_in.get(address(sealed, "decal-change")).content.decode()
    signed_in.post(address(sealed, "decal-change"), data)
    sealed.refresh_from_db()
    assert sealed.place == "Tail"
    assert sealed.build == Build.LAMINATED
    assert sealed.artwork != other


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"place": ""}, "required"),
        ({"place": "x" * 121}, "120"),
        ({"place": "Right side"}, "for this place already"),
        ({"artwork": "x"}, "valid choice"),
        ({"artwork": "9" * 30}, "valid choice"),
        ({"build": "paper"}, "valid choice"),
        ({"note": "x" * 201}, "200"),
    ],
)
def test_it_rejects_wrong_changes_beside_their_field(signed_in, change, said):
    decal = make_decal(place="Left side")
    make_decal(place="Right side", project=decal.project)
    start = {"place": "Left side", "artwork": decal.artwork_id, "build": "laminated", "note": ""}
    page = signed_in.post(address(decal, "decal-change"), {**start, **change}).content.decode()
    (name,) = change
    assert said in page.split(f'id="id_{name}_error"')[1].split("</ul>")[0]


@pytest.mark.parametrize("place", ["مقدمة <script>", "🚋 dash", "{{ 7 }}"])
def test_any_writing_can_name_a_place_and_is_shown_as_typed(signed_in, place):
    decal = make_decal(place=place)
    page = page_of(signed_in, decal)
    assert place.replace("<", "&lt;").replace(">", "&gt;") in page
    assert "<script>" not in page


def test_it_is_removed_while_nothing_is_logged(signed_in):
    decal = make_decal()
    assert "Remove it" in page_of(signed_in, decal)
    response = signed_in.post(address(decal, "decal-drop"))
    assert response["Location"] == decal.project.get_absolute_url()
    assert not Decal.objects.filter(pk=decal.pk).exists()


def test_it_rejects_removing_what_has_a_log(signed_in, sealed):
    assert "Remove it" not in page_of(signed_in, sealed)
    signed_in.post(address(sealed, "decal-drop"))
    assert "cannot be removed" in page_of(signed_in, sealed)
    assert Decal.objects.filter(pk=sealed.pk).exists()
