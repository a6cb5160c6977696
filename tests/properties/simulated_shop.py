"""Shops that do not exist, run for months by different rules of correction: the yardstick.

Every rule bends the same blanks on the same set-ups, with the same protractor errors: only what it
keys differs. Thickness: EN 10131 (cold rolled), EN 10051 (hot rolled), EN 10259 (stainless) and
EN 485-4 (aluminium) by `sheet_tolerance`. Strength scatter of lots: the tensile ranges of EN 10130,
EN 10025-2, EN 10088-2 and EN 485-2 as in the material table, read as four standard deviations.
The other spreads are the shop settings' own defaults, which have no source.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from random import Random

from server.mechanics.air_bend import Bending, bending, depth_for_angle
from server.mechanics.bend_response import bend_response, stacked
from server.mechanics.control_reading import TouchOffOn
from server.mechanics.correction import Try, simple_next_depth
from server.mechanics.learned_family import (
    BendKey,
    LearnedBend,
    Multipliers,
    Spread,
    Spreads,
    evidence_surprise,
    multipliers_known,
)
from server.mechanics.material import Family, Material
from server.mechanics.scatter_seen import Surprise, scatter_seen, surprise_of
from server.mechanics.setup_belief import believe_setup, judged, setup_evidence
from server.mechanics.setup_fit import MeasuredBend, SetupScatter
from server.mechanics.setup_scatter import setup_scatter
from server.mechanics.sheet_tolerance import SheetStandard, thickness_tolerance
from server.mechanics.simulated_brake import (
    TrueLot,
    TrueMaterial,
    TruePiece,
    TrueSetup,
    caliper_reading,
    protractor_reading,
    simulated_bend,
    simulated_lot,
    simulated_piece,
    simulated_setup,
    strength_sd,
)
from server.mechanics.tooling import Die, Punch

TOLERANCE_DEG = 1.0
MOST_PARTS = 6
BAR_MM = 5.0


def metal(
    code: str, family: Family, modulus: float, strengths: tuple[float, float], ratio: float
) -> Material:
    return Material(
        youngs_modulus_mpa=modulus,
        yield_strength_mpa=strengths[0],
        tensile_strength_mpa=strengths[1],
        poisson_ratio=0.33 if family == "aluminium" else 0.3,
        radius_ratio=ratio,
        family=family,
        code=code,
    )


DC01 = metal("DC01", "steel", 210_000.0, (210.0, 330.0), 0.16)
S235 = metal("S235JR", "steel", 210_000.0, (290.0, 420.0), 0.16)
STAINLESS = metal("1.4301", "stainless", 200_000.0, (290.0, 620.0), 0.21)
STAINLESS_L = metal("1.4404", "stainless", 200_000.0, (300.0, 590.0), 0.21)
ALUMINIUM = metal("EN AW-5754 H22", "aluminium", 70_500.0, (180.0, 245.0), 0.14)
ALUMINIUM_SOFT = metal("EN AW-5083 H111", "aluminium", 71_000.0, (155.0, 300.0), 0.14)

RANGES_MPA = {
    "DC01": (270.0, 410.0),
    "S235JR": (360.0, 510.0),
    "1.4301": (540.0, 750.0),
    "1.4404": (530.0, 680.0),
    "EN AW-5754 H22": (220.0, 270.0),
    "EN AW-5083 H111": (275.0, 350.0),
}


@dataclass(frozen=True)
class Product:
    """A sheet the shop buys and the tools it bends it in."""

    book: Material
    standard: SheetStandard
    thickness_mm: float
    die: Die
    angles_deg: tuple[float, ...]
    width_mm: float = 1250.0

    @property
    def key(self) -> BendKey:
        return BendKey(self.book.family, self.book.code, self.thickness_mm, self.die.v_opening_mm)

    @property
    def tolerance_mm(self) -> float:
        return thickness_tolerance(
            standard=self.standard, thickness_mm=self.thickness_mm, width_mm=self.width_mm
        )

    @property
    def punch(self) -> Punch:
        return Punch("P", 0.6, 28.0)


def die(v_mm: float, angle_deg: float = 84.0) -> Die:
    return Die(f"V{v_mm:g}", v_mm, angle_deg, 0.09 * v_mm)


PRODUCTS = (
    Product(DC01, "EN 10131", 1.0, die(8.0), (90.0, 90.0)),
    Product(DC01, "EN 10131", 1.5, die(12.0), (90.0,)),
    Product(DC01, "EN 10131", 1.5, die(12.0, 30.0), (120.0, 90.0)),
    Product(DC01, "EN 10131", 2.0, die(16.0), (90.0, 45.0)),
    Product(DC01, "EN 10131", 2.0, die(12.0), (90.0, 90.0)),
    Product(S235, "EN 10051", 3.0, die(25.0), (90.0, 90.0)),
    Product(S235, "EN 10051", 4.0, die(32.0), (90.0, 30.0)),
    Product(S235, "EN 10051", 6.0, die(50.0), (90.0,)),
    Product(STAINLESS, "EN 10259", 1.5, die(12.0), (90.0, 90.0)),
    Product(STAINLESS, "EN 10259", 2.0, die(16.0), (90.0, 60.0)),
    Product(STAINLESS_L, "EN 10259", 2.0, die(20.0), (90.0,)),
    Product(ALUMINIUM, "EN 485-4", 1.5, die(12.0), (90.0, 90.0)),
    Product(ALUMINIUM, "EN 485-4", 2.0, die(16.0), (90.0, 45.0)),
    Product(ALUMINIUM_SOFT, "EN 485-4", 3.0, die(25.0), (90.0, 90.0)),
)


@dataclass(frozen=True)
class World:
    """How a simulated shop scatters, against what the learned rule believes it does."""

    touch_off_sd_mm: float = 0.10
    protractor_sd_deg: float = 0.3
    piece_times: float = 1.0
    """Scatter of pieces over what is believed."""
    flank_bow: float = 0.0
    """Real flanks are a little bowed: share of the travel a 90 degree bend needs less."""
    typing_error_share: float = 0.0
    wild_touch_off_share: float = 0.0
    """Share of touch-offs that are four times as wild."""
    believed: SetupScatter = field(default_factory=SetupScatter)
    spreads: Spreads = field(default_factory=Spreads)
    true_spreads: Spreads = field(default_factory=Spreads)


@dataclass(frozen=True)
class Day:
    """One set-up with everything chance decides about it, the same for every rule."""

    shop: int
    number: int
    product: Product
    lot_code: str
    lot: TrueLot
    setup: TrueSetup
    touch_off_on: TouchOffOn
    measured_mm: float
    pieces: tuple[TruePiece, ...]
    reading_seeds: tuple[int, ...]
    bow: float

    def sheet(self) -> Bending:
        """The bend's constants as the shop knows them: book values at the measured thickness."""
        return bending(
            thickness_mm=self.measured_mm,
            material=self.product.book,
            die=self.product.die,
            punch=self.product.punch,
        )

    def bent_deg(self, depth_mm: float, part: int, wanted_deg: float) -> float:
        """The true angle for a travel keyed on the measured sheet."""
        reference_mm = self.measured_mm if self.touch_off_on == "sheet" else BAR_MM
        keyed_mm = depth_mm + (reference_mm - self.measured_mm)
        bowed_mm = keyed_mm + depth_mm * self.bow * math.tan(math.radians(wanted_deg) / 2)
        return simulated_bend(
            piece=self.pieces[part],
            lot=self.lot,
            setup=self.setup,
            die=self.product.die,
            punch=self.product.punch,
            tip_travel_mm=bowed_mm,
            x_mm=50.0,
            blank_mm=100.0,
        ).bend_angle_deg

    def reading_deg(self, angle_deg: float, part: int, step: int, world: World) -> float:
        """What the protractor shows, and now and then what is typed instead."""
        chance = Random(self.reading_seeds[part * 8 + step])
        read_deg = protractor_reading(
            chance=chance, bend_angle_deg=angle_deg, sd_deg=world.protractor_sd_deg
        )
        if chance.random() < world.typing_error_share:
            return chance.choice((180.0 - read_deg + 8.0, read_deg / 10, read_deg + 10.0))
        return read_deg


