"""Papers: words stay words, the same words give the same bytes, codes can be read back."""

import importlib
import pkgutil
import re
from dataclasses import fields

import pytest
import typst

import server.web.pages
from server.files.paper import PAPER_SIZES, PaperSize, on_paper, qr_svg, write_paper
from server.settings import house_folder
from server.web.pages.paper import Label, LabelPaper
from server.web.paper import Paper

HOSTILE = '#panic("no") *bold* $x$ \\ ] [ @label //'


def test_a_template_that_is_not_there_is_our_mistake() -> None:
    with pytest.raises(FileNotFoundError):
        write_paper("nothing.typ", {})


def test_a_drawing_gets_the_papers_font_once() -> None:
    assert on_paper("<svg a='1'><svg b='2'/></svg>").count("font-family") == 1


def test_a_code_has_its_quiet_zone_and_grows_with_its_text() -> None:
    """ISO/IEC 18004: version 1 is 21 modules wide; four more on either side are kept quiet."""
    assert 'width="29"' in qr_svg("J-1001")
    assert 'width="29"' not in qr_svg("HTTP://192.168.100.200:8040/J/J-1001")


def test_every_size_is_known() -> None:
    assert set(PAPER_SIZES) == {"a4", "letter"}


def test_the_font_is_there_with_its_licence() -> None:
    folder = house_folder("static") / "vendor" / "b612"
    assert (folder / "LICENSE").is_file()
    fonts = typst.Fonts(include_system_fonts=False, font_paths=[folder])
    assert {one.weight for one in fonts.fonts() if one.family == "B612"} == {400, 700}


def paper_kinds() -> list[type[Paper]]:
    for found in pkgutil.walk_packages(server.web.pages.__path__, "server.web.pages."):
        importlib.import_module(found.name)
    return sorted(Paper.__subclasses__(), key=lambda kind: kind.__name__)


def text_of(template: str) -> str:
    return (house_folder("templates") / "paper" / template).read_text(encoding="utf-8")


@pytest.mark.parametrize("kind", paper_kinds(), ids=lambda kind: kind.__name__)
def test_a_papers_fields_are_its_templates_words(kind: type[Paper]) -> None:
    text = text_of(kind.template)
    if "(words)" in text:  # a sheet of its own room, made once by itself and once for each job
        text += text_of(kind.template.replace(".typ", "_sheet.typ"))
    read = set(re.findall(r"\bwords\.(\w+)", text)) - {"size"}
    assert {field.name for field in fields(kind)} == read


def test_every_template_belongs_to_a_paper() -> None:
    folder = house_folder("templates") / "paper"
    there = {path.name for path in folder.glob("*.typ")} - {"house.typ", "traveller_sheet.typ"}
    assert there == {kind.template for kind in paper_kinds()}


def hostile_labels(count: int) -> LabelPaper:
    label = Label(qr_svg("J-1"), HOSTILE, HOSTILE, HOSTILE, (HOSTILE, "Жжж ≥ 漢"))
    return LabelPaper(title=HOSTILE, skipped=3, labels=(label,) * count)


@pytest.mark.parametrize("size", PAPER_SIZES)
def test_typed_markup_neither_runs_nor_breaks_a_paper(size: PaperSize) -> None:
    """The typesetter would stop at `#panic` if the words were ever read as its language."""
    paper = hostile_labels(30)
    first = write_paper(paper.template, paper.words(), size=size)
    assert first.startswith(b"%PDF-")
    assert first == write_paper(paper.template, paper.words(), size=size)


def test_a_picture_that_is_no_drawing_is_found_at_once() -> None:
    """The test of the test: what is wrong in a template's words does raise."""
    paper = LabelPaper(title="x", skipped=0, labels=(Label("not svg", "", "", "", ()),))
    with pytest.raises(RuntimeError):
        write_paper(paper.template, paper.words())
