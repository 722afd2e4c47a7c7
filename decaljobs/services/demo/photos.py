"""Photos of the example workshop: painted by formula, so that nothing real is shown."""

from __future__ import annotations

import io
from datetime import datetime, timedelta

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from decaljobs.craft.photo.keptphoto import ready_photo
from decaljobs.craft.stages import Stage
from decaljobs.models import Decal, Person, Photo
from decaljobs.services.projects.photos import add_photos, drop_photos

SIZE = (960, 640)
BENCH = "#b59f7f"
BODY = (120, 110, 840, 530)  # where the model's side stands on the photo, px
GRAIN = 3.0  # of 255: the unrest of a telephone's picture by lamplight
SEED = 8

#: Of which place there are photos: at which stage, hours ago, in which words, how it looks.
SCENES = (
    ("Tailboard", Stage.SEALED, 124.0, "cart painted, nothing on it", "bare"),
    ("Tailboard", Stage.BASE_APPLIED, 121.5, "base down, edges still white", "base"),
    ("Tailboard", Stage.OVERCOATED, 28.0, "under the overcoat", "done"),
    ("Transom", Stage.SEALED, 190.0, "two coats of navy, polished", "bare"),
    ("Transom", Stage.BASE_APPLIED, 187.0, "base down, straight at last", "base"),
    ("Transom", Stage.OVERCOATED, 40.0, "done", "done"),
    ("Side board, left", Stage.CLEAR_APPLIED, 19.0, "lamp from the side: no silvering", "done"),
)


def load_photos(*, maker: Person, moment: datetime) -> None:
    """Take the example's photos, as of the times they would have been taken."""
    for place, stage, hours, caption, look in SCENES:
        decal = Decal.objects.select_related("project", "artwork").get(
            project__example=True, place=place
        )
        add_photos(
            project=decal.project,
            decal=decal,
            photos=[ready_photo(_taken(decal, look))],
            stage=stage,
            caption=caption,
            by=maker,
            moment=moment - timedelta(hours=hours),
        )


def clear_photos() -> None:
    """Remove the example's photos with their files."""
    drop_photos(photos=Photo.objects.filter(project__example=True))


def _taken(decal: Decal, look: str) -> bytes:
    """A picture of the side of a model on a bench under a lamp, as PNG."""
    scene = Image.new("RGB", SIZE, BENCH)
    shadow = Image.new("L", SIZE, 0)
    ImageDraw.Draw(shadow).rectangle([place + 18 for place in BODY], fill=150)
    scene.paste("#3b3226", mask=shadow.filter(ImageFilter.GaussianBlur(16)))
    ImageDraw.Draw(scene).rounded_rectangle(BODY, 14, fill=decal.project.body_colour)
    if look != "bare":
        _lay(scene, decal, edge=5 if look == "base" else 0)
    kept = io.BytesIO()
    _lit(scene).save(kept, "PNG")
    return kept.getvalue()


def _lay(scene: Image.Image, decal: Decal, *, edge: int) -> None:
    """The art on the side, with an edge of white film round it, px."""
    with decal.artwork.preview.open("rb") as file, Image.open(file) as opened:
        art = opened.convert("RGBA")
    room = (BODY[2] - BODY[0]) * 0.8, (BODY[3] - BODY[1]) * 0.7
    factor = min(room[0] / art.width, room[1] / art.height)
    art = art.resize((round(art.width * factor), round(art.height * factor)))
    left = (BODY[0] + BODY[2] - art.width) // 2
    top = (BODY[1] + BODY[3] - art.height) // 2
    if edge:
        film = art.getchannel("A").resize((art.width + 2 * edge, art.height + 2 * edge))
        scene.paste("#f4f2ea", (left - edge, top - edge), film)
    scene.paste(art, (left, top), art)


def _lit(scene: Image.Image) -> Image.Image:
    """The scene in the light of a lamp up on the left, with a little grain."""
    wide, high = scene.size
    x, y = np.meshgrid(np.linspace(0, 1, wide), np.linspace(0, 1, high))
    lamp = 1.12 - 0.5 * np.hypot(x - 0.25, y - 0.1)
    grain = np.random.default_rng(SEED).normal(0.0, GRAIN, (high, wide, 1))
    seen = np.asarray(scene, dtype=float) * lamp[..., None] + grain
    return Image.fromarray(np.clip(seen, 0, 255).astype(np.uint8))
