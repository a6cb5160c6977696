"""What stands on the shop's papers: traveller, inspection sheet, labels."""

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, ClassVar

from server.actions.work_out import section_of_faces
from server.actions.work_out_flat import part_of_faces
from server.drawings.flat import draw_small_flat
from server.drawings.section import SectionWords, draw_section
from server.drawings.step import draw_whole_step
from server.files.paper import on_paper, qr_svg
from server.storage.plain_finding import findings_of
from server.storage.plain_scene import scene_of
from server.web.display import Display, day, moment
from server.web.pages.hold import HeldStep, held_part, held_steps, placed_of_steps
from server.web.pages.run import decimals_of, gauge_words
from server.web.paper import Paper

if TYPE_CHECKING:
    from server.actions.key_in import KeyIn
    from server.storage.queries.bend_sequence import KeyedStep
    from server.storage.queries.paper import JobPaper
    from server.storage.tables.bend_sequence import Step
    from server.storage.tables.material import Lot, Material
    from server.storage.tables.part import Revision

Fact = tuple[str, str]
OPERATION_NAMES = {
    "cut": "Cut",
    "bend": "Bend",
    "weld": "Weld",
    "finish": "Finish",
    "bought_out": "Outside",
}
TABLET_PATH = "J"
"""Short and in capitals, so that the code stays coarse: `HTTP://HOST/J/NUMBER`."""


@dataclass(frozen=True, slots=True)
class OperationRow:
    """One operation on the way through the shop."""

    number: str
    name: str
    words: str
    where: str
    planned: str


@dataclass(frozen=True, slots=True)
class StepRow:
    """One step as the operator reads it on paper; an empty Y is written in by hand."""

    number: str
    picture: str
    tools: str
    side: str
    turned: str
    gauge: str
    check: str
    force: str
    care: str
    x: str
    y: str
    angle: str
    angle_tolerance: str


@dataclass(frozen=True)
class TravellerPaper(Paper):
    """What goes with the sheets through the shop."""

    template: ClassVar[str] = "traveller.typ"
    shop: str
    shop_address: tuple[str, ...]
    person: str
    printed: str
    job: str
    part: str
    part_name: str
    revision: str
    warning: str
    note: str
    tablet_code: str
    scanner_code: str
    picture: str
    facts: tuple[Fact, ...]
    operations: tuple[OperationRow, ...]
    brake: str
    brake_facts: tuple[Fact, ...]
    y_words: str
    control_unit: str
    steps: tuple[StepRow, ...]


@dataclass(frozen=True)
class TravellersPaper(Paper):
    """Travellers of several jobs in one file; each counts its own pages."""

    template: ClassVar[str] = "travellers.typ"
    travellers: tuple[TravellerPaper, ...]


@dataclass(frozen=True, slots=True)
class Label:
    """One label: a code to scan, a large line, and what stands under it."""

    code: str
    kind: str
    number: str
    large: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class LabelPaper(Paper):
    """A sheet of labels; the first ones may be used up already."""

    template: ClassVar[str] = "label.typ"
    title: str
    skipped: int
    labels: tuple[Label, ...]


@dataclass(frozen=True, slots=True)
class PaperReader:
    """Who prints, and where the job's code leads: the address of this server."""

    shop: str
    person: str
    address: str
    show: Display
    shop_address: tuple[str, ...] = ()


def traveller_paper(
    told: "JobPaper", keyed: "KeyIn | None", reader: PaperReader, *, now: datetime
) -> TravellerPaper:
    """A job's traveller. With `keyed` the numbers are the ones to type, digit by digit."""
    job, show = told.job, reader.show
    part = held_part(told.revision)
    placed = placed_of_steps(part, (entry.step for entry in told.steps)) if part else ()
    held = held_steps(part, placed, told.brake.finger_width_mm) if part and told.brake else ()
    return TravellerPaper(
        shop=reader.shop,
        shop_address=reader.shop_address,
        person=reader.person,
        printed=moment(now),
        job=job.number,
        part=job.part_number,
        part_name=told.part.name,
        revision=job.revision_label,
        warning=_warning(told),
        note=job.note,
        tablet_code=qr_svg(f"{reader.address}/{TABLET_PATH}/{job.number}".upper()),
        scanner_code=qr_svg(job.number),
        picture=part_picture(told.revision, show),
        facts=job_facts(told, show),
        operations=tuple(_operation_rows(told, show)),
        brake=told.brake.name if told.brake else "",
        brake_facts=_brake_facts(told, keyed, show),
        y_words=_y_words(told, show),
        control_unit=told.brake.control_unit if told.brake else show.unit,
        steps=tuple(
            _step_row(told, entry, keyed, show, lies)
            for entry, lies in itertools.zip_longest(told.steps, held)
        ),
    )


