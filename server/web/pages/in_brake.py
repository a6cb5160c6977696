"""How each step of a flat part is held: pictures in space, and the edge at the gauge by its name."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from server.drawings.in_brake import Placed, draw_in_brake, edges_at_gauge
from server.geometry.part import FlatPart
from server.planning.sequence import PlanStep
from server.storage.plain_scene import scene_of
from server.web.pages.revision_picture import flat_part_of_revision

if TYPE_CHECKING:
    from server.storage.tables.bend_sequence import Step
    from server.storage.tables.part import Revision

KEPT_SEQUENCES = 120


@dataclass(frozen=True, slots=True)
class Held:
    """One step: the part as it is pushed against the gauge, and what touches it, in words."""

    picture: str
    gauge_words: str


def held_part(revision: "Revision") -> FlatPart | None:
    """The part whose steps are shown in space; None for a profile, whose section shows it all."""
    return flat_part_of_revision(revision) if revision.kind == "flat" else None


@lru_cache(maxsize=KEPT_SEQUENCES)
def held_steps(part: FlatPart, strokes: tuple[Placed, ...]) -> tuple[Held, ...]:
    """Every step in order, each with the bends of the steps before it made; drawn once."""
    made: dict[int, float] = {}
    found = []
    for number, placed in enumerate(strokes, 1):
        picture = draw_in_brake(part, made, placed, title=f"Step {number}, loaded")
        found.append(Held(picture, _gauge_words(part, made, placed)))
        made.update({bend: part.bends[bend].bend_angle_deg for bend in placed.bends})
    return tuple(found)


def placed_of_steps(steps: "Iterable[Step]") -> tuple[Placed, ...]:
    """The steps of a kept sequence as they are held."""
    return tuple(
        Placed(
            tuple(step.bends),
            step.side_up,
            step.rear,
            step.gauge_kind,
            step.gauge_face,
            tuple(step.gauge_fingers_mm),
            before.finger_mm,
            before.die_mm,
        )
        for step in steps
        for before, _ in [scene_of(step.scene)]
    )


def placed_of_plan(step: PlanStep) -> Placed:
    """A step that was just planned or checked as it is held."""
    contact = step.contact
    return Placed(
        step.bends,
        step.side_up,
        step.rear,
        contact.kind,
        contact.face,
        contact.fingers_mm,
        step.before.finger_mm,
        step.before.die_mm,
    )


def _gauge_words(part: FlatPart, made: dict[int, float], placed: Placed) -> str:
    if placed.gauge_kind == "flange":
        return f"Face {placed.gauge_face + 1} to gauge"
    names = edges_at_gauge(part, made, placed)
    if not names:
        return f"Face {placed.gauge_face + 1}, its edge to gauge"
    return f"Edge{'s' if len(names) > 1 else ''} {' and '.join(names)} to gauge"
