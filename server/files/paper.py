"""Paper as PDF: a template, its words, and nothing else.

Words travel to the template as one JSON text and are set as they are: markup somebody typed into a
name stays letters. The same words give the same bytes, since no date is written into the file.
Pictures are SVG texts among the words; `qr_svg` makes the codes people scan.
"""

import json
from collections.abc import Mapping
from functools import lru_cache
from typing import Any, Literal

from server.settings import house_folder

PaperSize = Literal["a4", "letter"]
PAPER_SIZES: tuple[PaperSize, ...] = ("a4", "letter")
TEMPLATES = "paper"
FONT = "B612"
NARROW_GAP, GAP = "\u202f", "\u00a0"
"""The font has no narrow gap; a plain one that does not break takes its place."""


def write_paper(template: str, words: Mapping[str, Any], *, size: PaperSize = "a4") -> bytes:
    """A paper as PDF.

    Args:
        template: its file's name in `templates/paper`, such as `traveller.typ`.
        words: what the template reads as `words.<name>`: texts, numbers, lists, and tables of them;
            lengths and money already written as the reader wants them. SVG pictures are texts.
        size: the sheet it is printed on.

    Returns: the PDF's bytes; the same words give the same bytes.

    Raises: FileNotFoundError for a template that is not there: a mistake of ours.
    """
    import typst

    folder = house_folder("templates") / TEMPLATES
    if not (folder / template).is_file():
        raise FileNotFoundError(f"there is no paper template {template}")
    text = json.dumps({**words, "size": size}, ensure_ascii=False).replace(NARROW_GAP, GAP)
    made = typst.compile(
        folder / template,
        root=folder,
        font_paths=_fonts(),
        sys_inputs={"words": text},
        format="pdf",
    )
    return bytes(made)


@lru_cache(maxsize=1)
def _fonts() -> Any:
    """The house's font, and what comes with the typesetter for letters it does not have."""
    import typst

    folder = house_folder("static") / "vendor" / "b612"
    return typst.Fonts(include_system_fonts=False, font_paths=[folder])


def qr_svg(text: str) -> str:
    """A QR code as SVG with its quiet zone of four modules, error correction M.

    References: ISO/IEC 18004:2015, 6.3.8 (quiet zone); made by the segno library.
    """
    import segno

    return str(segno.make(text, error="m", micro=False, boost_error=False).svg_inline(border=4))


def on_paper(svg: str) -> str:
    """A drawing as it goes on paper: its words in the paper's font, and nothing hidden in it."""
    return svg.replace("<svg ", f'<svg font-family="{FONT}" ', 1)
