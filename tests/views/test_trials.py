"""Colour trials on the screen, as a maker goes through one."""

import io
from dataclasses import replace

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image
from pypdfium2 import PdfDocument

from decaljobs.craft.colour import parse_hex
from decaljobs.craft.trial.records import PrintSettings
from decaljobs.models import Artwork, Measuring, Recipe, Trial
from decaljobs.services.trials import trials
from decaljobs.services.trials.rounds import sheet_for
from tests.craft.trialphotos import PAINT, photo_of, the_printer
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
    assert "Found: the recipe is kept." in page
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


def saved(image: Image.Image, **more: object) -> bytes:
    kept = io.BytesIO()
    image.save(kept, **more)
    return kept.getvalue()


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (saved(Image.new("RGB", (1200, 900)), format="JPEG"), "marks were found"),
        (saved(Image.new("1", (10000, 9000)), format="PNG"), "of 90 megapixels is too large"),
        (b"\x00\x00\x00\x18ftypheic" + b"0" * 400, "convert it to JPEG"),
    ],
    ids=["black", "90 megapixels", "heic"],
)
def test_it_says_why_a_photo_gives_no_answer(signed_in, trial, data, said):
    assert said in send(signed_in, trial, data).context["photo_form"].errors["photo"][0]
    assert not trial.rounds.get().is_answered


def test_it_says_whose_sheet_is_on_a_photo_of_another_round(signed_in, trial):
    sheet = sheet_for(trial.rounds.get())
    other = replace(sheet, code=replace(sheet.code, round=2))
    answer = send(signed_in, trial, photo_of(other))
    said = answer.context["photo_form"].errors["photo"][0]
    assert f"sheet of T{trial.pk} R2, not of T{trial.pk} R1" in said
    assert not trial.rounds.get().is_answered


# EXIF orientation (CIPA DC-008) and the turn by which a camera stores an upright photo.
@pytest.mark.parametrize(
    ("value", "stored"),
    [
        (1, None),
        (3, Image.Transpose.ROTATE_180),
        (6, Image.Transpose.ROTATE_90),
        (8, Image.Transpose.ROTATE_270),
    ],
)
def test_it_reads_a_photo_however_the_phone_was_held(signed_in, trial, value, stored):
    photo = Image.open(io.BytesIO(photo_of(sheet_for(trial.rounds.get()))))
    turned = photo if stored is None else photo.transpose(stored)
    exif = Image.Exif()
    exif[0x0112] = value
    send(signed_in, trial, saved(turned, format="JPEG", exif=exif, quality=95))
    assert_read(trial)


def test_it_marks_the_patches_that_a_photo_measured_nearest(signed_in, trial):
    kept = trial.rounds.get()
    differences = [[20.0, 0.0, 0.0]] * 40
    for number, off in ((31, 1.0), (7, 2.0), (12, 3.0), (5, 0.1)):
        differences[number - 1] = [off, 0.0, 0.0]
    kept.photo = {"differences": differences, "good": [True] * 40, "paint": [48, -8, 20]}
    kept.photo["good"][4] = False
    kept.answered_at, kept.expected = EVENING, 1.5
    kept.save()
    page = signed_in.get(f"/trials/{trial.pk}/").content.decode()
    assert "By photo, nearest 31, 7, 12" in page


def test_it_reads_a_sheet_photographed_upside_down(signed_in, trial):
    send(signed_in, trial, photo_of(sheet_for(trial.rounds.get()), turn=np.pi))
    assert_read(trial)


def test_it_says_that_the_profile_of_a_photo_is_broken(signed_in, trial):
    photo = Image.open(io.BytesIO(photo_of(sheet_for(trial.rounds.get()))))
    data = saved(photo, format="JPEG", icc_profile=b"nonsense" * 40, quality=95)
    send(signed_in, trial, data)
    assert_read(trial)
    page = signed_in.get(f"/trials/{trial.pk}/").content.decode()
    assert "colour profile is broken; sRGB was taken" in page


def send(client, trial, data: bytes):
    file = SimpleUploadedFile("photo.jpg", data, content_type="image/jpeg")
    return client.post(f"/trials/{trial.pk}/rounds/1/photo/", {"photo": file})


def assert_read(trial) -> None:
    """The kept differences are those that this made-up printer and paint have."""
    kept = trial.rounds.get()
    colours = np.array([parse_hex(colour) for colour in kept.colours], dtype=float)
    truth = the_printer().lab(colours) - PAINT
    good = np.array(kept.photo["good"])
    assert good.mean() > 0.9
    # Patches far from the paint carry the camera's crosstalk, so the middle one is compared.
    off = np.linalg.norm(np.array(kept.photo["differences"]) - truth, axis=1)[good]
    assert np.median(off) < 4


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
    signed_in.post(f"/artwork/{artwork.pk}/recolour/", {"colour": "#204060", "move_decals": "on"})
    made = Artwork.objects.get(version=2)
    signed_in.post(f"/artwork/{made.pk}/measure/")
    assert Measuring.objects.get(artwork=made).drawing["band_colour"] == "#204060"


def test_a_round_read_from_a_photo_may_be_judged_by_eye(signed_in, trial):
    send(signed_in, trial, photo_of(sheet_for(trial.rounds.get())))
    page = signed_in.get(f"/trials/{trial.pk}/").content.decode()
    assert "Judge round 1 by eye as well" in page
    signed_in.post(f"/trials/{trial.pk}/rounds/1/pick/", PICK)
    page = signed_in.get(f"/trials/{trial.pk}/").content.decode()
    assert "By eye, after a photo: 7, 12, 31" in page
    assert "Judge round 1 by eye as well" not in page


