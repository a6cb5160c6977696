"""Where the sheet meets the back gauge, and whether that is a contact to trust.

At the start of a stroke the finger's face (from its low to its high edge above the die top) comes
forward until it touches the rear-most sheet in its window. Allowed contacts, from the documents: a
free edge parallel to the bend line within 0.5 degrees, or the outer face of a formed flange within
5 degrees of upright; each over at least one finger width. Chosen here: two fingers at least two
finger widths apart rank before one, edges before flanges, then the wider stance, then the smaller
X. A finger is 60 mm deep behind its face.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from server.errors import Amount, say
from server.findings import Finding
from server.geometry.outline import Loop, Point
from server.mechanics.tooling import Brake, Finger

ContactKind = Literal["edge", "flange"]
Span = tuple[float, float]

PARALLEL_DEG = 0.5
UPRIGHT_DEG = 5.0
SAME_X_MM = 0.05
FINGER_DEPTH_MM = 60.0
X_DIGITS = 6


@dataclass(frozen=True, slots=True)
class Contact:
    """What touches the gauge: `face` is the leg or face, `at_mm` the touching point in (x, y).

    `fingers_mm` are the middles of the fingers along the bed, measured from the start of the bend
    line; `span_mm` is the stretch along which the contact runs.
    """

    kind: ContactKind
    x_mm: float
    face: int
    at_mm: Point
    fingers_mm: tuple[float, ...]
    span_mm: float

    @property
    def rank(self) -> tuple[bool, bool, float, float]:
        """Smaller is better: two fingers, edge, wide stance, near."""
        return (
            len(self.fingers_mm) < 2,
            self.kind == "flange",
            -round(self.span_mm, 3),
            self.x_mm,
        )


def rounded_x(x_mm: float) -> float:
    """X as steps compare it: to a nanometre, so that equal contacts are equal."""
    return round(x_mm, X_DIGITS) + 0.0


def farthest_in_window(corners: Sequence[Point], low_mm: float, high_mm: float) -> Point | None:
    """The point of a convex outline with the greatest x between two heights, None when outside.

    Of equal ones the highest counts.
    """
    best: Point | None = None
    count = len(corners)
    for index in range(count):
        x, y = corners[index]
        if low_mm <= y <= high_mm and (best is None or (x, y) > best):
            best = (x, y)
        next_x, next_y = corners[(index + 1) % count]
        for level in (low_mm, high_mm):
            if (y < level < next_y) or (next_y < level < y):
                crossing = (x + (next_x - x) * (level - y) / (next_y - y), level)
                if best is None or crossing > best:
                    best = crossing
    return best


def finger_outline(finger: Finger, x_mm: float) -> Loop:
    """The finger's section behind its face."""
    return (
        (x_mm, finger.low_mm),
        (x_mm + FINGER_DEPTH_MM, finger.low_mm),
        (x_mm + FINGER_DEPTH_MM, finger.high_mm),
        (x_mm, finger.high_mm),
    )


def nearest_finger_x(finger: Finger, standing: Iterable[Sequence[Point]]) -> float:
    """Smallest X at which the finger clears what stands under it: die and bed [mm].

    `standing` are convex outlines.
    """
    least_mm = float("-inf")
    for corners in standing:
        inside_low, inside_high = finger.low_mm + 1e-6, finger.high_mm - 1e-6
        farthest = farthest_in_window(corners, inside_low, inside_high)
        if farthest is not None:
            least_mm = max(least_mm, farthest[0])
    return least_mm


def check_x(
    *, x_mm: float, brake: Brake, nearest_x_mm: float, bend: int, die_name: str
) -> tuple[Finding, ...]:
    """Whether the gauge can go to an X: its travel, and the die's body."""
    axis = brake.x_axis
    if not axis.least_mm <= x_mm <= axis.most_mm:
        over_mm = max(axis.least_mm - x_mm, x_mm - axis.most_mm)
        return (
            Finding(
                "stop",
                "x_out_of_travel",
                say(
                    "The gauge would have to stand at {x}; it travels from {least} to {most}.",
                    x=Amount(x_mm, "mm"),
                    least=Amount(axis.least_mm, "mm"),
                    most=Amount(axis.most_mm, "mm"),
                ),
                say("Gauge the other half, or another edge."),
                source="the brake's X axis",
                bend=bend,
                amount=Amount(over_mm, "mm"),
            ),
        )
    if x_mm < nearest_x_mm - 1e-9:
        return (
            Finding(
                "stop",
                "finger_meets_die",
                say(
                    "At X {x} the finger would stand in {die}, which reaches to {reach}.",
                    x=Amount(x_mm, "mm"),
                    die=die_name,
                    reach=Amount(nearest_x_mm, "mm"),
                ),
                say("Raise the fingers above the die top, or use a narrower die."),
                source="geometry of finger and die",
                bend=bend,
                tool=die_name,
                amount=Amount(nearest_x_mm - x_mm, "mm"),
            ),
        )
    return ()


def finger_places(spans: Sequence[Span], width_mm: float) -> tuple[tuple[float, ...], float]:
    """Where fingers go along a contact: their middles and the stretch they take.

    Two fingers as far apart as the contact allows when their middles are at least two widths apart,
    one in the middle of the longest stretch when it holds one, none else.
    """
    long_enough = [span for span in spans if span[1] - span[0] >= width_mm - 1e-9]
    if not long_enough:
        return (), 0.0
    first = min(span[0] for span in long_enough) + width_mm / 2
    last = max(span[1] for span in long_enough) - width_mm / 2
    if last - first >= 2 * width_mm - 1e-9:
        return (first, last), last - first + width_mm
    longest = max(long_enough, key=lambda span: (span[1] - span[0], -span[0]))
    return ((longest[0] + longest[1]) / 2,), longest[1] - longest[0]


def no_contact(bend: int, finger: Finger) -> Finding:
    """Nothing behind the die offers a contact in this position."""
    return Finding(
        "stop",
        "no_gauge_contact",
        say(
            "Nothing behind the die can be gauged between {low} and {high} above it.",
            low=Amount(finger.low_mm, "mm"),
            high=Amount(finger.high_mm, "mm"),
        ),
        say("Gauge the other half, bend this line earlier, or set the fingers to another height."),
        source="a free edge or an upright flange, over at least one finger width",
        bend=bend,
    )
