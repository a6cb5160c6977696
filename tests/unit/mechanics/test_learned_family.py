"""The tree of family, material, sheet and lot, against one joint least squares over all of it."""

import json

import numpy as np
import pytest

from server.errors import ShopError
from server.mechanics.learned_family import (
    BendKey,
    Evidence,
    LearnedBend,
    Spread,
    Spreads,
    evidence_surprise,
    learned_bend_of_record,
    multipliers_known,
)

S2 = BendKey("steel", "S235JR", 2.0, 16.0)
S3 = BendKey("steel", "S235JR", 3.0, 25.0)
D2 = BendKey("steel", "DC01", 2.0, 16.0)
X2 = BendKey("stainless", "1.4301", 2.0, 16.0)


def evidence(seed: int, trials: int = 3) -> Evidence:
    """What some trials might say: mostly one direction, little across it."""
    rng = np.random.default_rng(seed)
    slopes = rng.normal(size=(trials, 2)) * (6.0, 1.5) + (12.0, -1.5)
    information = slopes.T @ slopes / 1.4
    pull = information @ rng.normal(scale=(0.1, 0.2))
    return Evidence(
        (information[0, 0], information[0, 1], information[1, 1]), (pull[0], pull[1]), trials, 1
    )


LEARNED = [
    LearnedBend(S2, {"A": evidence(1), "B": evidence(2, 1)}),
    LearnedBend(S3, {"C": evidence(3, 5)}),
    LearnedBend(D2, {"D": evidence(4), "E": evidence(5), "F": evidence(6, 2)}),
    LearnedBend(X2, {"G": evidence(7)}),
]


def jointly(
    learned: list[LearnedBend], key: BendKey, lot_code: str
) -> tuple[np.ndarray, np.ndarray]:
    """The same posterior by one matrix over every unknown: no passing of messages."""
    spreads = Spreads()
    learned = [one for one in learned if one.key.family == key.family]
    if not any(one.key == key for one in learned):
        learned = [*learned, LearnedBend(key)]
    names = ["family"]
    parent: dict[str, str] = {}
    level = {"family": spreads.family}
    told: dict[str, Evidence] = {}
    for one in learned:
        material, sheet = one.key.material_code, f"{one.key}"
        lots = dict(one.lots)
        if one.key == key:
            lots.setdefault(lot_code, Evidence())
        parent |= {material: "family", sheet: material}
        level |= {material: spreads.material, sheet: spreads.sheet}
        for code, kept in lots.items():
            parent[f"{sheet} {code}"] = sheet
            level[f"{sheet} {code}"] = spreads.lot
            told[f"{sheet} {code}"] = kept
    names += list(parent)
    place = {name: 2 * index for index, name in enumerate(names)}
    precision = np.zeros((2 * len(names), 2 * len(names)))
    pull = np.zeros(2 * len(names))
    for name in names:
        link = np.linalg.inv(level[name].covariance)
        own = slice(place[name], place[name] + 2)
        precision[own, own] += link
        if name in parent:
            up = slice(place[parent[name]], place[parent[name]] + 2)
            precision[up, up] += link
            precision[own, up] -= link
            precision[up, own] -= link
        if name in told:
            j11, j12, j22 = told[name].information
            precision[own, own] += np.array([[j11, j12], [j12, j22]])
            pull[own] += told[name].pull
    covariance = np.linalg.inv(precision)
    mean = covariance @ pull
    wanted = slice(place[f"{key} {lot_code}"], place[f"{key} {lot_code}"] + 2)
    return mean[wanted], covariance[wanted, wanted]


@pytest.mark.parametrize(
    ("key", "lot_code"),
    [(S2, "A"), (S2, "new"), (S3, "C"), (D2, "F"), (X2, "G"), (X2, "new"),
     (BendKey("steel", "S235JR", 4.0, 32.0), "new"), (BendKey("steel", "C45", 2.0, 16.0), "new")],
)  # fmt: skip
def test_the_tree_gives_what_one_joint_least_squares_gives(key: BendKey, lot_code: str) -> None:
    known = multipliers_known(learned=LEARNED, key=key, lot_code=lot_code)
    mean, covariance = jointly(LEARNED, key, lot_code)
    assert known.mean == pytest.approx(tuple(mean), abs=1e-10)
    assert known.covariance == pytest.approx(covariance, abs=1e-10)


