"""Who gets the first part right: `python -m tests.bench.bench_learning [shops] [first seed]`.

Simulated shops run for months by each rule of correction on the same blanks, with the same readings.
Not part of pass or fail here; `tests/properties/test_learning.py` holds the same numbers to limits.
The second table is for shops that are not what the rule believes they are.
"""

import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace

from server.mechanics.air_bend import bending
from server.mechanics.learned_family import LearnedBend, Spread, Spreads, multipliers_known
from server.mechanics.setup_belief import believe_setup, setup_evidence
from server.mechanics.setup_fit import MeasuredBend, SetupScatter
from tests.properties.simulated_shop import (
    PRODUCTS,
    Bent,
    Day,
    Learned,
    LearnedScatter,
    Row,
    Rule,
    World,
    days_of,
    every_rule,
    row_of,
    run,
)

SHOPS, FIRST_SEED, ROUNDS = 44, 5000, 6
FEW_SHOPS = 12
HALF = Spreads(Spread(0.05, 0.10), Spread(0.0425, 0.085), Spread(0.03, 0.06), Spread(0.02, 0.04))

UNLIKE = {
    "as believed": World(),
    "touch-off 0.03 mm, believed 0.10": World(touch_off_sd_mm=0.03),
    "touch-off 0.20 mm, believed 0.10": World(touch_off_sd_mm=0.20),
    "touch-off 0.03 mm, and so believed": World(
        touch_off_sd_mm=0.03, believed=SetupScatter(touch_off_sd_mm=0.03)
    ),
    "protractor 0.15 deg, believed 0.30": World(protractor_sd_deg=0.15),
    "pieces scatter twice as much": World(piece_times=2.0),
    "materials nearer the book than believed": World(true_spreads=HALF),
    "bowed flanks, 5 % of the travel": World(flank_bow=0.05),
    "2 % of readings typed wrong": World(typing_error_share=0.02),
    "5 % of touch-offs four times as wild": World(wild_touch_off_share=0.05),
}


def months(make: Callable[[], Rule], world: World, seeds: range) -> list[Bent]:
    bent: list[Bent] = []
    for seed in seeds:
        bent += run(make(), days_of(seed=seed, rounds=ROUNDS, world=world), world)
    return bent


def line(name: str, row: Row, *, stated: bool) -> str:
    held = (
        f"{100 * row.coverage:8.1f} {100 * row.first_coverage:8.1f}"
        if stated
        else f"{'-':>8} {'-':>8}"
    )
    return (
        f"{name:42} {row.bends:6d} {row.first_bend_error_deg:8.2f} {row.first_error_deg:8.2f} "
        f"{100 * row.first_right_share:7.1f} {row.repeat_error_deg:8.2f} "
        f"{100 * row.repeat_right_share:7.1f} {row.parts_to_right:7.2f} {held}"
    )


HEAD = (
    f"{'':42} {'':>6} {'stroke 1':>8} {'part 1':>8} {'right':>7} {'repeats':>8} {'right':>7} "
    f"{'parts':>7} {'in band':>8} {'part 1':>8}\n"
    f"{'rule':42} {'bends':>6} {'deg':>8} {'deg':>8} {'%':>7} {'deg':>8} {'%':>7} "
    f"{'needed':>7} {'%':>8} {'%':>8}"
)


def table(shops: int, first_seed: int) -> None:
    seeds = range(first_seed, first_seed + shops)
    print(
        f"{shops} shops from seed {first_seed}, {len(PRODUCTS)} products, {ROUNDS} set-ups of each"
    )
    print(
        "thickness EN 10131, EN 10051, EN 10259, EN 485-4; right: within 1 deg; deg: mean |error|"
    )
    print(HEAD)
    for make in every_rule(World()):
        bent = months(make, World(), seeds)
        row = row_of(bent)
        print(line(row.name, row, stated=isinstance(make(), Learned)), flush=True)


def unlike(first_seed: int) -> None:
    seeds = range(first_seed, first_seed + FEW_SHOPS)
    print(f"\n{FEW_SHOPS} shops that are not as believed; second line: own scatter learned too")
    print(HEAD)
    for name, world in UNLIKE.items():
        row = row_of(months(lambda world=world: Learned(world), world, seeds))  # type: ignore[misc]
        print(line(name, row, stated=True), flush=True)
        row = row_of(months(lambda world=world: LearnedScatter(world), world, seeds))  # type: ignore[misc]
        print(line("", row, stated=True), flush=True)


def shrinking(days: list[Day]) -> None:
    """The band before the first stroke, by how often a product was set up before."""
    bent = run(Learned(World()), days, World())
    print("\none shop's band before the first stroke, deg, by repeat:", end=" ")
    for repeat in range(ROUNDS):
        widths = [
            one.width_deg for one in bent if one.repeat == repeat and (one.part, one.step) == (0, 0)
        ]
        print(f"{statistics.mean(widths):.2f}", end="  ")
    print()


def speed() -> None:
    """How long one answer takes with thousands of trials behind it."""
    product = PRODUCTS[3]
    sheet = bending(thickness_mm=2.0, material=product.book, die=product.die, punch=product.punch)
    scatter = SetupScatter(piece_thickness_sd_mm=0.01)
    trials = [MeasuredBend(sheet, 6.0 + 0.03 * step, 87.0 + 0.4 * step, step) for step in range(5)]
    evidence = setup_evidence(scatter=scatter, trials=trials)
    learned = []
    for number in range(60):
        key = replace(product.key, thickness_mm=1.0 + 0.1 * number)
        learned.append(LearnedBend(key, {f"L{lot}": evidence for lot in range(20)}))
    count = sum(one.trials_count for one in learned)
    known = multipliers_known(learned=learned, key=learned[3].key, lot_code="new")
    print(f"\nbehind it: {count} trials in {len(learned)} sums; of 40 calls, in microseconds")
    many = [replace(trial, piece=number) for number, trial in enumerate(trials * 20)]
    for name, work in (
        ("history of one lot", lambda: multipliers_known(
            learned=learned, key=learned[3].key, lot_code="new")),
        ("belief after 5 trials", lambda: believe_setup(
            known=known, scatter=scatter, trials=trials)),
        ("belief after 100 trials", lambda: believe_setup(
            known=known, scatter=scatter, trials=many)),
        ("evidence of 5 trials", lambda: setup_evidence(scatter=scatter, trials=trials)),
    ):  # fmt: skip
        times = []
        for _ in range(40):
            begin = time.perf_counter()
            work()
            times.append(1e6 * (time.perf_counter() - begin))
        ordered = sorted(times)
        print(f"{name:28} median {ordered[20]:9.0f}   p90 {ordered[36]:9.0f}")


def main() -> None:
    shops = int(sys.argv[1]) if len(sys.argv) > 1 else SHOPS
    first_seed = int(sys.argv[2]) if len(sys.argv) > 2 else FIRST_SEED
    table(shops, first_seed)
    unlike(first_seed)
    shrinking(days_of(seed=first_seed, rounds=ROUNDS, world=World()))
    speed()


if __name__ == "__main__":
    main()
