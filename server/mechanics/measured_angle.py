"""An angle as somebody types it at the brake: taken, or asked about with what was likely meant.

Protractors show the included angle, drawings the bend angle or either; a thick glove drops a
decimal point. Nothing is guessed silently: an angle is taken as typed, recognised as the other way
of telling it when only that fits, or asked about.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from server.errors import Amount, Sentence, ShopError, say
from server.mechanics.elementary import need_above, need_between

AngleConvention = Literal["included", "bend"]
LONGEST_TEXT = 20
USUAL_WINDOW_DEG = 12.0
BAND_TIMES = 3.0
"""A first part is rarely more than 12 degrees off: common practice, no source. A wider band counts."""
SAME_DEG = 0.05

_ANGLE = re.compile(
    r"(?P<whole>\d{1,6}(?:[.,]\d*)?|[.,]\d+)\s*(?:°|deg|degrees|grad)?"
    r"(?:\s*(?P<minutes>\d{1,2}(?:[.,]\d*)?)\s*(?:'|′|min))?"
)


@dataclass(frozen=True, slots=True)
class AngleMeaning:
    """One way to understand what was typed: the bend angle it means, and how it was read."""

    bend_angle_deg: float
    shown_deg: float
    convention: AngleConvention
    how: Sentence


@dataclass(frozen=True, slots=True)
class TypedAngle:
    """What became of a typed angle.

    `meaning` is what it is taken for; None asks `question` first, offering `likely`. `as_typed` is
    what it would mean as it stands, None where no bend can have it.
    """

    typed_deg: float
    meaning: AngleMeaning | None
    as_typed: AngleMeaning | None
    likely: tuple[AngleMeaning, ...] = ()
    question: Sentence | None = None
    note: Sentence | None = None


def typed_angle(
    *,
    text: str,
    wanted_deg: float,
    convention: AngleConvention | None,
    band_deg: tuple[float, float] | None = None,
) -> TypedAngle:
    """What a typed angle means, or the question to ask.

    Formula: taken where it is within 12 degrees of what is expected, or within three times a wider
        band; else every slip that would bring it there is offered: decimal point, digit dropped,
        doubled or exchanged, the other convention

    Args:
        text: what was typed: `93`, `92,5`, `92.5 deg`, `92 30'`.
        wanted_deg: bend angle wanted [deg], above 0, to 180.
        convention: what the number tells, None where nobody said.
        band_deg: band foretold for the bend angle [deg], None where there is none.

    Returns: a `TypedAngle`.

    Raises: ShopError `empty_angle`, `not_an_angle`, `out_of_range`.

    References: common practice, no source.

    >>> typed_angle(text="92,5", wanted_deg=90.0, convention="included").meaning.bend_angle_deg
    87.5
    >>> asked = typed_angle(text="9", wanted_deg=90.0, convention="included")
    >>> asked.meaning, [one.shown_deg for one in asked.likely]
    (None, [90.0])
    """
    need_above("wanted_deg", wanted_deg, 0.0, "deg")
    need_between("wanted_deg", wanted_deg, 0.0, 180.0, "deg")
    shown_deg, digits = _number(text)
    window = _window(wanted_deg, band_deg)
    conventions: tuple[AngleConvention, ...] = (convention,) if convention else ("included", "bend")
    plain = [
        AngleMeaning(_bent(shown_deg, one), shown_deg, one, say("as typed"))
        for one in conventions
        if 0.0 < _bent(shown_deg, one) < 180.0
    ]
    fitting = [one for one in plain if _fits(one, window)]
    as_typed = plain[0] if len(plain) == 1 else None
    if len(fitting) == 1 or (fitting and _all_alike(fitting)):
        note = None if convention else _told(fitting[0])
        return TypedAngle(shown_deg, fitting[0], fitting[0], note=note)
    if fitting:
        question = say(
            "{shown} can be the included angle or the bend angle.", shown=_deg(shown_deg)
        )
        return TypedAngle(shown_deg, None, None, tuple(fitting), question)
    if convention is not None:
        other: AngleConvention = "bend" if convention == "included" else "included"
        turned = AngleMeaning(_bent(shown_deg, other), shown_deg, other, _as(other))
        if _fits(turned, window):
            return TypedAngle(shown_deg, turned, as_typed, note=_told(turned))
    likely = tuple(_slips(digits, conventions, window))
    return TypedAngle(
        shown_deg, None, as_typed, likely, _question(shown_deg, wanted_deg, conventions, as_typed)
    )


def _number(text: str) -> tuple[float, str]:
    """Degrees typed, and the digits of a number without minutes for looking at slips."""
    clean = text.strip().lower().replace("\u00a0", " ")
    if not clean:
        raise ShopError(
            "empty_angle",
            "No angle was typed.",
            remedy="Type what the protractor shows, like 92.5.",
        )
    match = _ANGLE.fullmatch(clean) if len(clean) <= LONGEST_TEXT else None
    if match is None:
        raise ShopError(
            "not_an_angle",
            say("'{text}' is not an angle.", text=clean[:LONGEST_TEXT]),
            remedy="Type what the protractor shows in degrees, like 92.5.",
        )
    whole = match["whole"].replace(",", ".")
    minutes = float(match["minutes"].replace(",", ".")) if match["minutes"] else 0.0
    return float(whole) + minutes / 60, whole


def _bent(shown_deg: float, convention: AngleConvention) -> float:
    return 180.0 - shown_deg if convention == "included" else shown_deg


def _window(wanted_deg: float, band_deg: tuple[float, float] | None) -> tuple[float, float]:
    low, high = band_deg or (wanted_deg, wanted_deg)
    half = max(USUAL_WINDOW_DEG, BAND_TIMES * (high - low) / 2)
    middle = (low + high) / 2 if band_deg else wanted_deg
    return min(middle, wanted_deg) - half, max(middle, wanted_deg) + half


def _fits(meaning: AngleMeaning, window: tuple[float, float]) -> bool:
    return 0.0 < meaning.bend_angle_deg < 180.0 and (
        window[0] <= meaning.bend_angle_deg <= window[1]
    )


def _all_alike(meanings: list[AngleMeaning]) -> bool:
    angles = [one.bend_angle_deg for one in meanings]
    return max(angles) - min(angles) <= SAME_DEG


def _slips(
    digits: str, conventions: tuple[AngleConvention, ...], window: tuple[float, float]
) -> Iterator[AngleMeaning]:
    """Meanings that one slip of the finger explains, nearest slip first, each angle once."""
    seen: list[float] = []
    for shown_deg, how in _respelled(digits):
        for convention in conventions:
            meaning = AngleMeaning(_bent(shown_deg, convention), shown_deg, convention, how)
            if _fits(meaning, window) and not any(
                abs(meaning.bend_angle_deg - other) < SAME_DEG for other in seen
            ):
                seen.append(meaning.bend_angle_deg)
                yield meaning


def _respelled(digits: str) -> Iterator[tuple[float, Sentence]]:
    number = float(digits)
    point = say("with the decimal point one place off")
    for value in (number * 10, number / 10, number * 100, number / 100):
        if 0.0 < value <= 180.0:
            yield round(value, 6), point
    for place in range(len(digits) - 1):
        swapped = digits[:place] + digits[place + 1] + digits[place] + digits[place + 2 :]
        if "." not in digits[place : place + 2] and swapped != digits:
            yield float(swapped), say("with two digits exchanged")
    for place in range(len(digits)):
        shorter = digits[:place] + digits[place + 1 :]
        if digits[place] != "." and shorter.strip("."):
            yield float(shorter), say("with one digit too many")


def _question(
    shown_deg: float,
    wanted_deg: float,
    conventions: tuple[AngleConvention, ...],
    as_typed: AngleMeaning | None,
) -> Sentence:
    if shown_deg == 0.0:
        return say("The angle typed is {shown}. Was anything bent?", shown=_deg(shown_deg))
    if shown_deg >= 180.0:
        return say("No bend shows {shown}.", shown=_deg(shown_deg))
    wanted_shown = _bent(wanted_deg, conventions[0])
    if as_typed is None:
        return say(
            "{shown} is far from the {wanted} wanted.",
            shown=_deg(shown_deg),
            wanted=_deg(wanted_shown),
        )
    return say(
        "{shown} is {away} from the {wanted} wanted. Measure again, or confirm it.",
        shown=_deg(shown_deg),
        away=_deg(abs(shown_deg - wanted_shown)),
        wanted=_deg(wanted_shown),
    )


def _as(convention: AngleConvention) -> Sentence:
    return say("as the included angle") if convention == "included" else say("as the bend angle")


def _told(meaning: AngleMeaning) -> Sentence:
    return say(
        "{shown} was taken {how}: only that fits.",
        shown=_deg(meaning.shown_deg),
        how=str(_as(meaning.convention)),
    )


def _deg(value: float) -> Amount:
    return Amount(value, "deg")
