"""Artwork as the maker brings it: a picture, a name and a print width."""

from django import forms

from decaljobs.forms.pictures import PictureField, width_field


class ArtworkForm(forms.Form):
    """A new piece of artwork."""

    name = forms.CharField(label="Name", max_length=120)
    picture = PictureField(
        label="Picture",
        help_text="PNG, JPEG or WEBP up to 40 megapixels, or SVG; width means the visible art",
    )
    width_mm = width_field()


class ArtworkChangeForm(forms.Form):
    """Another name or print size for artwork that is there."""

    name = forms.CharField(label="Name", max_length=120)
    width_mm = width_field()
