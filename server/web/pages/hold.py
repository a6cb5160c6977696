"""How each step of a flat part is held: pictures in space, and the edges at the gauge by their names."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from server.drawings.hold import Held, draw_hold, gauged_edges
from server.geometry.part import FlatPart
from server.storage.plain_scene import scene_of
from server.web.pages.revision_picture import flat_part_of_revision

if TYPE_CHECKING:
    from server.storage.tables.bend_sequence import Step
    from server.storage.tables.part import Revision

KEPT_SEQUENCES = 120


@dataclass(frozen=True, slots=True)
class Placed:
    """What is kept of a step that shows how the part lies and what stops it."""

    bends: tuple[int, ...]
    side_up: str
    rear: str
    gauge_face: int
    x_mm: float
    fingers_mm: tuple[float, ...]
    low_mm: float
    high_mm: float
    die_width_mm: float


@dataclass(frozen=True, slots=True)
class HeldStep:
    """One step: the part as it is pushed against the gauge, and what touches it, in words."""

    picture: str
    gauge_words: str


def held_part(revision: "Revision") -> FlatPart | None:
    """The part whose steps are shown in space; None for a profile, whose section shows it all."""
    return flat_part_of_revision(revision) if revision.kind == "flat" else None


@lru_cache(maxsize=KEPT_SEQUENCES)
def held_steps(
    part: FlatPart, strokes: tuple[Placed, ...], finger_width_mm: float
) -> tuple[HeldStep, ...]:
    """Every step in order, each with the bends of the steps before it made; drawn once."""
    made: dict[int, float] = {}
    found = []
    for number, placed in enumerate(strokes, 1):
        held = Held(
            bends=placed.bends,
            angles_deg=dict(made),
            rear="first" if placed.rear == "first" else "second",
            side_up="A" if placed.side_up == "A" else "B",
            x_mm=placed.x_mm,
            fingers_mm=placed.fingers_mm,
            finger_width_mm=finger_width_mm,
            low_mm=placed.low_mm,
            high_mm=placed.high_mm,
            die_width_mm=placed.die_width_mm,
        )
        title = f"Step {number}, how the sheet lies"
        picture = draw_hold(part, held, shorten=False, title=title)
        names = [one.edge.name for one in gauged_edges(part, held)]
        found.append(HeldStep(picture, gauge_told(names, placed.gauge_face)))
        made.update({bend: part.bends[bend].bend_angle_deg for bend in placed.bends})
    return tuple(found)


def placed_of_steps(steps: "Iterable[Step]") -> tuple[Placed, ...]:
    """The steps of a kept sequence as they are held."""
    found = []
    for step in steps:
        before, _ = scene_of(step.scene)
        heights = [y for _, y in before.finger_mm] or [0.0]
        across = [x for x, _ in before.die_mm] or [0.0]
        found.append(
            Placed(
                tuple(step.bends),
                step.side_up,
                step.rear,
                step.gauge_face,
                step.x_mm,
                tuple(step.gauge_fingers_mm),
                min(heights),
                max(heights),
                max(across) - min(across),
            )
        )
    return tuple(found)


def gauge_told(names: list[str], face: int) -> str:
    """What touches the gauge, in words: edges by their names, else the face."""
    if not names:
        return f"Face {face + 1} to gauge"
    return f"Edge{'s' if len(names) > 1 else ''} {' and '.join(names)} to gauge"
