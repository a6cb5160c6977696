"""Working a quoted part out: the shop's rates, its sheet, its bend sequence and measured times."""

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from fractions import Fraction
from functools import partial
from statistics import median
from typing import Any

from server.errors import Amount, ShopError, say
from server.findings import Finding
from server.settings import HandlingSeconds
from server.shop.brake_time import BrakeTime, Standards, bend_band, brake_time, starting_bands
from server.shop.cut_speed import cut_speed
from server.shop.money import minor_digits
from server.shop.nesting import nest_equal
from server.shop.quote import Quote, QuoteRequest, as_repeat, quote
from server.shop.quote_cost import (
    Bought,
    Charge,
    OtherWork,
    PartWork,
    Rates,
    SheetPrice,
    WorkTimes,
)
from server.shop.rate import ShopRates
from server.shop.sheet_room import Blank, Grain, NestSettings, Sheet
from server.shop.time_standard import Kind, MeasuredTime, learned_time, time_standards
from server.storage.database import Session
from server.storage.queries.bend_sequence import list_bend_sequences, list_steps
from server.storage.queries.material import get_material
from server.storage.queries.measured_time import list_accepted_times
from server.storage.queries.part import get_revision
from server.storage.queries.quote import find_newest_planning, list_sequence_times
from server.storage.queries.rate import cut_speed_table, list_sheet_prices, price_of
from server.storage.queries.stock import keeps_stock, list_sheets, list_short_stock
from server.storage.tables.bend_sequence import BendSequence
from server.storage.tables.part import Revision
from server.storage.tables.rate import SheetPriceRow

