"""What is typed about a material."""

from typing import TYPE_CHECKING

from server.actions.material import FAMILIES, MaterialValues
from server.web.forms.form import Form

if TYPE_CHECKING:
    from server.storage.tables.material import Material

FAMILY_CHOICES = tuple((family, family) for family in FAMILIES)


def read_material(form: Form) -> MaterialValues:
    """The values of a material form; look at `form.ok` before using them."""
    return MaterialValues(
        name=form.text("name", needed=True, most=80),
        family=form.choice("family", FAMILIES),
        standard=form.text("standard", most=80),
        yield_typical_mpa=form.need_number("yield_typical_mpa", least=1, most=3000),
        tensile_typical_mpa=form.need_number("tensile_typical_mpa", least=1, most=3000),
        tensile_max_mpa=form.number("tensile_max_mpa", least=1, most=4000, needed=False),
        youngs_modulus_mpa=form.need_number("youngs_modulus_mpa", least=10_000, most=500_000),
        poisson_ratio=form.need_number("poisson_ratio", least=0.0, most=0.49),
        density_kg_m3=form.need_number("density_kg_m3", least=500, most=25_000),
        radius_ratio=form.need_number("radius_ratio", least=0.02, most=0.6),
        k_factor=form.number("k_factor", least=0.0, most=0.6, needed=False),
        minimum_radius_ratio_to_3mm=form.number(
            "minimum_radius_ratio_to_3mm", least=0, most=20, needed=False
        ),
        minimum_radius_ratio_3_to_6mm=form.number(
            "minimum_radius_ratio_3_to_6mm", least=0, most=20, needed=False
        ),
        minimum_radius_ratio_over_6mm=form.number(
            "minimum_radius_ratio_over_6mm", least=0, most=20, needed=False
        ),
        source=form.text("source", most=300),
        sure=form.text("sure", most=80),
    )


def typed_of_material(row: "Material") -> dict[str, str]:
    """A material's values as they stand in its form."""
    values = row.model_dump(exclude={"created_at", "changed_at", "archived_at"})
    return {
        name: "" if value is None else (f"{value:g}" if isinstance(value, float) else str(value))
        for name, value in values.items()
    }
