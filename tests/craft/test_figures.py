"""Figures that never say more than is so."""

import pytest

from decaljobs.craft.figures import cut_tenths


@pytest.mark.parametrize(
    ("value", "said"), [(7.449, "7.4"), (11.999, "11.9"), (12.0, "12"), (0.3, "0.3"), (0, "0")]
)
def test_it_cuts_to_tenths(value, said):
    assert cut_tenths(value) == said
