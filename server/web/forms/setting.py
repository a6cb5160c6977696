"""What is typed about the shop's own choices."""

import re

from server.settings import BendSettings, HandlingSeconds, ShopSettings
from server.web.display import Display
from server.web.forms.form import Form

CURRENCY = re.compile(r"[A-Z]{3}")
UNIT_CHOICES = (("mm", "millimetres"), ("in", "inches"))
SECONDS = (
    "stroke_s", "turn_end_for_end_s", "turn_over_s", "gauge_move_s", "other_station_s",
    "change_tools_s", "gauge_on_flange_s",
)  # fmt: skip


def read_settings(form: Form) -> ShopSettings:
    """The shop's choices as typed; look at `form.ok` before using them."""
    currency = form.text("currency", needed=True, most=3).upper()
    if currency and not CURRENCY.fullmatch(currency):
        form.trouble("currency", "A currency has three letters.", "Type its code, like EUR or USD.")
    name = form.text("shop_name", needed=True, most=60)
    address = "\n".join(line.strip() for line in form.text("shop_address", most=300).splitlines())
    unit = form.choice("unit", ("mm", "in"))
    bend = BendSettings(
        flange_margin_ratio=_ratio(form, "flange_margin_percent", most=100),
        speed_change_above_sheet_mm=form.need_length_mm("speed_change_above_sheet", most_mm=100),
        loading_room_mm=form.need_length_mm("loading_room", most_mm=500),
        first_correction_ratio=_ratio(form, "first_correction_percent", least=10, most=100),
        hole_to_bend_thickness_ratio=form.need_number(
            "hole_to_bend_thickness_ratio", least=0, most=20
        ),
        whip_speed_m_per_s=form.need_amount("whip_speed", "m_per_s", most=10),
    )
    handling = HandlingSeconds(
        **{name: form.need_number(name, least=0, most=7200) for name in SECONDS},
        gauge_speed_mm_per_s=form.need_amount("gauge_speed", "mm_per_s", most=2000),
        mass_for_double_kg=form.need_amount("mass_for_double", "kg", most=1000),
    )
    return ShopSettings(name, address, unit, currency, bend, handling)


def typed_of_settings(settings: ShopSettings, version: int, show: Display) -> dict[str, str]:
    """The shop's choices as they stand in their form."""
    bend, handling = settings.bend, settings.handling
    return {
        "version": str(version),
        "shop_name": settings.shop_name,
        "shop_address": settings.shop_address,
        "unit": settings.unit,
        "currency": settings.currency,
        "flange_margin_percent": f"{bend.flange_margin_ratio * 100:g}",
        "speed_change_above_sheet": show.typed(bend.speed_change_above_sheet_mm),
        "loading_room": show.typed(bend.loading_room_mm),
        "first_correction_percent": f"{bend.first_correction_ratio * 100:g}",
        "hole_to_bend_thickness_ratio": f"{bend.hole_to_bend_thickness_ratio:g}",
        "whip_speed": show.typed_amount(bend.whip_speed_m_per_s, "m_per_s"),
        **{name: f"{getattr(handling, name):g}" for name in SECONDS},
        "gauge_speed": show.typed_amount(handling.gauge_speed_mm_per_s, "mm_per_s"),
        "mass_for_double": show.typed_amount(handling.mass_for_double_kg, "kg"),
    }


def _ratio(form: Form, name: str, *, least: float = 0, most: float) -> float:
    return form.need_number(name, least=least, most=most) / 100