def days_of(*, seed: int, rounds: int, world: World) -> list[Day]:
    """One shop: each product set up again and again over months, with new lots."""
    chance = Random(seed)
    families: dict[str, tuple[float, float]] = {}
    materials: dict[str, tuple[float, float]] = {}
    metals: dict[BendKey, TrueMaterial] = {}
    true = world.true_spreads
    for product in PRODUCTS:
        family = families.setdefault(product.book.family, _drawn(chance, true.family))
        name = product.book.code
        material = materials.setdefault(name, _moved(family, _drawn(chance, true.material)))
        radius, spring = _moved(material, _drawn(chance, true.sheet))
        metals.setdefault(
            product.key, TrueMaterial(product.book, math.exp(radius), math.exp(spring), 0.42)
        )
    lots: dict[tuple[BendKey, float], tuple[str, TrueLot]] = {}
    days: list[Day] = []
    for _ in range(rounds):
        for product in chance.sample(PRODUCTS, len(PRODUCTS)):
            days.append(_day(chance, (seed, len(days)), product, metals[product.key], lots, world))
    return days


def _day(
    chance: Random,
    numbers: tuple[int, int],
    product: Product,
    true: TrueMaterial,
    lots: dict[tuple[BendKey, float], tuple[str, TrueLot]],
    world: World,
) -> Day:
    place = (product.key, product.thickness_mm)
    if place not in lots or chance.random() < 0.7:
        low_mpa, high_mpa = RANGES_MPA[product.book.code]
        lots[place] = (
            f"L{numbers[1]}",
            simulated_lot(
                chance=chance,
                metal=true,
                thickness_mm=product.thickness_mm,
                tolerance_mm=product.tolerance_mm,
                radius_sd_ratio=world.true_spreads.lot.radius_ratio,
                strength_sd_ratio=strength_sd(tensile_min_mpa=low_mpa, tensile_max_mpa=high_mpa),
            ),
        )
    code, lot = lots[place]
    lot = replace(lot, piece_thickness_sd_mm=lot.piece_thickness_sd_mm * world.piece_times)
    touched = simulated_piece(chance=chance, lot=lot)
    on: TouchOffOn = "sheet" if chance.random() < 0.7 else "die"
    wild = chance.random() < world.wild_touch_off_share
    return Day(
        shop=numbers[0],
        number=numbers[1],
        product=product,
        lot_code=code,
        lot=lot,
        setup=simulated_setup(
            chance=chance,
            touch_off_on=on,
            touched_sheet=touched,
            bar_mm=BAR_MM,
            touch_off_sd_mm=world.touch_off_sd_mm * (4.0 if wild else 1.0),
        ),
        touch_off_on=on,
        measured_mm=caliper_reading(chance=chance, length_mm=touched.thickness_mm, sd_mm=0.01),
        pieces=tuple(simulated_piece(chance=chance, lot=lot) for _ in range(MOST_PARTS)),
        reading_seeds=tuple(chance.randrange(2**31) for _ in range(MOST_PARTS * 8)),
        bow=world.flank_bow,
    )


