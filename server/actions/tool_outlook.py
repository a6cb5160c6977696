"""The shop's dies and punches for a released part: the recommended first, the others with why not."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from server.actions.bend_sequence import PlanWish, plan_task
from server.actions.planning import fitting
from server.actions.work_out import work_out
from server.actions.work_out_flat import work_out_flat
from server.errors import Amount, Sentence, say
from server.findings import Finding, has_stop, sorted_by_level
from server.mechanics.air_bend import AirBend
from server.mechanics.bend_limits import BendCase, check_bend
from server.mechanics.tooling import Die, Punch
from server.mechanics.v_opening import RankedDie
from server.planning.drawn_flat import drawn_flat_of
from server.planning.drawn_part import drawn_part_of
from server.planning.plan_task import PlanTask
from server.settings import ShopSettings
from server.storage.database import Session
from server.storage.queries.part import get_revision
from server.storage.tables.part import Revision


@dataclass(frozen=True, slots=True)
class RankedPunch:
    """One punch for a part in its blank's die: a reason, and what speaks against it."""

    punch: Punch
    reason: Sentence
    findings: tuple[Finding, ...]

    @property
    def possible(self) -> bool:
        """Whether nothing blocks it by itself; an order may still find no room for it."""
        return not has_stop(self.findings)


@dataclass(frozen=True, slots=True)
class ToolOutlook:
    """Dies and punches, best first. `blank_die` is the one the blank was worked out for."""

    dies: tuple[RankedDie, ...]
    punches: tuple[RankedPunch, ...]
    blank_die: str | None


def tool_outlook(
    session: Session,
    part_number: str,
    revision_label: str,
    brake_code: str,
    *,
    settings: ShopSettings,
) -> ToolOutlook:
    """The shop's tools for a revision. Reads only.

    Raises: ShopError `not_found`, `no_tools`.
    """
    revision = get_revision(session, part_number, revision_label)
    ranked = _ranked_dies(session, revision, settings)
    wish = PlanWish(part_number, revision_label, brake_code)
    task = plan_task(session, wish, settings=settings)
    own = next((one for one in ranked if one.die.name == revision.blank_die_code), None)
    bend = own.bend if own is not None else None
    first_own = sorted(ranked, key=lambda one: one.die.name != revision.blank_die_code)
    return ToolOutlook(
        dies=tuple(replace(one, findings=_told_once(one.findings)) for one in first_own),
        punches=_ranked_punches(task, task.dies[0], bend, _length(revision)),
        blank_die=revision.blank_die_code,
    )


def _told_once(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Stops and cautions, each kind once: every bend of the part says the same of a die."""
    found: dict[str, Finding] = {}
    for finding in findings:
        if finding.level != "note":
            found.setdefault(finding.code, finding)
    return sorted_by_level(found.values())


def _ranked_dies(
    session: Session, revision: Revision, settings: ShopSettings
) -> tuple[RankedDie, ...]:
    margin = settings.bend.flange_margin_ratio
    if revision.kind == "flat":
        return work_out_flat(
            session, drawn_flat_of(revision.drawn), flange_margin=margin
        ).ranked_dies
    return work_out(session, drawn_part_of(revision.drawn), flange_margin=margin).ranked_dies


def _length(revision: Revision) -> float:
    """The longest a bend of the part can be [mm]."""
    if revision.kind == "flat":
        return max(revision.blank_length_mm, revision.blank_width_mm)
    return revision.blank_width_mm


def _ranked_punches(
    task: PlanTask, die: Die, bend: AirBend | None, length_mm: float
) -> tuple[RankedPunch, ...]:
    usual = fitting(task, die, any_punch=True)
    ranked = [_ranked(task, die, bend, length_mm, punch, usual) for punch in task.punches]
    return tuple(
        sorted(
            ranked,
            key=lambda one: (
                not one.possible,
                one.punch not in usual,
                -one.punch.angle_deg,
                -(one.punch.rating_kn_per_m or 0.0),
                one.punch.name,
            ),
        )
    )


def _ranked(
    task: PlanTask,
    die: Die,
    bend: AirBend | None,
    length_mm: float,
    punch: Punch,
    usual: Sequence[Punch],
) -> RankedPunch:
    findings: tuple[Finding, ...] = ()
    if bend is not None:
        case = BendCase(bend, task.thickness_mm, length_mm, task.material, die, punch, task.brake)
        findings = _told_once(check_bend(case))
    if punch in usual:
        reason = say("Its tip leaves the radius to the die; the blank fits.")
    else:
        reason = say(
            "Its tip of {radius} is blunter than the radius the die gives: the blank would have to "
            "be worked out for it.",
            radius=Amount(punch.tip_radius_mm, "mm"),
        )
    return RankedPunch(punch, reason, findings)
