"""Colour trials on the screen, as a maker goes through one."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image
from pypdfium2 import PdfDocument

from decaljobs.craft.trialrecords import PrintSettings
from decaljobs.models import Recipe, Trial
from decaljobs.services import trials
from tests.factories import EVENING, make_artwork, picture_bytes

SETTINGS = {"printer": "desk printer", "material": "paper", "quality": "", "colour_settings": ""}
PICK = {"best": "7", "second": "12", "third": "31"}


@pytest.fixture
def trial(maker):
    return trials.begin_trial(
        paint="Harbour blue",
        start="#1f3a6e",
        settings=PrintSettings("desk printer"),
        by=maker,
        moment=EVENING,
    )


def test_a_whole_trial_by_eye(signed_in):
    data = {**SETTINGS, "paint": "Harbour blue", "start": "#1f3a6e"}
    home = signed_in.post("/trials/new/", data)["Location"]
    assert "Print round 1" in signed_in.get(home).content.decode()
    for number in (1, 2, 3):
        signed_in.post(f"{home}rounds/{number}/pick/", {**PICK, "third": "20", "off": ["lighter"]})
        signed_in.post(f"{home}next/", {**SETTINGS, "material": "film"})
    signed_in.post(f"{home}rounds/4/pick/", {**PICK, "third": "20"})
    page = signed_in.post(f"{home}keep/", follow=True).content.decode()
    recipe = Recipe.objects.get()
    assert f"<strong>{recipe.colour}</strong>" in page
    assert (recipe.trial.rounds.count(), recipe.material) == (4, "film")


@pytest.mark.parametrize(
    ("field", "value"),
    [("start", "blue"), ("start", ""), ("paint", ""), ("printer", ""), ("material", "wood")],
)
def test_it_rejects_a_wrong_value_beside_its_field(signed_in, field, value):
    data = {**SETTINGS, "paint": "Blue", "start": "#1f3a6e", field: value}
    answer = signed_in.post("/trials/new/", data)
    assert list(answer.context["form"].errors) == [field]
    assert not Trial.objects.exists()


@pytest.mark.parametrize(
    "wrong", [{"best": "0"}, {"best": "NaN"}, {"best": ""}, {"off": ["shiny"]}]
)
def test_it_rejects_a_pick_beside_its_field(signed_in, trial, wrong):
    answer = signed_in.post(f"/trials/{trial.pk}/rounds/1/pick/", {**PICK, **wrong})
    assert list(answer.context["eye_form"].errors) == list(wrong)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"second": "7"}, "three different"),
        ({"best": "99"}, "patches 1 to 40"),
        ({"off": ["lighter", "darker"]}, "lighter"),
    ],
)
def test_it_says_what_is_wrong_with_the_picks(signed_in, trial, wrong, said):
    answer = signed_in.post(f"/trials/{trial.pk}/rounds/1/pick/", {**PICK, **wrong})
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not trial.rounds.get().is_answered


def photo_of_nothing() -> bytes:
    kept = io.BytesIO()
    Image.new("RGB", (1200, 900), "#808080").save(kept, "JPEG")
    return kept.getvalue()


@pytest.mark.parametrize(
    "data",
    [photo_of_nothing(), picture_bytes(), b"hello", b"\x00\x00\x00\x18ftypheic" + b"0" * 40],
    ids=["grey", "too small", "text", "heic"],
)
def test_it_refuses_a_photo_that_gives_no_answer(signed_in, trial, data):
    file = SimpleUploadedFile("photo.jpg", data, content_type="image/jpeg")
    answer = signed_in.post(f"/trials/{trial.pk}/rounds/1/photo/", {"photo": file})
    assert answer.status_code == 422
    assert answer.context["photo_form"].errors["photo"]
    assert not trial.rounds.get().is_answered


def test_it_shows_what_was_found_on_a_refused_photo(signed_in, trial):
    address = f"/trials/{trial.pk}/rounds/1/refused.jpg"
    assert signed_in.get(address).status_code == 404
    file = SimpleUploadedFile("photo.jpg", photo_of_nothing(), content_type="image/jpeg")
    signed_in.post(f"/trials/{trial.pk}/rounds/1/photo/", {"photo": file})
    answer = signed_in.get(address)
    assert b"".join(answer.streaming_content)[:2] == b"\xff\xd8"


def test_it_prints_the_round_on_a4_or_letter(signed_in, trial):
    # ISO 216 and ASME Y14.1, in points of 1/72 in.
    address = f"/trials/{trial.pk}/rounds/1/sheet.pdf"
    for paper, size in (("", (595, 842)), ("Letter", (612, 792))):
        page = PdfDocument(signed_in.get(address, {"paper_size": paper}).content)[0]
        assert tuple(round(side) for side in page.get_size()) == size


def test_a_recipe_is_put_on_a_band_with_one_button(signed_in, trial, maker):
    artwork = make_artwork()
    signed_in.post(f"/artwork/{artwork.pk}/measure/")
    Recipe.objects.create(
        trial=trial, colour="#204060", printer="desk printer", material="film", expected=1.0,
        kept_at=EVENING, by=maker,
    )  # fmt: skip
    page = signed_in.get(f"/artwork/{artwork.pk}/measured/").content.decode()
    assert 'value="#204060"' in page
    assert "Harbour blue" in page


@pytest.mark.parametrize("number", [1, 30])
def test_it_lists_trials_with_the_same_queries_for_any_number(
    signed_in, maker, django_assert_num_queries, number
):
    for place in range(number):
        trials.begin_trial(
            paint=f"Paint {place}",
            start="#1f3a6e",
            settings=PrintSettings("desk printer"),
            by=maker,
            moment=EVENING,
        )
    with django_assert_num_queries(4):
        answer = signed_in.get("/trials/")
    assert f"Paint {number - 1}" in answer.content.decode()


def test_it_requires_a_maker_to_answer(client, onlooker, trial):
    client.force_login(onlooker)
    assert client.get(f"/trials/{trial.pk}/").status_code == 200
    assert client.post(f"/trials/{trial.pk}/rounds/1/pick/", PICK).status_code == 403
    assert client.post("/trials/new/", {}).status_code == 403
    assert client.post(f"/trials/{trial.pk}/keep/").status_code == 403


@pytest.mark.parametrize("name", ["sheet.pdf", "refused.jpg"])
@pytest.mark.parametrize("number", ["2", "9" * 30])
@pytest.mark.parametrize("pk", ["0", "9" * 30])
def test_it_knows_no_round_of_a_trial_that_is_not_there(signed_in, trial, pk, number, name):
    for which in (pk, trial.pk):
        assert signed_in.get(f"/trials/{which}/rounds/{number}/{name}").status_code == 404
