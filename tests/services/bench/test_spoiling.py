"""Pieces spoiled before they were laid."""

import pytest

from decaljobs.models import Piece
from decaljobs.services.bench import spoiling
from decaljobs.services.refused import Refused
from tests.factories import EVENING, sealed_decal

pytestmark = pytest.mark.django_db


def test_a_piece_that_is_gone_is_told_of(maker, monkeypatch):
    decal = sealed_decal(maker)
    piece = decal.pieces.first()
    lock = spoiling.logbook.lock

    def wait_for_somebody(decals):
        Piece.objects.filter(pk=piece.pk).delete()
        return lock(decals)

    monkeypatch.setattr(spoiling.logbook, "lock", wait_for_somebody)
    with pytest.raises(Refused, match="no longer there"):
        spoiling.spoil_piece(piece=piece.pk, by=maker, moment=EVENING)
    with pytest.raises(Refused, match="no longer there"):
        spoiling.spoil_piece(piece=piece.pk, by=maker, moment=EVENING)
