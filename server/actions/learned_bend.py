"""What the shop knows: what trials taught of each metal, thickness and V, and how sure it is."""

from dataclasses import dataclass

from server.errors import ShopError
from server.mechanics.air_bend import bending
from server.mechanics.first_part import (
    FirstPart,
    FirstPartPeriod,
    first_parts_by_month,
    first_parts_together,
)
from server.mechanics.learned_family import BendKey, LearnedBend, Multipliers, multipliers_known
from server.mechanics.setup_belief import believe_setup
from server.mechanics.tooling import Die, Punch
from server.storage.database import Session
from server.storage.queries.learned_bend import (
    get_learned_row,
    learned_of,
    list_held_back,
    list_learned,
    list_learned_rows,
)
from server.storage.queries.material import get_material, sheet_metal
from server.storage.queries.tool import die_of, list_dies, list_punches, punch_of
from server.storage.queries.trial import (
    list_bend_trials,
    list_first_piece_trials,
    list_outlier_trials,
)
from server.storage.tables.learned_bend import LearnedBend as LearnedRow
from server.storage.tables.learned_bend import SetupEvidence
from server.storage.tables.setup import Trial

SQUARE_DEG = 90.0
NEW_LOT = ""
SAME_MM = 1e-6


@dataclass(frozen=True, slots=True)
class LotKnown:
    """What is believed of one lot; an empty code is a lot nobody has bent yet."""

    lot_code: str
    known: Multipliers
    trials_count: int
    setups_count: int


@dataclass(frozen=True, slots=True)
class LearnedView:
    """One metal, thickness and V: what a next lot would be expected to do, and each lot so far.

    The bands are half of the 95 % interval of a square bend on a new set-up of a new lot: by the
    rule alone, and with what was learned. None where no die of that V is on the lists any more.
    """

    row_id: int
    key: BendKey
    trials_count: int
    setups_count: int
    next_lot: LotKnown
    lots: tuple[LotKnown, ...]
    rule_band_deg: float | None
    learned_band_deg: float | None


@dataclass(frozen=True, slots=True)
class ShopKnows:
    """Everything on one page: how often the first part was right, how sure, and what was odd."""

    together: FirstPartPeriod | None
    months: tuple[FirstPartPeriod, ...]
    parts: tuple[FirstPart, ...]
    learned: tuple[LearnedView, ...]
    odd: tuple[Trial, ...]
    held_back: tuple[tuple[SetupEvidence, LearnedRow], ...]


def shop_knows(session: Session) -> ShopKnows:
    """What the shop knows now. Reads only."""
    parts = tuple(_first_part(trial) for trial in list_first_piece_trials(session))
    learned = list_learned(session)
    tools = _Tools(session)
    return ShopKnows(
        together=first_parts_together(parts),
        months=first_parts_by_month(parts),
        parts=parts,
        learned=tuple(
            _view(session, row, learned, tools)
            for row in list_learned_rows(session)
            if learned_of(row).trials_count
        ),
        odd=tuple(list_outlier_trials(session)),
        held_back=tuple(list_held_back(session)),
    )


def learned_view(session: Session, row_id: int) -> tuple[LearnedView, tuple[Trial, ...]]:
    """One metal, thickness and V with its trials, oldest first.

    Raises: ShopError `not_found`.
    """
    row = get_learned_row(session, row_id)
    trials = list_bend_trials(
        session,
        material_code=row.material_code,
        thickness_mm=row.thickness_mm,
        v_opening_mm=row.v_opening_mm,
    )
    return _view(session, row, list_learned(session, row.family), _Tools(session)), tuple(trials)


class _Tools:
    """A die of each V and a punch to work an example out with."""

    def __init__(self, session: Session) -> None:
        self.dies = [die_of(row) for row in list_dies(session)]
        self.punches = [punch_of(row) for row in list_punches(session)]

    def pair(self, v_opening_mm: float) -> tuple[Die, Punch] | None:
        die = next((d for d in self.dies if abs(d.v_opening_mm - v_opening_mm) < SAME_MM), None)
        return (die, self.punches[0]) if die is not None and self.punches else None


def _first_part(trial: Trial) -> FirstPart:
    foretold = trial.foretold or {}
    return FirstPart(
        on=trial.measured_at.date(),
        wanted_deg=trial.wanted_bend_angle_deg,
        low_deg=float(foretold["low_deg"]),
        high_deg=float(foretold["high_deg"]),
        read_deg=trial.bend_angle_deg,
        tolerance_deg=trial.angle_tolerance_deg or 1.0,
    )


def _view(
    session: Session, row: LearnedRow, learned: list[LearnedBend], tools: _Tools
) -> LearnedView:
    own = learned_of(row)
    lots = tuple(
        LotKnown(
            code,
            multipliers_known(learned=learned, key=own.key, lot_code=code),
            evidence.trials_count,
            evidence.setups_count,
        )
        for code, evidence in own.lots.items()
    )
    next_lot = multipliers_known(learned=learned, key=own.key, lot_code=NEW_LOT)
    rule = multipliers_known(learned=(), key=own.key, lot_code=NEW_LOT)
    return LearnedView(
        row_id=row.id or 0,
        key=own.key,
        trials_count=own.trials_count,
        setups_count=own.setups_count,
        next_lot=LotKnown(NEW_LOT, next_lot, own.trials_count, own.setups_count),
        lots=lots,
        rule_band_deg=_band(session, own.key, rule, tools),
        learned_band_deg=_band(session, own.key, next_lot, tools),
    )


def _band(session: Session, key: BendKey, known: Multipliers, tools: _Tools) -> float | None:
    """Half the 95 % band of a square bend on a new set-up [deg]."""
    pair = tools.pair(key.v_opening_mm)
    if pair is None:
        return None
    die, punch = pair
    metal = sheet_metal(
        get_material(session, key.material_code), thickness_mm=key.thickness_mm, lot=None
    )
    belief = believe_setup(known=known)
    try:
        sheet = bending(thickness_mm=key.thickness_mm, material=metal, die=die, punch=punch)
        depth_mm = belief.depth_mm(sheet, SQUARE_DEG)
    except ShopError:  # the die does not bend it square
        return None
    low_deg, high_deg = belief.interval_95_deg(sheet, depth_mm)
    return (high_deg - low_deg) / 2