def _drawn(chance: Random, spread: Spread) -> tuple[float, float]:
    return chance.gauss(0.0, spread.radius_ratio), chance.gauss(0.0, spread.springback_ratio)


def _moved(first: tuple[float, float], second: tuple[float, float]) -> tuple[float, float]:
    return first[0] + second[0], first[1] + second[1]


class Rule:
    """How a shop chooses its travels: `begin` a set-up, ask `depth_mm`, tell what was `read`."""

    name = ""

    def begin(self, day: Day) -> None:
        self.day = day
        self.sheet = day.sheet()
        self.tries: dict[int, list[Try]] = {}

    def first_mm(self, step: int) -> float:
        """The first travel of a step on this set-up."""
        return depth_for_angle(self.sheet, self.day.product.angles_deg[step])

    def depth_mm(self, step: int, part: int) -> float:
        tries = self.tries.get(step)
        if not tries:
            return self.first_mm(step)
        last = tries[-1]
        wanted_deg = self.day.product.angles_deg[step]
        if abs(last.bend_angle_deg - wanted_deg) <= TOLERANCE_DEG / 2:
            return last.depth_mm
        return simple_next_depth(
            tries=tries, wanted_deg=wanted_deg, depth_mm_per_deg=self._slope(last.depth_mm)
        ).depth_mm

    def _slope(self, depth_mm: float) -> float:
        import numpy as np

        response = bend_response(sheets=stacked([self.sheet]), depth_mm=np.array([depth_mm]))
        return 1.0 / float(response.per_travel[0])

    def band_deg(self, depth_mm: float, part: int) -> tuple[float, float] | None:
        """The 95 % band, for rules that state one."""
        return None

    def told(self, step: int, part: int, depth_mm: float, read_deg: float) -> None:
        self.tries.setdefault(step, []).append(Try(depth_mm, read_deg))

    def end(self) -> None:
        """The set-up is taken down."""


