"""The layout command: request in, answer out, refusals as sentences."""

import json
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from tests.benchmarks.layout_checks import Box, closest_pair, comes_apart, outside

REQUEST = {
    "sheet": {"width": 210, "height": 297, "margin": 5},
    "gap": 3,
    "offcuts": [{"name": "W-3 rest", "width": 90, "height": 60}],
    "pieces": [
        {"name": "roundel", "width": 24, "height": 24, "copies": 6},
        {"name": "nameplate", "width": 70, "height": 8, "copies": 5, "turn": False},
        {"name": "shield", "width": 22, "height": 28, "copies": 4, "turn": True},
    ],
}


@pytest.fixture
def ask(tmp_path):
    def run(request, *arguments):
        path = tmp_path / "request.json"
        path.write_text(request if isinstance(request, str) else json.dumps(request))
        out = StringIO()
        call_command("layout", str(path), *arguments, stdout=out)
        return out.getvalue()

    return run


@pytest.fixture
def answer(ask):
    def run(request, *arguments):
        return json.loads(ask(request, "--json", "--iterations", "3", *arguments))

    return run


def boxes(placements):
    return [Box(p["name"], p["x"], p["y"], p["width"], p["height"]) for p in placements]


def test_it_answers_with_offcuts_and_sheets(answer):
    reply = answer(REQUEST)
    assert set(reply) == {"sheets", "utilisation", "film_mm2"}
    offcut, sheet = reply["sheets"]
    assert (offcut["source"], sheet["source"]) == ("W-3 rest", "sheet 1")
    for laid in reply["sheets"]:
        assert set(laid) == {"source", "placements", "offcut"}
    placed = [p for laid in reply["sheets"] for p in laid["placements"]]
    assert set(placed[0]) == {"name", "x", "y", "width", "height", "turned"}
    assert sorted(p["name"] for p in placed) == (
        ["nameplate"] * 5 + ["roundel"] * 6 + ["shield"] * 4
    )
    assert not any(p["turned"] for p in placed if p["name"] == "nameplate")
    for shield in (p for p in placed if p["name"] == "shield"):
        assert shield["width"] == (28 if shield["turned"] else 22)
    assert not outside(boxes(offcut["placements"]), 0, 0, 90, 60)
    assert not outside(boxes(sheet["placements"]), 5, 5, 205, 292)
    assert sheet["offcut"]["width"] == 200 or sheet["offcut"]["height"] == 287
    assert 0.5 < reply["utilisation"] <= 1


def test_it_answers_with_the_length_of_a_strip(answer):
    reply = answer({"strip": {"width": 210}, "gap": 3, "pieces": REQUEST["pieces"]})
    assert set(reply) == {"length", "placements", "utilisation", "film_mm2"}
    laid = boxes(reply["placements"])
    assert max(box.upper for box in laid) == pytest.approx(reply["length"])
    assert reply["film_mm2"] == pytest.approx(210 * reply["length"])
    gapped = sum((box.width + 3) * (box.height + 3) for box in laid)
    assert reply["utilisation"] == pytest.approx(gapped / (213 * (reply["length"] + 3)))


def test_it_keeps_to_straight_cuts_where_asked(answer):
    pieces = [
        {"name": f"d{at}", "width": 20 + 7 * at, "height": 45 - 4 * at, "copies": 4}
        for at in range(6)
    ]
    reply = answer({"strip": {"width": 210}, "pieces": pieces}, "--straight-cuts")
    laid = boxes(reply["placements"])
    assert comes_apart(laid)
    assert closest_pair(laid, 3) is None


def test_it_passes_seed_and_apart_on_to_the_search(monkeypatch, ask):
    seen = {}

    def spy(data, **wishes):
        seen.update(wishes, data=data)
        return {"sheets": [], "utilisation": 1.0, "film_mm2": 0.0}

    monkeypatch.setattr("decaljobs.management.commands.layout.layout_request", spy)
    ask(REQUEST, "--seed", "9", "--apart", "--seconds", "0.2", "--json")
    assert seen == {
        "data": REQUEST,
        "seed": 9,
        "together": False,
        "seconds": 0.2,
        "iterations": None,
        "straight_cuts": False,
    }


def test_it_tells_the_layout_in_words_without_json(ask):
    said = ask(REQUEST, "--iterations", "1")
    assert "W-3 rest: " in said
    assert "rest after one cut" in said
    assert "nameplate at " in said


def test_it_reads_the_request_from_standard_input(monkeypatch):
    monkeypatch.setattr("sys.stdin", StringIO(json.dumps(REQUEST)))
    out = StringIO()
    call_command("layout", "-", "--json", "--iterations", "1", stdout=out)
    assert len(json.loads(out.getvalue())["sheets"]) == 2


PIECE = {"name": "dot", "width": 5, "height": 5}


@pytest.mark.parametrize(
    "request_data, sentence",
    [
        ("{", "is not JSON"),
        ("[" * 100_000, "is not JSON"),
        ("[]", "The request must be an object"),
        ({"pieces": [PIECE]}, "either a ‘sheet’ or a ‘strip’"),
        ({"strip": {"width": 9}, "sheet": {}, "pieces": [PIECE]}, "either a ‘sheet’ or a ‘strip’"),
        ({"strip": {"width": 9}}, "needs a list ‘pieces’"),
        ({"strip": {}, "pieces": [PIECE]}, "The strip has no ‘width’"),
        ({"strip": 4, "pieces": [PIECE]}, "The strip must be an object"),
        ({"strip": {"width": 90}, "pieces": [3]}, "A piece must be an object"),
        ({"strip": {"width": 90}, "pieces": [{"width": 5}]}, "A piece has no ‘name’"),
        ({"strip": {"width": 90}, "pieces": [PIECE | {"name": " "}]}, "A piece has no name"),
        ({"strip": {"width": 90}, "pieces": [PIECE | {"turn": "no"}]}, "true or false"),
        ({"strip": {"width": 90}, "pieces": [PIECE | {"copies": 0}]}, "has 0 copies"),
        ({"strip": {"width": 90}, "pieces": [PIECE | {"width": None}]}, "has no ‘width’"),
        ({"strip": {"width": 90}, "pieces": [PIECE | {"width": "wide"}]}, "is wide mm"),
        ({"strip": {"width": 90}, "pieces": [PIECE], "gap": "x"}, "The gap is x mm"),
        ({"strip": {"width": 90}, "offcuts": [1], "pieces": [PIECE]}, "Offcuts go with a ‘sheet’"),
        ('{"strip": {"width": 90}, "pieces": [{"name": "a", "width": NaN, "height": 1}]}', "nan"),
        ({"sheet": {"width": 50, "height": 50}, "offcuts": {}, "pieces": [PIECE]}, "‘offcuts’"),
        (REQUEST | {"pieces": [PIECE | {"width": 400}]}, "‘dot’ .* is larger than the sheet"),
    ],
    ids=range(20),
)
def test_it_rejects_a_wrong_request_with_a_sentence(ask, request_data, sentence):
    with pytest.raises(CommandError, match=sentence):
        ask(request_data)


def test_it_rejects_a_request_that_is_not_there():
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("layout", "no-such-file.json")
