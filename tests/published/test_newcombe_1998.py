"""Interval of a share against R. G. Newcombe, Two-sided confidence intervals for the single
proportion: comparison of seven methods, Statistics in Medicine 17 (1998) 857-872, table I, method 3
(score without continuity correction). The four cases are given to four decimals; from memory.
"""

import pytest

from server.shop.numbers import rate


@pytest.mark.parametrize(
    ("hits", "cases", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0000, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_the_paper_s_four_cases(hits: int, cases: int, low: float, high: float) -> None:
    found = rate(hits, cases)
    assert found.low_ratio == pytest.approx(low, abs=5.1e-5)
    assert found.high_ratio == pytest.approx(high, abs=5.1e-5)
