"""What a measured bend is answered with: a question about a strange angle, or what to key next."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from server.actions.trial import OtherStep, TrialAnswer
from server.errors import Amount, Sentence, say
from server.findings import Given, Reason, has_stop
from server.mechanics.measured_angle import AngleMeaning, TypedAngle
from server.planning.setup_step import NextStep
from server.web.pages.page import Page
from server.web.pages.run import decimals_of

if TYPE_CHECKING:
    from server.storage.tables.brake import Brake
    from server.storage.tables.setup import SetupStep, Trial
    from server.web.display import Display

SAME_MM = 1e-6
RULE_WORDS = {
    "first step": "careful first step: a part of the computed correction",
    "secant": "straight line through the last two tries",
    "computed slope": "computed slope; the two tries do not make a usable line",
}


@dataclass(frozen=True)
class TrialAsked(Page):
    """An angle nobody can mean: what it may have been, and the steps it would fit."""

    template: ClassVar[str] = "trial/_asked.html"
    question: Sentence
    likely: tuple[AngleMeaning, ...]
    as_typed: AngleMeaning | None
    fits_steps: tuple[int, ...]


@dataclass(frozen=True)
class TrialVerdict:
    """What one reading says against what was wanted, in words and a state."""

    words: Sentence
    state: str


@dataclass(frozen=True)
class TrialTold(Page):
    """What a step's trials ask for: both rules side by side, X, the blank, and every try so far."""

    template: ClassVar[str] = "trial/_answer.html"
    position: int
    keyed: "SetupStep"
    next: NextStep
    verdicts: tuple[TrialVerdict, ...]
    tries: "Sequence[Trial]"
    earlier: "Sequence[Trial]"
    others: tuple[OtherStep, ...]
    more_count: int | None
    left_out: bool
    blocked: bool
    x_differs: bool
    y_decimals: int
    x_decimals: int
    reasons: tuple[Reason, Reason]


def asked_page(asked: TypedAngle, fits_steps: tuple[int, ...]) -> TrialAsked:
    """The question a typed angle raises."""
    question = asked.question or say("What does this angle mean?")
    return TrialAsked(question, asked.likely, asked.as_typed, fits_steps)


def told_page(
    answer: TrialAnswer, earlier: "Sequence[Trial]", brake: "Brake", show: "Display"
) -> TrialTold:
    """What a step's trials ask for, ready to be shown."""
    next_one = answer.next
    return TrialTold(
        position=answer.step.position,
        keyed=answer.keyed,
        next=next_one,
        verdicts=_verdicts(answer.trials[-1]),
        tries=answer.trials,
        earlier=[one for one in earlier if one.setup_id != answer.trials[-1].setup_id],
        others=answer.others,
        more_count=answer.more_count,
        left_out=answer.left_out,
        blocked=has_stop(next_one.findings),
        x_differs=abs(next_one.x_mm - answer.keyed.x_mm) > SAME_MM,
        y_decimals=decimals_of(brake.y_resolution_mm, show),
        x_decimals=decimals_of(brake.x_resolution_mm, show),
        reasons=(_learned_reason(answer), _simple_reason(answer)),
    )


def _verdicts(trial: "Trial") -> tuple[TrialVerdict, ...]:
    """Angle first, then the flange where one was measured."""
    told = [_angle_verdict(trial)]
    if trial.flange_mm is not None and trial.wanted_flange_mm is not None:
        told.append(_flange_verdict(trial.flange_mm, trial.wanted_flange_mm, trial))
    return tuple(told)


def _angle_verdict(trial: "Trial") -> TrialVerdict:
    off_deg = trial.bend_angle_deg - trial.wanted_bend_angle_deg
    allowed_deg = trial.angle_tolerance_deg or 0.0
    good = abs(off_deg) <= allowed_deg + 1e-9
    way = "" if good else (", bent too far" if off_deg > 0 else ", not bent far enough")
    words = say(
        "Bend angle {measured}, wanted {wanted} ±{allowed}{way}.",
        measured=Amount(trial.bend_angle_deg, "deg"),
        wanted=Amount(trial.wanted_bend_angle_deg, "deg"),
        allowed=Amount(allowed_deg, "deg"),
        way=way,
    )
    return TrialVerdict(words, "good" if good else "care")


def _flange_verdict(flange_mm: float, wanted_mm: float, trial: "Trial") -> TrialVerdict:
    allowed_mm = trial.flange_tolerance_mm
    good = allowed_mm is None or abs(flange_mm - wanted_mm) <= allowed_mm + 1e-9
    off_mm = flange_mm - wanted_mm
    words = say(
        "Flange {measured}, wanted {wanted}: {off} {way}.",
        measured=Amount(flange_mm, "mm"),
        wanted=Amount(wanted_mm, "mm"),
        off=Amount(abs(off_mm), "mm"),
        way="too long" if off_mm > 0 else "too short" if off_mm < 0 else "off",
    )
    return TrialVerdict(words, "good" if good else "care")


def _learned_reason(answer: TrialAnswer) -> Reason:
    learned, last = answer.next.learned, answer.trials[-1]
    return Reason(
        number="Y by the learned rule",
        result=Amount(learned.y_mm, "mm"),
        rule="touch-off, inside radius and springback that fit best to all that was measured",
        formula="D that brings A(D; offset, c, springback) to the angle wanted, at the best fit",
        given=(
            Given("D", "depth of the last part", Amount(last.depth_mm, "mm")),
            Given("A", "angle of the last part", Amount(last.bend_angle_deg, "deg")),
            Given("n", "bends measured on this set-up", Amount(len(answer.trials), "count")),
            Given("ΔD", "change of depth", Amount(answer.next.learned_change_mm, "mm")),
        ),
        source="linearised Gaussian least squares on this set-up and what the shop has learned",
        sure=say(
            "95 of 100 next parts between {low} and {high}.",
            low=Amount(learned.low_deg, "deg"),
            high=Amount(learned.high_deg, "deg"),
        ),
    )


def _simple_reason(answer: TrialAnswer) -> Reason:
    simple, rule, last = answer.next.simple, answer.next.simple_rule, answer.trials[-1]
    return Reason(
        number="Y by the simple rule",
        result=Amount(simple.y_mm, "mm"),
        rule=RULE_WORDS[rule.rule],
        formula="ΔD = share × dD/dA × (wanted − measured)",
        given=(
            Given("", "angle wanted", Amount(last.wanted_bend_angle_deg, "deg")),
            Given("", "angle of the last part", Amount(last.bend_angle_deg, "deg")),
            Given("ΔD", "change of depth", Amount(rule.change_mm, "mm")),
        ),
        source="common practice, no source",
        sure=say("It knows this set-up's tries only, and nothing of earlier jobs."),
    )
