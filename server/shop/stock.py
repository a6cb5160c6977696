"""Sheets in stock as a record of what happened to them: levels, reserving, prices, counting.

Nothing is stored as a level: what is on hand and what is free is added up from the moves, in order.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from typing import Literal

from server.errors import Amount, ShopError, say
from server.findings import Finding
from server.shop.money import exact

MoveKind = Literal["received", "reserved", "released", "consumed", "remnant", "counted", "scrapped"]
SAME_MM = 1e-6


@dataclass(frozen=True, slots=True)
class SheetLot:
    """Equal sheets of one delivery. A remnant is a lot of one sheet with its parent's papers."""

    code: str
    material: str
    thickness_mm: float
    width_mm: float
    height_mm: float
    heat_number: str = ""
    certificate: str = ""
    parent: str | None = None

    @property
    def area_mm2(self) -> float:
        """Area of one sheet."""
        return self.width_mm * self.height_mm


@dataclass(frozen=True, slots=True)
class StockMove:
    """Something that happened to sheets of a lot. `counted` sets what is on hand.

    `price_per_kg` in major units goes with what was received.
    """

    kind: MoveKind
    lot: str
    sheets_count: int
    at: datetime
    job: str | None = None
    price_per_kg: float | Fraction | None = None
    note: str = ""

    def __post_init__(self) -> None:
        if self.sheets_count < 0 or (self.sheets_count == 0 and self.kind != "counted"):
            raise ShopError(
                "no_sheets",
                say(
                    "{count} sheets cannot be {kind}.",
                    count=Amount(self.sheets_count, "count"),
                    kind=self.kind,
                ),
                remedy="Give one or more.",
                where="sheets_count",
            )
        if self.kind in ("reserved", "released") and not self.job:
            raise ShopError(
                "no_job",
                say("Sheets are {kind} for a job, and none is named.", kind=self.kind),
                remedy="Name the job.",
                where="job",
            )


@dataclass(frozen=True, slots=True)
class Level:
    """How many sheets of a lot there are, and for whom."""

    lot: SheetLot
    on_hand_count: int
    reserved: Mapping[str, int]

    @property
    def reserved_count(self) -> int:
        """Sheets promised to jobs."""
        return sum(self.reserved.values())

    @property
    def free_count(self) -> int:
        """Sheets nobody has a claim on; never below zero."""
        return max(0, self.on_hand_count - self.reserved_count)


@dataclass(frozen=True, slots=True)
class SheetsWanted:
    """What a job needs: sheets of a material and thickness, at least so large either way round."""

    job: str
    material: str
    thickness_mm: float
    width_mm: float
    height_mm: float
    sheets_count: int


@dataclass(frozen=True, slots=True)
class ReorderPoint:
    """Order when fewer sheets than `least_count` are free; order up to `up_to_count`."""

    material: str
    thickness_mm: float
    width_mm: float
    height_mm: float
    least_count: int
    up_to_count: int


@dataclass(frozen=True, slots=True)
class PriceHistory:
    """Prices per kilogram in major units: the last paid, and the weighted average of what is left."""

    last: Fraction | None
    average: Fraction | None
    received: tuple[tuple[datetime, Fraction], ...]


def levels(lots: Iterable[SheetLot], moves: Iterable[StockMove]) -> dict[str, Level]:
    """What there is of every lot after all moves, in order of time.

    Raises: ShopError `unknown_lot`, `not_enough_sheets` for more taken than there was,
        `not_reserved` for more released than was reserved.
    """
    known = {lot.code: lot for lot in lots}
    on_hand = dict.fromkeys(known, 0)
    reserved: dict[str, dict[str, int]] = {code: {} for code in known}
    for move in sorted(moves, key=lambda move: move.at):
        if move.lot not in known:
            raise ShopError(
                "unknown_lot",
                say("There is no lot {lot}.", lot=move.lot),
                remedy="Receive the lot first.",
                where="lot",
            )
        held, count = reserved[move.lot], move.sheets_count
        match move.kind:
            case "received" | "remnant":
                on_hand[move.lot] += count
            case "counted":
                on_hand[move.lot] = count
            case "reserved":
                held[move.job or ""] = held.get(move.job or "", 0) + count
            case "released":
                _take_reserved(held, move, count)
            case "consumed" | "scrapped":
                if count > on_hand[move.lot]:
                    raise _not_enough(move, on_hand[move.lot])
                on_hand[move.lot] -= count
                if move.kind == "consumed" and move.job in held:
                    _take_reserved(held, move, min(count, held[move.job]))
    return {code: Level(lot, on_hand[code], reserved[code]) for code, lot in known.items()}


