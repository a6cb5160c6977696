"""What is typed on the drawing board: legs and bends in a row, and what the part is made of."""

import re
from collections.abc import Mapping
from dataclasses import replace

from server.errors import ShopError
from server.mechanics.flat_length import DimensionTo, LegsAre
from server.planning.blank import DrawnBend, DrawnProfile
from server.planning.drawn_part import MOST_BENDS, DrawnPart
from server.units.length import LengthUnit
from server.units.sheet_gauge import GaugeFamily
from server.units.typed_length import typed_length_mm
from server.web.display import Display
from server.web.forms.form import Form
from server.web.forms.way import ALL_WAYS, typed_way, with_way

LEGS_ARE: tuple[LegsAre, ...] = ("outside", "inside", "neutral")
ANGLE_MARK = re.compile(r"(?:°|deg|d)$", re.IGNORECASE)
SPLIT = re.compile(r"[\s;×x]+|,(?=\s)")


def read_draft(form: Form, now: DrawnPart, *, family: GaugeFamily | None) -> DrawnPart:
    """The part as typed; look at `form.ok` before using it."""
    count = form.whole("bend_count", least=0, most=MOST_BENDS, default=len(now.profile.bends))
    shown = typed_of_draft(now, Display(unit=form.unit))
    legs_now = dict(enumerate(now.profile.legs_mm, 1))

    def kept(name: str, typed_mm: float, now_mm: float | None) -> float:
        """A field left as it was shown keeps its value, whatever it was rounded to."""
        same = now_mm is not None and form.typed.get(name) == shown.get(name)
        return now_mm if same and now_mm is not None else typed_mm

    legs = tuple(
        kept(f"leg_{i}", form.need_length_mm(f"leg_{i}"), legs_now.get(i))
        for i in range(1, count + 2)
    )
    bends = tuple(_bend(form, i + 1) for i in range(count))
    legs_are = form.choice("legs_are", LEGS_ARE, "outside")
    profile = DrawnProfile(
        width_mm=kept("width", form.need_length_mm("width"), now.profile.width_mm),
        legs_mm=legs,
        bends=bends,
        legs_are=next(word for word in LEGS_ARE if word == legs_are),
    )
    return replace(
        now,
        profile=profile,
        number=form.code("number", needed=False),
        name=form.text("name", most=120),
        material_code=form.text("material_code", needed=True, most=40),
        thickness_mm=kept(
            "thickness",
            form.need_length_mm("thickness", most_mm=60.0, family=family),
            now.thickness_mm,
        ),
        die_code=form.text("die_code", most=40) or None,
        punch_code=form.text("punch_code", most=40) or None,
        k_factor=form.number("k_factor", least=0.0, most=0.6, needed=False),
    )


def typed_of_draft(part: DrawnPart, show: Display) -> dict[str, str]:
    """A part's values as they stand in the drawing board's fields."""
    typed = {
        "number": part.number,
        "name": part.name,
        "material_code": part.material_code,
        "thickness": show.typed(part.thickness_mm),
        "width": show.typed(part.profile.width_mm),
        "legs_are": part.profile.legs_are,
        "die_code": part.die_code or "",
        "punch_code": part.punch_code or "",
        "k_factor": "" if part.k_factor is None else f"{part.k_factor:g}",
        "bend_count": str(len(part.profile.bends)),
        "paste": "",
    }
    for index, leg_mm in enumerate(part.profile.legs_mm, 1):
        typed[f"leg_{index}"] = show.typed(leg_mm)
    for index, bend in enumerate(part.profile.bends, 1):
        typed[f"bend_{index}"] = f"{abs(bend.bend_angle_deg):g}"
        typed[f"side_{index}"] = "down" if bend.bend_angle_deg < 0 else "up"
        typed[f"radius_{index}"] = show.typed(bend.inside_radius_mm)
        typed[f"to_{index}"] = bend.dimension_to or "tangent"
        typed |= typed_way(bend, f"_{index}", show)
    return typed


def read_row(text: str, *, unit: LengthUnit) -> tuple[tuple[float, ...], tuple[DrawnBend, ...]]:
    """Legs and bends from a pasted row, such as `30 90 50 -90 30` or `25 x 50 x 25`.

    With signs for angles (° or deg), or numbers in turn leg, angle, leg; a row of lengths divided
    by x has square bends up between them.

    Raises: ShopError `not_a_row` saying what was not understood.
    """
    pieces = [piece for piece in SPLIT.split(text.strip()) if piece]
    if not pieces or len(pieces) > 2 * MOST_BENDS + 1:
        raise _not_a_row("Paste legs and angles in turn, like 30 90 50 90 30.")
    only_legs = bool(re.search(r"[×x]", text)) and not any(map(ANGLE_MARK.search, pieces))
    if only_legs:
        legs = tuple(_leg(piece, unit) for piece in pieces)
        return legs, tuple(DrawnBend(90.0) for _ in legs[1:])
    if len(pieces) % 2 == 0:
        raise _not_a_row("A row begins and ends with a leg: leg, angle, leg.")
    legs = tuple(_leg(piece, unit) for piece in pieces[::2])
    return legs, tuple(DrawnBend(_angle(piece)) for piece in pieces[1::2])


def _leg(piece: str, unit: LengthUnit) -> float:
    leg_mm = typed_length_mm(piece, unit=unit)
    if not 0 < leg_mm <= 20_000:
        raise _not_a_row(f"{piece} is not a leg.")
    return leg_mm


def _angle(piece: str) -> float:
    try:
        angle_deg = float(ANGLE_MARK.sub("", piece).replace("−", "-").replace(",", "."))
    except ValueError:
        raise _not_a_row(f"{piece} is not an angle.") from None
    if not 0 < abs(angle_deg) <= 180:
        raise _not_a_row(f"{piece} is not a bend angle; use 1 to 180.")
    return angle_deg


def _not_a_row(why: str) -> ShopError:
    return ShopError("not_a_row", why, remedy="Correct the row and paste it again.", where="paste")


def _bend(form: Form, number: int) -> DrawnBend:
    angle_deg = form.number(f"bend_{number}", least=-180.0, most=180.0)
    if angle_deg == 0.0:
        form.trouble(f"bend_{number}", "0° is no bend.", "Remove the leg, or type an angle.")
    side = -1.0 if form.typed.get(f"side_{number}") == "down" else 1.0
    bend = DrawnBend(
        bend_angle_deg=side * (angle_deg or 1.0),
        inside_radius_mm=form.length_mm(f"radius_{number}", needed=False, above=False),
        dimension_to=_dimension_to(form.typed, number, abs(angle_deg or 1.0)),
    )
    return with_way(form, bend, f"_{number}", ALL_WAYS)


def _dimension_to(typed: Mapping[str, str], number: int, angle_deg: float) -> DimensionTo | None:
    if angle_deg <= 90.0:
        return None
    return "apex" if typed.get(f"to_{number}") == "apex" else "tangent"
