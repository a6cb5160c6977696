"""Dimensions of a bent part that can be measured, their tolerances, and after which step.

A profile's leg is measured outside, from mold line to mold line or edge; two parallel legs from outer
face to outer face. A flat part's are those of `flat_measure`. The tolerance is the drawing's own where it gives one, else the general one of its class.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.errors import ShopError
from server.geometry.profile import Profile
from server.mechanics.bend_allowance import outside_setback
from server.mechanics.general_tolerance import ToleranceClass, linear_tolerance
from server.planning.error_stack import GaugingErrors
from server.planning.flat_measure import size_between, sizes_across
from server.planning.gauge_stack import Measured, no_such_leg, sheet_leg, stacked
from server.planning.making import Making
from server.planning.plan_task import PlanTask, ProfileShape
from server.planning.protecting import bends_beside
from server.planning.sequence import BendSequence


@dataclass(frozen=True, slots=True)
class Marked:
    """A dimension that somebody marked: `first` == `last` is a leg, else outer face to outer face.

    Numbers are legs of a profile; of a flat part both are names as in `flat_measure`.

    No tolerance: the general one of the drawing's class.
    """

    first: int | str
    last: int | str
    critical: bool = True
    tolerance_mm: float | None = None

    @property
    def measured(self) -> Measured:
        """The dimension as the stack of errors names it."""
        if isinstance(self.first, int) and isinstance(self.last, int):
            return self.first if self.first == self.last else (self.first, self.last)
        return str(self.first), str(self.last)


@dataclass(frozen=True, slots=True)
class Dimension:
    """One dimension of a part made in an order.

    `tolerance_mm` is None beyond the general table; `after_step` counts from 1, 0 for a part without
    bends there. Worst case and statistical sum are of gauging and blank; angles count as right.
    `errors_mm` are the errors they are made of, each by its name and its share, the largest first.
    """

    first: int | str
    last: int | str
    nominal_mm: float
    tolerance_mm: float | None
    from_drawing: bool
    critical: bool
    worst_mm: float
    statistical_mm: float
    after_step: int
    errors_mm: tuple[tuple[str, float], ...] = ()

    @property
    def protected(self) -> bool | None:
        """Whether the worst case stays inside; None without a tolerance."""
        if self.tolerance_mm is None:
            return None
        return self.worst_mm <= self.tolerance_mm + 1e-9


def dimensions_of(
    task: PlanTask,
    sequence: BendSequence,
    marked: Sequence[Marked],
    errors: GaugingErrors,
) -> tuple[Dimension, ...]:
    """Every leg of a profile, every size across a face of a flat part, and what else is marked."""
    shape = task.shape
    known = {(one.first, one.last): one for one in marked}
    usual: list[tuple[int | str, int | str]]
    if isinstance(shape, ProfileShape):
        usual = [(leg, leg) for leg in range(len(shape.legs_mm))]
    else:
        usual = list(sizes_across(sequence.making))
    others = sorted((pair for pair in known if pair not in usual), key=str)
    return tuple(
        _dimension(task, sequence, known.get(pair) or Marked(*pair, critical=False), errors)
        for pair in (*usual, *others)
    )


def critical_tolerances(
    task: PlanTask, making: Making, marked: Sequence[Marked]
) -> dict[Measured, float]:
    """Tolerances of the critical dimensions; those beyond the general table are left out."""
    found = {}
    for one in marked:
        tolerance_mm = one.tolerance_mm
        if tolerance_mm is None:
            tolerance_mm = general(nominal(task, making, one), task.tolerance_class)
        if one.critical and tolerance_mm is not None:
            found[one.measured] = tolerance_mm
    return found


def nominal(task: PlanTask, making: Making, one: Marked) -> float:
    """The nominal size of a dimension [mm].

    Raises: ShopError `no_such_leg`, or as `size_between`.
    """
    shape, sheet = task.shape, making.sheet
    if not isinstance(shape, ProfileShape):
        return size_between(making, (str(one.first), str(one.last)))
    assert isinstance(sheet, Profile)
    first, last = one.first, one.last
    if not isinstance(first, int) or not isinstance(last, int):
        raise no_such_leg(str(first))
    if first != last:
        return _face_to_face(sheet, sheet_leg(making, first), sheet_leg(making, last))
    leg = sheet_leg(making, first)
    if shape.legs_are == "outside":
        return shape.legs_mm[first]
    beside = [zone for zone in (leg - 1, leg) if 0 <= zone < len(sheet.bends)]
    return sheet.straights_mm[leg] + math.fsum(_setback(sheet, zone) for zone in beside)


def general(nominal_mm: float, tolerance_class: ToleranceClass) -> float | None:
    """The general tolerance of a length, None beyond the table [mm]."""
    try:
        return linear_tolerance(length_mm=nominal_mm, tolerance_class=tolerance_class)
    except ShopError:
        return None


def _dimension(
    task: PlanTask, sequence: BendSequence, one: Marked, errors: GaugingErrors
) -> Dimension:
    making = sequence.making
    nominal_mm = nominal(task, making, one)
    stack = stacked(making, sequence.order, one.measured, errors)
    own_mm = one.tolerance_mm
    return Dimension(
        first=one.first,
        last=one.last,
        nominal_mm=nominal_mm,
        tolerance_mm=general(nominal_mm, task.tolerance_class) if own_mm is None else own_mm,
        from_drawing=own_mm is not None,
        critical=one.critical,
        worst_mm=stack.worst_mm,
        statistical_mm=stack.statistical_mm,
        after_step=_complete_after(sequence, one),
        errors_mm=_shares(sequence, stack.from_errors),
    )


def _shares(
    sequence: BendSequence, from_errors: Mapping[str, float]
) -> tuple[tuple[str, float], ...]:
    """The errors by the step that makes them: 'gauge of step 2' instead of a stroke's number."""
    number_of = {
        placed.stroke: step.number
        for step, placed in zip(sequence.steps, sequence.order, strict=True)
    }
    shares = []
    for name, size_mm in from_errors.items():
        what, _, stroke = name.partition(" of stroke ")
        told = f"{what} of step {number_of[int(stroke)]}" if stroke else what
        shares.append((told, abs(size_mm)))
    return tuple(sorted(shares, key=lambda one: (-round(one[1], 9), one[0])))


