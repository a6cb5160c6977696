"""A step's two pictures as plain values and back: what a drawing needs, and no more."""

from collections.abc import Mapping, Sequence
from typing import Any

from server.geometry.outline import Loop
from server.planning.step_picture import StepPicture

DIGITS = 3


def plain_scene(before: StepPicture, after: StepPicture) -> dict[str, Any]:
    """Both moments of a step; what does not move is kept once."""
    return {
        "die_mm": plain_loop(after.die_mm),
        "bed_mm": plain_loop(after.bed_mm),
        "finger_mm": plain_loop(after.finger_mm),
        "before": _plain_moment(before),
        "after": _plain_moment(after),
    }


def scene_of(plain: Mapping[str, Any]) -> tuple[StepPicture, StepPicture]:
    """The pictures that `plain_scene` wrote."""
    return _moment(plain, plain["before"]), _moment(plain, plain["after"])


def plain_picture(picture: StepPicture) -> dict[str, Any]:
    """One moment by itself, with what does not move."""
    return {
        "die_mm": plain_loop(picture.die_mm),
        "bed_mm": plain_loop(picture.bed_mm),
        "finger_mm": plain_loop(picture.finger_mm),
        **_plain_moment(picture),
    }


def picture_of(plain: Mapping[str, Any]) -> StepPicture:
    """The picture that `plain_picture` wrote."""
    return _moment(plain, plain)


def plain_loop(loop: Sequence[tuple[float, float]]) -> list[list[float]]:
    """An outline as plain values."""
    return [[round(x, DIGITS), round(y, DIGITS)] for x, y in loop]


def loop_of(plain: Sequence[Sequence[float]]) -> Loop:
    """The outline that `plain_loop` wrote."""
    return tuple((float(x), float(y)) for x, y in plain)


def _plain_moment(picture: StepPicture) -> dict[str, Any]:
    return {
        "half_angle_deg": round(picture.half_angle_deg, 4),
        "sheet_mm": [plain_loop(loop) for loop in picture.sheet_mm],
        "silhouette_mm": []
        if picture.silhouette_mm == picture.sheet_mm
        else [plain_loop(loop) for loop in picture.silhouette_mm],
        "punch_mm": plain_loop(picture.punch_mm),
        "holder_mm": plain_loop(picture.holder_mm),
        "contact_mm": None if picture.contact_mm is None else plain_loop((picture.contact_mm,))[0],
        "tip_y_mm": round(picture.tip_y_mm, DIGITS),
    }


def _moment(plain: Mapping[str, Any], moment: Mapping[str, Any]) -> StepPicture:
    sheet = tuple(loop_of(loop) for loop in moment["sheet_mm"])
    contact = moment["contact_mm"]
    return StepPicture(
        half_angle_deg=float(moment["half_angle_deg"]),
        sheet_mm=sheet,
        silhouette_mm=tuple(loop_of(loop) for loop in moment["silhouette_mm"]) or sheet,
        punch_mm=loop_of(moment["punch_mm"]),
        holder_mm=loop_of(moment["holder_mm"]),
        die_mm=loop_of(plain["die_mm"]),
        bed_mm=loop_of(plain["bed_mm"]),
        finger_mm=loop_of(plain["finger_mm"]),
        contact_mm=None if contact is None else (float(contact[0]), float(contact[1])),
        tip_y_mm=float(moment["tip_y_mm"]),
    )
