"""What a shop's trials say of radius and springback, job after job: family, material, sheet, lot.

Two numbers are learned: the logarithms of the multipliers of the inside radius under load and of
the springback. Each lot has its own pair, drawn around that of its sheet (material x thickness x V),
which is drawn around the material's, which is drawn around the family's. What one set-up's trials
say is a small `Evidence` that does not depend on anything learned before; the sums kept for each
lot are all that has to be stored, and give the same answer as all trials at once.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np

from server.errors import ShopError
from server.mechanics.elementary import FloatArray, need_above, need_between
from server.mechanics.material import Family

KnownFrom = Literal["lot", "sheet", "material", "family", "rule"]


@dataclass(frozen=True, slots=True)
class Spread:
    """Relative standard deviation of both multipliers on one level."""

    radius_ratio: float
    springback_ratio: float

    def __post_init__(self) -> None:
        for name in ("radius_ratio", "springback_ratio"):
            need_above(f"spread.{name}", getattr(self, name), 0.0, "ratio")
            need_between(f"spread.{name}", getattr(self, name), 0.0, 3.0, "ratio")

    @property
    def covariance(self) -> FloatArray:
        """As a 2 x 2 matrix."""
        return np.diag([self.radius_ratio**2, self.springback_ratio**2])


@dataclass(frozen=True, slots=True)
class Spreads:
    """How far a family is from the rule, a material from its family, and so on down to the lot.

    Together 15 % of the radius and 30 % of the springback: common practice, no source; how they
    share it is our estimate. They are shop settings.
    """

    family: Spread = Spread(0.10, 0.20)
    material: Spread = Spread(0.085, 0.17)
    sheet: Spread = Spread(0.06, 0.12)
    lot: Spread = Spread(0.04, 0.08)

    @property
    def whole(self) -> FloatArray:
        """Covariance of a lot of which nothing at all is known."""
        levels = (self.family, self.material, self.sheet, self.lot)
        return np.asarray(sum(level.covariance for level in levels), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class BendKey:
    """What a bend is learned for: the sheet's nominal thickness, and the V it is bent in."""

    family: Family
    material_code: str
    thickness_mm: float
    v_opening_mm: float


@dataclass(frozen=True, slots=True)
class Evidence:
    """What trials say of x = (ln radius factor, ln springback factor): exp(h'x - x'J x / 2).

    `information` is J as (J11, J12, J22), `pull` is h. Evidence of different set-ups adds.
    """

    information: tuple[float, float, float] = (0.0, 0.0, 0.0)
    pull: tuple[float, float] = (0.0, 0.0)
    trials_count: int = 0
    setups_count: int = 0

    def __add__(self, other: "Evidence") -> "Evidence":
        return self._with(other, 1)

    def __sub__(self, other: "Evidence") -> "Evidence":
        return self._with(other, -1)

    def _with(self, other: "Evidence", sign: int) -> "Evidence":
        j, k = self.information, other.information
        return Evidence(
            (j[0] + sign * k[0], j[1] + sign * k[1], j[2] + sign * k[2]),
            (self.pull[0] + sign * other.pull[0], self.pull[1] + sign * other.pull[1]),
            self.trials_count + sign * other.trials_count,
            self.setups_count + sign * other.setups_count,
        )


NO_EVIDENCE = Evidence()


@dataclass(frozen=True, slots=True)
class LearnedBend:
    """What is kept of all trials on one material x thickness x V: one `Evidence` for each lot."""

    key: BendKey
    lots: Mapping[str, Evidence] = field(default_factory=dict)

    @property
    def trials_count(self) -> int:
        """How many trials it was learned from."""
        return sum(evidence.trials_count for evidence in self.lots.values())

    @property
    def setups_count(self) -> int:
        """How many set-ups they were made on."""
        return sum(evidence.setups_count for evidence in self.lots.values())

    def with_setup(
        self, lot_code: str, *, after: Evidence, before: Evidence = NO_EVIDENCE
    ) -> "LearnedBend":
        """With one set-up's evidence taken in, `before` being what it had given until now.

        Where the lot is not known, use a code of the set-up's own: sheets of unknown origin are
        not taken for one lot.
        """
        evidence = self.lots.get(lot_code, NO_EVIDENCE) - before + after
        lots = {code: kept for code, kept in self.lots.items() if code != lot_code}
        if evidence.trials_count:
            lots[lot_code] = evidence
        return LearnedBend(self.key, dict(sorted(lots.items())))

    def as_record(self) -> dict[str, Any]:
        """Plain values to store as JSON; `learned_bend_of_record` reads them back exactly."""
        return {
            "family": self.key.family,
            "material_code": self.key.material_code,
            "thickness_mm": self.key.thickness_mm,
            "v_opening_mm": self.key.v_opening_mm,
            "lots": {
                code: {
                    "information": list(evidence.information),
                    "pull": list(evidence.pull),
                    "trials_count": evidence.trials_count,
                    "setups_count": evidence.setups_count,
                }
                for code, evidence in self.lots.items()
            },
        }


