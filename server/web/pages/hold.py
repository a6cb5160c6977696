"""How each step is held: pictures in space, and the edges at the gauge by their names."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from server.drawings.hold import Held, draw_hold, gauged_edges
from server.geometry.part import FlatPart
from server.planning.gauging import Contact
from server.planning.step_picture import StepPicture
from server.storage.plain_scene import scene_of
from server.web.pages.revision_picture import flat_part_of_revision

if TYPE_CHECKING:
    from server.storage.tables.bend_sequence import Step
    from server.storage.tables.part import Revision

KEPT_SEQUENCES = 120
KEPT_STEPS = 600


@dataclass(frozen=True, slots=True)
class Placed:
    """What is kept of a step that shows how the part lies and what stops it."""

    zones: tuple[int, ...]
    kind: str
    bend_angle_deg: float
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
    edges: tuple[str, ...] = ()
    is_fold: bool = False


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
    for number, stroke in enumerate(strokes, 1):
        found.append(held_step(part, stroke, tuple(made.items()), finger_width_mm, number))
        made.update(angles_after(part, stroke.zones, stroke.kind, stroke.bend_angle_deg))
    return tuple(found)


def angles_after(
    part: FlatPart, zones: Iterable[int], kind: str, bend_angle_deg: float
) -> dict[int, float]:
    """The angle of each bend line a step makes: an acute hit leaves its hem open."""
    found = {}
    for zone in zones:
        whole = part.bends[zone].bend_angle_deg
        now = min(abs(whole), bend_angle_deg) if kind == "acute" else abs(whole)
        found[zone] = math.copysign(now, whole)
    return found


def zones_of_step(part: FlatPart, step: "Step") -> tuple[int, ...]:
    """The bend lines a kept step makes; all of its bends' where that was not kept."""
    if step.zones:
        return tuple(step.zones)
    return zones_at(part, step.bends)


def zones_at(part: FlatPart, bends: Iterable[int]) -> tuple[int, ...]:
    """Every bend line of some drawn bends."""
    return tuple(zone for bend in bends for zone in part.zones_at(bend))


@lru_cache(maxsize=KEPT_STEPS)
def held_step(
    part: FlatPart,
    stroke: Placed,
    made_deg: tuple[tuple[int, float], ...],
    finger_width_mm: float,
    number: int,
    *,
    shorten: bool = False,
) -> HeldStep:
    """One step with some bends made before it; `shorten` is for a long constant section."""
    held = Held(
        bends=stroke.zones,
        angles_deg=dict(made_deg),
        rear="first" if stroke.rear == "first" else "second",
        side_up="A" if stroke.side_up == "A" else "B",
        x_mm=stroke.x_mm,
        fingers_mm=stroke.fingers_mm,
        finger_width_mm=finger_width_mm,
        low_mm=stroke.low_mm,
        high_mm=stroke.high_mm,
        die_width_mm=stroke.die_width_mm,
        line_mm=stroke.x_mm if stroke.kind == "flatten" else 0.0,
    )
    title = f"Step {number}, how the sheet lies"
    names = [] if shorten else [one.edge.name for one in gauged_edges(part, held)]
    picture = draw_hold(part, held, shorten=shorten, title=title)
    told = gauge_told(names, face_told(part, stroke.gauge_face))
    if stroke.kind == "flatten":
        told = "Fold to gauge"
    return HeldStep(picture, told, tuple(names), stroke.kind == "flatten")


def face_told(part: FlatPart, face: int) -> str:
    """What a face is called: a strip within a bend by its bend."""
    if face not in part.strips:
        return f"face {face + 1}"
    zone = next(zone for zone, line in enumerate(part.bends) if face in line.faces)
    return f"middle of bend {part.bend_at(zone) + 1}"


def placed_of_steps(part: FlatPart, steps: "Iterable[Step]") -> tuple[Placed, ...]:
    """The steps of a kept sequence as they are held."""
    found = []
    for step in steps:
        before, _ = scene_of(step.scene)
        contact = Contact(
            "flange" if step.gauge_kind == "flange" else "edge",
            step.x_mm,
            step.gauge_face,
            (0.0, 0.0),
            tuple(step.gauge_fingers_mm),
            0.0,
        )
        zones = zones_of_step(part, step)
        made = (zones, step.kind, step.bend_angle_deg)
        found.append(placed_step(made, step.side_up, step.rear, contact, before))
    return tuple(found)


def placed_step(
    made: tuple[tuple[int, ...], str, float],
    side_up: str,
    rear: str,
    contact: Contact,
    before: StepPicture,
) -> Placed:
    """A step as it is held, kept or just planned; X is the contact's.

    `made` has the bend lines it makes, its kind, and the bend angle after it.
    """
    heights = [y for _, y in before.finger_mm] or [0.0]
    across = [x for x, _ in before.die_mm] or [0.0]
    return Placed(
        *made,
        side_up,
        rear,
        contact.face,
        contact.x_mm,
        tuple(contact.fingers_mm),
        min(heights),
        max(heights),
        max(across) - min(across),
    )


def gauge_told(names: list[str], face: str) -> str:
    """What touches the gauge, in words: edges by their names, else the face."""
    if not names:
        return f"{face.capitalize()} to gauge"
    return f"Edge{'s' if len(names) > 1 else ''} {' and '.join(names)} to gauge"