USUAL_QUANTITIES = (1, 10, 50, 250)
KINDS: tuple[Kind, ...] = (
    "bend", "load", "setup", "tool_change", "first_article", "programming",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class OtherWish:
    """Another operation of our own on the part."""

    name: str
    per_hour_minor: int
    per_part_min: float
    setup_min: float = 0.0


@dataclass(frozen=True, slots=True)
class BoughtWish:
    """Something bought for the part."""

    name: str
    per_part_minor: int
    per_order_minor: int = 0


@dataclass(frozen=True, slots=True)
class LineWish:
    """What a quote is asked for one part; what is left open is chosen and shown.

    The sheet is one of the price list's, None for the cheapest the blank fits.
    """

    part_number: str
    revision_label: str
    quantities: tuple[int, ...] = USUAL_QUANTITIES
    sheet_price_id: int | None = None
    charge: Charge | None = None
    grain: Grain = "any"
    repeat: bool = False
    margin_ratio: float | None = None
    other: tuple[OtherWish, ...] = ()
    bought: tuple[BoughtWish, ...] = ()


def plain_wish(wish: LineWish) -> dict[str, Any]:
    """A wish as plain values."""
    return asdict(wish)


def wish_of(plain: Mapping[str, Any]) -> LineWish:
    """The wish that `plain_wish` wrote."""
    return LineWish(
        **{
            **plain,
            "quantities": tuple(plain["quantities"]),
            "other": tuple(OtherWish(**one) for one in plain["other"]),
            "bought": tuple(BoughtWish(**one) for one in plain["bought"]),
        }
    )


@dataclass(frozen=True, slots=True)
class WorkedLine:
    """A part worked out: its prices, those of a repeat, and everything they rest on."""

    wish: LineWish
    revision: Revision
    sequence: BendSequence | None
    sheet: SheetPriceRow
    times: WorkTimes
    brake: BrakeTime
    bends_count: int
    prices: Quote
    repeat_prices: Quote
    findings: tuple[Finding, ...]


def work_out_line(session: Session, wish: LineWish, rates: ShopRates) -> WorkedLine:
    """One part of a quote, worked out with what the shop knows now.

    Raises: ShopError naming the field: `not_found`, `no_sheet_price`, `no_cut_speed`,
        `blank_exceeds_sheet`, `out_of_range`, `no_quantity`.
    """
    revision = get_revision(session, wish.part_number, wish.revision_label)
    material = get_material(session, revision.material_code)
    digits = minor_digits(rates.currency)
    blank = Blank(revision.blank_length_mm, revision.blank_width_mm, wish.grain)
    nest = NestSettings(rates.spacing_mm, rates.edge_mm, rates.least_remnant_mm)
    sheet = _sheet(session, wish, revision, blank, nest)
    speed = cut_speed(
        table=cut_speed_table(session),
        cutter=rates.cutter,
        family=material.family,
        thickness_mm=revision.thickness_mm,
    )
    sequence = _sequence(session, revision)
    bends_count = _strokes_count(session, revision, sequence)
    standards = _standards(session)
    own = _own_times(session, sequence)
    brake = _brake(revision, sequence, bends_count, standards, own)
    first_article = standards.get(("first_article", brake.handling.name))
    major = partial(_major, digits=digits)
    times = WorkTimes(
        cut_speed_mm_per_s=speed.cut_speed_mm_per_s,
        pierce_s=speed.pierce_s,
        setup_min=brake.setup.value_s / 60,
        tool_change_min=rates.tool_change_min,
        first_article_min=first_article.value_s / 60 if first_article else rates.first_article_min,
        bend_s=brake.bend.value_s,
        load_s=brake.load.value_s,
        programming_min=rates.programming_min,
        people_count=brake.people_count,
        bend=brake.bend,
    )
    request = QuoteRequest(
        part=PartWork(
            thickness_mm=revision.thickness_mm,
            cut_length_mm=revision.cut_length_mm,
            pierces_count=revision.pierces_count,
            bends_count=bends_count,
            tool_changes_count=int(sequence.cost.get("tool_changes", 0)) if sequence else 0,
            blank=blank,
            outline_area_mm2=revision.area_mm2,
        ),
        sheet_price=SheetPrice(
            price_per_kg=price_of(sheet),
            density_kg_m3=material.density_kg_m3,
            sheet=Sheet(sheet.sheet_width_mm, sheet.sheet_height_mm),
            scrap_allowance=rates.scrap_allowance_ratio,
            charge=wish.charge or rates.charge,
            remnant_credit_ratio=rates.remnant_credit_ratio,
        ),
        rates=Rates(major(rates.cut_per_hour_minor), major(rates.brake_per_hour_minor)),
        times=times,
        quantities=wish.quantities,
        margin=rates.margin_ratio if wish.margin_ratio is None else wish.margin_ratio,
        minimum_charge_minor=rates.minimum_charge_minor,
        overhead_ratio=rates.overhead_ratio,
        other_work=tuple(
            OtherWork(one.name, major(one.per_hour_minor), one.per_part_min, one.setup_min)
            for one in wish.other
        ),
        bought=tuple(
            Bought(one.name, major(one.per_part_minor), major(one.per_order_minor))
            for one in wish.bought
        ),
        nest=nest,
        price_rule=rates.price_rule,
        minor_digits_count=digits,
    )
    known_setup_min = median(own["setup"]) / 60 if own.get("setup") else None
    again = as_repeat(request, known_setup_min=known_setup_min)
    prices = quote(again if wish.repeat else request)
    findings = (
        *brake.findings,
        *_check_bending(session, revision, sequence),
        *_check_stock(session, revision, sheet, prices),
    )
    return WorkedLine(
        wish, revision, sequence, sheet, prices.request.times, brake, bends_count, prices,
        quote(again), findings,
    )  # fmt: skip


def brake_minutes(times: WorkTimes, *, tool_changes: int, bends: int, quantity: int) -> float:
    """Minutes the brake is taken by an order, as a run measures them: programming is left out."""
    once = times.setup_min + tool_changes * times.tool_change_min + times.first_article_min
    return once + quantity * (bends * times.bend_s + times.load_s) / 60


def cut_minutes(part: PartWork, times: WorkTimes, quantity: int) -> float:
    """Minutes the cutter is taken by an order."""
    moving_s = part.cut_length_mm / times.cut_speed_mm_per_s
    return quantity * (moving_s + part.pierces_count * times.pierce_s) / 60


def _major(minor: int, *, digits: int) -> Fraction:
    return Fraction(minor, 10**digits)


def _sheet(
    session: Session, wish: LineWish, revision: Revision, blank: Blank, nest: NestSettings
) -> SheetPriceRow:
    """The sheet asked for, or the cheapest of the price list that the blank fits."""
    rows = list_sheet_prices(
        session, material_code=revision.material_code, thickness_mm=revision.thickness_mm
    )
    if wish.sheet_price_id is not None:
        rows = [row for row in rows if row.id == wish.sheet_price_id]
    if not rows:
        raise ShopError(
            "no_sheet_price",
            say(
                "The price list has no sheet of {material}, {thickness}.",
                material=revision.material_code,
                thickness=Amount(revision.thickness_mm, "mm"),
            ),
            remedy="Add it under Rates, Sheet prices.",
            where="sheet",
        )
    fitting, refusal = [], None
    for row in rows:
        try:
            laid = nest_equal(
                blank=blank,
                sheet=Sheet(row.sheet_width_mm, row.sheet_height_mm),
                quantity_count=max(1, *wish.quantities),
                settings=nest,
            )
        except ShopError as trouble:
            refusal = trouble
            continue
        fitting.append((price_of(row), -laid.used_ratio, row.id or 0, row))
    if not fitting:
        assert refusal is not None
        raise refusal.at("sheet")
    return min(fitting, key=lambda one: one[:3])[3]


def _sequence(session: Session, revision: Revision) -> BendSequence | None:
    """The sequence a job would run now: the newest that is ready."""
    rows = list_bend_sequences(session, revision.part_number, revision.label)
    return next((row for row in rows if row.state == "ready"), None)


def _strokes_count(session: Session, revision: Revision, sequence: BendSequence | None) -> int:
    if sequence is not None and sequence.id is not None:
        return len(list_steps(session, sequence.id))
    return len(revision.faces["bends"])


def _standards(session: Session) -> Standards:
    """The shop's time standards: common practice at first, moved by every accepted time."""
    measured = [
        MeasuredTime(kind, row.work_class, row.seconds_s)
        for row in list_accepted_times(session)
        for kind in KINDS
        if kind == row.kind
    ]
    return time_standards(measured, starting_bands())


def _own_times(session: Session, sequence: BendSequence | None) -> Mapping[str, list[float]]:
    """What the runs of this very bend sequence took, by kind of work."""
    own: dict[str, list[float]] = {}
    if sequence is not None and sequence.id is not None:
        for row in list_sequence_times(session, sequence.id):
            own.setdefault(row.kind, []).append(row.seconds_s)
    return own


def _brake(
    revision: Revision,
    sequence: BendSequence | None,
    bends_count: int,
    standards: Standards,
    own: Mapping[str, list[float]],
) -> BrakeTime:
    """Brake times from the best that is known."""
    longest_mm = max(revision.blank_length_mm, revision.blank_width_mm)
    own_bend = None
    if own.get("bend"):
        band = bend_band(mass_kg=revision.mass_kg, longest_side_mm=longest_mm)
        own_bend = learned_time(band=band, values_s=own["bend"])
    return brake_time(
        mass_kg=revision.mass_kg,
        longest_side_mm=longest_mm,
        setup="die and punch",
        standards=standards,
        own_bend=own_bend,
        planned_bend_s=_planned_bend_s(sequence, bends_count),
    )


def _planned_bend_s(sequence: BendSequence | None, bends_count: int) -> float | None:
    """Seconds the planner counted for a stroke with its turns; tool changes are paid once."""
    if sequence is None or not sequence.seconds_s or not bends_count:
        return None
    changes_s = int(sequence.cost.get("tool_changes", 0)) * HandlingSeconds().change_tools_s
    return max(sequence.seconds_s - changes_s, 0.0) / bends_count or None


def _check_bending(
    session: Session, revision: Revision, sequence: BendSequence | None
) -> Iterator[Finding]:
    if not revision.faces["bends"]:
        return
    if revision.superseded_at is not None:
        yield Finding(
            "caution",
            "superseded",
            say("Revision {label} was superseded.", label=revision.label),
            say("Quote the newest revision, unless the customer wants this one."),
        )
    if sequence is not None:
        return
    planning = find_newest_planning(session, revision.part_number, revision.label)
    if planning is not None and planning.state == "blocked":
        yield Finding(
            "stop",
            "cannot_be_bent",
            say("The planner found no way to bend this part with the shop's tools."),
            say("Open the part to see what blocks it and what would free it."),
        )
        return
    yield Finding(
        "caution",
        "no_bend_sequence",
        say("There is no bend sequence yet: nothing has shown that the part can be bent here."),
        say("Plan the bends from the part's page; the time then comes from its strokes."),
    )


def _check_stock(
    session: Session, revision: Revision, sheet: SheetPriceRow, prices: Quote
) -> Iterator[Finding]:
    """Low stock, and whether the largest quantity could be cut from what is free."""
    code, thickness_mm = revision.material_code, revision.thickness_mm
    yield from list_short_stock(session, material_code=code, thickness_mm=thickness_mm)
    if not keeps_stock(session, material_code=code, thickness_mm=thickness_mm):
        return
    levels = list_sheets(session, material_code=code, thickness_mm=thickness_mm).levels()
    size = sorted((sheet.sheet_width_mm, sheet.sheet_height_mm))
    free = sum(
        level.free_count
        for level in levels.values()
        if sorted((level.lot.width_mm, level.lot.height_mm)) == size
    )
    most = max(prices.breaks, key=lambda one: one.quantity_count)
    if most.sheets_count > free:
        yield Finding(
            "caution",
            "not_enough_sheets",
            say(
                "Of this size of sheet {free} are free; {quantity} parts take {needed}.",
                free=Amount(free, "count"),
                quantity=Amount(most.quantity_count, "count"),
                needed=Amount(most.sheets_count, "count"),
            ),
            say("Order sheet before a day is promised, or choose a size that is there."),
            amount=Amount(most.sheets_count - free, "count"),
        )
