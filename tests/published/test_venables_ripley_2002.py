"""The robust mean against the worked example of W. N. Venables, B. D. Ripley, Modern Applied
Statistics with S, 4th ed., Springer 2002, sec. 5.5: 24 determinations of copper in wholemeal flour
(Analytical Methods Committee, Analyst 114 (1989) 1693-1702). Their mean is 4.28, their median 3.385;
Huber's estimate with k = 1.5 and MAD scale is 3.206724 with scale 0.526323.
"""

from statistics import mean, median

import pytest

from server.shop.time_standard import robust_mean

COPPER = [
    2.90, 3.10, 3.40, 3.40, 3.70, 3.70, 2.80, 2.50, 2.40, 2.40, 2.70, 2.20,
    5.28, 3.37, 3.03, 3.03, 28.95, 3.77, 3.40, 2.20, 3.50, 3.60, 3.70, 3.70,
]  # fmt: skip


def test_copper_in_flour() -> None:
    assert mean(COPPER) == pytest.approx(4.28, abs=0.005)
    assert median(COPPER) == pytest.approx(3.385)
    location, scale = robust_mean(COPPER)
    assert location == pytest.approx(3.206724, abs=1e-5)
    assert scale == pytest.approx(0.526323, abs=1e-6)
