"""What a stroke may ask of the brake: bed length, force, load on a short stretch, off-centre load."""

from collections.abc import Iterator

from server.errors import Amount, say
from server.findings import Finding, Level, sorted_by_level
from server.mechanics.elementary import need_above, need_between
from server.mechanics.tooling import Brake

SHORT_TOOL_RATIO = 0.6
OFF_CENTRE_FROM_RATIO = 0.05
"""Full force only over 60 % of the distance between the frames; an offset counts from a twentieth
of the bed. Common practice, no source."""


def brake_line_load_limit(brake: Brake) -> float:
    """Most load for each metre the brake's ram and bed may carry [kn_per_m].

    The maker's figure, or the full force over 60 % of the distance between the frames (common
    practice, no source).
    """
    if brake.max_line_load_kn_per_m is not None:
        return brake.max_line_load_kn_per_m
    frames_mm = brake.frame_distance_mm or brake.bed_length_mm
    return brake.max_force_kn / (SHORT_TOOL_RATIO * frames_mm / 1000)


def check_brake_load(
    *,
    line_load_kn_per_m: float,
    bend_length_mm: float,
    brake: Brake,
    v_opening_mm: float | None = None,
    strongest_ratio: float = 1.0,
    off_centre_mm: float = 0.0,
    bend: int | None = None,
) -> tuple[Finding, ...]:
    """Whether a stroke stays inside what the brake can give and bear.

    Args:
        line_load_kn_per_m: load of the stroke [kn_per_m], above 0.
        bend_length_mm: length of the bend [mm], above 0.
        brake: the machine.
        v_opening_mm: V opening in use [mm], so that a wider one can be named; None without a V.
        strongest_ratio: strongest sheet the standard allows over the expected one [ratio].
        off_centre_mm: the bend's middle from the brake's [mm], either way.
        bend: index of the bend, for the findings.

    Returns: stops first, then cautions; empty when all is well.

    Raises: ShopError `out_of_range` outside the stated ranges.
    """
    need_above("line_load_kn_per_m", line_load_kn_per_m, 0.0, "kn_per_m")
    need_above("bend_length_mm", bend_length_mm, 0.0, "mm")
    need_between("off_centre_mm", off_centre_mm, -1e6, 1e6, "mm")
    force_kn = line_load_kn_per_m * bend_length_mm / 1000
    found = (
        *_bed_length(bend_length_mm, brake, bend),
        *_force(force_kn, brake, v_opening_mm, strongest_ratio, bend),
        *_concentrated_load(line_load_kn_per_m, brake, v_opening_mm, bend),
        *_off_centre(off_centre_mm, force_kn, brake, bend),
    )
    return sorted_by_level(found)


def could_exceed(name: str, limit: Amount, ratio: float, bend: int | None) -> Finding:
    """The caution for a limit that only the strongest sheet of the standard would exceed."""
    return Finding(
        "caution",
        "strong_sheet_could_exceed",
        say(
            "A sheet {ratio} times as strong, which its standard allows, would exceed {name} "
            "({limit}).",
            ratio=Amount(ratio, "ratio"),
            name=name,
            limit=limit,
        ),
        say("Look at the lot's certificate before bending."),
        source="the standard's highest tensile strength",
        bend=bend,
        tool=name,
    )


def _bed_length(bend_length_mm: float, brake: Brake, bend: int | None) -> Iterator[Finding]:
    if bend_length_mm > brake.bed_length_mm:
        yield Finding(
            "stop",
            "bend_longer_than_bed",
            say(
                "The bend is {length} long; the bed of {brake} is {bed}.",
                length=Amount(bend_length_mm, "mm"),
                brake=brake.name,
                bed=Amount(brake.bed_length_mm, "mm"),
            ),
            say("Make the part in two, or on a longer brake."),
            source="the machine's plate",
            bend=bend,
            amount=Amount(bend_length_mm - brake.bed_length_mm, "mm"),
        )


def _force(
    force_kn: float,
    brake: Brake,
    v_opening_mm: float | None,
    strongest_ratio: float,
    bend: int | None,
) -> Iterator[Finding]:
    if force_kn > brake.max_force_kn:
        frees = say("Use a stronger brake, or a shorter bend.")
        if v_opening_mm is not None:
            frees = say(
                "Use a V of at least {v}, or a shorter bend.",
                v=Amount(v_opening_mm * force_kn / brake.max_force_kn, "mm"),
            )
        yield Finding(
            "stop",
            "force_over_brake",
            say(
                "The bend needs {force}; {brake} gives {most}.",
                force=Amount(force_kn, "kn"),
                brake=brake.name,
                most=Amount(brake.max_force_kn, "kn"),
            ),
            frees,
            source="highest published force rule against the machine's plate",
            bend=bend,
            amount=Amount(force_kn - brake.max_force_kn, "kn"),
        )
    elif force_kn * strongest_ratio > brake.max_force_kn:
        yield could_exceed(brake.name, Amount(brake.max_force_kn, "kn"), strongest_ratio, bend)


def _concentrated_load(
    line_load_kn_per_m: float, brake: Brake, v_opening_mm: float | None, bend: int | None
) -> Iterator[Finding]:
    limit = brake_line_load_limit(brake)
    if line_load_kn_per_m > limit:
        yield Finding(
            "stop",
            "line_load_over_bed",
            say(
                "The bend puts {load} on a short stretch; the bed of {brake} may carry {limit}.",
                load=Amount(line_load_kn_per_m, "kn_per_m"),
                brake=brake.name,
                limit=Amount(limit, "kn_per_m"),
            ),
            say("Use a wider V.") if v_opening_mm is not None else say("Use a stronger brake."),
            source="the machine's manual"
            if brake.max_line_load_kn_per_m is not None
            else "full force only over 60 % of the frame distance (common practice, no source)",
            bend=bend,
            amount=Amount(line_load_kn_per_m - limit, "kn_per_m"),
        )


def _off_centre(
    off_centre_mm: float, force_kn: float, brake: Brake, bend: int | None
) -> Iterator[Finding]:
    if abs(off_centre_mm) < OFF_CENTRE_FROM_RATIO * brake.bed_length_mm:
        return
    allowed_kn = brake.off_centre_share * brake.max_force_kn
    level: Level = "stop" if force_kn > allowed_kn else "caution"
    yield Finding(
        level,
        "off_centre",
        say(
            "The bend's middle is {offset} off the brake's; off centre it may take {allowed}.",
            offset=Amount(abs(off_centre_mm), "mm"),
            allowed=Amount(allowed_kn, "kn"),
        ),
        say("Move the tools to the middle of the brake."),
        source="the machine's manual first; else half (common practice, no source)",
        bend=bend,
        amount=Amount(force_kn, "kn"),
    )