def reserved_for(
    wanted: SheetsWanted, stock: Mapping[str, Level], *, at: datetime
) -> tuple[tuple[StockMove, ...], tuple[Finding, ...]]:
    """Reservations for what a job needs, and what is missing.

    Remnants that are large enough go first, the smallest first; then whole sheets, from one lot
    where one lot has enough, so that one job has one heat; else from the lots with the most.

    Returns: the moves to record, and a caution where there are too few sheets.
    """
    fitting = [level for level in stock.values() if level.free_count and fits(wanted, level.lot)]
    rests = sorted(
        (level for level in fitting if level.lot.parent), key=lambda level: level.lot.area_mm2
    )
    whole = sorted(
        (level for level in fitting if not level.lot.parent),
        key=lambda level: (level.lot.area_mm2, level.free_count, level.lot.code),
    )
    left = wanted.sheets_count
    moves = []
    for level in (*rests, *_one_lot_first(whole, left - sum(r.free_count for r in rests))):
        taken = min(left, level.free_count)
        if taken > 0:
            moves.append(StockMove("reserved", level.lot.code, taken, at, wanted.job))
            left -= taken
    return tuple(moves), tuple(_check_missing(wanted, left))


def fits(wanted: SheetsWanted, lot: SheetLot) -> bool:
    """Whether a sheet of a lot will do, either way round."""
    if lot.material != wanted.material or abs(lot.thickness_mm - wanted.thickness_mm) > SAME_MM:
        return False
    longer, shorter = sorted((lot.width_mm, lot.height_mm), reverse=True)
    needed, across = sorted((wanted.width_mm, wanted.height_mm), reverse=True)
    return longer >= needed - SAME_MM and shorter >= across - SAME_MM


def remnant_lot(parent: SheetLot, *, code: str, width_mm: float, height_mm: float) -> SheetLot:
    """The lot of a rest that goes back to stock, with its parent's heat and certificate.

    Raises: ShopError `remnant_too_large` for a rest that is larger than its sheet.
    """
    longer, shorter = sorted((width_mm, height_mm), reverse=True)
    sheet_longer, sheet_shorter = sorted((parent.width_mm, parent.height_mm), reverse=True)
    if longer > sheet_longer + SAME_MM or shorter > sheet_shorter + SAME_MM or shorter <= 0:
        raise ShopError(
            "remnant_too_large",
            say(
                "A rest of {width} x {height} does not come from a sheet of {lot}.",
                width=Amount(width_mm, "mm"),
                height=Amount(height_mm, "mm"),
                lot=parent.code,
            ),
            remedy="Measure it again.",
            where="width_mm",
        )
    return SheetLot(
        code,
        parent.material,
        parent.thickness_mm,
        width_mm,
        height_mm,
        parent.heat_number,
        parent.certificate,
        parent=parent.code,
    )


def price_history(
    lots: Iterable[SheetLot], moves: Iterable[StockMove], *, material: str, thickness_mm: float
) -> PriceHistory:
    """Last and moving weighted average price per kilogram of a material and thickness.

    Formula: at each receipt average = (left x average + received x price) / (left + received), by
        area, which is by mass at one thickness; what is taken leaves at the average

    References: moving weighted average cost: IAS 2 Inventories, par. 27.
    """
    known = {
        lot.code: lot
        for lot in lots
        if lot.material == material and abs(lot.thickness_mm - thickness_mm) <= SAME_MM
    }
    left = Fraction()
    average: Fraction | None = None
    received: list[tuple[datetime, Fraction]] = []
    on_hand: dict[str, int] = {}
    for move in sorted(moves, key=lambda move: move.at):
        lot = known.get(move.lot)
        if lot is None:
            continue
        area = exact(lot.width_mm) * exact(lot.height_mm)
        before = on_hand.get(move.lot, 0)
        if move.kind == "received" and move.price_per_kg is not None:
            price = exact(move.price_per_kg)
            received.append((move.at, price))
            stock = max(left, Fraction())
            share = move.sheets_count * area
            average = (
                price if average is None else (stock * average + share * price) / (stock + share)
            )
        on_hand[move.lot] = _after(move, before)
        left += (on_hand[move.lot] - before) * area
    return PriceHistory(received[-1][1] if received else None, average, tuple(received))


