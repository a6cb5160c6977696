"""The first-article sheet: what was measured on the first part against what was wanted, signed."""

from dataclasses import asdict, dataclass
from typing import Literal

from server.actions.history import keep
from server.actions.once import already_done
from server.actions.running import (
    count_parts,
    need_current,
    need_started,
    pass_first_article,
)
from server.storage.database import Session
from server.storage.queries.job import get_run
from server.storage.queries.setup import get_setup_place
from server.storage.queries.trial import list_run_trials
from server.storage.tables.first_article import FirstArticle
from server.storage.tables.setup import Trial

Verdict = Literal["good", "not good", "not measured"]
SAME = 1e-9


@dataclass(frozen=True, slots=True)
class ArticleLine:
    """One bend of the first part: wanted, allowed and measured angle and flange."""

    step: int
    bends: tuple[int, ...]
    wanted_deg: float
    tolerance_deg: float
    measured_deg: float | None
    wanted_flange_mm: float | None
    tolerance_flange_mm: float | None
    measured_flange_mm: float | None
    x_mm: float
    y_mm: float
    tries_count: int

    @property
    def angle_verdict(self) -> Verdict:
        """Whether the angle is within its tolerance."""
        if self.measured_deg is None:
            return "not measured"
        off_deg = abs(self.measured_deg - self.wanted_deg)
        return "good" if off_deg <= self.tolerance_deg + SAME else "not good"

    @property
    def flange_verdict(self) -> Verdict:
        """Whether the flange is within its tolerance; without one it is only measured."""
        if self.measured_flange_mm is None or self.wanted_flange_mm is None:
            return "not measured"
        off_mm = abs(self.measured_flange_mm - self.wanted_flange_mm)
        allowed_mm = self.tolerance_flange_mm
        return "good" if allowed_mm is None or off_mm <= allowed_mm + SAME else "not good"


def article_lines(session: Session, run_id: int) -> tuple[ArticleLine, ...]:
    """Each step of a run with the last thing that was measured on it. Reads only."""
    run = get_run(session, run_id)
    place = get_setup_place(session, run.setup_id or 0)
    trials: dict[int | None, list[Trial]] = {}
    for trial in list_run_trials(session, run_id):
        if not trial.undone:
            trials.setdefault(trial.position, []).append(trial)
    lines = []
    for entry in place.steps:
        step, keyed = entry.step, entry.keyed
        made = trials.get(step.position, [])
        flanges = [trial.flange_mm for trial in made if trial.flange_mm is not None]
        lines.append(
            ArticleLine(
                step=step.position,
                bends=tuple(int(bend) for bend in step.bends),
                wanted_deg=step.bend_angle_deg,
                tolerance_deg=step.angle_tolerance_deg,
                measured_deg=made[-1].bend_angle_deg if made else None,
                wanted_flange_mm=step.check_mm,
                tolerance_flange_mm=step.check_tolerance_mm,
                measured_flange_mm=flanges[-1] if flanges else None,
                x_mm=keyed.x_mm if keyed else step.x_mm,
                y_mm=keyed.y_mm if keyed else 0.0,
                tries_count=len(made),
            )
        )
    return tuple(lines)


def verdict_of(lines: tuple[ArticleLine, ...]) -> Verdict:
    """Of the whole part: not good as soon as one number is not, good when nothing is missing."""
    verdicts = {line.angle_verdict for line in lines} | {
        line.flange_verdict for line in lines if line.wanted_flange_mm is not None
    }
    if "not good" in verdicts:
        return "not good"
    return "not measured" if "not measured" in verdicts or not lines else "good"


def sign_first_article(
    session: Session,
    run_id: int,
    *,
    note: str = "",
    request_key: str = "",
    by: str,
) -> FirstArticle | None:
    """Sign the sheet, count the part, and let the rest be bent; None when it was done before.

    A sheet with something not good or not measured is signed as what it is. A sheet of a later part
    counts nothing: that part is counted like any other.

    Raises: ShopError `not_found`, `not_started`, `superseded`.
    """
    if already_done(session, request_key, "first article"):
        return None
    run = get_run(session, run_id)
    need_started(run)
    need_current(session, run)
    place = get_setup_place(session, run.setup_id or 0)
    lines = article_lines(session, run_id)
    sheet = FirstArticle(
        run_id=run_id,
        job_number=run.job_number,
        part_number=run.part_number,
        revision_label=run.revision_label,
        verdict=verdict_of(lines),
        lines=[
            {
                **asdict(line),
                "angle_verdict": line.angle_verdict,
                "flange_verdict": line.flange_verdict,
            }
            for line in lines
        ],
        facts={
            "material_code": place.material.code,
            "lot_code": place.setup.lot_code,
            "heat_number": place.lot.heat_number if place.lot else "",
            "thickness_mm": place.setup.thickness_mm,
            "thickness_measured": place.setup.thickness_measured,
            "brake_code": place.brake.code,
            "set_up_by": place.setup.signed_by,
        },
        note=note,
        signed_by=by,
    )
    session.add(sheet)
    session.flush()
    keep(
        session,
        "signed the first article",
        noun="run",
        key=str(run_id),
        by=by,
        after={"verdict": sheet.verdict},
    )
    if run.state == "first_article":
        count_parts(session, run_id, good=1, by=by)
        pass_first_article(session, run_id, by=by)
    return sheet
