"""What would be keyed for a sequence by the brake's last touch-off, before there is a set-up."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.actions.key_in import key_layout
from server.actions.setup import tool_height
from server.mechanics.control_reading import (
    rounded_shallower,
    touch_off_after_tool_change,
    y_reading,
)
from server.mechanics.tooling import YSense
from server.storage.database import Session
from server.storage.queries.brake import touch_off_of
from server.storage.tables.bend_sequence import Step
from server.storage.tables.brake import Brake


@dataclass(frozen=True, slots=True)
class KeyedAhead:
    """The digits of one step in the control's unit and decimals; Y empty where nothing tells it."""

    x: str
    y: str


def keyed_ahead(
    session: Session, brake: Brake, steps: Sequence[Step], *, thickness_mm: float
) -> tuple[KeyedAhead, ...]:
    """X and Y of every step. Reads only; a set-up's own touch-off comes before these numbers."""
    layout = key_layout(brake)
    known = touch_off_of(brake)
    found = []
    for step in steps:
        x = layout.text("x", layout.number("x", step.x_mm))
        if known is None or step.depth_mm is None:
            found.append(KeyedAhead(x, ""))
            continue
        sense: YSense = 1 if brake.y_sense > 0 else -1
        touch_off = touch_off_after_tool_change(
            touch_off=known, y_sense=sense, tool_height_mm=tool_height(session, step)
        )
        reading_mm = rounded_shallower(
            reading_mm=y_reading(
                touch_off=touch_off,
                y_sense=sense,
                depth_mm=step.depth_mm,
                thickness_mm=thickness_mm,
            ),
            y_sense=sense,
            resolution_mm=brake.y_resolution_mm,
        )
        found.append(KeyedAhead(x, layout.text("y", layout.number("y", reading_mm))))
    return tuple(found)
