"""Set-up families: which work shares tools and sheet, and what going from one to another takes."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from server.shop.schedule_task import Changeovers

SAME_MIN = 3.0
"""Another job of the same tools and sheet: program, stops, first part."""
OTHER_SHEET_MIN = 1.5
"""On top for another material or thickness: touch off and correct again."""
OTHER_DIE_MIN = 7.5
OTHER_PUNCH_MIN = 7.5
OTHER_CUT_SHEET_MIN = 5.0
"""Common practice, no source: same family 3 to 6 min, another V or punch 5 to 10 min each."""


@dataclass(frozen=True, slots=True)
class SetupFamily:
    """What stands ready on a resource for one kind of work."""

    kind: Literal["bend", "cut", "other"]
    material: str = ""
    thickness_mm: float = 0.0
    punches: frozenset[str] = frozenset()
    dies: frozenset[str] = frozenset()

    @property
    def name(self) -> str:
        """The family in words: tools and sheet."""
        sheet = f"{self.material} {self.thickness_mm:g}".strip()
        if self.kind == "bend" and (self.punches or self.dies):
            return f"{' '.join(sorted(self.punches))} / {' '.join(sorted(self.dies))}, {sheet}"
        return sheet if self.kind != "other" else "bench"


def changeover(*, before: SetupFamily, after: SetupFamily) -> float:
    """Minutes to go from one family to another on the same resource [min].

    Formula: bend: 3, + 1.5 for another sheet, + 7.5 for another die, + 7.5 for another punch;
        cut: 5 for another sheet; other work: nothing

    Args:
        before: what stands on the resource.
        after: what comes.

    Returns: the minutes [min].

    References: common practice, no source; meant to be replaced by measured set-up times.

    >>> one = SetupFamily("bend", "DC01", 2.0, frozenset({"P1"}), frozenset({"V16"}))
    >>> other = SetupFamily("bend", "DC01", 1.5, frozenset({"P1"}), frozenset({"V12"}))
    >>> changeover(before=one, after=one), changeover(before=one, after=other)
    (3.0, 12.0)
    """
    other_sheet = (before.material, before.thickness_mm) != (after.material, after.thickness_mm)
    if before.kind != after.kind or after.kind == "other":
        return 0.0
    if after.kind == "cut":
        return OTHER_CUT_SHEET_MIN if other_sheet else 0.0
    return (
        SAME_MIN
        + OTHER_SHEET_MIN * other_sheet
        + OTHER_DIE_MIN * (before.dies != after.dies)
        + OTHER_PUNCH_MIN * (before.punches != after.punches)
    )


def changeovers(families: Iterable[SetupFamily]) -> Changeovers:
    """The changeovers between all families that occur."""
    known = {family.name: family for family in families}
    return Changeovers(
        pairs={
            (a, b): changeover(before=before, after=after)
            for a, before in known.items()
            for b, after in known.items()
        }
    )
