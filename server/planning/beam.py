"""A good order quickly: the search's own steps, but only the most promising states of each layer.

Beam search (B. Lowerre, "The HARPY speech recognition system", thesis, 1976) finds an order or none;
it proves nothing. Its order is the bound above for the exact search.
"""

from server.planning.order import PlacedStroke, order_cost
from server.planning.search import Progress, Search, State, order_from


def beam(search: Search, width: int) -> tuple[tuple[PlacedStroke, ...], float] | None:
    """The best order found keeping `width` states for each number of strokes, None if it got stuck."""
    strokes = search.tests.making.strokes
    if not strokes:
        return (), 0.0
    full = (1 << len(strokes)) - 1
    layer: list[State | None] = [None]
    for _ in strokes:
        found: list[tuple[float, int, State]] = []
        for after in layer:
            done = full if after is None else after.done
            for state in search.states_before(done, after):
                estimate_s = search.estimate_s(state)
                if estimate_s < search.better_than_s:
                    found.append((estimate_s, len(found), state))
        found.sort(key=lambda one: one[:2])
        kept: list[State | None] = []
        for _, _, state in found:
            if len(kept) >= width:
                break
            search.states += 1
            if search.dominated(state) or not search.allowed(state):
                continue
            for there in search.at_stations(state):
                search.keep(there)
                kept.append(there)
        if not kept or not search.keep_going(
            Progress(search.states, search.tests.tests_made, 0.0, None)
        ):
            return None
        layer = kept
    last = layer[0]
    assert last is not None
    order = order_from(min((one for one in layer if one), key=lambda one: one.seconds))
    return order, order_cost(order, search.costs).seconds
