"""The section drawing as the page renders it: inline SVG that a style sheet may dress otherwise."""

from __future__ import annotations

from functools import lru_cache
from xml.sax.saxutils import escape, quoteattr

from decaljobs.craft.colour import format_hex, parse_hex
from decaljobs.craft.drawings.section import (
    FILM_FILLS,
    MISSING_STROKE,
    WET_STROKE,
    Bar,
    Label,
    Line,
    Role,
    Section,
    State,
    cross_lines,
    hatch_lines,
)
from decaljobs.craft.figures import short


@lru_cache(maxsize=2048)
def section_svg(drawing: Section, body_colour: str) -> str:
    """The drawing as inline SVG, one unit to the pixel; body_colour is '#rrggbb'.

    Raises ValueError for any other form of colour.

    >>> from decaljobs.craft.drawings.section import section
    >>> from decaljobs.craft.stages import Build, Stage
    >>> svg = section_svg(section(Build.CLEAR_ALONE, Stage.PLANNED), "#23472f")
    >>> svg.startswith('<svg class="section" role="img" aria-label="body; clear to come"')
    True
    """
    colour = format_hex(parse_hex(body_colour))
    parts = "".join(_svg_bar(bar, colour) for bar in drawing.shapes)
    labels = "".join(_svg_label(label) for label in drawing.labels)
    size = f'width="{short(drawing.width)}" height="{short(drawing.height)}"'
    box = f'viewBox="0 0 {short(drawing.width)} {short(drawing.height)}"'
    return (
        f'<svg class="section" role="img" aria-label={quoteattr(drawing.words)} {size} {box}>'
        f"{parts}{labels}</svg>"
    )


def _svg_rect(x: float, bar: Bar, width: float, rest: str) -> str:
    left, top, wide, high = (short(value) for value in (x, bar.y, width, bar.height))
    return f'<rect x="{left}" y="{top}" width="{wide}" height="{high}" {rest}/>'


def _svg_strokes(lines: tuple[Line, ...], rest: str) -> str:
    path = " ".join(f"M{short(i.x1)} {short(i.y1)}L{short(i.x2)} {short(i.y2)}" for i in lines)
    return f'<path d="{path}" fill="none" {rest}/>'


def _svg_bar(bar: Bar, colour: str) -> str:
    if bar.role is Role.BODY:
        return _svg_rect(bar.x, bar, bar.width, f'class="section-body" fill="{colour}"')
    if bar.state is State.MISSING:
        crossed = f'class="section-missing" stroke="{MISSING_STROKE}" stroke-width="2.5"'
        return _svg_dashed(bar) + _svg_strokes(cross_lines(bar), crossed)
    wet = f'class="section-wet" stroke="{WET_STROKE}" stroke-width="1.6"'
    hatch = _svg_strokes(hatch_lines(bar), wet) if bar.solid is not None else ""
    if bar.state is State.TO_COME:
        return hatch + _svg_dashed(bar)
    film = f'class="section-{bar.role}" fill="{FILM_FILLS[bar.role]}" stroke="#1e2930"'
    return _svg_rect(bar.x, bar, bar.width, film) + hatch


def _svg_dashed(bar: Bar) -> str:
    rest = 'class="section-to-come" fill="none" stroke="#55626b" stroke-dasharray="3 3"'
    return _svg_rect(bar.x, bar, bar.width, rest)


def _svg_label(label: Label) -> str:
    return (
        f'<text class="section-label" x="{short(label.x)}" y="{short(label.y)}" '
        f'dominant-baseline="central" font-size="12" fill="#55626b">{escape(label.text)}</text>'
    )
