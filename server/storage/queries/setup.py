"""Reading a tool set-up with everything that turns its depths into readings."""

from dataclasses import dataclass

from sqlmodel import Session, col, select

from server.mechanics.material import Material as SheetMetal
from server.mechanics.tooling import Die, Punch
from server.storage.queries.bend_sequence import (
    KeyedStep,
    get_bend_sequence,
    get_setup,
    list_keyed_steps,
)
from server.storage.queries.brake import get_brake
from server.storage.queries.material import find_lot, get_material, sheet_metal
from server.storage.queries.part import get_revision
from server.storage.queries.tool import die_of, punch_of
from server.storage.tables.bend_sequence import BendSequence, Step
from server.storage.tables.brake import Brake
from server.storage.tables.job import Run
from server.storage.tables.material import Lot, Material
from server.storage.tables.part import Revision
from server.storage.tables.setup import Setup, SetupStep
from server.storage.tables.tool import Die as DieRow
from server.storage.tables.tool import Punch as PunchRow


@dataclass(frozen=True, slots=True)
class SetupPlace:
    """A set-up, the sequence and part it is for, its metal, lot, brake and tools."""

    setup: Setup
    sequence: BendSequence
    revision: Revision
    material: Material
    lot: Lot | None
    brake: Brake
    steps: tuple[KeyedStep, ...]
    punches: dict[str, Punch]
    dies: dict[str, Die]

    @property
    def metal(self) -> SheetMetal:
        """The sheet metal as the formulas see it, with its lot's certificate."""
        return sheet_metal(self.material, thickness_mm=self.setup.thickness_mm, lot=self.lot)

    @property
    def keyed(self) -> list[tuple[Step, SetupStep]]:
        """The steps that have a depth to key: those whose shape the tools do not fix."""
        return [
            (entry.step, entry.keyed)
            for entry in self.steps
            if entry.keyed is not None and entry.step.depth_mm is not None
        ]


def get_setup_place(session: Session, setup_id: int) -> SetupPlace:
    """A set-up with what stands around it.

    Raises: ShopError `not_found`.
    """
    setup = get_setup(session, setup_id)
    sequence = get_bend_sequence(session, setup.bend_sequence_id)
    revision = get_revision(session, sequence.part_number, sequence.revision_label)
    material = get_material(session, revision.material_code)
    lot = find_lot(session, setup.lot_code)
    brake = get_brake(session, setup.brake_code)
    steps = tuple(list_keyed_steps(session, setup.bend_sequence_id, setup.id))
    punches = {entry.step.punch_code for entry in steps}
    dies = {entry.step.die_code for entry in steps}
    return SetupPlace(
        setup,
        sequence,
        revision,
        material,
        lot,
        brake,
        steps,
        {
            row.code: punch_of(row)
            for row in session.exec(select(PunchRow).where(col(PunchRow.code).in_(punches)))
        },
        {
            row.code: die_of(row)
            for row in session.exec(select(DieRow).where(col(DieRow.code).in_(dies)))
        },
    )


def find_setup_before(session: Session, setup: Setup) -> Setup | None:
    """The last set-up on the same brake that was really run before this one, or None."""
    query = (
        select(Setup)
        .join(Run, col(Run.setup_id) == col(Setup.id))
        .where(
            col(Setup.brake_code) == setup.brake_code,
            col(Setup.id) < (setup.id or 0),
            col(Run.state) != "setting_up",
        )
        .order_by(col(Setup.id).desc())
        .limit(1)
    )
    return session.exec(query).first()


def count_dies_of_block(session: Session, die_code: str) -> int:
    """How many Vs the block of a die has; 1 for a die that stands alone."""
    die = session.get(DieRow, die_code)
    if die is None or not die.block_code:
        return 1
    query = select(DieRow.code).where(col(DieRow.block_code) == die.block_code)
    return len(list(session.exec(query)))
