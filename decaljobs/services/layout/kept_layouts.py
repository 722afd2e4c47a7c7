"""A plan of the next sheet as plain values, so that it outlives the page it was made for."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, astuple
from hashlib import sha256
from typing import Any

from decaljobs.craft.layout.place import Place
from decaljobs.craft.stages import Film
from decaljobs.models import Sheet
from decaljobs.services.layout.copies import Wanted
from decaljobs.services.layout.layouts import Laid, LaidPiece, LayoutWishes, Plan


def key_of(wanted: Sequence[Wanted], wishes: LayoutWishes, offcuts: Sequence[Sheet]) -> str:
    """The same for the same queue, copies, sizes, turns, offcuts and wishes, and for no other."""
    decals = [
        [
            want.decal.pk,
            str(want.decal.artwork.width_mm),
            want.decal.artwork_id,
            want.decal.upright,
            [[layer.layer.value, layer.copies] for layer in want.layers],
        ]
        for want in wanted
    ]
    sheets = [[sheet.pk, str(sheet.width_mm), str(sheet.height_mm)] for sheet in offcuts]
    plain = json.dumps([decals, sheets, asdict(wishes)], sort_keys=True)
    return sha256(plain.encode()).hexdigest()


def plan_to_dict(plan: Plan) -> dict[str, Any]:
    """The places of a plan; an outline is kept once for all copies of a decal."""
    outlines = {
        str(piece.decal.pk): piece.outline
        for laid in plan.laid
        for piece in laid.pieces
        if piece.outline
    }
    return {
        "laid": [_laid_to_dict(laid) for laid in plan.laid],
        "outlines": outlines,
        "utilisation": plan.utilisation,
        "film_mm2": plan.film_mm2,
    }


def plan_from_dict(
    kept: dict[str, Any], wanted: Sequence[Wanted], wishes: LayoutWishes, offcuts: Sequence[Sheet]
) -> Plan:
    """The plan again, for the queue and the offcuts that it was kept for (the same key)."""
    decals = {want.decal.pk: want.decal for want in wanted}
    sheets = {sheet.pk: sheet for sheet in offcuts}
    outlines = {
        int(pk): tuple((x, y) for x, y in outline) for pk, outline in kept["outlines"].items()
    }
    laid = [
        Laid(
            films=tuple(Film(film) for film in row["films"]),
            offcuts=tuple(sheets[pk] for pk in row["offcuts"]),
            width_mm=row["width_mm"],
            height_mm=row["height_mm"],
            pieces=tuple(
                LaidPiece(decals[pk], Place(*place), outlines[pk] if nested else None)
                for pk, nested, *place in row["pieces"]
            ),
            rest=(row["rest"][0], row["rest"][1]),
        )
        for row in kept["laid"]
    ]
    return Plan(tuple(laid), tuple(wanted), wishes, kept["utilisation"], kept["film_mm2"])


def _laid_to_dict(laid: Laid) -> dict[str, Any]:
    return {
        "films": [film.value for film in laid.films],
        "offcuts": [sheet.pk for sheet in laid.offcuts],
        "width_mm": laid.width_mm,
        "height_mm": laid.height_mm,
        "pieces": [
            [piece.decal.pk, piece.outline is not None, *astuple(piece.place)]
            for piece in laid.pieces
        ],
        "rest": list(laid.rest),
    }
