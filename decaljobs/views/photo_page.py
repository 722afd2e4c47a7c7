"""The photos of a project or a decal, worked out beforehand for the pages that show them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.core.paginator import Page
from django.http import HttpRequest
from django.urls import reverse

from decaljobs.craft.stages import Build, Stage, route
from decaljobs.forms.photos import CompareForm, PhotosForm
from decaljobs.models import Decal, Photo, Project
from decaljobs.services.projects.photos import PhotoPair, before_and_after
from decaljobs.views.pages import page_of

#: Small photos shown on the page of a thing itself; its page of photos shows them all.
MOST_BESIDE = 12


@dataclass(frozen=True)
class PhotosShown:
    """A thing's photos as a page shows them: newest first, a pair, and a form for more."""

    address: str
    photos: Sequence[Photo] | Page
    count: int
    pair: PhotoPair | None
    form: PhotosForm
    by_decal: bool
    takes_more: bool = True


def photos_of_decal(decal: Decal, stage: Stage, *, form: PhotosForm | None = None) -> PhotosShown:
    """A decal's photos for its own page (one query)."""
    photos = list(decal.photos.filter(removed_at=None))
    return _shown(decal, photos, form or new_form(decal, stage))


def photos_of_project(project: Project, *, form: PhotosForm | None = None) -> PhotosShown:
    """A project's photos for its own page (one query)."""
    photos = list(project.photos.shown())
    return _shown(project, photos, form or new_form(project, None))


def new_form(thing: Project | Decal, stage: Stage | None) -> PhotosForm:
    """An empty form that names the stage a thing stands at."""
    return PhotosForm(
        initial={"stage": stage.value if stage else ""}, stages=stages_of(thing, stage)
    )


def stages_of(thing: Project | Decal, now: Stage | None) -> list[Stage]:
    """The stages that a photo of a thing can show: those of its way, and where it stands."""
    if not isinstance(thing, Decal):
        return list(Stage)
    way = route(Build(thing.build), overcoat=thing.project.overcoat)
    return [stage for stage in Stage if stage in way or stage == now]


def address_of(thing: Project | Decal) -> str:
    """Where the photos of a thing are shown and sent to."""
    if isinstance(thing, Decal):
        return reverse("decal-photos", args=[thing.pk])
    return reverse("project-photos", args=[thing.code])


def page_context(
    request: HttpRequest, thing: Project | Decal, form: PhotosForm
) -> dict[str, object]:
    """The page of all photos of a thing, with two of them side by side."""
    project = _project_of(thing)
    photos = list(thing.photos.shown())
    compare = CompareForm(request.GET or None, photos=photos)
    chosen = compare.chosen if compare.is_bound else {}
    shown = PhotosShown(
        address=address_of(thing),
        photos=page_of(photos[::-1], request.GET),
        count=len(photos),
        pair=before_and_after(photos, **chosen),
        form=form,
        by_decal=isinstance(thing, Decal),
        takes_more=project.emptied_at is None,
    )
    return {
        "thing": thing,
        "project": project,
        "photos": shown,
        "compare": compare if len(photos) > 2 else None,
        "removed": list(thing.photos.removed().select_related("decal")),
    }


def _shown(thing: Project | Decal, photos: list[Photo], form: PhotosForm) -> PhotosShown:
    return PhotosShown(
        address=address_of(thing),
        photos=photos[::-1][:MOST_BESIDE],
        count=len(photos),
        pair=before_and_after(photos),
        form=form,
        by_decal=isinstance(thing, Decal),
        takes_more=_project_of(thing).emptied_at is None,
    )


def _project_of(thing: Project | Decal) -> Project:
    return thing.project if isinstance(thing, Decal) else thing