def check_reorder(
    points: Iterable[ReorderPoint],
    stock: Mapping[str, Level],
    *,
    on_order: Mapping[ReorderPoint, int] | None = None,
) -> tuple[Finding, ...]:
    """A caution for every size of which too few sheets are free, with how many to order."""
    found = []
    for point in points:
        need = SheetsWanted(
            "", point.material, point.thickness_mm, point.width_mm, point.height_mm, 1
        )
        free = sum(
            level.free_count
            for level in stock.values()
            if not level.lot.parent and fits(need, level.lot)
        )
        coming = (on_order or {}).get(point, 0)
        if free + coming < point.least_count:
            order = point.up_to_count - free - coming
            found.append(
                Finding(
                    "caution",
                    "low_stock",
                    say(
                        "{free} free sheets of {material} {thickness}, {w} x {h}; the least is "
                        "{least}.",
                        free=Amount(free, "count"),
                        material=point.material,
                        thickness=Amount(point.thickness_mm, "mm"),
                        w=Amount(point.width_mm, "mm"),
                        h=Amount(point.height_mm, "mm"),
                        least=Amount(point.least_count, "count"),
                    ),
                    say("Order {count}.", count=Amount(order, "count")),
                    source="the shop's reorder point",
                    amount=Amount(order, "count"),
                )
            )
    return tuple(found)


def _after(move: StockMove, before: int) -> int:
    match move.kind:
        case "received" | "remnant":
            return before + move.sheets_count
        case "consumed" | "scrapped":
            return before - move.sheets_count
        case "counted":
            return move.sheets_count
        case _:
            return before


def _one_lot_first(whole: list[Level], needed: int) -> list[Level]:
    """The lot that alone has enough and is left with least; else the fullest lots first."""
    enough = [level for level in whole if level.free_count >= needed]
    if enough:
        first = enough[0]
        return [first, *(level for level in whole if level is not first)]
    return sorted(whole, key=lambda level: (-level.free_count, level.lot.code))


def _check_missing(wanted: SheetsWanted, left: int) -> Iterator[Finding]:
    if left > 0:
        yield Finding(
            "caution",
            "not_enough_sheets",
            say(
                "{left} of {count} sheets of {material} {thickness} are missing for {job}.",
                left=Amount(left, "count"),
                count=Amount(wanted.sheets_count, "count"),
                material=wanted.material,
                thickness=Amount(wanted.thickness_mm, "mm"),
                job=wanted.job,
            ),
            say("Order them, and give the schedule the day they arrive."),
            source="stock",
            amount=Amount(left, "count"),
        )


def _take_reserved(held: dict[str, int], move: StockMove, count: int) -> None:
    job = move.job or ""
    if count > held.get(job, 0):
        raise ShopError(
            "not_reserved",
            say(
                "{job} has {held} sheets of {lot} reserved, not {count}.",
                job=job,
                held=Amount(held.get(job, 0), "count"),
                lot=move.lot,
                count=Amount(count, "count"),
            ),
            remedy="Release what is reserved, or less.",
            where="sheets_count",
        )
    held[job] -= count
    if not held[job]:
        del held[job]


def _not_enough(move: StockMove, there: int) -> ShopError:
    return ShopError(
        "not_enough_sheets",
        say(
            "{count} sheets of {lot} cannot be {kind}: {there} are there.",
            count=Amount(move.sheets_count, "count"),
            lot=move.lot,
            kind=move.kind,
            there=Amount(there, "count"),
        ),
        remedy="Count the lot, and record the count first.",
        where="sheets_count",
    )
