"""Pictures of a released revision, whatever its kind: a section, a folded part, its blank."""

import json
from collections.abc import Mapping
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from server.actions.work_out import section_of_faces
from server.actions.work_out_flat import part_of_faces
from server.drawings.folded import draw_folded
from server.drawings.section import draw_section
from server.geometry.part import FlatPart

if TYPE_CHECKING:
    from server.storage.tables.part import Revision

KEPT_PICTURES = 600


def draw_revision(revision: "Revision", *, title: str) -> str:
    """The small picture of a revision: a profile's section, any other part folded."""
    section = section_of_faces(revision.faces)
    if section is not None:
        return draw_section(section, title=title)
    return _folded(json.dumps(revision.faces), title)


def flat_part_of_revision(revision: "Revision") -> FlatPart:
    """The checked part of a revision; worked out once, as a revision never changes."""
    return _part(json.dumps(revision.faces))


@lru_cache(maxsize=KEPT_PICTURES)
def _folded(faces: str, title: str) -> str:
    return draw_folded(_part(faces), title=title)


@lru_cache(maxsize=KEPT_PICTURES)
def _part(faces: str) -> FlatPart:
    plain: Mapping[str, Any] = json.loads(faces)
    return part_of_faces(plain)
