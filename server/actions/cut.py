"""The cut list: first blanks of the jobs on their way, and re-cuts of what was scrapped."""

import re
from dataclasses import replace

from server.actions.history import keep
from server.errors import ShopError, say
from server.shop.recut import CutLine, JobCount, cut_list, recut_line
from server.storage.database import Session
from server.storage.queries.cut import CutPlace, list_cut_places
from server.storage.tables.column import utc_now
from server.storage.tables.order import Operation

RECUT = re.compile(r"re-cut of (\d+)")


def list_cuts(session: Session) -> tuple[CutLine, ...]:
    """Everything that has to be cut now, re-cuts first, equal blanks together."""
    lines = []
    for place in list_cut_places(session):
        first = _first_line(place)
        if not _is_cut(place):
            lines.append(first)
        again = recut_line(first, job=place.job.number, count=_counted(place))
        if again is not None:
            lines.append(again)
    return cut_list(lines)


def set_cut(session: Session, job_number: str, *, by: str) -> int:
    """Note that a job's blanks, or those of its re-cut, are cut.

    Returns: how many blanks that were.

    Raises: ShopError `nothing_to_cut`.
    """
    place = next(iter(list_cut_places(session, job_number=job_number)), None)
    if place is None:
        raise _nothing(job_number)
    now = utc_now()
    again = recut_line(_first_line(place), job=job_number, count=_counted(place))
    if _is_cut(place) and again is None:
        raise _nothing(job_number)
    if not _is_cut(place):
        step = next((one for one in place.cuts if not RECUT.fullmatch(one.words)), None)
        step = step or Operation(job_number=job_number, position=1, kind="cut")
        count = place.job.quantity_count
    else:
        count = again.quantity_count if again else 0
        step = Operation(
            job_number=job_number, position=len(place.cuts) + 100, kind="cut",
            words=f"re-cut of {count}",
        )  # fmt: skip
    step.state, step.done_at, step.done_by = "done", now, by
    session.add(step)
    keep(session, "cut", noun="job", key=job_number, by=by, after={"blanks_count": count})
    return count


def _first_line(place: CutPlace) -> CutLine:
    revision = place.revision
    return CutLine(
        part=revision.part_number,
        revision=revision.label,
        material=revision.material_code,
        thickness_mm=revision.thickness_mm,
        blank_mm=(revision.blank_length_mm, revision.blank_width_mm),
        quantity_count=place.job.quantity_count,
        jobs=(place.job.number,),
    )


def _is_cut(place: CutPlace) -> bool:
    """Cut when its step is ticked, or when it has been at the brake."""
    first = [one for one in place.cuts if not RECUT.fullmatch(one.words)]
    bent = place.job.good_count + place.job.scrap_count > 0 or place.job.state == "running"
    return bent or (bool(first) and all(one.state == "done" for one in first))


def _counted(place: CutPlace) -> JobCount:
    """How its parts stand; blanks that were cut and not yet judged are in work."""
    job = place.job
    again = sum(
        int(match[1])
        for one in place.cuts
        if one.state == "done" and (match := RECUT.fullmatch(one.words))
    )
    blanks = job.quantity_count + again if _is_cut(place) else 0
    judged = job.good_count + job.scrap_count
    count = JobCount(job.quantity_count, job.good_count, job.scrap_count)
    return replace(count, in_work_count=max(0, blanks - judged))


def _nothing(job_number: str) -> ShopError:
    return ShopError(
        "nothing_to_cut",
        say("There is nothing to cut for {job}.", job=job_number),
        remedy="Reload the cut list.",
    )
