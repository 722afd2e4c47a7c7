"""The chance of a clean edge with the maker's own record in it."""

import pytest
from scipy.integrate import quad
from scipy.special import expit, logit
from scipy.stats import binom, norm

from decaljobs.craft.knife.edgerecord import SPREAD, Edges, edge_chance


@pytest.mark.parametrize(
    "seen",
    [
        [Edges(0.9, 12, 8)],
        [Edges(0.95, 30, 0), Edges(0.6, 3, 5)],
        [Edges(0.2, 0, 4)],
        [Edges(0.85, 200, 60), Edges(0.99, 40, 1)],
    ],
)
def test_it_agrees_with_integrals_by_scipy(seen):
    """Source: scipy.stats.norm and binom for the belief, scipy.integrate.quad for its mean."""

    def belief(shift):
        odds = norm.pdf(shift, scale=SPREAD)
        for edges in seen:
            chance = expit(logit(edges.computed) + shift)
            odds *= binom.pmf(edges.clean, edges.clean + edges.spoiled, chance)
        return odds

    def integral(value, end=8.0):
        return quad(value, -8, end, points=[-2, -1, -0.5, 0, 0.5], limit=400, epsabs=1e-16)[0]

    found = edge_chance(0.8, seen)
    whole = integral(belief)
    mean = integral(lambda shift: belief(shift) * expit(logit(0.8) + shift)) / whole
    assert found.chance == pytest.approx(mean, abs=1e-3)
    for end, share in ((found.low, 0.05), (found.high, 0.95)):
        assert integral(belief, logit(end) - logit(0.8)) / whole == pytest.approx(share, abs=5e-3)


def test_a_long_record_of_the_same_art_has_the_last_word():
    found = edge_chance(0.95, [Edges(0.95, 700, 300)])
    assert found.chance == pytest.approx(0.7, abs=0.01)
    assert found.low < 0.7 < found.high and found.high - found.low < 0.06


def test_a_record_as_computed_changes_little_and_narrows():
    few = edge_chance(0.9, [Edges(0.9, 9, 1)])
    many = edge_chance(0.9, [Edges(0.9, 180, 20)])
    assert many.chance == pytest.approx(0.9, abs=0.01)
    assert many.high - many.low < few.high - few.low


def test_clean_edges_raise_it_and_spoiled_ones_lower_it():
    even = edge_chance(0.8, [Edges(0.8, 8, 2)]).chance
    assert edge_chance(0.8, [Edges(0.8, 10, 0)]).chance > even
    assert edge_chance(0.8, [Edges(0.8, 4, 6)]).chance < even


@pytest.mark.parametrize("number", [0, 4, 5])
def test_too_few_edges_are_said_to_be(number):
    found = edge_chance(0.8, [Edges(0.8, number, 0)])
    assert found.is_too_few == (number < 5)
    assert found.expected == pytest.approx(0.8 * number)


@pytest.mark.parametrize("chance", [-0.1, 1.1])
def test_what_is_no_chance_is_refused(chance):
    with pytest.raises(ValueError, match="0 to 1"):
        edge_chance(chance, [])
    with pytest.raises(ValueError, match="0 to 1"):
        Edges(chance, 1, 1)
