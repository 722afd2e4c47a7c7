"""A maker's edges: clean ones laid, those that knife or laying spoiled, and nothing else."""

import pytest

from decaljobs.craft.knife.edgerecord import Edges
from decaljobs.craft.stages import Layer, Stage
from decaljobs.services.artwork.measuring import measure_artwork
from decaljobs.services.bench.spoiling import spoil_layer, spoil_piece
from decaljobs.services.bench.steps import log_step
from decaljobs.services.records.edges import edge_for, edges_of
from tests.factories import EVENING, make_artwork, make_person, make_project, sealed_decal

pytestmark = pytest.mark.django_db


def laid(maker, project, artwork, number):
    decal = sealed_decal(maker, project=project, artwork=artwork, place=f"Side {number}")
    log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    return decal


def test_edges_are_counted_by_what_knife_and_laying_are_to_blame_for(maker):
    project, artwork = make_project(), make_artwork()
    decals = [laid(maker, project, artwork, number) for number in range(6)]
    for decal, cause in zip(decals, ("slipped", "torn", "cut_outside"), strict=False):
        spoil_layer(decal=decal.pk, layer=Layer.BASE, by=maker, moment=EVENING, cause=cause)
    piece = decals[5].pieces.good().filter(layer="base")[0]
    spoil_piece(piece=piece.pk, by=maker, moment=EVENING, cause="cut_outside")
    assert edges_of(maker) == [], "nothing is computed for this art yet"
    found = measure_artwork(artwork=artwork, person=maker, moment=EVENING)
    computed = found.found["clean_chance"]
    assert edges_of(maker) == [Edges(computed, 3, 3)]
    assert edges_of(make_person()) == []
    with_record = edge_for(found, maker)
    assert with_record.pieces == 6 and with_record.chance < computed


def test_the_page_says_too_few_and_then_the_record(signed_in, maker):
    project, artwork = make_project(), make_artwork()
    measure_artwork(artwork=artwork, person=maker, moment=EVENING)
    address = f"/artwork/{artwork.pk}/measured/"
    laid(maker, project, artwork, 0)
    assert "too few edges yet (1)" in signed_in.get(address).content.decode()
    for number in range(1, 5):
        laid(maker, project, artwork, number)
    assert "5 of your 5 edges on measured art" in signed_in.get(address).content.decode()
