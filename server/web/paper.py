"""Answering with a paper: a PDF that opens beside the page, on the sheet the reader prints on."""

from dataclasses import asdict, dataclass
from typing import Any, ClassVar

from starlette.responses import Response

from server.files.paper import PAPER_SIZES, PaperSize, write_paper
from server.web.house import Visit


@dataclass(frozen=True)
class Paper:
    """A paper's template in `templates/paper`, and its only words: `words.<field>` in there."""

    template: ClassVar[str]

    def words(self) -> dict[str, Any]:
        """The words as the template reads them."""
        return asdict(self)


def answer_paper(visit: Visit, paper: Paper, *, name: str) -> Response:
    """The paper as PDF; `name` is the file's, without its end."""
    return Response(
        write_paper(paper.template, paper.words(), size=paper_size(visit)),
        media_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{_plain(name)}.pdf"'},
    )


def paper_size(visit: Visit) -> PaperSize:
    """The sheet asked for by `?paper=`; else letter where the reader uses inches, A4 elsewhere."""
    asked = visit.request.query_params.get("paper", "")
    usual: PaperSize = "letter" if visit.unit == "in" else "a4"
    return next((size for size in PAPER_SIZES if size == asked), usual)


def _plain(name: str) -> str:
    """A file name every system takes."""
    return "".join(
        one if one.isascii() and (one.isalnum() or one in "-_ ") else "-" for one in name
    )