def job_labels(told: "JobPaper", *, count: int, skipped: int) -> LabelPaper:
    """Labels for a job's parts, numbered, the count of each left to a pen."""
    job = told.job
    customer = told.customer.name if told.customer else ""
    return LabelPaper(
        title=f"Labels {job.number}",
        skipped=skipped,
        labels=tuple(
            Label(
                code=qr_svg(job.number),
                kind="Job",
                number=job.number,
                large=f"{job.part_number}  {job.revision_label}",
                lines=(
                    told.part.name,
                    customer,
                    f"Pieces _______ of {job.quantity_count}    Label {label + 1} of {count}",
                ),
            )
            for label in range(count)
        ),
    )


def lot_labels(
    lot: "Lot", material: "Material", show: Display, *, count: int, skipped: int
) -> LabelPaper:
    """Labels for the sheets of a lot."""
    size = ""
    if lot.sheet_length_mm and lot.sheet_width_mm:
        size = f"{show.short(lot.sheet_length_mm)} × {show.short(lot.sheet_width_mm)}"
    label = Label(
        code=qr_svg(lot.code),
        kind="Lot",
        number=lot.code,
        large=f"{material.code}  {show.short(lot.thickness_mm)}",
        lines=(
            material.name,
            f"Heat {lot.heat_number}" if lot.heat_number else "No heat number kept",
            size or f"Since {day(lot.created_at)}",
        ),
    )
    return LabelPaper(title=f"Labels {lot.code}", skipped=skipped, labels=(label,) * count)


def part_picture(revision: "Revision", show: Display) -> str:
    """A part as it is drawn on paper: a section with its legs and angles, or a flat's pattern."""
    section = section_of_faces(revision.faces)
    if section is None:
        return on_paper(draw_small_flat(part_of_faces(revision.faces), title="Flat"))
    words = SectionWords(
        legs=[show.typed(leg) for leg in revision.drawn.get("legs_mm", ())],
        bends=[show.angle(abs(bend.sweep_deg), 0) for bend in section.bends],
    )
    return on_paper(draw_section(section, title="Section", words=words))


def _warning(told: "JobPaper") -> str:
    if told.newest_label != told.job.revision_label and not told.job.old_revision_agreed:
        return (
            f"Revision {told.job.revision_label} is superseded by {told.newest_label}: "
            "ask in the office before cutting or bending."
        )
    return ""


def job_facts(told: "JobPaper", show: Display) -> tuple[Fact, ...]:
    """What a job is, for the head of a paper."""
    job, revision, lot = told.job, told.revision, told.lot
    blank = f"{show.bare(revision.blank_length_mm)} × {show.length(revision.blank_width_mm)}"
    return (
        ("Customer", told.customer.name if told.customer else "—"),
        ("Quantity", str(job.quantity_count)),
        ("Due", weekday_day(job.due_at) or "no date"),
        ("Material", f"{told.material.code} {show.short(revision.thickness_mm)}"),
        ("Lot", lot.code if lot else ""),
        ("Heat number", lot.heat_number if lot else ""),
        ("Blank", blank),
        ("Mass of one", show.mass(revision.mass_kg)),
        ("Finish", job.finish or "none"),
    )


def weekday_day(at: datetime | None) -> str:
    """A day with its weekday, as Tue 3 Nov 2026, by the office's own clock."""
    return "" if at is None else f"{at.astimezone():%a} {day(at.astimezone())}"


