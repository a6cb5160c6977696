"""Parts that were scrapped come back on the cut list; the cut list itself."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from server.errors import Amount, Sentence, ShopError, say


@dataclass(frozen=True, slots=True)
class CutLine:
    """Blanks to cut: of which part and revision, from which sheet, for which jobs."""

    part: str
    revision: str
    material: str
    thickness_mm: float
    blank_mm: tuple[float, float]
    quantity_count: int
    jobs: tuple[str, ...]
    kind: Literal["first cut", "re-cut"] = "first cut"


@dataclass(frozen=True, slots=True)
class JobCount:
    """How a job's parts stand. `in_work_count` are blanks cut and not yet judged."""

    ordered_count: int
    good_count: int = 0
    scrap_count: int = 0
    in_work_count: int = 0

    def __post_init__(self) -> None:
        for name in ("ordered_count", "good_count", "scrap_count", "in_work_count"):
            if getattr(self, name) < 0:
                raise ShopError(
                    "count_below_zero",
                    say("{name} is below zero.", name=name.removesuffix("_count")),
                    remedy="Count again.",
                    where=name,
                )


def recut_count(count: JobCount) -> int:
    """Blanks that have to be cut again so that the order can be filled [count].

    Formula: ordered - good - in work, not below 0 and not above the scrapped

    >>> recut_count(JobCount(ordered_count=20, good_count=10, scrap_count=3, in_work_count=7))
    3
    """
    missing = count.ordered_count - count.good_count - count.in_work_count
    return max(0, min(missing, count.scrap_count))


def recut_line(first: CutLine, *, job: str, count: JobCount) -> CutLine | None:
    """The cut list's line for what a job lost; None when nothing is missing."""
    lost = recut_count(count)
    if lost == 0:
        return None
    return replace(first, quantity_count=lost, jobs=(job,), kind="re-cut")


def cut_list(lines: Iterable[CutLine]) -> tuple[CutLine, ...]:
    """Lines of the same blank together, re-cuts first: a job on the brake waits for them."""
    together: dict[tuple[object, ...], CutLine] = {}
    for line in lines:
        key = (line.kind, line.part, line.revision, line.material, line.thickness_mm, line.blank_mm)
        known = together.get(key)
        if known is None:
            together[key] = line
        else:
            together[key] = replace(
                known,
                quantity_count=known.quantity_count + line.quantity_count,
                jobs=tuple(dict.fromkeys((*known.jobs, *line.jobs))),
            )
    return tuple(
        sorted(
            together.values(),
            key=lambda line: (line.kind != "re-cut", line.material, line.thickness_mm, line.part),
        )
    )


def told(line: CutLine) -> Sentence:
    """A line in words."""
    return say(
        "{kind}: {count} of {part} {revision}, {material} {thickness}, for {jobs}.",
        kind=line.kind.capitalize(),
        count=Amount(line.quantity_count, "count"),
        part=line.part,
        revision=line.revision,
        material=line.material,
        thickness=Amount(line.thickness_mm, "mm"),
        jobs=", ".join(line.jobs),
    )
