"""Mill traceability: from a heat number, a lot, a job or a certificate to all the others."""

from collections.abc import Iterable
from dataclasses import dataclass

from server.shop.stock import SheetLot, StockMove


@dataclass(frozen=True, slots=True)
class Trace:
    """Everything that belongs together, each sorted and without doubles.

    `without_certificate` names lots in it that have no certificate on file.
    """

    heat_numbers: tuple[str, ...]
    lots: tuple[str, ...]
    jobs: tuple[str, ...]
    certificates: tuple[str, ...]
    without_certificate: tuple[str, ...]


def traced_from_job(job: str, lots: Iterable[SheetLot], moves: Iterable[StockMove]) -> Trace:
    """Lots a job's parts were cut from, with their heats and certificates."""
    used = {move.lot for move in moves if move.kind == "consumed" and move.job == job}
    chosen = [lot for lot in lots if lot.code in used]
    return _trace(chosen, (job,) if chosen else ())


def traced_from_heat(
    heat_number: str, lots: Iterable[SheetLot], moves: Iterable[StockMove]
) -> Trace:
    """Lots of a heat, remnants too, and every job cut from them."""
    chosen = [lot for lot in lots if lot.heat_number == heat_number]
    return _trace(chosen, _jobs(chosen, moves))


def traced_from_lot(code: str, lots: Iterable[SheetLot], moves: Iterable[StockMove]) -> Trace:
    """A lot, its remnants and theirs, and every job cut from any of them."""
    every = tuple(lots)
    codes = {code}
    while more := {lot.code for lot in every if lot.parent in codes} - codes:
        codes |= more
    chosen = [lot for lot in every if lot.code in codes]
    return _trace(chosen, _jobs(chosen, moves))


def traced_from_certificate(
    certificate: str, lots: Iterable[SheetLot], moves: Iterable[StockMove]
) -> Trace:
    """Lots a certificate covers, and every job cut from them."""
    chosen = [lot for lot in lots if lot.certificate == certificate]
    return _trace(chosen, _jobs(chosen, moves))


def _jobs(lots: list[SheetLot], moves: Iterable[StockMove]) -> tuple[str, ...]:
    codes = {lot.code for lot in lots}
    return tuple(
        sorted(
            {
                move.job
                for move in moves
                if move.kind == "consumed" and move.job and move.lot in codes
            }
        )
    )


def _trace(lots: list[SheetLot], jobs: tuple[str, ...]) -> Trace:
    return Trace(
        heat_numbers=tuple(sorted({lot.heat_number for lot in lots if lot.heat_number})),
        lots=tuple(sorted(lot.code for lot in lots)),
        jobs=jobs,
        certificates=tuple(sorted({lot.certificate for lot in lots if lot.certificate})),
        without_certificate=tuple(sorted(lot.code for lot in lots if not lot.certificate)),
    )
