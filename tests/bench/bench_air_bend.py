"""How fast one air bend is, alone and by the hundred thousand: `python -m tests.bench.bench_air_bend`.

Not part of pass or fail. Times depend on the machine, so each is also given as a ratio against a
pure Python baseline measured in the same run: a loop that only evaluates the depth formula.
"""

import math
import statistics
import time
from collections.abc import Callable

import numpy as np

from server.actions.calc.front import calculate
from server.mechanics.air_bend import air_bend, bending, depth_for_angle, depths_for_angles
from server.mechanics.bend_limits import BendCase, check_bend
from server.mechanics.learned_bend import Trial, believe
from server.mechanics.material import Material
from server.mechanics.tooling import Die, Punch

MANY = 100_000
ROUNDS = 7

STEEL = Material(youngs_modulus_mpa=210_000.0, yield_strength_mpa=280.0, tensile_strength_mpa=400.0)
DIE = Die("V16", 16.0, 85.0, 1.5)
PUNCH = Punch("P", 1.0, 85.0)
SHEET = bending(thickness_mm=2.0, material=STEEL, die=DIE, punch=PUNCH)
BODY = {
    "thickness_mm": 2,
    "bend_length_mm": 1000,
    "bend_angle_deg": 90,
    "material": {
        "youngs_modulus_mpa": 210000,
        "yield_strength_mpa": 280,
        "tensile_strength_mpa": 400,
    },
    "die": {"v_opening_mm": 16, "angle_deg": 85, "shoulder_radius_mm": 1.5},
    "punch": {"tip_radius_mm": 1, "angle_deg": 85},
}


def whole_bend() -> object:
    return air_bend(
        thickness_mm=2.0,
        bend_length_mm=1000.0,
        bend_angle_deg=90.0,
        material=STEEL,
        die=DIE,
        punch=PUNCH,
    )


BEND = air_bend(
    thickness_mm=2.0,
    bend_length_mm=1000.0,
    bend_angle_deg=90.0,
    material=STEEL,
    die=DIE,
    punch=PUNCH,
)
CASE = BendCase(BEND, 2.0, 1000.0, STEEL, DIE, PUNCH)
TRIALS = [Trial(6.2 + 0.02 * step, 88.5 + 0.25 * step) for step in range(5)]


def baseline() -> float:
    """The depth formula alone, written out, with no checks and no springback."""
    half = math.radians(91.7) / 2
    return 8.665 * math.tan(half) - 6.06 * (1.0 / math.cos(half) - 1.0)


def seconds_each(work: Callable[[], object], calls: int) -> float:
    """Median over rounds of the time of one call, after a warm-up."""
    for _ in range(max(10, calls // 10)):
        work()
    rounds = []
    for _ in range(ROUNDS):
        begin = time.perf_counter()
        for _ in range(calls):
            work()
        rounds.append((time.perf_counter() - begin) / calls)
    return statistics.median(rounds)


def main() -> None:
    plain = seconds_each(baseline, 20_000)
    print(f"{'what':44} {'time':>12} {'x baseline':>11}")

    def line(name: str, seconds: float, unit: str = "us") -> None:
        shown = f"{seconds * 1e6:9.2f} us" if unit == "us" else f"{seconds:10.4f} s"
        print(f"{name:44} {shown:>12} {seconds / plain:11.1f}")

    line("baseline: depth formula alone, pure Python", plain)
    line(
        "depth for an angle, springback solved",
        seconds_each(lambda: depth_for_angle(SHEET, 90.0), 5_000),
    )
    line("one whole air bend", seconds_each(whole_bend, 5_000))
    line("its limits checked", seconds_each(lambda: check_bend(CASE), 5_000))
    line("believe: 5 trials", seconds_each(lambda: believe(sheet=SHEET, trials=TRIALS), 50))
    line("the same through the contract", seconds_each(lambda: calculate("airbend", BODY), 2_000))
    angles = np.linspace(1.0, 93.0, MANY)
    many = seconds_each(lambda: depths_for_angles(SHEET, angles), 3)
    line(f"{MANY} depths at once, springback solved", many, "s")
    one = seconds_each(lambda: depth_for_angle(SHEET, 90.0), 5_000)
    print(f"at once is {one * MANY / many:.0f} times as fast as one by one")


if __name__ == "__main__":
    main()
