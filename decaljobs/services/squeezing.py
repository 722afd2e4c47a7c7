"""The squeeze of a plan: the last new sheet's pieces nested by their outlines, if film is saved."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from PIL import Image
from shapely import Polygon
from shapely.affinity import rotate

from decaljobs.craft.layoutmodel import SMALLEST_OFFCUT
from decaljobs.craft.nestoutline import Ring, outline_of_picture
from decaljobs.craft.pictures import MAX_PIXELS
from decaljobs.craft.printfile import Place
from decaljobs.models import Artwork
from decaljobs.services.layouts import Laid, LaidPiece, Plan, name_of
from decaljobs.services.refused import Refused
from decaljobs.services.squeeze import LONGEST, OutlinePiece, OutlinePlacement, Squeezed, squeeze

#: Least time that is worth a squeeze, s.
SHORTEST = 1.0

Progress = Callable[[float, float | None], None]


@dataclass(frozen=True)
class SqueezedPlan:
    """A plan with nested sheets, and the film that they save on each film, mm²."""

    plan: Plan
    saved_mm2: float


def squeeze_plan(
    plan: Plan,
    *,
    seconds: float = LONGEST,
    progress: Progress = lambda share, shortest: None,
    stopped: Callable[[], bool] = lambda: False,
) -> SqueezedPlan | None:
    """The plan with the last new sheet of each film nested by outline; None if that saves nothing.

    Sheets that are full, and offcuts, stay as they are: only a sheet that is cut short can be
    cut shorter. Raises Refused with straight cuts, and where no new sheet is laid out.
    """
    if plan.wishes.straight_cuts:
        raise Refused("Nested pieces do not come apart by straight cuts: choose one of the two.")
    lasts = _last_sheets(plan)
    if not lasts:
        raise Refused("Only new sheets are squeezed: these pieces all go on offcuts.")
    until = time.monotonic() + seconds
    outlines = outlines_of(piece.decal.artwork for at in lasts for piece in plan.laid[at].pieces)
    laid, saved, change = list(plan.laid), 0.0, 0.0
    for number, at in enumerate(lasts):
        left = (until - time.monotonic()) / (len(lasts) - number)
        if left < SHORTEST or stopped():
            break
        part = _Part(number / len(lasts), 1 / len(lasts), progress)
        sheet = _Sheet(laid[at], plan, outlines)
        nested = sheet.squeezed(left, part.told, stopped)
        if nested is not None:
            laid[at] = nested
            saved += sheet.saved(nested)
            change += sheet.outline_area() - sheet.box_area()
    if not saved:
        return None
    film = plan.film_mm2 - saved
    used = (plan.utilisation * plan.film_mm2 + change) / film
    better = replace(plan, laid=tuple(laid), film_mm2=film, utilisation=used)
    return SqueezedPlan(better, saved)


def outlines_of(artwork: Iterable[Artwork]) -> dict[int, Ring]:
    """The outline of each artwork in mm, y down, by its number."""
    return {pk: _outline(found) for pk, found in {art.pk: art for art in artwork}.items()}


def _outline(artwork: Artwork) -> Ring:
    with artwork.picture.open("rb") as opened:
        # Our own file, checked when it was taken in.
        picture = Image.open(opened, formats=["PNG"])
        if picture.width * picture.height > MAX_PIXELS:
            raise Refused(f"The picture of {artwork} is too large to be nested.")
        return outline_of_picture(picture, float(artwork.width_mm))


def _last_sheets(plan: Plan) -> list[int]:
    """Which new sheets are cut short: the last of all, or of each film with its own places."""
    last = {
        None if plan.wishes.same_places else laid.films: at
        for at, laid in enumerate(plan.laid)
        if laid.is_new
    }
    return sorted(last.values())


@dataclass(frozen=True)
class _Part:
    """Tells the progress of one squeeze as a part of the whole."""

    before: float
    share: float
    progress: Progress

    def told(self, share: float, shortest: float | None) -> None:
        self.progress(min(1.0, self.before + share * self.share), shortest)


@dataclass(frozen=True)
class _Sheet:
    """A sheet of a plan that is to be nested on a strip as wide as its printable part."""

    laid: Laid
    plan: Plan
    outlines: dict[int, Ring]

    @property
    def width(self) -> float:
        return self.laid.width_mm - 2 * self.plan.wishes.margin_mm

    @property
    def height(self) -> float:
        return self.laid.height_mm - 2 * self.plan.wishes.margin_mm

    @property
    def used(self) -> float:
        """The length of strip that the layout in boxes takes, mm."""
        free = self.laid.rest[0] * self.laid.rest[1]
        return (self.width * self.height - free) / self.width

    def squeezed(
        self, seconds: float, progress: Progress, stopped: Callable[[], bool]
    ) -> Laid | None:
        gap = self.plan.wishes.gap
        found = squeeze(
            self._pieces(),
            width=self.width,
            length=self.used - gap if any(self.laid.rest) else self.used,
            gap=gap,
            seconds=seconds,
            progress=progress,
            stopped=stopped,
        )
        return None if found is None else self._nested(found)

    def saved(self, nested: Laid) -> float:
        """Film that the nested sheet leaves more than the one in boxes, mm²."""
        before, after = self.laid.rest, nested.rest
        return after[0] * after[1] - before[0] * before[1]

    def box_area(self) -> float:
        gap = self.plan.wishes.gap
        places = [piece.place for piece in self.laid.pieces]
        return sum((place.width + gap) * (place.height + gap) for place in places)

    def outline_area(self) -> float:
        half = self.plan.wishes.gap / 2
        art = Counter(piece.decal.artwork_id for piece in self.laid.pieces)
        return sum(
            Polygon(self.outlines[pk]).buffer(half).area * copies for pk, copies in art.items()
        )

    def _pieces(self) -> list[OutlinePiece]:
        """Each decal with its outline upright, y up as the nesting takes it."""
        counted = Counter(piece.decal.pk for piece in self.laid.pieces)
        decals = {piece.decal.pk: piece.decal for piece in self.laid.pieces}
        return [
            OutlinePiece(
                name_of(decals[pk]),
                tuple((x, -y) for x, y in self.outlines[decals[pk].artwork_id]),
                copies,
            )
            for pk, copies in counted.items()
        ]

    def _nested(self, found: Squeezed) -> Laid | None:
        """The sheet with its pieces nested from the top on; None where no more film is left."""
        decals = {name_of(piece.decal): piece.decal for piece in self.laid.pieces}
        wishes = self.plan.wishes
        room = self.height - found.length - wishes.gap
        usable = min(room, self.width) >= SMALLEST_OFFCUT
        pieces = []
        for lying in found.placements:
            decal = decals[lying.name]
            outline = self.outlines[decal.artwork_id]
            size = float(decal.artwork.width_mm), decal.artwork.height_mm
            place = place_of(lying, outline, size, found.length, wishes.margin_mm)
            pieces.append(LaidPiece(decal, place, outline))
        nested = replace(
            self.laid, pieces=tuple(pieces), rest=(self.width, room) if usable else (0.0, 0.0)
        )
        return nested if self.saved(nested) > 0 else None


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