def learned_bend_of_record(record: Mapping[str, Any]) -> LearnedBend:
    """What `LearnedBend.as_record` wrote.

    Raises: ShopError `not_a_learned_bend` where the record is not one.
    """
    try:
        return LearnedBend(
            BendKey(
                record["family"],
                str(record["material_code"]),
                float(record["thickness_mm"]),
                float(record["v_opening_mm"]),
            ),
            {
                str(code): Evidence(
                    _three(kept["information"]),
                    _two(kept["pull"]),
                    int(kept["trials_count"]),
                    int(kept["setups_count"]),
                )
                for code, kept in record["lots"].items()
            },
        )
    except (KeyError, TypeError, ValueError, AttributeError):
        raise ShopError(
            "not_a_learned_bend",
            "What is stored of this material, thickness and V cannot be read.",
            remedy="Have it worked out again from the trials.",
            where="record",
        ) from None


@dataclass(frozen=True, slots=True)
class Multipliers:
    """What is believed of both logarithms before the first trial of a set-up.

    `known_from` is the nearest level that has any trial; the counts are that level's.
    """

    mean: tuple[float, float]
    covariance: FloatArray = field(repr=False)
    known_from: KnownFrom = "rule"
    trials_count: int = 0
    setups_count: int = 0

    @property
    def radius_factor(self) -> float:
        """Multiplier of the inside radius under load: the middle of what is believed."""
        return float(np.exp(self.mean[0]))

    @property
    def springback_factor(self) -> float:
        """Multiplier of the springback: the middle of what is believed."""
        return float(np.exp(self.mean[1]))

    @property
    def radius_sd_ratio(self) -> float:
        """How sure the first is, relative."""
        return float(np.sqrt(self.covariance[0, 0]))

    @property
    def springback_sd_ratio(self) -> float:
        """How sure the second is, relative."""
        return float(np.sqrt(self.covariance[1, 1]))


def multipliers_known(
    *,
    learned: Iterable[LearnedBend],
    key: BendKey,
    lot_code: str,
    spreads: Spreads | None = None,
    without: Evidence = NO_EVIDENCE,
) -> Multipliers:
    """Radius and springback multipliers of a lot in a V, from everything learned in its family.

    Formula: Gaussian tree family -> material -> sheet -> lot, solved exactly: a level with
        information J and pull h, seen through a spread S, gives J - J (J + 1/S)^-1 J and
        h - J (J + 1/S)^-1 h

    Args:
        learned: what was learned, of this family or of any; others are passed over.
        key: the sheet and V wanted.
        lot_code: its lot; an unknown code is a new lot.
        spreads: spread of each level, None for the usual.
        without: evidence of the set-up under way, where it is already part of `learned`.

    Returns: the `Multipliers`; with nothing learned the rule with its whole spread.

    References: message passing on a Gaussian tree: D. Koller, N. Friedman, Probabilistic Graphical
        Models (2009), ch. 14, from memory; held in the tests against one joint least squares.

    >>> key = BendKey("steel", "S235JR", 2.0, 16.0)
    >>> seen = LearnedBend(key, {"A": Evidence((400.0, 0.0, 100.0), (40.0, -20.0), 4, 2)})
    >>> known = multipliers_known(learned=[seen], key=key, lot_code="A")
    >>> round(known.radius_factor, 3), known.known_from
    (1.094, 'lot')
    """
    spreads = spreads or Spreads()
    materials: dict[str, list[LearnedBend]] = {}
    for one in learned:
        if one.key.family == key.family:
            materials.setdefault(one.key.material_code, []).append(one)
    same_material = materials.pop(key.material_code, [])
    others = _total(
        [_seen_through(_total([_from_sheet(one, spreads) for one in sheets]), spreads.material)
         for sheets in materials.values()]
    )  # fmt: skip
    family = _plus(_information_of(spreads.family), others)
    neighbours = _total([_from_sheet(one, spreads) for one in same_material if one.key != key])
    material = _plus(_seen_through(family, spreads.material), neighbours)
    own = next((one for one in same_material if one.key == key), LearnedBend(key))
    other_lots = {code: kept for code, kept in own.lots.items() if code != lot_code}
    sheet = _plus(
        _seen_through(material, spreads.sheet),
        _from_lots(list(other_lots.values()), spreads.lot),
    )
    this_lot = own.lots.get(lot_code, NO_EVIDENCE) - without
    information, pull = _plus(_seen_through(sheet, spreads.lot), _message_of(this_lot))
    covariance = np.linalg.inv(information)
    mean = covariance @ pull
    counts = (
        ("lot", [this_lot]),
        ("sheet", list(other_lots.values())),
        ("material", _evidence_of(one for one in same_material if one.key != key)),
        ("family", _evidence_of(one for sheets in materials.values() for one in sheets)),
    )
    level, kept = next(
        ((level, kept) for level, kept in counts if any(one.trials_count for one in kept)),
        ("rule", []),
    )
    return Multipliers(
        (float(mean[0]), float(mean[1])),
        (covariance + covariance.T) / 2,
        level,  # type: ignore[arg-type]  # one of the levels named above
        sum(one.trials_count for one in kept),
        sum(one.setups_count for one in kept),
    )


