"""Pages of the brake side: choosing, the run itself, and its end."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from server.actions.running import HOLD_REASONS, SCRAP_REASONS
from server.drawings.step import draw_step
from server.findings import Finding, Reason
from server.geometry.part import FlatPart
from server.storage.plain_finding import findings_of, reasons_of
from server.storage.plain_scene import scene_of
from server.storage.queries.bend_sequence import RunStep
from server.web.display import Display
from server.web.pages.hold import held_steps, placed_of_steps
from server.web.pages.made_words import made_words
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.bend_sequence import Step
    from server.storage.tables.brake import Brake
    from server.storage.tables.job import Job, Run
    from server.storage.tables.measured_time import MeasuredTime
    from server.storage.tables.note import Note
    from server.storage.tables.setup import Setup, SetupStep

LEARNT_KINDS = ("air", "acute")


@dataclass(frozen=True)
class RunChoice:
    """Something that can be started or gone on with."""

    code: str
    title: str
    words: str
    state: str
    picture: str


@dataclass(frozen=True)
class RunList(Page):
    """Choosing what to bend: type or scan a number, or take one from the queue."""

    template: ClassVar[str] = "run/list.html"
    frame: Frame
    open_runs: list[RunChoice]
    queue: list[RunChoice]
    typed: str
    trouble: str
    care_due: int


@dataclass(frozen=True)
class StepCard(Page):
    """One step, whole screen: what to key in, how to hold the sheet, what comes out."""

    template: ClassVar[str] = "run/_step.html"
    step: "Step"
    keyed: "SetupStep | None"
    tries: tuple[dict[str, Any], ...]
    count: int
    picture_before: str
    picture_after: str
    findings: tuple[Finding, ...]
    reasons: tuple[Reason, ...]
    x_decimals: int
    y_decimals: int
    y_checked: bool
    gauge_words: str
    new_side: bool
    new_turn: bool
    new_tools: bool
    measured: bool
    has_other: bool
    y_step_mm_per_deg: float
    made: str


@dataclass(frozen=True)
class RunShow(Page):
    """The run page: every step is in it, one is shown."""

    template: ClassVar[str] = "run/show.html"
    frame: Frame
    run: "Run"
    setup: "Setup | None"
    job: "Job | None"
    steps: list[StepCard]
    mark: str
    boot: str
    newest_revision: str | None
    scrap_reasons: Sequence[str]
    hold_reasons: Sequence[str]
    conventions: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True)
class RunNotes(Page):
    """The notes of a run, fetched when somebody looks at them."""

    template: ClassVar[str] = "run/_notes.html"
    brake: str
    notes: "list[Note]"


@dataclass(frozen=True)
class RunEnd(Page):
    """A finished run: what came out, how long it took, and what is next."""

    template: ClassVar[str] = "run/end.html"
    frame: Frame
    run: "Run"
    job: "Job | None"
    times: "list[MeasuredTime]"
    part_s: float | None
    queue: list[RunChoice]


CONVENTIONS = (
    ("", "either", "if only one of the two fits, else asked"),
    ("bend", "bend angle", "0° is flat"),
    ("included", "inside the corner", "180° is flat"),
)


def step_cards(
    steps: Sequence[RunStep],
    brake: "Brake",
    setup: "Setup | None",
    show: Display,
    *,
    first_share_ratio: float = 1.0,
    part: FlatPart | None = None,
) -> list[StepCard]:
    """A card for each step of a sequence; those of a flat part show how it is held in space.

    Each carries how far Y moves for a degree by the simple rule, so that a tablet without a network
    can still tell the next Y.
    """
    cards: list[StepCard] = []
    placed = placed_of_steps(part, (entry.step for entry in steps)) if part else ()
    held = held_steps(part, placed, brake.finger_width_mm) if part else ()
    words = made_words((entry.step.kind, tuple(entry.step.bends)) for entry in steps)
    for index, entry in enumerate(steps):
        step = entry.step
        earlier = steps[index - 1].step if index else None
        before, after = scene_of(step.scene)
        pictures = draw_step(before, after, side_up=step.side_up, title=f"Step {step.position}")
        y_reasons = reasons_of(entry.keyed.reasons) if entry.keyed else ()
        cards.append(
            StepCard(
                step=step,
                keyed=entry.keyed,
                tries=entry.tries,
                count=len(steps),
                picture_before=held[index].picture if held else pictures[0],
                picture_after=pictures[1],
                findings=_findings(entry),
                reasons=(*y_reasons, *reasons_of(step.reasons)),
                x_decimals=decimals_of(brake.x_resolution_mm, show),
                y_decimals=decimals_of(brake.y_resolution_mm, show),
                y_checked=bool(setup and setup.touch_off_checked),
                gauge_words=held[index].gauge_words if held else gauge_words(step),
                new_side=step.turned_over,
                new_turn=step.turned_end_for_end,
                new_tools=earlier is not None
                and (earlier.punch_code, earlier.die_code) != (step.punch_code, step.die_code),
                measured=step.kind in LEARNT_KINDS and step.depth_mm is not None,
                has_other=len(step.bends) == 1 and step.check_mm is not None,
                y_step_mm_per_deg=(step.depth_mm_per_deg or 0.0)
                * (1 if brake.y_sense > 0 else -1)
                * first_share_ratio,
                made=words[index],
            )
        )
    return cards


def run_show(
    *,
    frame: Frame,
    run: "Run",
    setup: "Setup | None",
    job: "Job | None",
    steps: list[StepCard],
    mark: str,
    boot: str,
    newest_revision: str | None,
) -> RunShow:
    """The run page around its steps."""
    return RunShow(
        frame=frame,
        run=run,
        setup=setup,
        job=job,
        steps=steps,
        mark=mark,
        boot=boot,
        newest_revision=newest_revision if newest_revision != run.revision_label else None,
        scrap_reasons=SCRAP_REASONS,
        hold_reasons=HOLD_REASONS,
        conventions=CONVENTIONS,
    )


def _findings(entry: RunStep) -> tuple[Finding, ...]:
    """What was found when planning, and what this set-up's sheet adds."""
    planned = findings_of(entry.step.findings)
    known = {finding.code for finding in planned}
    of_sheet = findings_of(entry.keyed.findings) if entry.keyed else ()
    return (*(one for one in of_sheet if one.code not in known), *planned)


def gauge_words(step: "Step") -> str:
    """What touches the gauge, in words."""
    if step.gauge_kind == "flange":
        return f"Flange {step.gauge_face + 1} to gauge"
    return f"Edge of leg {step.gauge_face + 1} to gauge"


def decimals_of(resolution_mm: float, show: Display) -> int:
    """How many decimals the control shows, in the reader's unit."""
    decimals = 0
    step = resolution_mm
    while decimals < 4 and abs(step - round(step)) > 1e-9:
        step *= 10
        decimals += 1
    return decimals if show.unit == "mm" else min(4, decimals + 2)