def _operation_rows(told: "JobPaper", show: Display) -> Iterator[OperationRow]:
    for operation in told.operations:
        bends = operation.kind == "bend"
        yield OperationRow(
            number=str(operation.position),
            name=OPERATION_NAMES[operation.kind],
            words=operation.words,
            where=told.brake.code if bends and told.brake else "",
            planned="" if operation.estimated_s is None else show.duration(operation.estimated_s),
        )


def _brake_facts(told: "JobPaper", keyed: "KeyIn | None", show: Display) -> tuple[Fact, ...]:
    if told.sequence is None:
        return ()
    setup = told.setup
    good_for = ""
    if keyed is not None:
        low, high = keyed.programs[0].sheet.good_from_mm, keyed.programs[0].sheet.good_to_mm
        if low is not None and high is not None:
            good_for = f"{show.bare(low, 3)} to {show.length(high, 3)}"
    return (
        ("Bend sequence", f"{told.sequence.label}, {len(told.steps)} steps"),
        ("Sheet measured", show.length(setup.thickness_mm, 3) if setup else ""),
        ("Y good for sheets of", good_for),
        ("Set up by", setup.signed_by if setup else ""),
    )


def _y_words(told: "JobPaper", show: Display) -> str:
    if told.setup is not None and told.setup.touch_off_checked:
        return (
            f"Y is for this job's own sheet, {show.length(told.setup.thickness_mm, 3)}, and this "
            "touch-off. Another lot, or tools taken out and put back: touch off again and take Y "
            "from the tablet."
        )
    return (
        "Y follows from the touch-off on this job's own sheet: the tablet works it out; write it "
        "here. The machine's manual and its guards come before everything on this sheet."
    )


def _step_row(
    told: "JobPaper",
    entry: "KeyedStep",
    keyed: "KeyIn | None",
    show: Display,
    lies: HeldStep | None,
) -> StepRow:
    """One step; `lies` shows how the sheet of a flat part is held."""
    step = entry.step
    x, y = _digits(told, entry, keyed)
    before, after = scene_of(step.scene)
    picture = draw_whole_step(
        before, after, side_up=step.side_up, title=f"Step {step.position}, bent"
    )
    turned = [
        word
        for word, yes in (
            ("turn over", step.turned_over),
            ("turn end for end", step.turned_end_for_end),
        )
        if yes
    ]
    return StepRow(
        number=str(step.position),
        picture=on_paper(lies.picture if lies else picture),
        tools=f"{step.punch_code} / {step.die_code}",
        side=step.side_up,
        turned=", ".join(turned),
        gauge=lies.gauge_words if lies else gauge_words(step),
        check=_check_words(step, show),
        force=f"{show.force(step.force_kn)} over {show.length(step.bend_length_mm, 0)}",
        care=" ".join(
            show.sentence(finding.what).unescape()
            for finding in findings_of(step.findings)
            if finding.level != "note"
        ),
        x=x,
        y=y,
        angle=show.angle(step.bend_angle_deg),
        angle_tolerance=f"± {show.angle(step.angle_tolerance_deg)}",
    )


def _digits(told: "JobPaper", entry: "KeyedStep", keyed: "KeyIn | None") -> tuple[str, str]:
    """X and Y as they are typed; Y only from a touch-off that was checked, else a box."""
    step = entry.step
    checked = told.setup is not None and told.setup.touch_off_checked
    for program in keyed.programs if keyed else ():
        for line in program.sheet.lines:
            if line.number == step.position:
                digits = {value.name: value.text for value in line.values}
                return digits.get("x", ""), digits.get("y", "") if checked else ""
    if told.brake is None:
        return "", ""
    control = Display(unit="in" if told.brake.control_unit == "in" else "mm")
    x_mm = entry.keyed.x_mm if entry.keyed else step.x_mm
    return control.bare(x_mm, decimals_of(told.brake.x_resolution_mm, control)), ""


def _check_words(step: "Step", show: Display) -> str:
    if step.check_mm is None:
        return ""
    if step.check_tolerance_mm is None:
        return show.length(step.check_mm)
    return f"{show.bare(step.check_mm)} ± {show.length(step.check_tolerance_mm)}"