class NoHistory(Rule):
    """The model's travel each time, then the simple rule; nothing is kept."""

    name = "no history (model, then simple rule)"


class LastTravel(Rule):
    """The travel that was right last time, then the simple rule."""

    name = "simple rule, last travel kept"

    def __init__(self) -> None:
        self.kept: dict[tuple[Product, int], float] = {}

    def first_mm(self, step: int) -> float:
        place = (self.day.product, step)
        return self.kept[place] if place in self.kept else super().first_mm(step)

    def end(self) -> None:
        for step in self.tries:
            self.kept[(self.day.product, step)] = self.depth_mm(step, 0)


class LastCorrection(Rule):
    """The model for the measured sheet plus last time's correction, then the simple rule."""

    name = "simple rule, last correction kept"

    def __init__(self) -> None:
        self.kept_mm: dict[tuple[Product, int], float] = {}

    def first_mm(self, step: int) -> float:
        return super().first_mm(step) + self.kept_mm.get((self.day.product, step), 0.0)

    def end(self) -> None:
        for step in self.tries:
            good_mm = self.depth_mm(step, 0)
            self.kept_mm[(self.day.product, step)] = good_mm - super().first_mm(step)


class Learned(Rule):
    """The posterior of everything measured so far."""

    name = "learned rule"

    def __init__(self, world: World) -> None:
        self.world = world
        self.learned: dict[BendKey, LearnedBend] = {}

    def begin(self, day: Day) -> None:
        super().begin(day)
        self.trials: list[MeasuredBend] = []
        usual = setup_scatter(
            usual=self.world.believed,
            touch_off_on=day.touch_off_on,
            touch_off_checked=True,
            thickness_mm=day.product.thickness_mm,
            thickness_measured=True,
            standard=day.product.standard,
            sheet_width_mm=day.product.width_mm,
        )
        self.scatter = self.scattered(usual)
        self.known = self.multipliers()
        self.belief = believe_setup(known=self.known, scatter=self.scatter)

    def scattered(self, usual: SetupScatter) -> SetupScatter:
        """The scatter believed in on this set-up."""
        return usual

    def multipliers(self) -> Multipliers:
        return multipliers_known(
            learned=self.learned.values(),
            key=self.day.product.key,
            lot_code=self.day.lot_code,
            spreads=self.world.spreads,
        )

    def depth_mm(self, step: int, part: int) -> float:
        return self.belief.depth_mm(self.sheet, self.day.product.angles_deg[step], part)

    def band_deg(self, depth_mm: float, part: int) -> tuple[float, float]:
        return self.belief.interval_95_deg(self.sheet, depth_mm, part)

    def told(self, step: int, part: int, depth_mm: float, read_deg: float) -> None:
        self.trials.append(MeasuredBend(self.sheet, depth_mm, read_deg, part))
        self.belief = believe_setup(known=self.known, scatter=self.scatter, trials=self.trials)

    def end(self) -> None:
        evidence = setup_evidence(
            scatter=self.scatter,
            trials=judged(self.trials, self.belief),
            spreads=self.world.spreads,
        )
        if evidence_surprise(known=self.known, evidence=evidence) > 4.0:
            return  # somebody would look at the touch-off before learning from such a set-up
        key = self.day.product.key
        before = self.learned.get(key, LearnedBend(key))
        self.learned[key] = before.with_setup(self.day.lot_code, after=evidence)


