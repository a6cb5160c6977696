"""Practice: the whole brake side on a copy of the shop, with a simulated brake."""

from fastapi import APIRouter, Request
from starlette.responses import JSONResponse, Response

from server.actions.practice import bend_in_practice, practice_day
from server.web.house import Visiting, house_of

router = APIRouter(prefix="/practice", include_in_schema=False)


@router.post("/begin")
def begin(visit: Visiting) -> Response:
    """Begin a practice on a copy of the data as they are now."""
    name = visit.house.practices.begin(visit.database)
    return visit.go_to(f"/practice/{name}/brake")


@router.post("/{practice}/end")
def end(request: Request, visit: Visiting, practice: str) -> Response:
    """End a practice; its copy is thrown away."""
    house_of(request).practices.end(practice)
    return visit.go_to("/brake")


@router.get("/{practice}/brake/run/{run_id}/simulated")
def simulated(visit: Visiting, practice: str, run_id: int) -> Response:
    """What the learner reads off the simulated sheet and control before the first bend."""
    del practice
    with visit.database.reading() as session:
        day = practice_day(session, run_id)
    read = {f"edge_{one}": edge for one, edge in enumerate(day.edges_mm, start=1)}
    lengths = {
        **read,
        "reading": day.touch_off.reading_mm,
        "tip": day.touch_off.tip_above_die_top_mm,
    }
    return JSONResponse({name: visit.show.typed(value) for name, value in lengths.items()})


@router.get("/{practice}/brake/run/{run_id}/simulated/{position}")
def simulated_bend(
    visit: Visiting, practice: str, run_id: int, position: int, piece: int = 1
) -> Response:
    """What the learner measures on a step bent as it is keyed now, and the truth behind it."""
    del practice
    with visit.database.reading() as session:
        bend = bend_in_practice(session, run_id, position, piece=piece)
    true_deg = visit.show.angle(bend.true.bend_angle_deg)
    return JSONResponse(
        {
            "angle": f"{bend.bend_angle_deg:.1f}",
            "flange": visit.show.typed(round(bend.gauged_leg_mm, 2)),
            "other_flange": visit.show.typed(round(bend.other_leg_mm, 2)),
            "told": f"The simulated brake bent it to {true_deg}; a protractor in the hand "
            f"scatters by about 0.3°.",
        }
    )
