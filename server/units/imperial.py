"""Force, mass and stress for readers who think in inches, tons and pounds.

Factors: NIST Special Publication 811 (2008), Appendix B; one short ton-force is 2000 lbf.
"""

KG_PER_POUND = 0.45359237
N_PER_POUND_FORCE = 4.4482216152605
KN_PER_SHORT_TON = 2000 * N_PER_POUND_FORCE / 1000
MPA_PER_KSI = 6.894757293168
METRES_PER_FOOT = 0.3048


def short_tons_from_kn(force_kn: float) -> float:
    """US short tons-force from kilonewtons.

    >>> round(short_tons_from_kn(8.896443), 6)
    1.0
    """
    return force_kn / KN_PER_SHORT_TON


def short_tons_per_foot_from_kn_per_m(line_load_kn_per_m: float) -> float:
    """US short tons-force per foot from kilonewtons per metre.

    >>> round(short_tons_per_foot_from_kn_per_m(29.1878), 3)
    1.0
    """
    return line_load_kn_per_m * METRES_PER_FOOT / KN_PER_SHORT_TON


def kn_from_short_tons(force_tons: float) -> float:
    """Kilonewtons from US short tons-force.

    >>> round(kn_from_short_tons(1.0), 4)
    8.8964
    """
    return force_tons * KN_PER_SHORT_TON


def pounds_from_kg(mass_kg: float) -> float:
    """Pounds from kilograms.

    >>> round(pounds_from_kg(0.45359237), 9)
    1.0
    """
    return mass_kg / KG_PER_POUND


def ksi_from_mpa(stress_mpa: float) -> float:
    """Thousand pounds per square inch from megapascals.

    >>> round(ksi_from_mpa(413.685), 2)
    60.0
    """
    return stress_mpa / MPA_PER_KSI
