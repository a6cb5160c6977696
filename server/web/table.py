"""Answering with a table as CSV: what starts like a formula is quoted, spreadsheets see UTF-8."""

import io
from collections.abc import Iterable, Sequence

from starlette.responses import Response

from server.files.table_csv import write_table

BYTE_ORDER_MARK = "\ufeff"


def answer_csv(name: str, columns: Sequence[str], rows: Iterable[Sequence[object]]) -> Response:
    """The table as a file; `name` is the file's, without its end."""
    out = io.StringIO(newline="")
    out.write(BYTE_ORDER_MARK)
    write_table(out, columns, rows)
    return Response(
        out.getvalue().encode("utf-8"),
        media_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}.csv"'},
    )
