"""How independent errors add up in one dimension.

Worst case adds their sizes, the statistical sum takes the root of their squares (limits read as
three standard deviations). Root-sum-square tolerance stacking: e.g. ASME Y14.5.1 practice (from
memory); the sizes of the errors are common practice, no source, and shop settings.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

SAME_MM = 1e-9


@dataclass(frozen=True, slots=True)
class GaugingErrors:
    """Limits of the independent errors [mm]: gauge, blank, and a formed flange as a contact."""

    gauge_mm: float = 0.1
    blank_mm: float = 0.15
    flange_contact_mm: float = 0.15


@dataclass(frozen=True, slots=True)
class ErrorStack:
    """How far a dimension may be off: at worst, statistically, and from which errors.

    `from_errors` gives each error's own share with its sign, so that stacks can be added.
    """

    worst_mm: float
    statistical_mm: float
    from_errors: Mapping[str, float]


def stack_of(shares: Mapping[str, float]) -> ErrorStack:
    """The stack of errors by their names and signed shares [mm]."""
    sizes = {name: size for name, size in shares.items() if abs(size) > SAME_MM}
    return ErrorStack(
        math.fsum(abs(size) for size in sizes.values()),
        math.sqrt(math.fsum(size * size for size in sizes.values())),
        sizes,
    )


def added(
    first: Mapping[str, float], second: Mapping[str, float], factor: float
) -> dict[str, float]:
    """The shares of one dimension and so many times those of another."""
    total = dict(first)
    for name, size in second.items():
        total[name] = total.get(name, 0.0) + factor * size
    return total
