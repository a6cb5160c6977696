"""The inspection sheet on paper: what to measure, or what was measured and signed."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, ClassVar

from server.files.paper import qr_svg
from server.web.display import Display, moment
from server.web.pages.paper import PaperReader, job_facts, part_picture
from server.web.paper import Paper

if TYPE_CHECKING:
    from server.storage.queries.paper import JobPaper
    from server.storage.tables.first_article import FirstArticle

Fact = tuple[str, str]
PIECES_TO_CHECK = 8


@dataclass(frozen=True, slots=True)
class InspectionRow:
    """One bend to be measured; empty readings are boxes for a pen."""

    step: str
    what: str
    wanted: str
    tolerance: str
    measured: str
    verdict: str


@dataclass(frozen=True)
class InspectionPaper(Paper):
    """The first-article sheet, signed or still to be filled in, with a table for later pieces."""

    template: ClassVar[str] = "inspection.typ"
    shop: str
    person: str
    printed: str
    title: str
    job: str
    part: str
    part_name: str
    revision: str
    scanner_code: str
    picture: str
    facts: tuple[Fact, ...]
    rows: tuple[InspectionRow, ...]
    verdict: str
    signed: str
    note: str
    pieces: tuple[str, ...]


def inspection_paper(
    told: "JobPaper", signed: "FirstArticle | None", reader: PaperReader, *, now: datetime
) -> InspectionPaper:
    """A job's inspection sheet: as it was signed, or empty to be filled in."""
    job, show = told.job, reader.show
    rows = _signed_rows(signed, show) if signed else _rows_to_measure(told, show)
    return InspectionPaper(
        shop=reader.shop,
        person=reader.person,
        printed=moment(now),
        title="First article" if signed else "Inspection sheet",
        job=job.number,
        part=job.part_number,
        part_name=told.part.name,
        revision=signed.revision_label if signed else job.revision_label,
        scanner_code=qr_svg(job.number),
        picture=part_picture(told.revision, show),
        facts=_signed_facts(signed, show) if signed else job_facts(told, show),
        rows=tuple(rows),
        verdict=signed.verdict if signed else "",
        signed=f"{signed.signed_by}, {moment(signed.signed_at)}" if signed else "",
        note=signed.note if signed else "",
        pieces=tuple(str(piece + 1) for piece in range(PIECES_TO_CHECK)),
    )


def _rows_to_measure(told: "JobPaper", show: Display) -> Iterator[InspectionRow]:
    for entry in told.steps:
        step = entry.step
        yield InspectionRow(
            str(step.position), "Bend angle", show.angle(step.bend_angle_deg),
            f"± {show.angle(step.angle_tolerance_deg)}", "", "",
        )  # fmt: skip
        if step.check_mm is not None:
            tolerance = step.check_tolerance_mm
            yield InspectionRow(
                str(step.position), "Flange, outside", show.length(step.check_mm),
                f"± {show.length(tolerance)}" if tolerance is not None else "—", "", "",
            )  # fmt: skip


def _signed_rows(sheet: "FirstArticle", show: Display) -> Iterator[InspectionRow]:
    for line in sheet.lines:
        measured = line["measured_deg"]
        yield InspectionRow(
            str(line["step"]), "Bend angle", show.angle(line["wanted_deg"]),
            f"± {show.angle(line['tolerance_deg'])}",
            show.angle(measured, 2) if measured is not None else "—", line["angle_verdict"],
        )  # fmt: skip
        if line["wanted_flange_mm"] is None:
            continue
        tolerance, flange = line["tolerance_flange_mm"], line["measured_flange_mm"]
        yield InspectionRow(
            str(line["step"]), "Flange, outside", show.length(line["wanted_flange_mm"]),
            f"± {show.length(tolerance)}" if tolerance is not None else "—",
            show.length(flange) if flange is not None else "—", line["flange_verdict"],
        )  # fmt: skip


def _signed_facts(sheet: "FirstArticle", show: Display) -> tuple[Fact, ...]:
    facts = sheet.facts
    thickness = facts.get("thickness_mm")
    measured = "measured" if facts.get("thickness_measured") else "not measured"
    return (
        ("Material", str(facts.get("material_code", ""))),
        ("Lot", str(facts.get("lot_code") or "not kept")),
        ("Heat number", str(facts.get("heat_number") or "not kept")),
        ("Sheet", f"{show.length(float(thickness), 3)}, {measured}" if thickness else "—"),
        ("Brake", str(facts.get("brake_code", ""))),
        ("Set up by", str(facts.get("set_up_by") or "not signed")),
    )
