"""How gauging errors add up in a bent profile's dimensions.

Every bend line lands where its stroke's contact puts it: an edge of the blank, or the outer face of
a flange bent before, which carries its own error on. Each dimension is the difference of two such
places, so an error they share cancels.
"""

import math

from server.errors import Amount, ShopError, place, say
from server.geometry.part import FlatPart
from server.geometry.profile import Profile
from server.planning.error_stack import ErrorStack, GaugingErrors, added, stack_of
from server.planning.flat_measure import Between
from server.planning.flat_stack import stacked_between
from server.planning.making import Making
from server.planning.order import PlacedStroke

PARALLEL = math.sin(math.radians(0.5))
Measured = int | tuple[int, int] | Between
"""A profile's leg by its number, or two parallel legs whose outer faces are measured; of a flat part
two features by their names."""


def stacked_legs(
    making: Making, order: tuple[PlacedStroke, ...], errors: GaugingErrors
) -> tuple[ErrorStack, ...]:
    """The stack of every leg of a profile bent in an order."""
    sheet = making.sheet
    assert isinstance(sheet, Profile)
    last_leg = len(sheet.bends)
    places: dict[int, dict[str, float]] = {-1: {}, last_leg: {"blank": errors.blank_mm}}
    for placed in order:
        stroke = making.strokes[placed.stroke]
        if stroke.depth_mm is None:
            continue
        contact = placed.contact
        sign = -1.0 if placed.rear == 0 else 1.0
        if contact.kind == "edge":
            base = places[-1 if placed.rear == 0 else last_leg]
            moved: dict[str, float] = {}
        else:
            zone = contact.face if placed.rear == 0 else contact.face - 1
            base = places.get(zone, {})
            moved = {f"contact of stroke {stroke.index}": sign * errors.flange_contact_mm}
        moved[f"gauge of stroke {stroke.index}"] = sign * errors.gauge_mm
        for zone in stroke.zones:
            places[zone] = added(base, moved, 1.0)
    found = []
    for leg in range(last_leg + 1):
        before = places.get(leg - 1, {})
        after = places.get(leg, {}) if leg < last_leg else places[last_leg]
        found.append(stack_of(added(after, before, -1.0)))
    return tuple(found)


def stacked_faces(
    making: Making, order: tuple[PlacedStroke, ...], first: int, last: int, errors: GaugingErrors
) -> ErrorStack:
    """The stack of the distance between the outer faces of two parallel legs.

    Every leg between them counts by the part of it that stands square to them.

    Raises: ShopError `not_parallel`.
    """
    legs = stacked_legs(making, order, errors)
    sheet = making.sheet
    assert isinstance(sheet, Profile)
    if not 0 <= first < last < len(legs) or not _parallel(sheet, first, last):
        raise ShopError(
            "not_parallel",
            say("Legs {first} and {last} are not parallel.", first=place(first), last=place(last)),
            remedy="Choose two legs whose faces are parallel in the finished part.",
            where="last",
        )
    parts: dict[str, float] = {}
    turned_deg = 0.0
    for leg in range(first + 1, last):
        turned_deg += sheet.bends[leg - 1].bend_angle_deg
        parts = added(parts, legs[leg].from_errors, math.sin(math.radians(turned_deg)))
    return stack_of(parts)


def stacked(
    making: Making, order: tuple[PlacedStroke, ...], measured: Measured, errors: GaugingErrors
) -> ErrorStack:
    """The stack of one dimension of the part as drawn.

    Raises: ShopError as `stacked_faces`, `stacked_between`, `no_such_leg`.
    """
    if isinstance(measured, int):
        return stacked_legs(making, order, errors)[sheet_leg(making, measured)]
    first, last = measured
    if isinstance(making.sheet, FlatPart):
        return stacked_between(making, order, (str(first), str(last)), errors)
    if not isinstance(first, int) or not isinstance(last, int):
        raise no_such_leg(str(first))
    faces = (sheet_leg(making, first), sheet_leg(making, last))
    return stacked_faces(making, order, *faces, errors)


def sheet_leg(making: Making, leg: int) -> int:
    """The sheet's own straight for a leg as drawn: bumps and offsets have straights within a bend.

    Raises: ShopError `no_such_leg`.
    """
    if leg == 0:
        return 0
    zones = [zone for stroke in making.strokes if leg - 1 in stroke.bends for zone in stroke.zones]
    if not zones:
        raise no_such_leg(place(leg))
    return max(zones) + 1


def no_such_leg(leg: Amount | str) -> ShopError:
    """The trouble of a leg that the part does not have."""
    return ShopError(
        "no_such_leg",
        say("There is no leg {leg}.", leg=leg),
        remedy="Choose a leg of this part.",
        where="first",
    )


def _parallel(sheet: Profile, first: int, last: int) -> bool:
    turned_deg = sum(bend.bend_angle_deg for bend in sheet.bends[first:last])
    return abs(math.sin(math.radians(turned_deg))) < PARALLEL
