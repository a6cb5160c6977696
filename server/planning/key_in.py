"""The key-in sheet: exactly what to type into the control, in its own order, unit and decimals.

Sums and a step count let the operator check the whole at a glance, odd values are flagged before
they bend anything, and a thickness range says for which sheets the Ys are good.
"""

import math
import statistics
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Literal, get_args

from server.errors import Amount, Sentence, ShopError, say
from server.findings import Finding, sorted_by_level
from server.mechanics.elementary import need_above
from server.units.length import MM_PER_INCH, LengthUnit, from_mm

KeyField = Literal["x", "y", "r"]
KEY_FIELDS: tuple[KeyField, ...] = get_args(KeyField)
MOST_DECIMALS = 6
NEAR_RATIO = 0.03
FAR_TIMES = 6.0
SAME_ANGLE_DEG = 0.05
FAR_Y_MM = 1.0
LEAST_TO_COMPARE = 3


@dataclass(frozen=True, slots=True)
class KeyLayout:
    """How one control takes numbers: which fields of a step, in which order, unit and steps.

    A shop setting for each brake. `decimal_sign` is what the control's own display shows.
    """

    unit: LengthUnit
    resolution_mm: Mapping[KeyField, float]
    fields: tuple[KeyField, ...] = ("x", "y")
    decimal_sign: Literal[".", ","] = "."

    def __post_init__(self) -> None:
        if not self.fields or len(set(self.fields)) != len(self.fields):
            raise ShopError(
                "fields_named_twice",
                "The control's order of fields has to name each field once.",
                remedy="Give the order in which the control asks, like x then y.",
                where="fields",
            )
        for name in self.fields:
            if name not in KEY_FIELDS:
                raise ShopError(
                    "unknown_field",
                    say("'{name}' is not a field of a step.", name=str(name)),
                    remedy=say("Use {fields}.", fields=", ".join(KEY_FIELDS)),
                    where="fields",
                )
            need_above(f"resolution_mm.{name}", self.resolution_mm.get(name, 0.0), 0.0, "mm")
            if -int(self.step(name).as_tuple().exponent) > MOST_DECIMALS:
                raise ShopError(
                    "step_not_decimal",
                    say(
                        "A step of {step} is no decimal number of the control's unit.",
                        step=Amount(self.resolution_mm[name], "mm"),
                    ),
                    remedy="Enter the smallest step as the control itself shows it.",
                    where=f"resolution_mm.{name}",
                )

    def step(self, name: KeyField) -> Decimal:
        """The smallest step of a field in the control's unit, exact."""
        size = Decimal(repr(round(from_mm(self.resolution_mm[name], self.unit), 9)))
        return size.normalize()

    def decimals(self, name: KeyField) -> int:
        """How many decimals the control shows for a field."""
        return max(0, -int(self.step(name).as_tuple().exponent))

    def number(self, name: KeyField, value_mm: float) -> Decimal:
        """A reading as the control holds it: nearest step, exact decimal, control's unit."""
        step = self.step(name)
        wanted = Decimal(repr(from_mm(value_mm, self.unit)))
        count = (wanted / step).quantize(Decimal(1), rounding=ROUND_HALF_EVEN)
        return (count * step).quantize(Decimal(1).scaleb(-self.decimals(name)))

    def text(self, name: KeyField, number: Decimal) -> str:
        """The digits to type, with every decimal of the control."""
        return f"{number:.{self.decimals(name)}f}".replace(".", self.decimal_sign)


@dataclass(frozen=True, slots=True)
class StepToKey:
    """One step's readings [mm], already rounded to the control, and what stands beside them.

    `expected_mm` are readings known from elsewhere (the plan's exact ones, the last set-up's) that a
    slip of the decimal point or of the unit would show against.
    """

    number: int
    values_mm: Mapping[KeyField, float]
    bend_angle_deg: float
    tools: str
    gauge_kind: str = "edge"
    side_up: str = "A"
    expected_mm: Mapping[KeyField, float] = field(default_factory=dict)
    good_from_mm: float | None = None
    good_to_mm: float | None = None


@dataclass(frozen=True, slots=True)
class KeyedValue:
    """One number to type."""

    name: KeyField
    number: Decimal
    text: str


@dataclass(frozen=True, slots=True)
class KeyedLine:
    """One step's line: numbers in the control's order, and what was odd about them."""

    number: int
    values: tuple[KeyedValue, ...]
    bend_angle_deg: float
    tools: str
    gauge_kind: str
    side_up: str
    findings: tuple[Finding, ...]

    def value(self, name: KeyField) -> KeyedValue:
        """The number of one field."""
        return next(one for one in self.values if one.name == name)


@dataclass(frozen=True, slots=True)
class KeyInSheet:
    """Everything to type, with sums and count to check by."""

    layout: KeyLayout
    lines: tuple[KeyedLine, ...]
    sums: Mapping[KeyField, Decimal]
    sum_texts: Mapping[KeyField, str]
    good_from_mm: float | None
    good_to_mm: float | None
    findings: tuple[Finding, ...]

    @property
    def step_count(self) -> int:
        """How many steps the program has to show."""
        return len(self.lines)


