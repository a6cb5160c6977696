"""Help when the ram will not move: the list in order, and what it was before."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from server.findings import Finding
from server.shop.decision_list import BEFORE, LOOKS, Look, next_look
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.stoppage import Stoppage


@dataclass(frozen=True, slots=True)
class LookLine:
    """One place to look: whether it was looked at, whether it is next, how often it was it."""

    look: Look
    number: int
    looked: bool
    next: bool
    was_it_count: int
    looked_then: str


@dataclass(frozen=True)
class HelpShow(Page):
    """The decision list."""

    template: ClassVar[str] = "stoppage/show.html"
    frame: Frame
    brake_code: str
    run_id: int | None
    back: str
    before: tuple[Finding, ...]
    lines: tuple[LookLine, ...]
    looked: str
    log: "tuple[Stoppage, ...]"


def help_show(
    *,
    frame: Frame,
    brake_code: str,
    run_id: int | None,
    looked_at: Collection[str],
    causes: Sequence[tuple[str, int]],
    log: "Sequence[Stoppage]",
) -> HelpShow:
    """The list with what was looked at ticked off."""
    following = next_look(looked_at)
    counts = dict(causes)
    looked = [look.code for look in LOOKS if look.code in looked_at]
    return HelpShow(
        frame=frame,
        brake_code=brake_code,
        run_id=run_id,
        back=f"{frame.brake}/run/{run_id}" if run_id else frame.brake,
        before=BEFORE,
        lines=tuple(
            LookLine(
                look,
                number,
                look.code in looked_at,
                look.code == following.code,
                counts.get(look.code, 0),
                ",".join([*looked, look.code]),
            )
            for number, look in enumerate(LOOKS, start=1)
        ),
        looked=",".join(looked),
        log=tuple(log),
    )
