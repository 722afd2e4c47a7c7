"""The section drawing of a decal as it stands at a moment."""

from __future__ import annotations

from datetime import datetime
from functools import lru_cache

from decaljobs.craft.drawings.coats import coats_svg
from decaljobs.craft.drawings.section import section
from decaljobs.craft.drawings.section_svg import section_svg
from decaljobs.craft.stages import Build, Film, Hold, Layer, Stage
from decaljobs.models import Decal, Sheet
from decaljobs.services.drying.air import Airs
from decaljobs.services.drying.waiting import RunningWait, wait_of_decal

MISSING: dict[str, tuple[Layer, ...]] = {
    Hold.NO_BASE_PIECE: (Layer.BASE,),
    Hold.NO_CLEAR_PIECE: (Layer.CLEAR,),
    Hold.NO_PIECES: (Layer.BASE, Layer.CLEAR),
}
SMALL, LARGE = (74, 52), (240, 106)


def section_of(decal: Decal, moment: datetime, airs: Airs, *, large: bool = False) -> str:
    """The drawing of a decal as inline SVG; reads its pieces and their sheets."""
    wait = wait_of_decal(decal, moment, airs)
    done = wait.progress(moment).fraction if wait else None
    return draw_section(decal, moment, wait, done, large=large)


def draw_section(
    decal: Decal,
    moment: datetime,
    wait: RunningWait | None,
    done: float | None,
    *,
    large: bool = False,
) -> str:
    """The drawing of a decal whose running wait, and the share of it that is over, are known."""
    return _drawn(
        Build(decal.build),
        decal.stage_now(moment),
        None if done is None else int(done * 100),
        MISSING.get(decal.held_because, ()),
        wait.layer if wait else None,
        decal.project.body_colour,
        large,
    )


@lru_cache(maxsize=4096)
def _drawn(
    build: Build,
    stage: Stage,
    percent: int | None,
    missing: tuple[Layer, ...],
    layer_wet: Layer | None,
    colour: str,
    large: bool,
) -> str:
    width, height = LARGE if large else SMALL
    drawing = section(
        build,
        stage,
        progress=None if percent is None else percent / 100,
        missing=missing or None,
        layer_wet=layer_wet,
        width=width,
        height=height,
        labelled=large,
    )
    return section_svg(drawing, colour)


def draw_coats(sheet: Sheet, done: float | None) -> str:
    """A sheet as seen from its edge: the film, and over it each coat, laid, drying or to come.

    done: the share of the last coat's drying that is over, None when none runs.
    """
    percent = 100 if done is None else int(done * 100)
    return _drawn_coats(sheet.film, sheet.coats_done, sheet.coats_wanted, percent)


@lru_cache(maxsize=2048)
def _drawn_coats(film: str, done: int, wanted: int, percent: int) -> str:
    return coats_svg(Film(film), done, wanted, percent, size=SMALL)
