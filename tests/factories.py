"""Records for tests, made through the services wherever a change has a rule."""

import io
from datetime import UTC, datetime, timedelta
from itertools import count
from typing import Any

from PIL import Image

from decaljobs.craft.photo.keptphoto import ready_photo
from decaljobs.craft.stages import Build, Film
from decaljobs.models import Artwork, Decal, Person, Photo, Project, Role, Sheet
from decaljobs.services.artwork.keeping import keep_artwork
from decaljobs.services.film import sheets
from decaljobs.services.projects import photos, projects

EVENING = datetime(2026, 11, 2, 19, 0, tzinfo=UTC)
_numbers = count(1)


def picture_bytes(kind: str = "PNG", size: tuple[int, int] = (240, 120)) -> bytes:
    """A small picture: a light field with a dark outline."""
    image = Image.new("RGB", size, "#16202b")
    image.paste("#f7f1df", (10, 10, size[0] - 10, size[1] - 10))
    kept = io.BytesIO()
    image.save(kept, kind)
    return kept.getvalue()


def make_person(role: str = Role.MAKER, **fields: Any) -> Person:
    name = fields.pop("username", f"person{next(_numbers)}")
    return Person.objects.create_user(username=name, role=role, **fields)


def make_artwork(**fields: Any) -> Artwork:
    start = {"name": "Roundel", "width_mm": 24, "moment": EVENING}
    image = Image.open(io.BytesIO(picture_bytes())).convert("RGB")
    return keep_artwork(**{**start, "picture": image, **fields})


def make_project(**fields: Any) -> Project:
    start = {"name": "Harbour launch", "scale_ratio": 72, "overcoat": False, "moment": EVENING}
    return projects.make_project(**{**start, **fields})


def make_decal(build: Build = Build.LAMINATED, **fields: Any) -> Decal:
    return make_decals(1, build, **fields)[0]


def make_decals(number: int, build: Build = Build.LAMINATED, **fields: Any) -> list[Decal]:
    return projects.add_decals(
        project=fields.pop("project", None) or make_project(),
        artwork=fields.pop("artwork", None) or make_artwork(),
        place=fields.pop("place", f"Place {next(_numbers)}"),
        build=build,
        count=number,
        moment=fields.pop("moment", EVENING),
        **fields,
    )


def make_sheet(film: str = Film.WHITE, **fields: Any) -> Sheet:
    start = {
        "printer": "inkjet",
        "sealer": "water",
        "width_mm": 210,
        "height_mm": 297,
        "coats_wanted": 2,
        "moment": EVENING,
    }
    return sheets.make_sheet(film=film, **{**start, **fields})


def sealed_sheet(
    film: str, decals: list[Decal], by: Person, copies: int = 2, **fields: Any
) -> Sheet:
    """A sheet with these decals, printed two days before EVENING, sealed and dry by then."""
    sheet = make_sheet(film, **fields)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[d.pk for d in decals], copies=copies)
    start = EVENING - timedelta(hours=60)
    sheets.log_printed(sheet=sheet.pk, by=by, moment=EVENING, at=start)
    for coat in range(sheet.coats_wanted):
        at = start + timedelta(hours=13 + coat)
        sheets.log_coat(sheet=sheet.pk, by=by, moment=EVENING, at=at)
    sheet.refresh_from_db()
    return sheet


def sealed_decal(by: Person, build: Build = Build.LAMINATED, **fields: Any) -> Decal:
    """A decal whose every layer lies sealed and dry on a sheet at EVENING."""
    decal = make_decal(build, **fields)
    if build is not Build.CLEAR_ALONE:
        sealed_sheet(Film.WHITE, [decal], by)
    if build is not Build.WHITE_ALONE:
        sealed_sheet(Film.CLEAR, [decal], by)
    decal.refresh_from_db()
    return decal


def placed_sheet(film: str, decals: list[Decal], copies: int = 2, **fields: Any) -> Sheet:
    """A sheet not printed yet, its pieces one below the other from 6 mm, 3 mm apart."""
    sheet = make_sheet(film, **fields)
    pieces = sheets.put_on_sheet(sheet=sheet.pk, decals=[d.pk for d in decals], copies=copies)
    top = 6.0
    for piece in pieces:
        art = piece.decal.artwork
        piece.x_mm, piece.y_mm, piece.degrees = 6.0, top, 0
        piece.width_mm, piece.height_mm = float(art.width_mm), art.height_mm
        piece.save()
        top += piece.height_mm + 3
    return sheet


def make_photos(number: int, **fields: Any) -> list[Photo]:
    """Photos of a decal, of a project, or of a new one."""
    decal = fields.get("decal")
    project = decal.project if decal else fields.pop("project", None) or make_project()
    ready = [ready_photo(picture_bytes())] * number
    start = {"project": project, "photos": ready, "by": None, "moment": EVENING}
    return photos.add_photos(**{**start, **fields})
