import json

import pytest

from decaljobs.craft.climate import Clock
from decaljobs.craft.drying import WaitTerms


def test_it_survives_json():
    terms = WaitTerms(24, 4, Clock.WATER_UNDER_FILM, 23.0, 45.0, 12.0)
    kept = json.loads(json.dumps(terms.to_dict()))
    assert WaitTerms.from_dict(kept) == terms
    assert kept["clock"] == "water_under_film"


def test_it_takes_a_clock_by_its_name():
    assert WaitTerms(1, 0, "solvent").clock is Clock.SOLVENT


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"reference_hours": 0}, "reference hours must be 0.01 to 2000 h"),
        ({"reference_hours": float("nan")}, "reference hours must be 0.01 to 2000 h"),
        ({"reference_hours": float("inf")}, "reference hours must be 0.01 to 2000 h"),
        ({"floor_hours": -1}, "floor hours must be 0 to 2000 h"),
        ({"reference_temperature": 60}, "reference temperature must be 0 to 40 °C"),
        ({"reference_humidity": 100}, "reference humidity must be 0 to 95 %RH"),
        ({"film_forming_minimum": -50}, "film forming minimum must be -20 to 40 °C"),
        ({"clock": "sundial"}, "must be one of water, water_under_film, solvent, fixed"),
    ],
)
def test_it_refuses_figures_naming_their_range(change, said):
    values = WaitTerms(12, 8, Clock.WATER).to_dict() | change
    with pytest.raises(ValueError, match=said):
        WaitTerms.from_dict(values)
