"""Pictures, checked before anything is kept."""

from django import forms
from django.core.files.uploadedfile import UploadedFile
from PIL.Image import Image

from decaljobs.craft.art.svgfile import looks_like_svg
from decaljobs.craft.pictures import NOT_ARTWORK, NotAPicture, PictureError, read_picture

LARGEST_FILE = 24 * 1024 * 1024
PHOTO_ENDINGS = (".png", ".jpg", ".jpeg", ".webp")


class PictureField(forms.FileField):
    """A PNG, JPEG or WEBP file that becomes a plain sRGB picture; an SVG drawing stays bytes."""

    widget = forms.FileInput(attrs={"accept": "image/png,image/jpeg,image/webp,image/svg+xml"})

    def clean(self, data: UploadedFile | None, initial: object = None) -> Image | bytes | None:
        if data is not None and getattr(data, "size", None) == 0:
            raise forms.ValidationError("This file is empty.")
        upload = super().clean(data, initial)
        if not upload:
            return None
        if upload.size > LARGEST_FILE:
            raise forms.ValidationError("This file is over 24 MB: save it smaller.")
        content = upload.read()
        if looks_like_svg(content):
            return _under_its_own_name(upload.name, content)
        try:
            return read_picture(content)
        except NotAPicture as error:
            raise forms.ValidationError(NOT_ARTWORK) from error
        except PictureError as error:
            raise forms.ValidationError(str(error)) from error


def _under_its_own_name(name: str, drawing: bytes) -> bytes:
    """A drawing as it is; one that goes by a photo's name may not be what its maker thinks."""
    if name.lower().endswith(PHOTO_ENDINGS):
        raise forms.ValidationError("This is an SVG drawing: let its name end in .svg.")
    return drawing