def test_a_strip_read_from_a_photo_is_judged_by_eye_before_all_else(signed_in, trial, maker):
    answered(trial, 1, maker)
    film = PrintSettings("desk printer", "film")
    trials.print_next(trial=trial.pk, settings=film, moment=EVENING)
    photo = photo_of(sheet_for(trial.rounds.get(number=2)))
    trials.answer_by_photo(trial=trial.pk, number=2, data=photo, by=maker, moment=EVENING)
    page = signed_in.get(f"/trials/{trial.pk}/").content.decode()
    assert "The eye has the last word" in page
    assert "Keep as the recipe" not in page
    assert page.count('<button class="main-action">') == 1
    kept = signed_in.post(f"/trials/{trial.pk}/keep/", follow=True).content.decode()
    assert "judge this strip by eye" in kept
    assert not Recipe.objects.exists()


def answered(trial, number: int, maker) -> None:
    trials.answer_by_eye(
        trial=trial.pk, number=number, picks=(1, 2, 3), off=(), by=maker, moment=EVENING
    )


def test_a_second_strip_is_offered_as_a_choice(signed_in, trial, maker):
    film = PrintSettings("desk printer", "film")
    answered(trial, 1, maker)
    for number, settings in enumerate((PrintSettings("desk printer"), film, film), start=2):
        trials.print_next(trial=trial.pk, settings=settings, moment=EVENING)
        verdict = signed_in.get(f"/trials/{trial.pk}/").context["verdict"]
        assert verdict.endswith("Print round 4, let it dry, then judge it by eye.") == (number == 4)
        answered(trial, number, maker)
        page = signed_in.get(f"/trials/{trial.pk}/").content.decode()
        assert ("Keep as the recipe" in page) == (settings == film)
        assert ("Your choice" in page) == (number == 3)
        assert ('<button class="main-action">Keep as the recipe' in page) == (number == 4)
    assert "Make one more strip" in page


def test_a_strip_that_is_no_match_yet_asks_for_another(signed_in, trial, maker):
    film = PrintSettings("desk printer", "film")
    answered(trial, 1, maker)
    trials.print_next(trial=trial.pk, settings=film, moment=EVENING)
    # As if the strip had been spread wide round an unsure colour.
    trial.rounds.filter(number=2).update(radius=12.0)
    answered(trial, 2, maker)
    answer = signed_in.get(f"/trials/{trial.pk}/")
    assert answer.context["standing"].expected > 2
    assert answer.context["next"].first
    assert "not under 2" in answer.content.decode()


@pytest.mark.parametrize(("largest", "heights"), [(3.0, [30, 90, 60]), (20.0, [0, 105, 90])])
def test_it_draws_the_expected_difference_of_each_round(signed_in, trial, maker, largest, heights):
    answered(trial, 1, maker)
    trials.print_next(trial=trial.pk, settings=PrintSettings("desk printer"), moment=EVENING)
    answered(trial, 2, maker)
    for number, expected in ((1, largest), (2, 1.0)):
        trial.rounds.filter(number=number).update(expected=expected)
    context = signed_in.get(f"/trials/{trial.pk}/").context
    # Of 120 units, down from ΔE 4 or 8 at the top; the last is where a good match, 2, is.
    assert [y for _, y, *_ in context["curve"]] + [context["good_at"]] == heights
    assert [(x, number) for x, _, number, _ in context["curve"]] == [(75, 1), (225, 2)]


def test_the_first_guess_is_taken_from_a_photo(signed_in):
    picture = Image.new("RGB", (1200, 900), "#808080")
    picture.paste("#3a6e1f", (450, 300, 750, 600))
    file = SimpleUploadedFile("paint.png", saved(picture, format="PNG"))
    data = {**SETTINGS, "paint": "Moss", "start": "#000000", "photo": file}
    signed_in.post("/trials/new/", data)
    assert Trial.objects.get().start == "#3a6e1f"


def test_a_photo_that_cannot_be_opened_is_said_beside_its_field(signed_in):
    file = SimpleUploadedFile("paint.jpg", b"hello")
    data = {**SETTINGS, "paint": "Moss", "start": "#000000", "photo": file}
    answer = signed_in.post("/trials/new/", data)
    assert list(answer.context["form"].errors) == ["photo"]
    assert not Trial.objects.exists()


def test_a_trial_starts_from_an_earlier_one_of_the_paint(signed_in, trial, maker):
    answered(trial, 1, maker)
    page = signed_in.get("/trials/new/").content.decode()
    assert f'href="/trials/new/?like={trial.pk}"' in page
    initial = signed_in.get("/trials/new/", {"like": trial.pk}).context["form"].initial
    best = signed_in.get(f"/trials/{trial.pk}/").context["best"]
    assert (initial["paint"], initial["start"]) == ("Harbour blue", best)
    assert initial["printer"] == "desk printer"


@pytest.mark.parametrize("like", ["0", "x", "9" * 30, "-1"])
def test_an_earlier_trial_that_is_not_there_is_passed_over(signed_in, like):
    answer = signed_in.get("/trials/new/", {"like": like})
    assert answer.status_code == 200
    assert answer.context["form"].initial == {}


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
