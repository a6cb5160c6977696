"""CSV as spreadsheets really write it: marks, delimiters, wrong columns, formulas, many rows."""

import io
from collections.abc import Mapping

import pytest

from server.errors import ShopError
from server.files.table_csv import (
    Column,
    Row,
    RowFate,
    dry_run,
    harmless,
    read_table,
    summed_up,
    unquoted,
    write_table,
)


def kilograms(text: str) -> float:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise ShopError("not_a_mass", "This is no mass.", remedy="Give kilograms.") from None


COLUMNS = (
    Column("number", required=True, also=("part number",)),
    Column("name"),
    Column("mass_kg", read=kilograms, empty=None),
)


def rows(text: str | bytes, encoding: str = "utf-8") -> list[Row]:
    raw = text if isinstance(text, bytes) else text.encode(encoding)
    return list(read_table(io.BytesIO(raw), COLUMNS))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_marks_encodings_and_delimiters_are_found_out(encoding: str, delimiter: str) -> None:
    text = "number,name,mass_kg\r\nP-1,Träger ½,1.5\r\n".replace(",", delimiter)
    (row,) = rows(text, encoding)
    assert row.values == {"number": "P-1", "name": "Träger ½", "mass_kg": 1.5}
    assert (row.line, row.troubles) == (2, ())


def test_decimal_commas_do_not_pass_for_delimiters() -> None:
    (row,) = rows("number;name;mass_kg\nP-1;a, b and c;1,25\n")
    assert row.values["mass_kg"] == 1.25


def test_columns_may_come_in_any_order_under_their_other_names() -> None:
    (row,) = rows("Mass KG,Part-Number\n2,P-7\n")
    assert row.values == {"mass_kg": 2.0, "number": "P-7"}


def test_quoted_cells_hold_delimiters_and_line_ends() -> None:
    read = rows('number,name\nP-1,"two\nlines, one cell"\n\nP-2,x\n')
    assert read[0].values["name"] == "two\nlines, one cell"
    assert [row.line for row in read] == [2, 5]


@pytest.mark.parametrize(
    ("text", "code", "told"),
    [
        ("", "empty_file", "names the columns"),
        ("\n\n\n", "empty_file", "names the columns"),
        ("nmber,name\nP,x\n", "columns_missing", "'nmber' may be 'number'"),
        ("name\nx\n", "columns_missing", "The columns are: number (required)"),
        ("number,nam\nP,x\n", "columns_unknown", "'nam' may be 'name'"),
        ("number,colour\nP,x\n", "columns_unknown", "The columns are"),
        ("number,number\nP,x\n", "column_twice", "Take one out"),
        ("number,part number\nP,x\n", "column_twice", "Take one out"),
    ],
)
def test_wrong_columns_are_explained_before_anything_is_read(
    text: str, code: str, told: str
) -> None:
    with pytest.raises(ShopError) as refused:
        rows(text)
    assert refused.value.code == code
    assert told in str(refused.value.remedy)


def test_a_workbook_is_not_taken_for_a_table() -> None:
    with pytest.raises(ShopError, match="not a text file"):
        rows(b"PK\x03\x04\x00\x00\x08\x00")


def test_every_trouble_of_a_row_is_told_with_its_column() -> None:
    (row,) = rows("number,name,mass_kg\n,x,heavy,more\n")
    assert [(t.column, t.code) for t in row.troubles] == [
        (None, "too_many_cells"),
        ("number", "empty_cell"),
        ("mass_kg", "not_a_mass"),
    ]


def test_letters_that_are_lost_are_not_imported() -> None:
    many = b"number,name\n" + b"P,x\n" * 20_000
    last = list(read_table(io.BytesIO(many + b"Q,Tr\xe4ger\n"), COLUMNS))[-1]
    assert [trouble.code for trouble in last.troubles] == ["unreadable_letter"]


def test_a_quote_that_is_never_closed_costs_no_memory() -> None:
    text = 'number,name\nP-1,"open\n' + "x" * 2_000_000
    read = rows(text)
    assert any(t.code == "unreadable_row" for row in read for t in row.troubles)


def test_a_dry_run_tells_every_row_s_fate_and_changes_nothing() -> None:
    there: Mapping[object, Mapping[str, object]] = {
        "P-1": {"number": "P-1", "name": "plate", "mass_kg": 2.0},
        "P-2": {"number": "P-2", "name": "angle", "mass_kg": 1.0},
    }
    text = "number,name,mass_kg\nP-1,plate,2\nP-2,angle,1.5\nP-3,new,\nP-1,again,1\n,none,1\n"
    fates = list(dry_run(rows(text), key="number", known=there.get))
    assert [fate.fate for fate in fates] == ["same", "change", "add", "refuse", "refuse"]
    assert fates[1].changed == ("mass_kg",)
    assert "already in line 2" in str(fates[3].row.troubles[0].what)
    counted = summed_up(iter(fates), most_refused=1)
    assert counted.counts == {"same": 1, "change": 1, "add": 1, "refuse": 2}
    assert (len(counted.refused), counted.refused_left_out_count) == (1, 1)


def test_many_rows_stream() -> None:
    count = 100_000
    source = io.BytesIO(b"number,name\n" + b"".join(b"P-%d,x\n" % n for n in range(count)))
    taken: list[RowFate] = []
    for fate in dry_run(read_table(source, COLUMNS), key="number", known=lambda _: None):
        taken.append(fate)
        if len(taken) == 3:
            break
    assert source.tell() < 200_000  # three rows were asked for, not the whole file read


@pytest.mark.parametrize(
    "cell",
    [
        "=1+1",
        "=cmd|' /C calc'!A0",
        "+1+cmd",
        "-1+1",
        "@SUM(A1)",
        "\t=1",
        "\r=1",
        "＝1+1",
        "'=quoted",
        "''=twice",
        "-",
    ],
)
def test_formulas_are_neutralised_and_read_back_as_they_were(cell: str) -> None:
    written = harmless(cell)
    assert written.startswith("'")
    assert unquoted(written) == cell


@pytest.mark.parametrize("cell", ["-12.50", "+3", "-1,5", "1e-7", "-1E+3", "plate", "'80s", ""])
def test_numbers_and_words_stay_as_they_are(cell: str) -> None:
    assert harmless(cell) == cell == unquoted(cell)


def test_a_written_table_reads_back() -> None:
    out = io.StringIO()
    table: list[list[object]] = [
        ["P-1", "=HYPERLINK(1)", 1.5],
        ["P-2", 'two, "quoted"', None],
        ["P-3", "'=x", -2.5],
    ]
    assert write_table(out, ["number", "name", "mass_kg"], table) == 3
    read = rows(out.getvalue(), "utf-8-sig")
    assert [list(row.values.values()) for row in read] == table
    assert "\r\nP-1,'=HYPERLINK(1),1.5\r\n" in out.getvalue()
