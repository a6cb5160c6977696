"""What the shop knows: plots, what was learned, and what was odd."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from server.actions.learned_bend import LearnedView, LotKnown, ShopKnows
from server.drawings.trial_plot import BandPoint, RatePoint, draw_bands, draw_rates
from server.mechanics.first_part import FirstPart, FirstPartPeriod
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.learned_bend import LearnedBend, SetupEvidence
    from server.storage.tables.setup import Trial

MONTHS = ("", "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
MOST_SHOWN = 60


@dataclass(frozen=True)
class LearnedList(Page):
    """What the shop knows, on one page."""

    template: ClassVar[str] = "learned_bend/list.html"
    frame: Frame
    together: FirstPartPeriod | None
    picture_rate: str
    picture_band: str
    learned: tuple[LearnedView, ...]
    odd: "tuple[Trial, ...]"
    held_back: "tuple[tuple[SetupEvidence, LearnedBend], ...]"


@dataclass(frozen=True)
class LearnedShow(Page):
    """One metal, thickness and V: each lot, and every trial as it was foretold and read."""

    template: ClassVar[str] = "learned_bend/show.html"
    frame: Frame
    view: LearnedView
    lots: tuple[LotKnown, ...]
    trials: "tuple[Trial, ...]"
    picture: str


def learned_list(knows: ShopKnows, *, frame: Frame) -> LearnedList:
    """The page of everything the shop knows."""
    return LearnedList(
        frame=frame,
        together=knows.together,
        picture_rate=draw_rates(
            [_rate(month) for month in knows.months],
            title="First parts right, month by month, with the 95 % interval of the rate",
        )
        if knows.months
        else "",
        picture_band=_bands_of_parts(knows.parts) if knows.parts else "",
        learned=knows.learned,
        odd=knows.odd,
        held_back=knows.held_back,
    )


def learned_show(view: LearnedView, trials: "Sequence[Trial]", *, frame: Frame) -> LearnedShow:
    """The page of one metal, thickness and V."""
    shown = [trial for trial in trials if trial.foretold][-MOST_SHOWN:]
    return LearnedShow(
        frame=frame,
        view=view,
        lots=(*view.lots, view.next_lot),
        trials=tuple(trials)[::-1],
        picture=draw_bands(
            [_band_of(trial) for trial in shown],
            tolerance=max((trial.angle_tolerance_deg or 1.0) for trial in shown),
            unit="°",
            title="What was foretold and what was read, trial by trial",
        )
        if shown
        else "",
    )


def _rate(month: FirstPartPeriod) -> RatePoint:
    label = f"{MONTHS[month.month or 0]} {(month.year or 0) % 100:02d}"
    return RatePoint(
        label, month.right_share, month.least_share, month.most_share, month.parts_count
    )


def _bands_of_parts(parts: Sequence[FirstPart]) -> str:
    shown = parts[-MOST_SHOWN:]
    return draw_bands(
        [
            BandPoint(
                f"{part.on.day} {MONTHS[part.on.month]}",
                part.low_deg - part.wanted_deg,
                part.high_deg - part.wanted_deg,
                part.error_deg,
                odd=not part.held,
            )
            for part in shown
        ],
        tolerance=max(part.tolerance_deg for part in shown),
        unit="°",
        title="First bends: foretold band and angle read, less the angle wanted",
    )


def _band_of(trial: "Trial") -> BandPoint:
    foretold = trial.foretold or {}
    wanted = trial.wanted_bend_angle_deg
    return BandPoint(
        f"{trial.measured_at.day} {MONTHS[trial.measured_at.month]}",
        float(foretold["low_deg"]) - wanted,
        float(foretold["high_deg"]) - wanted,
        trial.bend_angle_deg - wanted,
        odd=trial.outlier,
    )
