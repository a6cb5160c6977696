"""What a shop may set for itself, with the defaults it starts from.

Every default here is common practice without a source unless its comment names one.
"""

import socket
from dataclasses import dataclass, field
from pathlib import Path

from server.errors import ShopError, say

DATABASE_VARIABLE = "BENDWRIGHT_DATABASE"
"""Environment variable that tells the web application which database file to open."""


@dataclass(frozen=True, slots=True)
class BendSettings:
    """Margins and stroke settings of the brake work."""

    flange_margin_ratio: float = 0.10
    speed_change_above_sheet_mm: float = 4.0
    loading_room_mm: float = 20.0
    first_correction_ratio: float = 0.8
    hole_to_bend_thickness_ratio: float = 2.5
    whip_speed_m_per_s: float = 0.25


@dataclass(frozen=True, slots=True)
class HandlingSeconds:
    """Seconds the planner counts for each thing an operator does at the brake."""

    stroke_s: float = 6.0
    turn_end_for_end_s: float = 4.0
    turn_over_s: float = 6.0
    gauge_move_s: float = 0.5
    gauge_speed_mm_per_s: float = 100.0
    other_station_s: float = 3.0
    change_tools_s: float = 300.0
    gauge_on_flange_s: float = 2.0
    mass_for_double_kg: float = 10.0


@dataclass(frozen=True, slots=True)
class ShopSettings:
    """A shop's own choices."""

    shop_name: str = "Our shop"
    shop_address: str = ""
    """A line of text per line, as it stands on papers."""
    unit: str = "mm"
    currency: str = "EUR"
    bend: BendSettings = field(default_factory=BendSettings)
    handling: HandlingSeconds = field(default_factory=HandlingSeconds)

    @property
    def address_lines(self) -> tuple[str, ...]:
        """The lines of the address that have something on them."""
        return tuple(line for line in self.shop_address.splitlines() if line.strip())

    def __post_init__(self) -> None:
        if self.unit not in ("mm", "in"):
            raise ShopError(
                "unknown_unit",
                say("'{unit}' is not a unit the pages can show.", unit=self.unit),
                remedy="Choose mm or in.",
                where="unit",
            )


def house_folder(name: str) -> Path:
    """A folder that ships with the program: templates, static, migrations or seed_data.

    In a checkout they stand beside `server`; in an installed wheel inside `server/house`.

    Raises: FileNotFoundError when the installation is broken.
    """
    here = Path(__file__).resolve().parent
    for candidate in (here / "house" / name, here.parent / name):
        if candidate.is_dir():
            return candidate
    raise FileNotFoundError(f"{name} is missing from this installation")


def own_host_names() -> set[str]:
    """The names this machine goes by on a small network."""
    name = socket.gethostname().lower().split(".")[0]
    return {"localhost", name, f"{name}.local", f"{name}.lan", f"{name}.home"}
