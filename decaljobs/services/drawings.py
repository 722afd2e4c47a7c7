"""The section drawing of a decal as it stands at a moment."""

from __future__ import annotations

from datetime import datetime
from functools import lru_cache

from decaljobs.craft.section import section, section_svg
from decaljobs.craft.stages import Build, Hold, Layer, Stage
from decaljobs.models import Decal
from decaljobs.services.waiting import RunningWait, wait_of_decal

MISSING: dict[str, tuple[Layer, ...]] = {
    Hold.NO_BASE_PIECE: (Layer.BASE,),
    Hold.NO_CLEAR_PIECE: (Layer.CLEAR,),
    Hold.NO_PIECES: (Layer.BASE, Layer.CLEAR),
}
SMALL, LARGE = (74, 52), (340, 150)


def section_of(decal: Decal, moment: datetime, *, large: bool = False) -> str:
    """The drawing of a decal as inline SVG; reads its pieces and their sheets."""
    return draw_section(decal, moment, wait_of_decal(decal, moment), large=large)


def draw_section(
    decal: Decal, moment: datetime, wait: RunningWait | None, *, large: bool = False
) -> str:
    """The drawing of a decal whose running wait is known already."""
    done = None if wait is None else int(wait.progress(moment).fraction * 100)
    return _drawn(
        Build(decal.build),
        decal.stage_now(moment),
        done,
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
