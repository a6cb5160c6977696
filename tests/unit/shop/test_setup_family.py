"""Set-up families: tools and sheet, and what a change takes within the bands of common practice."""

from hypothesis import given
from hypothesis import strategies as st

from server.shop.setup_family import SetupFamily, changeover, changeovers

NAMES = st.frozensets(st.sampled_from(["P1", "P2", "V12", "V16"]), min_size=1, max_size=2)
FAMILIES = st.builds(
    SetupFamily,
    st.just("bend"),
    st.sampled_from(["DC01", "S235"]),
    st.sampled_from([1.0, 2.0]),
    NAMES,
    NAMES,
)


@given(FAMILIES, FAMILIES)
def test_a_change_is_the_same_both_ways_and_within_its_bands(
    one: SetupFamily, other: SetupFamily
) -> None:
    """The bands: 3 to 6 min within a family, 5 to 10 more for a V and for a punch."""
    minutes = changeover(before=one, after=other)
    assert minutes == changeover(before=other, after=one)
    tools = (one.dies != other.dies) + (one.punches != other.punches)
    assert 3 + 5 * tools <= minutes <= 6 + 10 * tools


def test_every_pair_of_families_has_its_minutes() -> None:
    one = SetupFamily("cut", "DC01", 2.0)
    other = SetupFamily("cut", "DC01", 3.0)
    table = changeovers([one, other, one])
    assert table.minutes(one.name, one.name) == 0.0
    assert table.minutes(one.name, other.name) == 5.0
