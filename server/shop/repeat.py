"""What has changed since a job was last run: price, revision, lot, tools, learned bends."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from server.errors import Amount, say
from server.findings import Finding, sorted_by_level
from server.shop.money import exact

SAME_MM = 0.005
"""Heights and thicknesses closer than this are the same. Common practice, no source."""

SAME_ANGLE_DEG = 0.1
WORTH_TELLING_PRICE_RATIO = 0.02


@dataclass(frozen=True, slots=True)
class ToolThen:
    """A tool as it stood in a run: its height, and whether the shop still has it."""

    height_mm: float
    there: bool = True


@dataclass(frozen=True, slots=True)
class JobThen:
    """What a run rested on, or what a repeat would rest on today.

    `bend_angles_deg` is, for every bend, the angle that the saved depth gives by what the shop knew.
    """

    revision: str
    material: str
    price_per_kg: float | Fraction | None = None
    thickness_mm: float | None = None
    sheets_free_count: int | None = None
    tools: Mapping[str, ToolThen] = field(default_factory=dict)
    bend_angles_deg: Mapping[int, float] = field(default_factory=dict)


def changes_since(
    before: JobThen, now: JobThen, *, sheets_needed_count: int = 0
) -> tuple[Finding, ...]:
    """What is different for a repeat, stops first; empty when it runs as it did.

    Args:
        before: what the last run rested on.
        now: the same things today.
        sheets_needed_count: sheets the repeat takes [count].

    Returns: findings; a stop has to be settled before the repeat is released.
    """
    return sorted_by_level(
        (
            *_check_revision(before, now),
            *_check_material(before, now, sheets_needed_count),
            *_check_tools(before, now),
            *_check_bends(before, now),
        )
    )


def _check_revision(before: JobThen, now: JobThen) -> Iterator[Finding]:
    if before.revision != now.revision:
        yield Finding(
            "stop",
            "revision_changed",
            say(
                "The part is at revision {now}; it was last made at {before}.",
                now=now.revision,
                before=before.revision,
            ),
            say("Compare the drawings; plan and quote the new revision, or confirm the old one."),
            source="the part's revisions",
        )


def _check_material(before: JobThen, now: JobThen, needed: int) -> Iterator[Finding]:
    if before.material != now.material:
        yield Finding(
            "stop",
            "material_changed",
            say(
                "The material is {now}; it was {before}.", now=now.material, before=before.material
            ),
            say("Work out flat, depths and price again."),
            source="the revision",
        )
    if before.price_per_kg and now.price_per_kg is not None:
        change = exact(now.price_per_kg) / exact(before.price_per_kg) - 1
        if abs(change) >= WORTH_TELLING_PRICE_RATIO:
            percent = Amount(float(abs(change) * 100), "percent")
            way = "more" if change > 0 else "less"
            yield Finding(
                "caution",
                "material_price_changed",
                say("The material costs {percent} {way} than then.", percent=percent, way=way),
                say("Work the price out again."),
                source="price history",
                amount=Amount(float(change * 100), "percent"),
            )
    if before.thickness_mm is not None and now.thickness_mm is not None:
        change_mm = now.thickness_mm - before.thickness_mm
        if abs(change_mm) > SAME_MM:
            yield Finding(
                "caution",
                "thickness_changed",
                say(
                    "The lot measures {now}; it was {before}.",
                    now=Amount(now.thickness_mm, "mm"),
                    before=Amount(before.thickness_mm, "mm"),
                ),
                say(
                    "Y, X and the stroke heights are worked out for the new lot; key them in again."
                ),
                source="the lot's measured thickness",
                amount=Amount(change_mm, "mm"),
            )
    free = now.sheets_free_count
    if free is not None and free < needed:
        yield Finding(
            "caution",
            "not_enough_sheets",
            say(
                "{free} sheets are free; it takes {needed}.",
                free=Amount(free, "count"),
                needed=Amount(needed, "count"),
            ),
            say("Order the missing ones before a date is promised."),
            source="stock",
            amount=Amount(needed - free, "count"),
        )


def _check_tools(before: JobThen, now: JobThen) -> Iterator[Finding]:
    for name, then in before.tools.items():
        today = now.tools.get(name)
        if today is None or not today.there:
            yield Finding(
                "stop",
                "tool_gone",
                say("The tool {name} is no longer there.", name=name),
                say("Choose another, and work out depths and blank with it."),
                source="the tool list",
                tool=name,
            )
        elif abs(today.height_mm - then.height_mm) > SAME_MM:
            change = today.height_mm - then.height_mm
            yield Finding(
                "caution",
                "tool_height_changed",
                say(
                    "{name} is {now} high; it was {before} (reground?).",
                    name=name,
                    now=Amount(today.height_mm, "mm"),
                    before=Amount(then.height_mm, "mm"),
                ),
                say("Y and the stroke heights shift by as much; touch off again."),
                source="the tool list",
                tool=name,
                amount=Amount(change, "mm"),
            )


def _check_bends(before: JobThen, now: JobThen) -> Iterator[Finding]:
    for bend, angle in before.bend_angles_deg.items():
        today = now.bend_angles_deg.get(bend)
        if today is not None and abs(today - angle) > SAME_ANGLE_DEG:
            yield Finding(
                "note",
                "learned_since",
                say(
                    "By what was learned since, the old depth gives {now} instead of {before}.",
                    now=Amount(today, "deg"),
                    before=Amount(angle, "deg"),
                ),
                say("Use the depth worked out today."),
                source="trials since the last run",
                bend=bend,
                amount=Amount(today - angle, "deg"),
            )
