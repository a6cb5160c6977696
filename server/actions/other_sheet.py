"""A kept sequence on another sheet than it was planned for: old, new and why."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.actions.arrangement import answer_in_time, kept_task
from server.actions.planning import Asking
from server.errors import Amount, Sentence, say
from server.planning.at_thickness import KeptStep, OnSheet, SheetInHand, at_thickness
from server.planning.errand import SheetErrand
from server.settings import ShopSettings
from server.storage.database import Session
from server.storage.plain_finding import plain_findings
from server.storage.queries.bend_sequence import (
    get_bend_sequence,
    list_setup_steps,
    list_steps,
)
from server.storage.queries.lot import get_lot
from server.storage.queries.material import get_material, sheet_metal
from server.storage.queries.part import get_revision
from server.storage.tables.bend_sequence import Step
from server.storage.tables.material import Lot
from server.storage.tables.setup import Setup

SAME_MM = 5e-4


@dataclass(frozen=True, slots=True)
class OtherSheet:
    """The sheet in hand, and what it makes of every step."""

    sheet: SheetInHand
    told: Sentence
    worked: OnSheet


def on_other_sheet(
    asking: Asking, sequence_id: int, *, thickness_mm: float | None, lot_code: str | None
) -> OtherSheet:
    """Every number of a sequence for a measured thickness, or for a lot's own.

    Raises: ShopError `not_found`, or as the check of an order.
    """
    with asking.database.reading() as session:
        errand, told = sheet_errand(
            session,
            sequence_id,
            thickness_mm=thickness_mm,
            lot_code=lot_code,
            settings=asking.settings,
        )
    worked = answer_in_time(asking.pool.ask(errand, lane="check"))
    assert isinstance(worked, OnSheet)
    return OtherSheet(errand.sheet, told, worked)


def sheet_errand(
    session: Session,
    sequence_id: int,
    *,
    thickness_mm: float | None,
    lot_code: str | None,
    settings: ShopSettings,
) -> tuple[SheetErrand, Sentence]:
    """What to work out for the sheet in hand, and the sheet in words. Reads only.

    Raises: ShopError `not_found`.
    """
    sequence = get_bend_sequence(session, sequence_id)
    steps = list_steps(session, sequence_id)
    revision = get_revision(session, sequence.part_number, sequence.revision_label)
    lot = get_lot(session, lot_code) if lot_code else None
    found_mm = thickness_mm or _of_lot(lot) or sequence.thickness_mm
    metal = sheet_metal(
        get_material(session, revision.material_code), thickness_mm=found_mm, lot=lot
    )
    told = _told(lot, found_mm, measured=bool(thickness_mm))
    blank_mm = revision.blank_length_mm if revision.kind == "profile" else None
    errand = SheetErrand(
        kept_task(session, sequence, steps, settings=settings),
        kept_steps(steps),
        SheetInHand(found_mm, metal, str(told)),
        blank_mm,
    )
    return errand, told


def kept_steps(steps: Sequence[Step]) -> tuple[KeptStep, ...]:
    """The steps as they were kept: what fixes each, and its numbers."""
    return tuple(
        KeptStep(
            number=step.position,
            bend=step.bends[0],
            rear="first" if step.rear == "first" else "second",
            punch=step.punch_code,
            die=step.die_code,
            x_mm=step.x_mm,
            depth_mm=step.depth_mm,
            loaded_bend_angle_deg=step.loaded_bend_angle_deg,
            force_kn=step.force_kn,
        )
        for step in steps
    )


def _of_lot(lot: Lot | None) -> float | None:
    return None if lot is None else lot.measured_thickness_mm or lot.thickness_mm


def _told(lot: Lot | None, thickness_mm: float, *, measured: bool) -> Sentence:
    thick = Amount(thickness_mm, "mm")
    if lot is None:
        return say("a sheet of {thickness}", thickness=thick)
    word = "measured" if measured or lot.measured_thickness_mm else "not measured, nominal"
    strengths = "" if lot.yield_strength_mpa else "; no certificate, so typical strengths"
    return say(f"lot {{lot}}, {word} {{thickness}}{strengths}", lot=lot.code, thickness=thick)


def fit_to_sheet(session: Session, setup: Setup, *, settings: ShopSettings) -> None:
    """Work a set-up's steps out for its sheet where that is another one than was planned for.

    X follows the thickness; what the sheet makes impossible is a stop beside its step. The depth of
    the rule is kept beside them; what is keyed follows what the shop has learned.
    """
    sequence = get_bend_sequence(session, setup.bend_sequence_id)
    steps = list_steps(session, setup.bend_sequence_id)
    worked = None
    if abs(setup.thickness_mm - sequence.thickness_mm) > SAME_MM and steps:
        errand, _ = sheet_errand(
            session,
            setup.bend_sequence_id,
            thickness_mm=setup.thickness_mm,
            lot_code=setup.lot_code,
            settings=settings,
        )
        worked = at_thickness(errand.task, errand.kept, errand.sheet, blank_mm=errand.blank_mm)
    setup.findings = plain_findings(worked.findings) if worked else []
    session.add(setup)
    by_number = {step.number: step for step in worked.steps} if worked else {}
    for keyed in list_setup_steps(session, setup.id or 0):
        step = by_number.get(keyed.position)
        target = step.target if step else None
        keyed.sheet_x_mm = target.x_mm if target else None
        keyed.sheet_depth_mm = target.depth_mm if target else None
        keyed.findings = plain_findings(step.findings) if step else []
        session.add(keyed)
    session.flush()
