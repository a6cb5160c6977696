"""The plan's bars: closed hours take no room, and what is told is told by word and shape."""

import xml.etree.ElementTree as ET
from datetime import datetime, timedelta

from server.drawings.gantt import GAP_PX, Axis, GanttBar, GanttRow, draw_gantt

MONDAY = datetime.fromisoformat("2026-03-02T07:00")
SHIFT = timedelta(hours=9)
SPANS = ((MONDAY, MONDAY + SHIFT), (MONDAY + timedelta(days=1), MONDAY + timedelta(days=1) + SHIFT))
AXIS = Axis(SPANS, 40.0)


def test_a_night_takes_no_more_than_a_gap() -> None:
    evening, morning = SPANS[0][1], SPANS[1][0]
    assert AXIS.x(evening) == 9 * 40
    assert AXIS.x(morning) == 9 * 40 + GAP_PX
    assert AXIS.x(evening + timedelta(hours=3)) == AXIS.x(morning)
    assert AXIS.width == 18 * 40 + GAP_PX


def test_equal_work_is_equally_wide_on_any_day() -> None:
    hour = timedelta(hours=1)
    widths = {round(AXIS.x(start + 2 * hour) - AXIS.x(start + hour), 6) for start, _ in SPANS}
    assert widths == {40.0}


def test_late_pinned_and_running_are_told_in_words_and_hostile_names_stay_words() -> None:
    bar = GanttBar(
        job_number='J-1"><script>',
        position=1,
        row=0,
        title="<b>J-1</b>",
        under="P-1",
        words="Bend J-1 & more, 2 h late",
        changeover_min=12,
        start=MONDAY + timedelta(hours=1),
        finish=MONDAY + timedelta(hours=8),
        late="2 h late",
        pinned=True,
    )
    svg = draw_gantt(AXIS, [GanttRow("B1", "Brake")], [bar], now=MONDAY, name="Plan")
    root = ET.fromstring(svg)
    group = next(one for one in root.iter() if one.get("class", "").startswith("bar"))
    assert group.get("data-job") == bar.job_number
    assert group[0].get("aria-label") == bar.words
    assert {"late", "pinned"} < set(group.get("class", "").split())
    assert "■ 2 h late" in "".join(root.itertext())
    assert "style=" not in svg