class LearnedScatter(Learned):
    """The learned rule that also learns how well this shop touches off and how alike pieces are."""

    name = "learned rule, own scatter learned too"

    def __init__(self, world: World) -> None:
        super().__init__(world)
        self.first: list[Surprise] = []
        self.later: list[Surprise] = []

    def scattered(self, usual: SetupScatter) -> SetupScatter:
        return scatter_seen(usual=usual, first_readings=self.first, later_readings=self.later)

    def told(self, step: int, part: int, depth_mm: float, read_deg: float) -> None:
        trial = MeasuredBend(self.sheet, depth_mm, read_deg, part)
        if step == 0:
            (self.later if part else self.first).append(surprise_of(self.belief, trial))
        super().told(step, part, depth_mm, read_deg)


class Forgetful(Learned):
    """The learned rule without its history: each set-up begins with the book."""

    name = "learned on the set-up, then forgotten"

    def end(self) -> None:
        pass


@dataclass(frozen=True)
class Bent:
    """One bend as it came out."""

    rule: str
    product: Product
    shop: int
    setup: int
    repeat: int
    part: int
    step: int
    error_deg: float
    width_deg: float
    held: bool


def run(rule: Rule, days: Iterable[Day], world: World) -> list[Bent]:
    """A shop's months by one rule."""
    bent: list[Bent] = []
    repeats: dict[Product, int] = {}
    for day in days:
        rule.begin(day)
        repeat = repeats.get(day.product, 0)
        repeats[day.product] = repeat + 1
        for part in range(MOST_PARTS):
            right = True
            for step, wanted_deg in enumerate(day.product.angles_deg):
                depth_mm = _keyed(rule.depth_mm(step, part), day)
                band = rule.band_deg(depth_mm, part)
                angle_deg = day.bent_deg(depth_mm, part, wanted_deg)
                read_deg = day.reading_deg(angle_deg, part, step, world)
                low, high = band or (math.nan, math.nan)
                bent.append(
                    Bent(
                        rule.name,
                        day.product,
                        day.shop,
                        day.number,
                        repeat,
                        part,
                        step,
                        angle_deg - wanted_deg,
                        high - low,
                        low <= angle_deg <= high,
                    )
                )
                rule.told(step, part, depth_mm, read_deg)
                right = right and abs(read_deg - wanted_deg) <= TOLERANCE_DEG
            if right:
                break
        rule.end()
    return bent


def _keyed(depth_mm: float, day: Day) -> float:
    """A travel the control can show, rounded shallower."""
    return math.floor(depth_mm * 100) / 100


@dataclass(frozen=True)
class Row:
    """One line of the table. `first_bend` is the first stroke of a set-up: nothing known of it yet."""

    name: str
    bends: int
    first_bend_error_deg: float
    first_error_deg: float
    first_right_share: float
    repeat_error_deg: float
    repeat_right_share: float
    parts_to_right: float
    coverage: float
    first_coverage: float


def row_of(bent: Sequence[Bent]) -> Row:
    firsts = [one for one in bent if one.part == 0]
    repeats = [one for one in firsts if one.repeat > 0]
    setups = {(one.shop, one.setup): one.part + 1 for one in bent}
    return Row(
        bent[0].rule,
        len(bent),
        _mean(abs(one.error_deg) for one in repeats if one.step == 0),
        _mean(abs(one.error_deg) for one in firsts),
        _mean(abs(one.error_deg) <= TOLERANCE_DEG for one in firsts),
        _mean(abs(one.error_deg) for one in repeats),
        _mean(abs(one.error_deg) <= TOLERANCE_DEG for one in repeats),
        _mean(setups.values()),
        _mean(one.held for one in bent),
        _mean(one.held for one in firsts),
    )


def _mean(values: Iterable[float]) -> float:
    listed = list(values)
    return math.fsum(listed) / len(listed)


def every_rule(world: World) -> list[Callable[[], Rule]]:
    return [
        NoHistory,
        LastTravel,
        LastCorrection,
        lambda: Forgetful(world),
        lambda: Learned(world),
        lambda: LearnedScatter(world),
    ]
