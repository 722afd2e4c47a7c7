"""Cut lines a knife can follow: clear of both sides, without kinks, all pieces let go."""

from functools import cache

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon

from decaljobs.craft.art.rings import resampled
from decaljobs.craft.artwork import Measurement, measure
from decaljobs.craft.cutlines import clear_cut, relief_cuts, snipped_rectangle
from decaljobs.craft.knife.knifeline import tightest_radius
from tests.craft.artshapes import (
    box,
    cut,
    disc,
    draw,
    lettering,
    polygon,
    star_in_star,
    union,
)

DPIS = (300, 600, 1200)


@cache
def star(dpi: int, band: float) -> tuple[Measurement, Polygon, Polygon]:
    outer, inner = star_in_star(12, 12, band)
    image = draw(polygon(outer), polygon(inner), (24, 24), dpi, fine=4 if dpi > 600 else 8)
    return measure(image, dpi=dpi), Polygon(outer), Polygon(inner)


def share_kept_clear(found: Measurement, silhouette, light) -> float:
    """The least share of the local width between the line and either side, all along."""
    least = 1.0
    for ring in found.base.line.rings:
        points = shapely.points(shapely.get_coordinates(shapely.segmentize(LineString(ring), 0.02)))
        outer = shapely.distance(silhouette.boundary, points)
        inner = shapely.distance(light, points)
        assert shapely.contains(silhouette, points).all()
        least = min(least, float((np.minimum(outer, inner) / (outer + inner)).min()))
    return least


def sharpest_turn(found: Measurement) -> float:
    """The most degrees that a line turns between two steps of about 0.05 mm."""
    most = 0.0
    for ring in (*found.base.line.rings, *found.clear.rings):
        steps = np.diff(np.vstack([ring, ring[1]]), axis=0)
        angle = np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))
        most = max(most, float(np.degrees(np.abs(np.diff(angle))).max()))
    return most


@pytest.mark.parametrize("band", [0.3, 0.8])
@pytest.mark.parametrize("dpi", DPIS)
def test_it_keeps_clear_on_a_star_with_mitred_corners(dpi: int, band: float):
    """Against the star as it was drawn, not as it was measured."""
    found, silhouette, light = star(dpi, band)
    # a pixel's blunting of the tips is the picture's own, half a pixel is taken off for it
    assert share_kept_clear(found, silhouette, light) > 0.35
    assert found.band.median_mm == pytest.approx(band, abs=0.01)


@pytest.mark.parametrize("dpi", DPIS)
def test_it_rounds_a_star_s_corners_as_far_as_they_allow(dpi: int):
    assert star(dpi, 0.8)[0].base.line.tightest_radius_mm > 0.25
    assert star(dpi, 0.3)[0].base.line.tightest_radius_mm > 0.1
    assert sharpest_turn(star(dpi, 0.8)[0]) < 15


@pytest.mark.parametrize(
    ("text", "size", "band"), [("Kav 42", 9, 0.5), ("g&8B?", 7, 0.3), ("MWx%", 10, 0.8)]
)
def test_it_keeps_clear_on_lettering(text: str, size: float, band: float):
    found = measure(lettering(text, size, band), dpi=600)
    light = MultiPolygon(
        [Polygon(part.exterior) for part in shapely.get_parts(found.light) if part.area > 0]
    )
    # holes of the art keep their light holes; elsewhere filled letters are what is backed
    if found.holes:
        light = found.light
    assert share_kept_clear(found, found.silhouette, light) > 0.35
    assert found.base.line.tightest_radius_mm > 0.05
    assert sharpest_turn(found) < 40
    assert found.band.p05_mm == pytest.approx(band, abs=0.02)


def test_it_follows_the_true_middle_wherever_a_star_is_straight():
    found, silhouette, light = star(600, 0.8)
    points = shapely.points(found.base.line.rings[0])
    outer = shapely.distance(silhouette.boundary, points)
    inner = shapely.distance(light, points)
    corners = shapely.multipoints(np.vstack(star_in_star(12, 12, 0.8)))
    along = shapely.distance(corners, points) > 1.5
    assert along.mean() > 0.4
    assert np.abs(outer - inner)[along].max() / 2 < 0.005


def test_it_lies_all_within_the_art_and_round_all_light():
    found = star(600, 0.8)[0]
    base = Polygon(found.base.line.rings[0])
    clear = Polygon(found.clear.rings[0])
    assert found.silhouette.contains(base)
    assert base.contains(found.light)
    assert clear.contains(found.silhouette)


def test_it_cuts_the_clear_at_the_margin_asked_for():
    image = draw(disc(12, 12, 10), disc(12, 12, 9), (24, 24), 600)
    for margin in (0.5, 2.5):
        ring = measure(image, dpi=600, clear_margin_mm=margin).clear.rings[0]
        assert np.abs(np.hypot(*(ring - 12).T) - 10 - margin).max() < 0.005
    for margin in (0.05, 21, float("nan")):
        with pytest.raises(ValueError, match=r"0.1 to 20 mm"):
            measure(image, dpi=600, clear_margin_mm=margin)


def test_it_rounds_the_clear_s_inner_corners_without_coming_nearer():
    corner = MultiPolygon([Polygon([(0, 0), (9, 0), (9, 3), (3, 3), (3, 9), (0, 9)])])
    clear = clear_cut(corner, 1.0)
    points = shapely.points(clear.rings[0])
    assert shapely.distance(corner, points).min() > 0.999
    assert clear.tightest_radius_mm == pytest.approx(0.5, rel=0.1)


@pytest.mark.parametrize("gap", [0.5, 1.5, 2.5])
def test_it_joins_the_clear_of_pieces_closer_than_the_margin(gap: float):
    pair = MultiPolygon([shapely.box(0, 0, 5, 5), shapely.box(5 + gap, 0, 10 + gap, 5)])
    assert len(clear_cut(pair, 1.0).rings) == 1


