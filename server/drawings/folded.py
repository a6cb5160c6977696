"""A folded part in space as a small picture that does not move."""

from server.drawings.fold import base_face
from server.drawings.solid_view import bounds, looking, paint, plates_of, turned
from server.drawings.svg import Sheet
from server.geometry.part import FlatPart

FROM_DEG = (-34.0, -56.0)
LINE_SHARE = 0.007
MARGIN_SHARE = 0.02


def draw_folded(part: FlatPart, *, title: str, role: str = "folded") -> str:
    """The finished part, its base level, seen from the front, right and above."""
    angles = {index: bend.bend_angle_deg for index, bend in enumerate(part.bends)}
    seen = looking(yaw_deg=FROM_DEG[0], pitch_deg=FROM_DEG[1])
    plates = turned(plates_of(part, angles, root=base_face(part)), seen)
    around = bounds(plates)
    sheet = Sheet.around(around)
    size = max(sheet.width, sheet.height)
    sheet = Sheet.around(around, margin=size * MARGIN_SHARE)
    paint(sheet, plates, size * LINE_SHARE)
    return sheet.svg(title=title, role=role)
