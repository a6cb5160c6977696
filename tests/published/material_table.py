"""The material table the program ships, read as the plain text it is."""

import csv
from functools import cache
from pathlib import Path

from server.mechanics.material import Material

TABLE = Path(__file__).parents[2] / "seed_data" / "material.csv"


@cache
def material_rows() -> dict[str, dict[str, str]]:
    with TABLE.open(encoding="utf-8", newline="") as lines:
        return {row["code"]: row for row in csv.DictReader(lines)}


def material_row(code: str) -> dict[str, str]:
    return material_rows()[code]


def number(code: str, column: str) -> float:
    """A value of the table; an empty cell, which means unknown, is an error here."""
    return float(material_row(code)[column])


def material(code: str) -> Material:
    """A row as the formulas take it: what the sheet is expected to have."""
    row = material_row(code)
    return Material(
        youngs_modulus_mpa=float(row["youngs_modulus_mpa"]),
        poisson_ratio=float(row["poisson_ratio"]),
        yield_strength_mpa=float(row["yield_typical_mpa"]),
        tensile_strength_mpa=float(row["tensile_typical_mpa"]),
        radius_ratio=float(row["radius_ratio"]),
        density_kg_m3=float(row["density_kg_m3"]),
        code=code,
    )
