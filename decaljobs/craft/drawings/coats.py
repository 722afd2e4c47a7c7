"""A sheet as seen from its edge, drawn: its film, and its sealing coats one over the other."""

from __future__ import annotations

from decaljobs.craft.stages import Film

#: px: the film's thickness, and of coats the thickest, the space between two, the inset.
FILM, THICKEST, APART, INSET = 7, 6.0, 2, 8
DASHED = 'fill="none" stroke="#55626b" stroke-dasharray="3 3"'


def coats_svg(film: Film, done: int, wanted: int, percent: int, *, size: tuple[int, int]) -> str:
    """The drawing as inline SVG, one unit to the pixel: each coat laid, drying or to come.

    done of so many coats wanted are on, the last of them dry to so many percent (0 to 100).
    Raises ValueError for more coats than wanted or percents outside 0 to 100.

    >>> coats_svg(Film.WHITE, 1, 2, 40, size=(74, 52)).split('aria-label="')[1].split('"')[0]
    '1 of 2 coats on, the last one 40 % dry'
    """
    if not 0 <= done <= wanted or not 0 <= percent <= 100:
        raise ValueError(f"{done} of {wanted} coats and {percent} %: 0 to {wanted} and 0 to 100.")
    width, height = size
    look = "section-base" if film == Film.WHITE else "section-clear"
    foot = height - FILM - 3
    bars = [f'<rect class="{look}" x="3" y="{foot}" width="{width - 6}" height="{FILM}"/>']
    thick = min(THICKEST, (foot - 4) / (wanted + 1) - APART)
    for number in range(1, wanted + 1):
        laid = 100 if number < done else percent if number == done else 0
        bars += _coat(foot - number * (thick + APART), thick, width - 2 * INSET, laid)
    return (
        f'<svg class="section" role="img" aria-label="{_words(done, wanted, percent)}" '
        f'width="{width}" height="{height}" viewBox="0 0 {width} {height}">{"".join(bars)}</svg>'
    )


def _coat(top: float, thick: float, width: int, percent: int) -> list[str]:
    at = f'x="{INSET}" y="{top:.1f}" height="{thick:.1f}"'
    if percent >= 100:
        return [f'<rect class="section-coat" {at} width="{width}"/>']
    dry = f'<rect class="section-coat" {at} width="{width * percent / 100:.1f}"/>'
    to_come = f'<rect class="section-to-come" {at} width="{width}" {DASHED}/>'
    return [dry, to_come] if percent else [to_come]


def _words(done: int, wanted: int, percent: int) -> str:
    said = f"{done} of {wanted} coats on"
    return f"{said}, the last one {percent} % dry" if done and percent < 100 else said
