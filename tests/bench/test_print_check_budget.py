"""The full fault check of a large file keeps to its budget, beside merely decoding it with the same library."""

import pytest

from tests.bench.print_check import pairs_of, ratio_of


@pytest.mark.slow
def test_87_megapixels_of_cmyk_cost_at_most_three_decodings_and_350_megabytes():
    """1.7 times and 268 MB were measured, on a machine with much else to do."""
    check, decode = pairs_of(87, 1)
    assert ratio_of(check, decode) <= 3
    assert max(megabytes for _, megabytes in check) <= 350
