"""A sheet as a strip that decals are nested on by their outlines, and back to its places. mm."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from shapely import Polygon
from shapely.affinity import rotate

from decaljobs.craft.layout.model import SMALLEST_OFFCUT
from decaljobs.craft.layout.nestoutline import outline_of_picture
from decaljobs.craft.layout.place import Place, Ring
from decaljobs.craft.pictures import PictureError
from decaljobs.models import Artwork, Decal
from decaljobs.services.artwork.pictures import picture_of
from decaljobs.services.layout.layouts import Laid, LaidPiece, LayoutWishes, name_of
from decaljobs.services.refused import Refused
from decaljobs.services.squeeze.nesting import OutlinePiece, OutlinePlacement, squeeze

Progress = Callable[[float, float | None], None]


@dataclass(frozen=True)
class Strip:
    """The printable part of a new sheet, its wishes, and the outline of each artwork."""

    wishes: LayoutWishes
    outlines: dict[int, Ring]

    @property
    def width(self) -> float:
        return self.wishes.width_mm - 2 * self.wishes.margin_mm

    @property
    def height(self) -> float:
        return self.wishes.height_mm - 2 * self.wishes.margin_mm

    def nested(
        self,
        decals: Sequence[Decal],
        *,
        length: float,
        seconds: float,
        progress: Progress,
        stopped: Callable[[], bool],
    ) -> Nested | None:
        """Decals, one for each copy, nested on less than that length; None where they are not."""
        counted = Counter(decal.pk for decal in decals)
        known = {decal.pk: decal for decal in decals}
        found = squeeze(
            [self._piece(known[pk], copies) for pk, copies in counted.items()],
            width=self.width,
            length=length,
            gap=self.wishes.gap,
            seconds=seconds,
            progress=progress,
            stopped=stopped,
        )
        if found is None:
            return None
        named = {name_of(decal): decal for decal in known.values()}
        pieces = [self._laid(named[lying.name], lying, found.length) for lying in found.placements]
        return Nested(tuple(pieces), self._rest(found.length))

    def area_of(self, decal: Decal) -> float:
        """What a decal takes with half a gap all round, mm²."""
        outline = Polygon(self.outlines[decal.artwork_id])
        return float(outline.buffer(self.wishes.gap / 2).area)

    def used(self, laid: Laid) -> float:
        """Film that a new sheet takes inside its margin, mm²; an offcut counts for nothing."""
        return self.width * self.height - laid.rest[0] * laid.rest[1] if laid.is_new else 0.0

    def _rest(self, length: float) -> tuple[float, float]:
        """What one cut beyond the pieces leaves; nothing where that is no use."""
        room = self.height - length - self.wishes.gap
        return (self.width, room) if min(room, self.width) >= SMALLEST_OFFCUT else (0.0, 0.0)

    def _piece(self, decal: Decal, copies: int) -> OutlinePiece:
        """A decal with its outline upright, y up as the nesting takes it."""
        outline = tuple((x, -y) for x, y in self.outlines[decal.artwork_id])
        return OutlinePiece(name_of(decal), outline, copies, turn=not decal.upright)

    def _laid(self, decal: Decal, lying: OutlinePlacement, length: float) -> LaidPiece:
        outline = self.outlines[decal.artwork_id]
        size = float(decal.artwork.width_mm), decal.artwork.height_mm
        place = place_of(lying, outline, size, length, self.wishes.margin_mm)
        return LaidPiece(decal, place, outline)


@dataclass(frozen=True)
class Nested:
    """Pieces nested from the top of a sheet on, and the rest below them, mm."""

    pieces: tuple[LaidPiece, ...]
    rest: tuple[float, float]


def outlines_of(artwork: Iterable[Artwork]) -> dict[int, Ring]:
    """The outline of each artwork in mm, y down, by its number."""
    return {pk: _outline(found) for pk, found in {art.pk: art for art in artwork}.items()}


def _outline(artwork: Artwork) -> Ring:
    try:
        picture = picture_of(artwork)
    except PictureError as error:
        raise Refused(f"{artwork} cannot be nested. {error}") from error
    return outline_of_picture(picture, float(artwork.width_mm))


def place_of(
    lying: OutlinePlacement,
    outline: Sequence[tuple[float, float]],
    size: tuple[float, float],
    length: float,
    edge: float,
) -> Place:
    """The place of a whole picture whose outline lies nested on a strip of that length, mm.

    The strip's y runs up from its foot, the sheet's down from its top; `edge` is its margin.
    """
    wide, high = size
    upright = Polygon([(x, -y) for x, y in outline])
    frame = Polygon([(0, 0), (wide, 0), (wide, -high), (0, -high)])
    turned = [rotate(shape, lying.degrees, origin=(0, 0)) for shape in (upright, frame)]
    outline_box, frame_box = (shape.bounds for shape in turned)
    left = lying.x + frame_box[0] - outline_box[0]
    foot = lying.y + frame_box[1] - outline_box[1]
    across, along = frame_box[2] - frame_box[0], frame_box[3] - frame_box[1]
    x, y = left + edge, length - foot - along + edge
    corner = round(max(0.0, x), 3), round(max(0.0, y), 3)
    return Place(*corner, round(across, 3), round(along, 3), lying.degrees)
