"""Papers: words stay words, the same words give the same bytes, codes can be read back."""

import json

import pytest
import typst

from server.files.paper import PAPER_SIZES, on_paper, qr_svg, write_paper
from server.settings import house_folder

HOSTILE = '#panic("no") *bold* $x$ \\ ] [ @label //'


def a_paper(folder_name: str, words: dict[str, object], **more: str) -> bytes:
    return write_paper(folder_name, words, **more)  # type: ignore[arg-type]


def text_of(words: dict[str, object], shown: str) -> list[str]:
    """What a template that shows one word sets, as the typesetter itself tells it."""
    source = (
        '#let words = json(bytes(sys.inputs.words))\n#metadata(words.at("' + shown + '")) <seen>'
    )
    found = typst.query(
        source.encode(), "<seen>", field="value", sys_inputs={"words": json.dumps(words)}
    )
    return list(json.loads(found))


def test_a_template_that_is_not_there_is_our_mistake() -> None:
    with pytest.raises(FileNotFoundError):
        write_paper("nothing.typ", {})


def test_markup_somebody_typed_stays_letters() -> None:
    assert text_of({"name": HOSTILE}, "name") == [HOSTILE]


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
