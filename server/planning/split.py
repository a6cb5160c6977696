"""Long bend sequences in several programs, for a control with few steps to a program.

As few programs as possible; among those, cuts at changes of tools first, then where the sheet is
turned over or round anyway, then programs of even length. Common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from server.errors import ShopError, say

TOOL_CUT, TURN_CUT, PLAIN_CUT = 0, 1, 3


class StepInARow(Protocol):
    """What splitting has to know of a step, planned or kept."""

    @property
    def number(self) -> int:
        """Its place in the sequence, from 1."""

    @property
    def tools_changed(self) -> bool:
        """Whether other tools are fitted before it."""

    @property
    def turned_over(self) -> bool:
        """Whether the sheet is turned over before it."""

    @property
    def turned_end_for_end(self) -> bool:
        """Whether the sheet is turned end for end before it."""


@dataclass(frozen=True, slots=True)
class Program:
    """Steps that go into one program of the control, by their numbers."""

    first: int
    last: int
    starts_with_tool_change: bool

    @property
    def length(self) -> int:
        """How many steps."""
        return self.last - self.first + 1


def split_programs(steps: Sequence[StepInARow], *, most_steps: int) -> tuple[Program, ...]:
    """The steps in programs of at most `most_steps`.

    Raises: ShopError `out_of_range` for a control that holds no step.
    """
    if most_steps < 1:
        raise ShopError(
            "out_of_range",
            say("A program holds {count} steps.", count=str(most_steps)),
            remedy="Give the control's steps for each program.",
            where="most_steps",
        )
    count = len(steps)
    best: list[tuple[tuple[int, int, int], int]] = [((0, 0, 0), 0)]
    for end in range(1, count + 1):
        choices = []
        for start in range(max(0, end - most_steps), end):
            (made, cuts, uneven), _ = best[start]
            cut = 0 if start == 0 else _cut_cost(steps[start])
            choices.append(((made + 1, cuts + cut, uneven + (end - start) ** 2), start))
        best.append(min(choices))
    programs: list[Program] = []
    end = count
    while end > 0:
        start = best[end][1]
        changed = start > 0 and steps[start].tools_changed
        programs.append(Program(steps[start].number, steps[end - 1].number, changed))
        end = start
    return tuple(reversed(programs))


def _cut_cost(step: StepInARow) -> int:
    if step.tools_changed:
        return TOOL_CUT
    return TURN_CUT if step.turned_over or step.turned_end_for_end else PLAIN_CUT