def test_it_keeps_the_clear_of_pieces_far_apart_apart():
    pair = MultiPolygon([shapely.box(0, 0, 5, 5), shapely.box(8.5, 0, 13, 5)])
    assert len(clear_cut(pair, 1.0).rings) == 2


def test_it_joins_every_piece_to_two_opposite_sides():
    """Cut along the lines and the relief cuts, the surround falls into two halves or more."""
    centres = [(4, 4), (12, 5), (21, 3), (21, 11), (4, 12)]
    image = draw(
        union(*(disc(x, y, 3) for x, y in centres)),
        union(*(disc(x, y, 2.2) for x, y in centres)),
        (26, 16),
        300,
    )
    found = measure(image, dpi=300)
    left, top, right, bottom = found.rectangle
    starts = [cut[1][0] for cut in found.relief_cuts]
    assert min(starts) == pytest.approx(left)
    assert max(starts) == pytest.approx(right)
    pieces = shapely.union_all([Polygon(ring) for ring in found.base.line.rings])
    surround = shapely.difference(shapely.box(left, top, right, bottom), pieces)
    cuts = shapely.union_all([LineString(cut).buffer(1e-3) for cut in found.relief_cuts])
    halves = shapely.get_parts(shapely.difference(surround, cuts))
    assert len(halves) >= 2
    assert all(not half.interiors for half in halves), "no piece is ringed by its surround"
    assert len(found.relief_cuts) == len(centres) + 1


def test_it_lets_a_single_piece_go_with_two_straight_cuts():
    found = measure(draw(box(8, 12, 8, 20), box(8, 12, 6.4, 18.4), (16, 24), 300), dpi=300)
    (a, b), (c, d) = found.relief_cuts
    assert a[0] == b[0], "along the longer side, which is upright here"
    assert c[0] == d[0]
    assert {b[1], d[1]} == {found.rectangle[1], found.rectangle[3]}
    assert snipped_rectangle(found.clear) == found.rectangle
    assert relief_cuts(found.base.line, found.rectangle) == found.relief_cuts


def test_it_runs_the_line_inside_thin_art_without_a_band():
    """A white bar of 0.6 mm: an inset of 0.35 mm would leave nothing to lay."""
    found = measure(draw(box(12, 6, 20, 0.6), box(12, 6, 30, 9), (24, 12), 600), dpi=600)
    assert 0 < found.base.inset_mm < 0.25
    assert found.silhouette.contains(Polygon(found.base.line.rings[0]))


def test_it_leaves_no_neck_where_two_bands_barely_touch():
    """Two discs whose bands overlap by a hair are two pieces of base, not one with a thread."""
    found = measure(
        draw(
            union(disc(7, 7, 5), disc(16.98, 7, 5)),
            union(disc(7, 7, 4.2), disc(16.98, 7, 4.2)),
            (24, 14),
            600,
        ),
        dpi=600,
    )
    assert found.islands == 1
    assert len(found.base.runs) == 2
    assert found.base.line.tightest_radius_mm > 0.1


def test_it_reads_the_radius_of_circles_and_of_rounded_corners():
    turn = np.linspace(0, 2 * np.pi, 2000, endpoint=False)
    circle = 5 * np.column_stack([np.cos(turn), np.sin(turn)])
    assert tightest_radius([circle]) == pytest.approx(5, rel=0.02)
    rounded = shapely.box(0, 0, 10, 6).buffer(-0.3).buffer(0.3, quad_segs=64)
    ring = shapely.get_coordinates(shapely.segmentize(rounded.exterior, 0.01))[:-1]

    assert tightest_radius([resampled(np.vstack([ring, ring[:1]]), 0.05)]) == pytest.approx(
        0.3, rel=0.1
    )


def test_it_backs_dark_details_within_light_areas_too():
    """A dark spot inside the light has no cut of its own: the base runs on beneath it."""
    found = measure(
        draw(disc(12, 12, 10), cut(disc(12, 12, 9), disc(12, 12, 3)), (24, 24), 300), dpi=300
    )
    assert len(found.base.line.rings) == 1


def test_it_cuts_every_copy_of_a_marking_as_the_first():
    """Copies a whole number of pixels apart, and one marking that only looks alike."""
    pixel = 25.4 / 300
    x, y = np.array([(6, 6), (6 + 150 * pixel, 6), (6, 6 + 150 * pixel)]).T
    image = draw(
        union(*(disc(a, b, 5) for a, b in zip(x, y, strict=True)), disc(x[1], y[2], 5)),
        union(*(disc(a, b, 4) for a, b in zip(x, y, strict=True)), disc(x[1] + 0.4, y[2], 4)),
        (25, 25),
        300,
    )
    found = measure(image, dpi=300)
    rings = {tuple(ring.mean(axis=0).round(1)): ring for ring in found.base.line.rings}
    assert len(rings) == 4
    for (a, b), ring in rings.items():
        if abs(a - x[1]) < 1 and abs(b - y[2]) < 1:
            to_both = np.hypot(*(ring - (x[1], y[2])).T) + np.hypot(*(ring - (x[1] + 0.4, y[2])).T)
            assert np.abs(to_both - 9).max() / 2 < 0.01, "the one that is not alike is its own"
        else:
            centre = x[np.abs(x - a).argmin()], y[np.abs(y - b).argmin()]
            assert np.abs(np.hypot(*(ring - centre).T) - 4.5).max() < 0.01
    alone = measure(draw(disc(6, 6, 5), disc(6, 6, 4), (12, 12), 300), dpi=300)
    assert found.clean_chance < alone.clean_chance**3
