"""The print width of art, typed as it is on the model or on the prototype."""

from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from decaljobs.models import Artwork
from tests.factories import make_artwork, make_project, picture_bytes


def upload() -> SimpleUploadedFile:
    return SimpleUploadedFile("art.png", picture_bytes("PNG"), content_type="image/png")


def art(client, **fields):
    start = {"name": "Roundel", "picture": upload()}
    return client.post(reverse("artwork-new"), {**start, **fields})


def test_it_works_out_a_decal_at_the_scale_of_its_project(signed_in):
    """1829 mm (6 ft) at 4 mm to the foot is 24 mm: 6 × 4, by the scale's own meaning."""
    project = make_project(scale_ratio=Decimal("76.2"))
    data = {"place": "Side", "build": "laminated", "count": 1, "picture": upload()}
    signed_in.post(reverse("decals-new", args=[project.code]), {**data, "prototype_mm": "1828.8"})
    assert Artwork.objects.get().width_mm == 24


@pytest.mark.parametrize("scale", ["1:72", "1/72"])
def test_it_works_out_artwork_at_the_scale_that_is_typed(signed_in, scale):
    art(signed_in, prototype_mm="1800", scale=scale)
    assert Artwork.objects.get().width_mm == 25


def test_it_works_out_a_new_width_of_artwork_that_is_there(signed_in):
    artwork = make_artwork()
    url = reverse("artwork-change", args=[artwork.pk])
    signed_in.post(url, {"name": "Badge", "prototype_mm": "900", "scale": "1:72"})
    artwork.refresh_from_db()
    assert artwork.width_mm == Decimal("12.50")


@pytest.mark.parametrize(
    ("fields", "beside"),
    [
        ({}, "width_mm"),
        ({"prototype_mm": "1800"}, "scale"),
        ({"prototype_mm": "1800", "scale": "O"}, "scale"),
        ({"prototype_mm": "1800", "scale": "1:72", "width_mm": "25"}, "prototype_mm"),
        ({"prototype_mm": "10", "scale": "1:72"}, "prototype_mm"),
        ({"prototype_mm": "-1", "scale": "1:72"}, "prototype_mm"),
        ({"prototype_mm": "NaN", "scale": "1:72"}, "prototype_mm"),
    ],
)
def test_it_says_beside_the_field_what_is_wrong(signed_in, fields, beside):
    answer = art(signed_in, **fields)
    assert list(answer.context["form"].errors) == [beside]
    assert not Artwork.objects.exists()