@pytest.mark.parametrize(
    ("key", "lot_code", "level", "trials"),
    [
        (S2, "A", "lot", 3),
        (S2, "new", "sheet", 4),
        (BendKey("steel", "S235JR", 4.0, 32.0), "new", "material", 9),
        (BendKey("steel", "C45", 2.0, 16.0), "new", "family", 17),
        (BendKey("brass", "CuZn37", 2.0, 16.0), "new", "rule", 0),
    ],
)
def test_it_says_which_level_the_numbers_are_from(
    key: BendKey, lot_code: str, level: str, trials: int
) -> None:
    known = multipliers_known(learned=LEARNED, key=key, lot_code=lot_code)
    assert (known.known_from, known.trials_count) == (level, trials)


def test_the_nearer_the_level_the_surer_the_number() -> None:
    spreads = [
        multipliers_known(learned=LEARNED, key=key, lot_code=lot).radius_sd_ratio
        for key, lot in (
            (S2, "A"),
            (S2, "new"),
            (BendKey("steel", "S235JR", 4.0, 32.0), "new"),
            (BendKey("steel", "C45", 2.0, 16.0), "new"),
            (BendKey("brass", "CuZn37", 2.0, 16.0), "new"),
        )
    ]
    assert spreads == sorted(spreads)
    assert spreads[-1] == pytest.approx(0.15, abs=0.001)


def test_with_nothing_learned_the_rule_stands_with_its_whole_spread() -> None:
    """15 % of the radius and 30 % of the springback: the design's priors."""
    known = multipliers_known(learned=[], key=S2, lot_code="A")
    assert known.mean == (0.0, 0.0)
    assert known.radius_sd_ratio == pytest.approx(0.15, abs=0.001)
    assert known.springback_sd_ratio == pytest.approx(0.30, abs=0.001)


def test_the_set_up_under_way_can_be_left_out() -> None:
    twice = LEARNED[0].with_setup("A", after=evidence(20))
    known = multipliers_known(
        learned=[twice, *LEARNED[1:]], key=S2, lot_code="A", without=evidence(20)
    )
    before = multipliers_known(learned=LEARNED, key=S2, lot_code="A")
    assert known.mean == pytest.approx(before.mean, abs=1e-9)
    assert known.covariance == pytest.approx(before.covariance, abs=1e-9)


def test_a_set_up_that_grows_replaces_what_it_had_said() -> None:
    first, then = evidence(30, 1), evidence(31, 2)
    grown = LearnedBend(S2).with_setup("A", after=first).with_setup("A", after=then, before=first)
    at_once = LearnedBend(S2).with_setup("A", after=then)
    assert grown.lots["A"].information == pytest.approx(at_once.lots["A"].information)
    assert (grown.trials_count, grown.setups_count) == (2, 1)


def test_a_set_up_undone_leaves_nothing_behind() -> None:
    gone = (
        LearnedBend(S2)
        .with_setup("A", after=evidence(1))
        .with_setup("A", after=Evidence(), before=evidence(1))
    )
    assert gone == LearnedBend(S2)


def test_the_record_reads_back_exactly_through_json() -> None:
    for one in LEARNED:
        assert learned_bend_of_record(json.loads(json.dumps(one.as_record()))) == one


@pytest.mark.parametrize("record", [{}, {"family": "steel"}, {"lots": 3}, {"lots": {"A": 1}}])
def test_a_record_that_is_none_is_refused(record: dict[str, object]) -> None:
    with pytest.raises(ShopError) as trouble:
        learned_bend_of_record(record)
    assert trouble.value.code == "not_a_learned_bend"


@pytest.mark.parametrize("spread", [0.0, -0.1, 4.0, float("nan")])
def test_a_spread_no_shop_has_is_refused(spread: float) -> None:
    with pytest.raises(ShopError):
        Spread(spread, 0.1)


def test_a_set_up_that_contradicts_all_others_is_a_surprise() -> None:
    known = multipliers_known(learned=LEARNED, key=S2, lot_code="A")
    usual = Evidence((150.0, -20.0, 3.0), (150.0 * known.mean[0], -20.0 * known.mean[0]), 1, 1)
    wild = Evidence((150.0, -20.0, 3.0), (150.0 * (known.mean[0] + 0.8), -20.0), 1, 1)
    assert evidence_surprise(known=known, evidence=usual) < 1.0
    assert evidence_surprise(known=known, evidence=wild) > 4.0
    assert evidence_surprise(known=known, evidence=Evidence()) == 0.0
