"""The state of an order from its lines."""

from collections.abc import Iterable

from server.shop.job_state import JobState

FAR: tuple[JobState, ...] = (
    "asked", "priced", "held", "won", "ready", "running", "made", "gone",
)  # fmt: skip
"""From least to most far; a held line holds its order back. A lost line no longer counts."""


def order_state(lines: Iterable[JobState]) -> JobState:
    """The state of the line that is least far; lost when every line is, asked without lines.

    >>> order_state(["made", "ready", "lost"]), order_state(["lost"]), order_state([])
    ('ready', 'lost', 'asked')
    """
    every = list(lines)
    left = [state for state in every if state != "lost"]
    if not left:
        return "lost" if every else "asked"
    return min(left, key=FAR.index)
