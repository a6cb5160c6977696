"""How long papers take: a traveller of ten pages, the first time and again.

Run: python -m tests.bench.bench_paper
"""

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from server.drawings.svg import Sheet
from server.files.paper import on_paper, qr_svg, write_paper
from server.web.pages.paper import OperationRow, StepRow, TravellerPaper

STEPS_COUNT, ROUNDS_COUNT = 70, 5


def picture(number: int) -> str:
    """A drawing about as rich as a step's, another one each time so that nothing is remembered."""
    sheet = Sheet(0, 0, 200, 120)
    for line in range(40):
        sheet.polyline([(line * 5, number % 7), (100, 60 + line), (200, line * 3)], thick=0.3)
    sheet.text((50, 50), f"{number}", size=12)
    return on_paper(sheet.svg(title=f"{number}"))


def traveller(round_number: int) -> TravellerPaper:
    """A traveller that fills ten pages."""
    return TravellerPaper(
        shop="Shop", shop_address=(), person="Ann", printed="now", job=f"J-{round_number}", part="P-1",
        part_name="Part", revision="A", warning="", note="", tablet_code=qr_svg("HTTP://X/J/J-1"),
        scanner_code=qr_svg("J-1"), picture=picture(round_number),
        facts=(("Quantity", "10"),) * 9,
        operations=tuple(OperationRow(str(n), "Bend", "", "PB80", "10 min") for n in range(5)),
        brake="PB80", brake_facts=(("Bend sequence", "1"),) * 4, y_words="Y", control_unit="mm",
        steps=tuple(
            StepRow(
                str(n), picture(round_number * 1000 + n), "P1 / D1", "A", "", "Edge of leg 1",
                "20.00 ± 0.20", "86 kN", "", "249.7", "101.42", "90.0°", "± 1.0°",
            )
            for n in range(STEPS_COUNT)
        ),
    )  # fmt: skip


def main() -> None:
    """Print a line for each round."""
    import typst  # noqa: F401 - its own start is told apart

    for number in range(ROUNDS_COUNT):
        paper = traveller(number)
        start_s = time.perf_counter()
        pdf = write_paper(paper.template, paper.words())
        spent_s = time.perf_counter() - start_s
        pages = pdf.count(b"/MediaBox")
        print(f"round {number + 1}: {pages} pages, {len(pdf) / 1000:.0f} kB, {spent_s:.3f} s")


if __name__ == "__main__":
    main()
