"""A layout asked for and answered as plain data, lengths in mm."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from decaljobs.craft.layout.model import (
    GAP,
    LaidSheet,
    LayoutError,
    Offcut,
    Piece,
    Placement,
    Sheet,
)
from decaljobs.craft.sheetlayout import lay_out, lay_out_strip


def layout_request(data: object, **wishes: Any) -> dict[str, Any]:
    """The answer to a request, mm and mm².

    data: {"sheet": {"width", "height", "margin"}, "gap", "offcuts": [{"name", "width",
    "height"}], "pieces": [{"name", "width", "height", "copies", "turn"}]}, or {"strip":
    {"width"}, "gap", "pieces"}. Margin is 0, gap 3, copies 1 and turn true where left out.
    wishes: as in `lay_out`, without the gap. Raises LayoutError with a sentence.

    >>> answer = layout_request({"strip": {"width": 30}, "gap": 2, "pieces": [
    ...     {"name": "bar", "width": 30, "height": 10, "copies": 2}]}, iterations=1)
    >>> answer["length"], answer["utilisation"], answer["film_mm2"]
    (22.0, 1.0, 660.0)
    """
    request = _mapping(data, "The request")
    pieces = [_piece(entry) for entry in _entries(request, "pieces")]
    wishes = {**wishes, "gap": request.get("gap", GAP)}
    if ("sheet" in request) == ("strip" in request):
        raise LayoutError("The request needs either a ‘sheet’ or a ‘strip’.")
    if "strip" in request:
        if request.get("offcuts"):
            raise LayoutError("Offcuts go with a ‘sheet’, not with a ‘strip’.")
        strip = _mapping(request["strip"], "The strip")
        return _strip_answer(pieces, _needed(strip, "width", "The strip"), wishes)
    sheet = _sheet(_mapping(request["sheet"], "The sheet"))
    offcuts = [_offcut(entry) for entry in _entries(request, "offcuts", needed=False)]
    layout = lay_out(pieces, sheet, offcuts=offcuts, **wishes)
    return {
        "sheets": [_sheet_answer(laid) for laid in layout.sheets],
        "utilisation": layout.utilisation,
        "film_mm2": layout.film_mm2,
    }


def _strip_answer(pieces: list[Piece], width: float, wishes: dict[str, Any]) -> dict[str, Any]:
    layout = lay_out_strip(pieces, width, **wishes)
    return {
        "length": layout.length,
        "placements": [_placement_answer(placed) for placed in layout.placements],
        "utilisation": layout.utilisation,
        "film_mm2": layout.film_mm2,
    }


def _sheet_answer(laid: LaidSheet) -> dict[str, Any]:
    rest = laid.offcut
    return {
        "source": laid.source,
        "placements": [_placement_answer(placed) for placed in laid.placements],
        "offcut": rest and {"x": rest.x, "y": rest.y, "width": rest.width, "height": rest.height},
    }


def _placement_answer(placed: Placement) -> dict[str, Any]:
    return {
        "name": placed.name,
        "x": placed.x,
        "y": placed.y,
        "width": placed.width,
        "height": placed.height,
        "turned": placed.turned,
    }


def _sheet(entry: Mapping[str, Any]) -> Sheet:
    return Sheet(
        _needed(entry, "width", "The sheet"),
        _needed(entry, "height", "The sheet"),
        entry.get("margin", 0.0),
    )


def _offcut(data: object) -> Offcut:
    entry = _mapping(data, "An offcut")
    name = _name(entry, "An offcut")
    what = f"Offcut ‘{name}’"
    return Offcut(name, _needed(entry, "width", what), _needed(entry, "height", what))


def _piece(data: object) -> Piece:
    entry = _mapping(data, "A piece")
    name = _name(entry, "A piece")
    what = f"‘{name}’"
    turn = entry.get("turn", True)
    if not isinstance(turn, bool):
        raise LayoutError(f"{what} has ‘turn’: {turn!r}; true or false is needed.")
    width, height = _needed(entry, "width", what), _needed(entry, "height", what)
    return Piece(name, width, height, entry.get("copies", 1), turn)


def _name(entry: Mapping[str, Any], what: str) -> str:
    name = _needed(entry, "name", what)
    if not isinstance(name, str) or not name.strip():
        raise LayoutError(f"{what} has no name.")
    return name


def _needed(entry: Mapping[str, Any], key: str, what: str) -> Any:
    if entry.get(key) is None:
        raise LayoutError(f"{what} has no ‘{key}’.")
    return entry[key]


def _mapping(data: object, what: str) -> Mapping[str, Any]:
    if not isinstance(data, Mapping):
        raise LayoutError(f"{what} must be an object with names and values.")
    return data


def _entries(request: Mapping[str, Any], key: str, needed: bool = True) -> list[Any]:
    entries = request.get(key, [] if not needed else None)
    if not isinstance(entries, list):
        raise LayoutError(f"The request needs a list ‘{key}’.")
    return entries
