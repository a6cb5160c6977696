"""Alternatives: different, possible, never cheaper than the proven best."""

from server.planning.alternative import alternatives
from server.planning.planner import plan
from tests.unit.planning.shop import profile_task

HAT = profile_task([30.0, 40.0, 60.0, 40.0, 30.0], [-90.0, 90.0, 90.0, -90.0])


def test_alternatives_differ_from_the_best_and_from_each_other() -> None:
    best = plan(HAT)
    found = alternatives(HAT, best)
    assert best.sequence is not None
    assert 1 <= len(found) <= 3
    shapes = {
        tuple((step.bends, step.rear) for step in made.steps)
        for made in (best.sequence, *(one.sequence for one in found))
    }
    assert len(shapes) == len(found) + 1


def test_alternatives_come_cheapest_first_and_none_beats_the_proven_best() -> None:
    best = plan(HAT)
    assert best.sequence is not None
    assert best.proven
    seconds = [one.sequence.cost.seconds for one in alternatives(HAT, best)]
    assert seconds == sorted(seconds)
    assert all(one >= best.sequence.cost.seconds - 1e-9 for one in seconds)


def test_every_alternative_says_what_was_asked_of_it() -> None:
    assert all(str(one.asked).startswith("Bend ") for one in alternatives(HAT, plan(HAT)))


def test_a_single_bend_has_its_other_half_as_alternative() -> None:
    task = profile_task([40.0, 60.0], [90.0])
    (other,) = alternatives(task, plan(task))
    assert other.sequence.steps[0].rear == "second"


def test_a_blocked_part_has_none() -> None:
    task = profile_task([10.0, 60.0], [90.0])
    assert alternatives(task, plan(task)) == ()