def evidence_surprise(*, known: Multipliers, evidence: Evidence) -> float:
    """How far what a whole set-up says is from what was known before it, in standard deviations.

    Formula: each direction of J on its own: |h - J m| over the root of J + J C J, the largest

    Args:
        known: what was known of the lot before the set-up.
        evidence: what the set-up's trials say.

    Returns: the surprise [ratio]; above 4 look at its touch-off, sheet and tools before learning
        from it.

    References: predictive distribution of a linear Gaussian model.

    >>> known = Multipliers((0.0, 0.0), np.diag([0.03**2, 0.06**2]))
    >>> round(evidence_surprise(known=known, evidence=Evidence((100.0, 0.0, 1.0), (50.0, 0.0), 1)), 1)
    4.8
    """
    information, pull = _message_of(evidence)
    sizes, ways = np.linalg.eigh(information)
    missed = ways.T @ (pull - information @ np.array(known.mean))
    spread = sizes + sizes**2 * np.diag(ways.T @ known.covariance @ ways)
    told = sizes > 1e-9 * max(1.0, float(sizes[-1]))
    if not told.any():
        return 0.0
    return float(np.max(np.abs(missed[told]) / np.sqrt(spread[told])))


Message = tuple[FloatArray, FloatArray]


def _from_sheet(learned: LearnedBend, spreads: Spreads) -> Message:
    """What one material x thickness x V says of its material."""
    return _seen_through(_from_lots(list(learned.lots.values()), spreads.lot), spreads.sheet)


def _from_lots(lots: Sequence[Evidence], spread: Spread) -> Message:
    """What lots say of their sheet, all at once."""
    if not lots:
        return _nothing()
    information = np.array([kept.information for kept in lots])[:, [0, 1, 1, 2]].reshape(-1, 2, 2)
    pull = np.array([kept.pull for kept in lots])[:, :, None]
    seen, seen_pull = _through(information, pull, spread)
    return seen.sum(axis=0), seen_pull.sum(axis=0)[:, 0]


def _seen_through(message: Message, spread: Spread) -> Message:
    information, pull = _through(message[0], message[1][:, None], spread)
    return information, pull[:, 0]


def _through(information: FloatArray, pull: FloatArray, spread: Spread) -> Message:
    loosened = np.linalg.solve(
        information + np.linalg.inv(spread.covariance),
        np.concatenate((information, pull), axis=-1),
    )
    return information - information @ loosened[..., :2], pull - information @ loosened[..., 2:]


def _information_of(spread: Spread) -> Message:
    precision: FloatArray = np.linalg.inv(spread.covariance).astype(np.float64)
    return precision, np.zeros(2)


def _message_of(evidence: Evidence) -> Message:
    j11, j12, j22 = evidence.information
    return np.array([[j11, j12], [j12, j22]]), np.array(evidence.pull)


def _nothing() -> Message:
    return np.zeros((2, 2)), np.zeros(2)


def _plus(first: Message, second: Message) -> Message:
    return first[0] + second[0], first[1] + second[1]


def _total(messages: Sequence[Message]) -> Message:
    whole = _nothing()
    for message in messages:
        whole = _plus(whole, message)
    return whole


def _evidence_of(learned: Iterable[LearnedBend]) -> list[Evidence]:
    return [evidence for one in learned for evidence in one.lots.values()]


def _three(values: Sequence[float]) -> tuple[float, float, float]:
    first, second, third = (float(value) for value in values)
    return first, second, third


def _two(values: Sequence[float]) -> tuple[float, float]:
    first, second = (float(value) for value in values)
    return first, second