def key_in_sheet(*, layout: KeyLayout, steps: Sequence[StepToKey]) -> KeyInSheet:
    """The sheet for the steps of one program.

    Raises: ShopError `nothing_to_key`, `field_missing` naming the step.
    """
    if not steps:
        raise ShopError(
            "nothing_to_key",
            "There is no step to key.",
            remedy="Plan the bend sequence first.",
            where="steps",
        )
    lines = []
    for index, step in enumerate(steps):
        missing = [name for name in layout.fields if name not in step.values_mm]
        if missing:
            raise ShopError(
                "field_missing",
                say(
                    "Step {number} has no {name} to key.", number=str(step.number), name=missing[0]
                ),
                remedy="Touch off first; bends whose shape the tools fix are not keyed.",
                where=f"steps.{index}.{missing[0]}",
            )
        values = []
        for name in layout.fields:
            number = layout.number(name, step.values_mm[name])
            values.append(KeyedValue(name, number, layout.text(name, number)))
        lines.append(
            KeyedLine(
                number=step.number,
                values=tuple(values),
                bend_angle_deg=step.bend_angle_deg,
                tools=step.tools,
                gauge_kind=step.gauge_kind,
                side_up=step.side_up,
                findings=tuple(_odd(step, steps, layout)),
            )
        )
    sums = {
        name: sum((line.value(name).number for line in lines), Decimal(0)) for name in layout.fields
    }
    good_from_mm, good_to_mm = _good_for(steps)
    return KeyInSheet(
        layout=layout,
        lines=tuple(lines),
        sums=sums,
        sum_texts={name: layout.text(name, total) for name, total in sums.items()},
        good_from_mm=good_from_mm,
        good_to_mm=good_to_mm,
        findings=sorted_by_level([one for line in lines for one in line.findings]),
    )


def likely_slip(value: float, expected: float) -> str | None:
    """The usual slip that turns an expected value into another: decimal point, or unit.

    >>> likely_slip(52.5, 5.25), likely_slip(127.0, 5.0), likely_slip(5.3, 5.25)
    ('ten times as large', 'inches taken for millimetres', None)
    """
    if value == 0.0 or expected == 0.0 or (value < 0) != (expected < 0):
        return None
    ratio = value / expected
    for factor, words in (
        (10.0, "ten times as large"),
        (0.1, "a tenth"),
        (100.0, "a hundred times as large"),
        (0.01, "a hundredth"),
        (MM_PER_INCH, "inches taken for millimetres"),
        (1 / MM_PER_INCH, "millimetres taken for inches"),
    ):
        if abs(ratio / factor - 1.0) < NEAR_RATIO:
            return words
    return None


def check_thickness_for_sheet(sheet: KeyInSheet, thickness_mm: float) -> tuple[Finding, ...]:
    """Whether a measured sheet is one the keyed Ys are good for."""
    low, high = sheet.good_from_mm, sheet.good_to_mm
    if low is None or high is None or low <= thickness_mm <= high:
        return ()
    return (
        Finding(
            "stop",
            "thickness_outside_sheet",
            say(
                "The sheet is {thickness}; these Ys are good from {low} to {high}.",
                thickness=Amount(thickness_mm, "mm"),
                low=Amount(low, "mm"),
                high=Amount(high, "mm"),
            ),
            say("Have Y worked out for this thickness and key it anew."),
            source="where the predicted angle leaves its tolerance",
            amount=Amount(min(thickness_mm - low, high - thickness_mm, key=abs), "mm"),
        ),
    )


def _good_for(steps: Sequence[StepToKey]) -> tuple[float | None, float | None]:
    lows = [step.good_from_mm for step in steps if step.good_from_mm is not None]
    highs = [step.good_to_mm for step in steps if step.good_to_mm is not None]
    return (max(lows) if lows else None), (min(highs) if highs else None)


def _odd(step: StepToKey, steps: Sequence[StepToKey], layout: KeyLayout) -> Iterator[Finding]:
    for name in layout.fields:
        value_mm = step.values_mm[name]
        expected_mm = step.expected_mm.get(name)
        slip = likely_slip(value_mm, expected_mm) if expected_mm is not None else None
        if slip is not None and expected_mm is not None:
            yield _flag(
                "slip_likely",
                step,
                name,
                say(
                    "Step {step}: {name} {value} is {slip} against {expected}.",
                    step=str(step.number),
                    name=name.upper(),
                    value=Amount(value_mm, "mm"),
                    slip=slip,
                    expected=Amount(expected_mm, "mm"),
                ),
            )
        elif _far_from_others(step, steps, name):
            yield _flag(
                "far_from_neighbours",
                step,
                name,
                say(
                    "Step {step}: {name} {value} is far from the other steps'.",
                    step=str(step.number),
                    name=name.upper(),
                    value=Amount(value_mm, "mm"),
                ),
            )


def _far_from_others(step: StepToKey, steps: Sequence[StepToKey], name: KeyField) -> bool:
    """Y: bends of one angle on one pair of tools lie close together; X and R: a multiple off."""
    if any(other.values_mm.get(name) is None for other in steps):
        return False
    if name == "y":
        alike = [
            other.values_mm[name]
            for other in steps
            if other is not step
            and other.tools == step.tools
            and abs(other.bend_angle_deg - step.bend_angle_deg) < SAME_ANGLE_DEG
        ]
        return bool(alike) and abs(step.values_mm[name] - statistics.median(alike)) > FAR_Y_MM
    sizes = [abs(one.values_mm[name]) for one in steps]
    if len(sizes) < LEAST_TO_COMPARE or min(sizes) == 0.0:
        return False
    typical = math.log(statistics.median(sizes))
    return abs(math.log(abs(step.values_mm[name])) - typical) > math.log(FAR_TIMES)


def _flag(code: str, step: StepToKey, name: KeyField, what: Sentence) -> Finding:
    return Finding(
        "caution",
        code,
        what,
        say("Compare it with the drawing and the plan before keying."),
        source="common practice, no source",
        amount=Amount(step.values_mm[name], "mm"),
    )
