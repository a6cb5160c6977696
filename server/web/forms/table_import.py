"""Rows of a table read like the forms a person fills in: the same rules, the same words."""

import io
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from itertools import islice

from server.actions.table_import import (
    MOST_ROWS,
    ImportNoun,
    ImportRow,
    PartValues,
    Values,
    check_part,
)
from server.errors import Amount, ShopError, say
from server.files.table_csv import Column, Row, RowFate, Trouble, dry_run, read_table
from server.planning.blank import DrawnBend, DrawnProfile
from server.planning.drawn_part import DrawnPart
from server.shop.money import minor_digits
from server.storage.database import Session
from server.storage.queries.list_export import get_export
from server.web.forms.customer import read_customer
from server.web.forms.form import Form
from server.web.forms.material import read_material
from server.web.forms.tool import read_tool

LATER = ("source",)
"""Columns our own files may have that a person does not import."""
NUMBERS = re.compile(r"[\s;]+")


@dataclass(frozen=True, slots=True)
class ImportKind:
    """A kind of thing a table may bring: its columns, which are needed, how a row is read.

    `fields` names the form field of a column where it is not the column itself.
    """

    noun: ImportNoun
    words: str
    key: str
    needed: tuple[str, ...]
    columns: tuple[str, ...]
    read: Callable[[Form], Values]
    fields: Mapping[str, str]

    def field_of(self, column: str) -> str:
        """The form field of a column."""
        return self.fields.get(column, column)


def read_part(form: Form) -> PartValues:
    """A part of a table: a name, and a profile where it has legs."""
    name = form.text("name", needed=True, most=200)
    if not form.typed.get("legs_mm", "").strip():
        return PartValues(name, None)
    legs = _numbers(form, "legs_mm", least=0.1, most=10_000)
    angles = _numbers(form, "bend_angles_deg", least=-180, most=180)
    if len(angles) != len(legs) - 1:
        form.trouble(
            "bend_angles_deg",
            f"{len(legs)} legs have {len(legs) - 1} bends between them, not {len(angles)}.",
            "Give one angle for each bend.",
        )
    width_mm = form.need_length_mm("width_mm", most_mm=20_000)
    thickness_mm = form.need_length_mm("thickness_mm", most_mm=100)
    material = form.text("material_code", needed=True, most=40)
    profile = DrawnProfile(width_mm, tuple(legs), tuple(DrawnBend(angle) for angle in angles))
    shape = DrawnPart(
        profile=profile,
        number=form.typed.get("number", ""),
        name=name,
        material_code=material,
        thickness_mm=thickness_mm,
        die_code=form.code("die_code", needed=False) or None,
    )
    return PartValues(name, shape)


def _numbers(form: Form, name: str, *, least: float, most: float) -> list[float]:
    found = []
    for word in NUMBERS.split(form.typed.get(name, "").strip()):
        one = Form({name: word}, "mm")
        value = one.number(name, least=least, most=most)
        form.problems.update({n: p for n, p in one.problems.items() if n not in form.problems})
        found.append(value or 0.0)
    return found


def _tool_fields(*lengths: str) -> dict[str, str]:
    return {
        **{f"{name}_mm": name for name in lengths},
        "rating_kn_per_m": "rating",
        "profile_mm": "profile",
        "segments_mm": "segments",
    }


KINDS: Mapping[str, ImportKind] = {
    kind.noun: kind
    for kind in (
        ImportKind(
            "customer", "Customers", "code", ("code", "name"),
            ("code", "name", "contact", "email", "phone", "address", "currency", "terms", "note"),
            read_customer, {},
        ),
        ImportKind(
            "material", "Materials", "code",
            ("code", "name", "family", "yield_typical_mpa", "tensile_typical_mpa",
             "youngs_modulus_mpa", "poisson_ratio", "density_kg_m3", "radius_ratio"),
            ("code", "name", "family", "standard", "yield_typical_mpa", "tensile_typical_mpa",
             "tensile_max_mpa", "youngs_modulus_mpa", "poisson_ratio", "density_kg_m3",
             "radius_ratio", "k_factor", "minimum_radius_ratio_to_3mm",
             "minimum_radius_ratio_3_to_6mm", "minimum_radius_ratio_over_6mm", "source", "sure"),
            read_material, {},
        ),
        ImportKind(
            "punch", "Punches", "code",
            ("code", "name", "tip_radius_mm", "angle_deg", "height_mm", "profile_mm"),
            ("code", "name", "tip_radius_mm", "angle_deg", "height_mm", "rating_kn_per_m",
             "profile_mm", "segments_mm", "note", "purpose"),
            lambda form: _tool(form, "punch"), _tool_fields("tip_radius", "height"),
        ),
        ImportKind(
            "die", "Dies", "code",
            ("code", "name", "v_opening_mm", "angle_deg", "shoulder_radius_mm", "height_mm",
             "profile_mm"),
            ("code", "name", "block_code", "v_opening_mm", "angle_deg", "shoulder_radius_mm",
             "height_mm", "rating_kn_per_m", "v_depth_mm", "profile_mm", "segments_mm", "note",
             "purpose"),
            lambda form: _tool(form, "die"),
            _tool_fields("v_opening", "shoulder_radius", "height", "v_depth"),
        ),
        ImportKind(
            "part", "Parts", "number", ("number", "name"),
            ("number", "name", "material_code", "thickness_mm", "width_mm", "legs_mm",
             "bend_angles_deg", "die_code"),
            read_part, {},
        ),
    )
}  # fmt: skip


