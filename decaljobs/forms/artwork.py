"""Artwork as the maker brings it: a picture, a name and a print width."""

from django import forms

from decaljobs.forms.pictures import PictureField
from decaljobs.forms.print_width import ScaledWidthForm


class ArtworkForm(ScaledWidthForm):
    """A new piece of artwork."""

    name = forms.CharField(label="Name", max_length=120)
    picture = PictureField(
        label="Picture",
        help_text="PNG, JPEG or WEBP up to 40 megapixels, or SVG; width means the visible art",
    )
    field_order = ["name", "picture", "width_mm", "prototype_mm", "scale"]


class ArtworkChangeForm(ScaledWidthForm):
    """Another name or print size for artwork that is there."""

    name = forms.CharField(label="Name", max_length=120)
    field_order = ["name", "width_mm", "prototype_mm", "scale"]
