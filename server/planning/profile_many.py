"""Many sets of strokes of a profile at once: which halves clear the tools, by boxes first.

A leg whose box, a little enlarged, lies apart from all a tool passes through clears it; of the few
others each is asked by itself and only once, as what it meets depends on nothing outward of it. The
answers are those of one half after another.
"""

from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np

from server.mechanics.tooling import Punch
from server.planning.making import Making
from server.planning.profile_fan import (
    ALMOST_MM,
    Bools,
    Fan,
    Floats,
    Ints,
    Places,
    Touch,
    folded_states,
)
from server.planning.profile_half import Half

Box = tuple[float, float, float, float]

AT_ONCE = 512
"""Sets whose places fit the processor's cache."""
NO_BOX: Box = (np.inf, np.inf, -np.inf, -np.inf)


ClearAlone = Callable[[Half, int, int, int, Punch, bool], bool]
"""Whether one leg of a half clears a punch and the die: half, stroke, done, depth, punch, front."""
Boxes = Callable[[Half, int, Punch, bool], tuple[Box, Box]]
"""All that the upper and the lower tools pass through, as a half sees them."""
Rests = Callable[[Half, int, int], bool]
"""Whether a half rests on its shoulder: half, stroke, done."""


class ManyHalves:
    """What many sets of strokes leave possible, for all strokes at once."""

    def __init__(
        self,
        making: Making,
        halves: Sequence[tuple[Half, Half]],
        boxes: Boxes,
        clear_alone: ClearAlone,
        rests: Rests,
        touch: Touch,
    ) -> None:
        self.making = making
        self.halves = halves
        self._boxes_of = boxes
        self._clear_alone = clear_alone
        self._rests = rests
        self._touch = touch
        self.strokes = frozenset(
            stroke.index
            for stroke in making.strokes
            if stroke.still is None
            and not any(making.mates[half.own] for half in halves[stroke.index])
        )
        self._fans: list[tuple[int, Fan]] = []
        for which, outward in enumerate((-1, 1)):
            for sign in (-1, 1):
                some = {
                    stroke.index: halves[stroke.index][which]
                    for stroke in making.strokes
                    if stroke.sign == sign and stroke.index in self.strokes
                }
                if some:
                    self._fans.append((which, Fan(making, some, outward)))
        self._boxes: dict[tuple[int, bool, tuple[str, ...]], tuple[Floats, Floats]] = {}
        self._known: dict[tuple[int, bool, str], list[dict[int, bool]]] = {}

    def possible(
        self,
        sets: Sequence[int],
        asked: tuple[Bools, Bools],
        punches: Sequence[Sequence[Punch]],
    ) -> tuple[tuple[Ints, Ints], Bools]:
        """For each half behind, the punches (bits) with which both halves rest and clear.

        One row for each stroke, a column for each set; only where `asked` holds. And where both halves
        stay apart for certain.
        """
        answers = tuple(np.zeros(ask.shape, dtype=np.int_) for ask in asked)
        apart = np.zeros(asked[0].shape, dtype=bool)
        for start in range(0, len(sets), AT_ONCE):
            some = slice(start, start + AT_ONCE)
            found, apart[:, some] = self._possible(
                sets[some], (asked[0][:, some], asked[1][:, some]), punches
            )
            answers[0][:, some], answers[1][:, some] = found
        return (answers[0], answers[1]), apart

    def _possible(
        self,
        sets: Sequence[int],
        asked: tuple[Bools, Bools],
        punches: Sequence[Sequence[Punch]],
    ) -> tuple[tuple[Ints, Ints], Bools]:
        done = np.array(sets, dtype=np.int_)
        folded = folded_states(self.making, done)
        found = [(which, fan, fan.places(folded)) for which, fan in self._fans]
        rests = np.ones_like(asked[0])
        for _, fan, places in found:
            rests[fan.strokes] &= self._rest(fan, places.flat_mm, sets)
        every = np.array([(1 << len(some)) - 1 for some in punches])[:, None]
        answers = tuple(np.where(ask & rests, every, 0) for ask in asked)
        for which, fan, places in found:
            open_sets = answers[which][fan.strokes]
            may = fan.may_touch(places, open_sets > 0, self._touch)
            answers[which][fan.strokes] = np.where(may, open_sets, 0)
        for front in (False, True):
            for number, (which, fan, places) in enumerate(found):
                answer = answers[1 - which if front else which]
                self._clear(number, fan, places, sets, answer, punches, front)
        return (answers[0], answers[1]), self._apart(found, (answers[0] | answers[1]) > 0)

    def _apart(self, found: Sequence[tuple[int, Fan, Places]], open_sets: Bools) -> Bools:
        """Where the halves stay apart after the stroke, as far as this tells."""
        across = np.zeros(open_sets.shape)
        for _, fan, places in found:
            numbers, columns = np.nonzero(open_sets[fan.strokes])
            if len(numbers):
                strokes = np.array(fan.strokes)[numbers]
                across[strokes, columns] += fan.across(places, numbers, columns)
        return across >= ALMOST_MM

    def _rest(self, fan: Fan, flat_mm: Floats, sets: Sequence[int]) -> Bools:
        strokes = self.making.strokes
        over_mm = flat_mm - np.array([strokes[one].least_flat_mm for one in fan.strokes])[:, None]
        rests: Bools = over_mm >= 0.0
        for row, column in np.argwhere(np.abs(over_mm) < ALMOST_MM).tolist():
            stroke = fan.strokes[row]
            rests[row, column] = self._rests(fan.halves[stroke], stroke, sets[column])
        return rests

    def _clear(
        self,
        number: int,
        fan: Fan,
        places: Places,
        sets: Sequence[int],
        answer: Ints,
        punches: Sequence[Sequence[Punch]],
        front: bool,
    ) -> None:
        """Take from the answer the punches that a fan's halves do not clear."""
        for at in range(max(len(punches[stroke]) for stroke in fan.strokes)):
            bit = 1 << at
            some = [answer[stroke] & bit > 0 for stroke in fan.strokes]
            for stroke, open_sets in zip(fan.strokes, some, strict=True):
                if open_sets.any() and not self._clear_alone(
                    fan.halves[stroke], stroke, 0, 0, punches[stroke][at], front
                ):
                    open_sets[:] = False
                    answer[stroke] &= ~bit
            which, sets_open = np.nonzero(np.array(some))
            rows, columns, _ = fan.legs_of(which, sets_open)
            above, below = self._row_boxes(number, fan, at, punches, front)
            near = places.near(rows, columns, above[rows]) | (
                places.near(rows, columns, below[rows]) & ~places.straight[rows, columns]
            )
            rows, columns = rows[near], columns[near]
            inner_first = np.argsort(rows, kind="stable")
            rows, columns = rows[inner_first], columns[inner_first]
            if len(rows):
                self._ask_each(number, fan, rows, columns, sets, answer, punches, at, front)

    def _ask_each(
        self,
        number: int,
        fan: Fan,
        rows: Ints,
        columns: Ints,
        sets: Sequence[int],
        answer: Ints,
        punches: Sequence[Sequence[Punch]],
        at: int,
        front: bool,
    ) -> None:
        """The legs that boxes do not tell apart, inner first; outward of a blocked one none."""
        bounds = [0, *(np.flatnonzero(np.diff(rows)) + 1).tolist(), len(rows)]
        keep = ~(1 << at)
        last, blocked = -1, set[int]()
        for first, stop in pairwise(bounds):
            row = int(rows[first])
            stroke, depth, mask = fan.row_stroke[row], fan.row_depth[row], fan.row_mask[row]
            if stroke != last:
                last, blocked = stroke, set()
            half, punch = fan.halves[stroke], punches[stroke][at]
            known = self._known_of(number, fan, front, punch)[row]
            for column in columns[first:stop].tolist():
                if column in blocked:
                    continue
                state = sets[column] & mask
                clear = known.get(state)
                if clear is None:
                    clear = self._clear_alone(half, stroke, state, depth, punch, front)
                    known[state] = clear
                if not clear:
                    blocked.add(column)
                    answer[stroke, column] &= keep

    def _known_of(self, number: int, fan: Fan, front: bool, punch: Punch) -> list[dict[int, bool]]:
        key = (number, front, punch.name)
        if key not in self._known:
            self._known[key] = [{} for _ in fan.row_stroke]
        return self._known[key]

    def _row_boxes(
        self, number: int, fan: Fan, at: int, punches: Sequence[Sequence[Punch]], front: bool
    ) -> tuple[Floats, Floats]:
        """The boxes of upper and lower tools for each row, nothing for a stroke without a punch."""
        names = tuple(
            punches[stroke][at].name if at < len(punches[stroke]) else "" for stroke in fan.strokes
        )
        key = (number, front, names)
        if key not in self._boxes:
            both = [
                self._boxes_of(fan.halves[stroke], stroke, punches[stroke][at], front)
                if name
                else (NO_BOX, NO_BOX)
                for stroke, name in zip(fan.strokes, names, strict=True)
            ]
            every = np.array(both)[fan.row_number]
            self._boxes[key] = (every[:, 0], every[:, 1])
        return self._boxes[key]