def _complete_after(sequence: BendSequence, one: Marked) -> int:
    """The step after which every bend the dimension hangs on is made."""
    bends = bends_beside(sequence.making, one.measured)
    return max((step.number for step in sequence.steps if bends & set(step.bends)), default=0)


def _setback(sheet: Profile, zone: int) -> float:
    bend = sheet.bends[zone]
    angle_deg = abs(bend.bend_angle_deg)
    return outside_setback(
        bend_angle_deg=angle_deg,
        inside_radius_mm=bend.inside_radius_mm,
        thickness_mm=sheet.thickness_mm,
        to_tangent=angle_deg > 90.0,
    )


def _face_to_face(sheet: Profile, first: int, last: int) -> float:
    """Distance of the middle planes of two parallel legs, and one thickness."""
    across_mm, turned_rad = 0.0, 0.0
    for leg in range(first + 1, last + 1):
        bend = sheet.bends[leg - 1]
        angle_rad = math.radians(bend.bend_angle_deg)
        radius_mm = bend.inside_radius_mm + sheet.thickness_mm / 2
        chord_mm = 2 * radius_mm * math.sin(abs(angle_rad) / 2)
        across_mm += chord_mm * math.sin(turned_rad + angle_rad / 2)
        turned_rad += angle_rad
        if leg < last:
            across_mm += sheet.straights_mm[leg] * math.sin(turned_rad)
    return abs(across_mm) + sheet.thickness_mm