def _tool(form: Form, noun: ImportNoun) -> Values:
    # a holder is no kind of import
    return read_tool(form, "punch" if noun == "punch" else "die")  # type: ignore[return-value]


@dataclass(frozen=True, slots=True)
class TableFates:
    """What a table would do: every row's fate, and the rows that may be taken in."""

    fates: tuple[RowFate, ...]
    rows: tuple[ImportRow, ...]


def fates_of(
    session: Session, kind: ImportKind, content: bytes, *, flange_margin: float
) -> TableFates:
    """Every row's fate, without changing anything.

    Raises: ShopError where the file is no such table, or `too_many_rows`.
    """
    columns = [
        *(Column(name, required=name == kind.key) for name in kind.columns),
        *(Column(name) for name in _ours_only(session, kind)),
    ]
    there = _there(session, kind)
    read = _read(session, kind, read_table(io.BytesIO(content), columns), there, flange_margin)
    taken: dict[int, ImportRow] = {}
    kept = _keeping(read, taken)
    known = {code: asdict(kind.read(_form(kind, text))) for code, text in there.items()}
    fates = tuple(
        islice(dry_run(kept, key=kind.key, known=lambda code: known.get(str(code))), MOST_ROWS + 1)
    )
    if len(fates) > MOST_ROWS:
        raise ShopError(
            "too_many_rows",
            say("The table has more than {most} rows.", most=Amount(MOST_ROWS, "count")),
            remedy="Split it, and take in one piece after the other.",
            where="file",
        )
    wanted = {fate.row.line for fate in fates if fate.fate in ("add", "change")}
    return TableFates(fates, tuple(row for line, row in taken.items() if line in wanted))


Read = tuple[Row, ImportRow | None]


def _read(
    session: Session,
    kind: ImportKind,
    rows: Iterable[Row],
    there: Mapping[str, Mapping[str, str]],
    flange_margin: float,
) -> Iterator[Read]:
    for row in rows:
        if row.troubles:
            yield row, None
            continue
        given = {name: str(value) for name, value in row.values.items() if name in kind.columns}
        code = given[kind.key].strip()
        code = code if code in there else code.upper()
        is_new = code not in there
        absent = [name for name in kind.needed if not given.get(name) and is_new]
        form = _form(kind, {**there.get(code, {}), **given, kind.key: code})
        for name in absent:
            form.trouble(kind.field_of(name), "This is empty.", "Fill it in.")
        if is_new:
            form.code(kind.key)
        values = kind.read(form)
        if form.ok:
            form.work_out(lambda values=values: _check(session, values, flange_margin))  # type: ignore[misc]
        if form.problems:
            yield Row(row.line, {kind.key: code}, tuple(_troubles(kind, form))), None
            continue
        found = ImportRow(row.line, code, values, is_new)
        yield Row(row.line, {kind.key: code, **asdict(values)}), found


def _keeping(read: Iterable[Read], taken: dict[int, ImportRow]) -> Iterator[Row]:
    for row, found in read:
        if found is not None:
            taken[row.line] = found
        yield row


def _check(session: Session, values: Values, flange_margin: float) -> None:
    if isinstance(values, PartValues):
        check_part(session, values, flange_margin=flange_margin)
    currency = getattr(values, "currency", "")
    if currency:
        minor_digits(currency)


def _troubles(kind: ImportKind, form: Form) -> Iterator[Trouble]:
    columns = {kind.field_of(column): column for column in kind.columns}
    for name, problem in form.problems.items():
        yield Trouble(columns.get(name), problem.code or "bad_value", problem.what, problem.remedy)


def _form(kind: ImportKind, text: Mapping[str, str]) -> Form:
    return Form({kind.field_of(name): value for name, value in text.items()}, "mm")


def _there(session: Session, kind: ImportKind) -> dict[str, dict[str, str]]:
    """What is there already, as the export would write it."""
    names, rows = get_export(session, kind.noun)
    found = {}
    for row in rows:
        text = {name: _text(value) for name, value in zip(names, row, strict=True)}
        found[text[kind.key]] = {name: text[name] for name in kind.columns if name in text}
    return found


def _ours_only(session: Session, kind: ImportKind) -> Sequence[str]:
    """Columns of our own export that are shown there but not taken in."""
    names, _ = get_export(session, kind.noun)
    return [name for name in (*names, *LATER) if name not in kind.columns]


def _text(value: object) -> str:
    return f"{value:.10g}" if isinstance(value, float) else str(value)
