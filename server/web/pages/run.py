"""Pages of the brake side."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from server.drawings.step import draw_step
from server.findings import Finding, Reason
from server.storage.plain_finding import findings_of, reasons_of
from server.storage.plain_scene import scene_of
from server.storage.queries.bend_sequence import KeyedStep
from server.web.display import Display
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.bend_sequence import Step
    from server.storage.tables.brake import Brake
    from server.storage.tables.job import Job, Run
    from server.storage.tables.setup import Setup, SetupStep


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


@dataclass(frozen=True)
class StepCard(Page):
    """One step, whole screen: what to key in, how to hold the sheet, what comes out."""

    template: ClassVar[str] = "run/_step.html"
    step: "Step"
    keyed: "SetupStep | None"
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


@dataclass(frozen=True)
class RunShow(Page):
    """The run page: every step is in it, one is shown."""

    template: ClassVar[str] = "run/show.html"
    frame: Frame
    run: "Run"
    setup: "Setup | None"
    job: "Job | None"
    steps: list[StepCard]


def step_cards(
    keyed_steps: list[KeyedStep], brake: "Brake", setup: "Setup | None", show: Display
) -> list[StepCard]:
    """A card for each step of a sequence."""
    cards: list[StepCard] = []
    for index, entry in enumerate(keyed_steps):
        step = entry.step
        earlier = keyed_steps[index - 1].step if index else None
        before, after = scene_of(step.scene)
        pictures = draw_step(before, after, side_up=step.side_up, title=f"Step {step.position}")
        y_reasons = reasons_of(entry.keyed.reasons) if entry.keyed else ()
        cards.append(
            StepCard(
                step=step,
                keyed=entry.keyed,
                count=len(keyed_steps),
                picture_before=pictures[0],
                picture_after=pictures[1],
                findings=findings_of(step.findings),
                reasons=(*y_reasons, *reasons_of(step.reasons)),
                x_decimals=decimals_of(brake.x_resolution_mm, show),
                y_decimals=decimals_of(brake.y_resolution_mm, show),
                y_checked=bool(setup and setup.touch_off_checked),
                gauge_words=gauge_words(step),
                new_side=step.turned_over,
                new_turn=step.turned_end_for_end,
                new_tools=earlier is not None
                and (earlier.punch_code, earlier.die_code) != (step.punch_code, step.die_code),
            )
        )
    return cards


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
