"""Every stroke of a profile in every folded state: gauge contact, support, clearance.

All tests are two-dimensional and kept by what they depend on: the folded state of one half for
contact, support and tool clearance, of both halves for the part meeting itself.

Choices left open by the documents: at the start of a stroke the sheet lies on the die top, so the
flat sheet beside the bend line may touch the die's top and V and is not tested against the die.
Fingers stand still through the stroke; the leg whose free edge they touch may press on them (its
edge rolls out a few hundredths before it lifts), every other leg may not. A profile can always be
slid on and off along the bed with the punch where it is clear, so loading asks only that the sheet
clears the tools with the ram on top.
"""

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon

from server.errors import place, say
from server.findings import Finding
from server.geometry.clearance import (
    Array,
    Obstacles,
    Prism,
    Swing,
    overlap_depth,
    overlapping,
    seen_in_machine,
)
from server.geometry.outline import convex_parts
from server.geometry.profile import Profile
from server.mechanics.tooling import Die, Punch
from server.planning.gauging import (
    Contact,
    check_x,
    finger_outline,
    nearest_finger_x,
    no_contact,
    rounded_x,
)
from server.planning.making import Making, open_tip_height
from server.planning.part_block import looked_at
from server.planning.plan_task import PlanTask
from server.planning.profile_fan import Touch
from server.planning.profile_half import Half, Node
from server.planning.profile_many import NO_BOX, Box, ManyHalves
from server.planning.stroke import Stroke
from server.planning.stroke_tests import (
    FINGER,
    Ask,
    Offer,
    Stop,
    along_the_bed_only,
    kind_of_tool,
    lower_prisms,
    meeting_finding,
    no_length,
    opening_finding,
    support_finding,
    upper_prisms,
    with_loading,
)
from server.planning.taking_out import Piece, draws_forward
from server.planning.tool_staging import Station, Stock, run_needs, station_for

MaskFloats = Callable[[NDArray[np.int_]], NDArray[np.float64]]
MaskBools = Callable[[NDArray[np.int_]], NDArray[np.bool_]]

LAST = -1
NEAREST_ZONES = 4
FEW_SETS = 12
"""Fewer sets than this are quicker looked at one half after another."""
MOST_BITS = 62
"""Strokes whose sets fit a number of numpy's."""


class ProfileStrokes:
    """The strokes of a profile; see `StrokeTests`."""

    def __init__(self, task: PlanTask, making: Making) -> None:
        assert isinstance(making.sheet, Profile)
        self.task = task
        self.making = making
        self.width_mm = making.sheet.width_mm
        self.directions = tuple((0, 1) for _ in making.strokes)
        self.tests_made = 0
        finger = task.brake.finger
        window = (finger.low_mm, finger.high_mm)
        self._halves = [
            (Half(making, stroke, -1, window), Half(making, stroke, 1, window))
            for stroke in making.strokes
        ]
        self._obstacles: dict[tuple[object, ...], Obstacles] = {}
        self._contacts: dict[tuple[int, int, int], Contact | None] = {}
        self._fingers: dict[tuple[int, int, int], bool] = {}
        self._itself: dict[tuple[int, int], bool] = {}
        self._swings: dict[tuple[int, int, int, str], bool] = {}
        self._nearest: dict[str, float] = {}
        self.stations_of: dict[str, Station] = {}
        self._cleared: dict[tuple[int, int, int], tuple[tuple[Punch, ...], bool]] = {}
        self._many: ManyHalves | None = None

    def contact(self, done: int, stroke: int, rear: int) -> Contact | None:
        """The gauge contact when it is allowed and the sheet rests on both shoulders."""
        found = self._contact_of(stroke, rear, done)
        if found is None:
            return None
        front = self._sides(stroke, rear)[1]
        return found if self._rests(front.node(done), stroke) else None

    def possible(self, done: int, stroke: int, rear: int, punch: Punch) -> bool:
        """Whether nothing blocks the stroke; only asked where there is a contact."""
        one = self.making.strokes[stroke]
        behind, front = self._sides(stroke, rear)
        if one.still is not None:
            return all(
                one.still.swings[which] is None
                or self._clear(half, half.node(done), one, punch, front=which != rear)
                for which, half in enumerate(self._halves[stroke])
            )
        cleared, apart = self._cleared.get((stroke, rear, done), ((), False))
        return (
            (
                punch in cleared
                or (
                    self._clear(behind, behind.node(done), one, punch, front=False)
                    and self._clear(front, front.node(done), one, punch, front=True)
                )
            )
            and self._finger_clear(done, stroke, rear)
            and (apart or self._clear_of_itself(done, stroke))
        )

    def contacts(
        self, done: Sequence[int], stroke: int, rear: int, punches: Sequence[Punch]
    ) -> list[Offer | None]:
        """For each of many states the contact, and the punches that no half alone forbids.

        Many states have the same half: each is asked once.
        """
        one = self.making.strokes[stroke]
        behind, front = self._sides(stroke, rear)
        rear_states = [state & behind.mask for state in done]
        front_states = [state & front.mask for state in done]
        clear_front = {
            state: self._swings_with(state, one, 1 - rear, punches, front=True)
            for state in set(front_states)
        }
        offers: dict[int, Offer | None] = {}
        for state in set(rear_states):
            some = self._swings_with(state, one, rear, punches, front=False)
            contact = self._contact_of(stroke, rear, state) if some else None
            offers[state] = None if contact is None else (contact, some)
        found: list[Offer | None] = []
        for rear_state, front_state in zip(rear_states, front_states, strict=True):
            offer, clear = offers[rear_state], clear_front[front_state]
            if offer is None or not clear:
                found.append(None)
            elif offer[1] == clear:
                found.append(offer)
            else:
                both = tuple(punch for punch in offer[1] if punch in clear)
                found.append((offer[0], both) if both else None)
        return found

    def offers(
        self,
        sets: Sequence[int],
        asks: Sequence[Ask],
        punches: Sequence[Sequence[Punch]],
    ) -> list[list[Offer | None]]:
        """`contacts` for many strokes and sets at once."""
        strokes = len(self.making.strokes)
        if self._many is None:
            finger = self.task.brake.finger
            self._many = ManyHalves(
                self.making,
                self._halves,
                self._boxes,
                self._clear_alone,
                self._half_rests,
                Touch((finger.low_mm, finger.high_mm), self._x_between),
            )
        many = self._many
        apart = [ask.stroke not in many.strokes for ask in asks]
        if len(sets) < FEW_SETS or strokes > MOST_BITS:
            apart = [True] * len(asks)
        asked = (np.zeros((strokes, len(sets)), bool), np.zeros((strokes, len(sets)), bool))
        for ask, alone in zip(asks, apart, strict=True):
            if not alone:
                asked[ask.rear][ask.stroke, ask.places] = True
                self.tests_made += len(ask.places)
        possible = None if all(apart) else many.possible(sets, asked, punches)
        found: list[list[Offer | None]] = []
        for ask, alone in zip(asks, apart, strict=True):
            some = punches[ask.stroke]
            rests = [sets[place] & ~(1 << ask.stroke) for place in ask.places]
            if alone or possible is None:
                found.append(self.contacts(rests, ask.stroke, ask.rear, some))
                continue
            bits = possible[0][ask.rear][ask.stroke, ask.places].tolist()
            free = possible[1][ask.stroke, ask.places].tolist()
            chosen = {
                one: tuple(punch for at, punch in enumerate(some) if one >> at & 1)
                for one in set(bits)
            }
            offers: list[Offer | None] = [None] * len(rests)
            for at, one in enumerate(bits):
                contact = self._contact_of(ask.stroke, ask.rear, rests[at]) if one else None
                if contact is not None:
                    offers[at] = (contact, chosen[one])
                    self._cleared[ask.stroke, ask.rear, rests[at]] = (chosen[one], free[at])
            found.append(offers)
        return found

    def stations(self, done: int, stroke: int, rear: int, punch: Punch) -> tuple[int, ...]:
        """Every bend of a profile is as long as the part: one station."""
        del done, stroke, rear, punch
        return (0,)

    def contact_table(self, stroke: int, rear: int) -> tuple[MaskFloats, MaskBools]:
        """Contacts for all states at once: X by done-masks (nan for none), and whether on a flange.

        Strokes are numbered along the profile, so each half's strokes are neighbouring bits.
        """
        behind, front = self._sides(stroke, rear)
        finger_x = np.full((behind.mask >> behind.shift) + 1, np.nan)
        on_flange = np.zeros(len(finger_x), dtype=bool)
        for state in range(len(finger_x)):
            found = self._contact_of(stroke, rear, state << behind.shift)
            if found is not None:
                finger_x[state] = found.x_mm
                on_flange[state] = found.kind == "flange"
        rests = np.array(
            [
                self._rests(front.node(state << front.shift), stroke)
                for state in range((front.mask >> front.shift) + 1)
            ]
        )

        def x_mm(masks: NDArray[np.int_]) -> NDArray[np.float64]:
            x = finger_x[(masks & behind.mask) >> behind.shift]
            return np.where(rests[(masks & front.mask) >> front.shift], x, np.nan)

        def flange(masks: NDArray[np.int_]) -> NDArray[np.bool_]:
            seen: NDArray[np.bool_] = on_flange[(masks & behind.mask) >> behind.shift]
            return seen

        return x_mm, flange

    def always_blocked(
        self, stroke: int, other: int, punches: Sequence[Punch], rears: Sequence[int]
    ) -> bool:
        """Whether another stroke made before blocks a stroke, whatever else is made."""
        one, two = self.making.strokes[stroke], self.making.strokes[other]
        if one.still is not None or len(self.making.zone_states[two.zones[0]]) > 1:
            return False
        which = int(min(two.zones) > max(one.zones))
        half = self._halves[stroke][which]
        depth = half.depth_of(two.zones, which)
        between = [bit for bit in half.bits_up_to(depth - 1) if bit != 1 << other]
        if len(between) >= NEAREST_ZONES or half.mask & (1 << other) == 0:
            return False
        for folded in itertools.product((0, 1), repeat=len(between)):
            done = 1 << other
            done |= sum(bit for bit, made in zip(between, folded, strict=True) if made)
            node = half.inner_node(depth, done)
            if not (node.flat_ends and not self._rests(node, stroke)) and any(
                self._clear(half, node, one, punch, front=which != rear)
                for rear in rears
                for punch in punches
            ):
                return False
        return True

    def possible_stops(
        self, stroke: int, rear: int, before: int, later: int
    ) -> tuple[Stop, ...] | None:
        """Not told: where a profile's edge lies depends on all bends of its half."""
        del stroke, rear, before, later
        return None

    def findings(self, done: int, stroke: int, rear: int, punch: Punch) -> tuple[Finding, ...]:
        """Everything that blocks the stroke, each with what would free it."""
        one = self.making.strokes[stroke]
        behind, front = self._sides(stroke, rear)
        found: list[Finding] = [*one.stops(punch)]
        opening = opening_finding(self.task, one, punch)
        if opening is not None:
            found.append(opening)
        for half in (behind, front):
            node = half.node(done)
            if not self._rests(node, stroke):
                found.append(support_finding(one, node.flat_mm))
        finger = self.task.brake.finger
        contact = self._touching(one, behind, done)
        if contact is None:
            found.append(no_contact(one.bends[0], finger))
        else:
            found += check_x(
                x_mm=contact.x_mm,
                brake=self.task.brake,
                nearest_x_mm=self._nearest_x(one),
                bend=one.bends[0],
                die_name=one.die.name,
            )
        for half, is_front in ((behind, False), (front, True)):
            if one.still is None or one.still.swings[int(half.outward > 0)] is not None:
                found += self._meetings(half, half.node(done), one, punch, front=is_front)
        if one.still is not None:
            return tuple(found)
        if contact is not None and not self._finger_clear(done, stroke, rear):
            found += self._finger_meeting(done, one, behind, contact)
        if not self._clear_of_itself(done, stroke):
            found.append(self._self_meeting(done, one))
        return tuple(found)

    def station(self, tools: str, number: int) -> Station:
        """The one station of the set-up for a pair of tools."""
        del number
        return self.stations_of[tools]

    def stageable(self, punch: Punch, die: Die) -> tuple[Finding, ...]:
        """Choose the station for a pair of tools; the stop when their segments do not make it."""
        tools = f"{punch.name} / {die.name}"
        if tools in self.stations_of:
            return ()
        bed_mm = self.task.brake.bed_length_mm
        needs = run_needs([(0.0, self.width_mm)], [])
        assert needs is not None
        stocks = [Stock(segments, bed_mm) for segments in (punch.segments_mm, die.segments_mm)]
        made = station_for(needs, needs, stocks[0], stocks[1])
        if made is not None:
            self.stations_of[tools] = made
            return ()
        return tuple(
            no_length(self.making.strokes[0], name, needs[0], bed_mm)
            for name, stock in zip((punch.name, die.name), stocks, strict=True)
            if stock.best(needs[0].least_mm, needs[0].most_mm, self.width_mm) is None
        )

    def longest_reach(self, stroke: int, done: int) -> float:
        """Farthest sheet from the bend line on either side [mm]."""
        return max(
            float(np.hypot(pieces[..., 0], pieces[..., 1]).max())
            for half in self._halves[stroke]
            for pieces in (half.pieces(half.node(done)),)
        )

    def cautions(self, done: int, stroke: int, rear: int, punch: Punch) -> tuple[Finding, ...]:
        """The caution for a part that cannot be drawn forward under the open ram."""
        one = self.making.strokes[stroke]
        if one.depth_mm is None:
            return ()
        for sample in (0, LAST):
            pieces = [
                Piece(tuple(map(tuple, loop)), (0.0, self.width_mm), rests=False)
                for part in self.pieces_in_machine(done, stroke, rear, sample)
                for loop in part.tolist()
            ]
            if not draws_forward(
                pieces,
                punch=convex_parts(Polygon(punch.profile_mm)) if punch.profile_mm else (),
                low_mm=float(one.swing.tip_mm[sample]),
                high_mm=open_tip_height(self.task, punch, one.die),
            ):
                return (along_the_bed_only(one, loading=sample == 0),)
        return ()

    def pieces_in_machine(self, done: int, stroke: int, rear: int, sample: int) -> list[Array]:
        """The eroded pieces of both halves in the machine at one sample, rear half first."""
        one = self.making.strokes[stroke]
        behind, front = self._sides(stroke, rear)
        return [
            seen_in_machine(half.pieces(half.node(done)), one.swing, sample, front=is_front)
            for half, is_front in ((behind, False), (front, True))
        ]

    def _sides(self, stroke: int, rear: int) -> tuple[Half, Half]:
        first, second = self._halves[stroke]
        return (first, second) if rear == 0 else (second, first)

    def _rests(self, node: Node, stroke: int) -> bool:
        one = self.making.strokes[stroke]
        from_line_mm = 0.0 if one.still is None else one.still.from_line_mm
        return node.flat_mm + from_line_mm >= one.least_flat_mm - 1e-9

    def _contact_of(self, stroke: int, rear: int, done: int) -> Contact | None:
        behind = self._sides(stroke, rear)[0]
        key = (stroke, rear, done & behind.mask)
        if key not in self._contacts:
            self._contacts[key] = self._contact(stroke, behind, done)
        return self._contacts[key]

    def _contact(self, stroke: int, behind: Half, done: int) -> Contact | None:
        one = self.making.strokes[stroke]
        if not self._rests(behind.node(done), stroke):
            return None
        found = self._touching(one, behind, done)
        if found is None:
            return None
        axis = self.task.brake.x_axis
        inside = axis.least_mm <= found.x_mm <= axis.most_mm
        return found if inside and found.x_mm >= self._nearest_x(one) - 1e-9 else None

    def _touching(self, stroke: Stroke, behind: Half, done: int) -> Contact | None:
        """What the half behind the die touches the gauge with."""
        finger_mm = self.task.brake.finger.width_mm
        still = stroke.still
        if still is None:
            return behind.contact(done, self.width_mm, finger_mm)
        if int(behind.outward > 0) not in still.rears:
            return None
        if still.fold_x_mm is not None:
            at = (still.fold_x_mm, self.task.thickness_mm)
            fingers = (self.width_mm / 2,)
            return Contact("edge", still.fold_x_mm, behind.legs[0], at, fingers, self.width_mm)
        found = behind.contact(done, self.width_mm, finger_mm)
        if found is None:
            return None
        x_mm = rounded_x(found.x_mm + still.from_line_mm)
        return replace(found, x_mm=x_mm, at_mm=(x_mm, found.at_mm[1]))

    def _nearest_x(self, stroke: Stroke) -> float:
        name = stroke.die.name
        if name not in self._nearest:
            standing = [
                part
                for prism in lower_prisms(self.task, stroke.die)
                for part in convex_parts(Polygon(prism.outline_mm))
            ]
            self._nearest[name] = nearest_finger_x(self.task.brake.finger, standing)
        return self._nearest[name]

    def _tools(
        self, half: Half, stroke: Stroke, punch: Punch, *, front: bool
    ) -> tuple[Obstacles, Obstacles]:
        """Upper and lower tools as one half sees them, kept by what their motion depends on."""
        motion = (stroke.what, stroke.die.name, stroke.loaded_deg, stroke.loaded_radius_mm)
        own: Swing | None = None
        if stroke.still is not None:
            motion = (f"{stroke.what} {stroke.index} {half.outward}", stroke.die.name, 0.0, 0.0)
            own = stroke.still.swings[int(half.outward > 0)]
        above = (*motion, stroke.k_factor, front, punch.name)
        below = (*motion, stroke.k_factor, front)
        if above not in self._obstacles:
            self._obstacles[above] = Obstacles(
                upper_prisms(self.task, punch),
                with_loading(self.task, stroke, punch, own),
                front=front,
            )
        if below not in self._obstacles:
            self._obstacles[below] = Obstacles(
                lower_prisms(self.task, stroke.die), own or stroke.swing, front=front
            )
        return self._obstacles[above], self._obstacles[below]

    def _clear(self, half: Half, node: Node, stroke: Stroke, punch: Punch, *, front: bool) -> bool:
        """Whether the sheet up to a node clears the tools, from what is known inward of it."""
        key = (punch.name, front)
        chain: list[Node] = []
        at: Node | None = node
        while at is not None and key not in at.clear:
            chain.append(at)
            at = at.parent
        clear = at is None or at.clear[key]
        for one in reversed(chain):
            clear = clear and self._leg_clear(half, one, stroke, punch, front=front)
            one.clear[key] = clear
        return clear

    def _leg_clear(
        self, half: Half, node: Node, stroke: Stroke, punch: Punch, *, front: bool
    ) -> bool:
        """Whether what a node adds clears the tools."""
        self.tests_made += 1
        above, below = self._tools(half, stroke, punch, front=front)
        return not (above.may_meet(node.box) and above.hit_any(half.solid(node))) and (
            node.straight or not (below.may_meet(node.box) and below.hit_any(half.solid(node)))
        )

    def _clear_alone(
        self, half: Half, stroke: int, done: int, depth: int, punch: Punch, front: bool
    ) -> bool:
        one = self.making.strokes[stroke]
        return self._leg_clear(half, half.inner_node(depth, done), one, punch, front=front)

    def _half_rests(self, half: Half, stroke: int, done: int) -> bool:
        return self._rests(half.node(done), stroke)

    def _x_between(self, stroke: int) -> tuple[float, float]:
        axis = self.task.brake.x_axis
        nearest_mm = self._nearest_x(self.making.strokes[stroke])
        return max(axis.least_mm, nearest_mm), axis.most_mm

    def _boxes(self, half: Half, stroke: int, punch: Punch, front: bool) -> tuple[Box, Box]:
        tools = self._tools(half, self.making.strokes[stroke], punch, front=front)
        return tools[0].box_mm or NO_BOX, tools[1].box_mm or NO_BOX

    def _swings_with(
        self, done: int, stroke: Stroke, which: int, punches: Sequence[Punch], *, front: bool
    ) -> tuple[Punch, ...]:
        """The punches with which a half rests on its shoulder and clears the tools."""
        half = self._halves[stroke.index][which]
        if stroke.still is not None:
            return tuple(punches) if self._rests(half.node(done), stroke.index) else ()
        return tuple(
            punch for punch in punches if self._half_swings(done, stroke, half, punch, front=front)
        )

    def _half_swings(
        self, done: int, stroke: Stroke, half: Half, punch: Punch, *, front: bool
    ) -> bool:
        """The same of one punch; a half is grown no farther than its answer needs."""
        known = (stroke.index, (done & half.mask) << 1 | front, half.outward, punch.name)
        swings = self._swings.get(known)
        if swings is None:
            depth, swings = half.depth_known(done, (punch.name, front))
            while swings and depth < len(half.zones):
                depth += 1
                node = half.inner_node(depth, done)
                swings = (not node.flat_ends or self._rests(node, stroke.index)) and self._clear(
                    half, node, stroke, punch, front=front
                )
            if swings:
                swings = self._rests(half.node(done), stroke.index)
            self._swings[known] = swings
        return swings

    def _finger_clear(self, done: int, stroke: int, rear: int) -> bool:
        behind, _ = self._sides(stroke, rear)
        key = (stroke, rear, done & behind.mask)
        known = self._fingers.get(key)
        if known is None:
            contact = self.contact(done, stroke, rear)
            node = behind.node(done)
            known = contact is None or self._finger_hit(node, behind, stroke, contact) is None
            self._fingers[key] = known
        return known

    def _finger_hit(
        self, node: Node, behind: Half, stroke: int, contact: Contact
    ) -> tuple[Array, int, int] | None:
        """Pieces, piece and sample of the first meeting with the finger."""
        if node.straight:
            return None  # only the leg that touches the finger is there
        if not (node.farthest_mm > contact.x_mm or node.lowest_mm < 0.0):
            return None
        one = self.making.strokes[stroke]
        pieces = behind.pieces(node)
        if contact.kind == "edge":
            pieces = pieces[:-1]
        may_reach = (pieces[..., 0] > contact.x_mm).any() or (pieces[..., 1] < 0.0).any()
        if not may_reach:
            return None
        self.tests_made += 1
        finger = Prism(FINGER, finger_outline(self.task.brake.finger, contact.x_mm), moves=False)
        hit = Obstacles([finger], one.swing, front=False).first_hit(pieces)
        return None if hit is None else (pieces, hit.piece, hit.sample)

    def _clear_of_itself(self, done: int, stroke: int) -> bool:
        first, second = self._halves[stroke]
        key = (stroke, done & (first.mask | second.mask))
        known = self._itself.get(key)
        if known is None:
            near, far = first.node(done), second.node(done)
            apart = near.least_across_mm + far.least_across_mm >= 0.0
            known = apart or not len(self._self_pairs(done, stroke)[2])
            self._itself[key] = known
        return known

    def _self_pairs(self, done: int, stroke: int) -> tuple[Array, Array, Array]:
        one = self.making.strokes[stroke]
        first, second = self._halves[stroke]
        near, far = first.node(done), second.node(done)
        nothing = np.empty((0, 2))
        if near.straight and far.straight:
            return nothing, nothing, nothing
        swung = [
            seen_in_machine(half.pieces(node), one.swing, LAST, front=is_front)
            for half, node, is_front in ((first, near, False), (second, far, True))
        ]
        if swung[0][..., 0].min() >= swung[1][..., 0].max():
            return swung[0], swung[1], nothing
        self.tests_made += 1
        pairs = overlapping(swung[0], swung[1])
        return swung[0], swung[1], pairs[pairs.sum(axis=1) > 0].astype(np.float64)

    def _meetings(
        self, half: Half, node: Node, stroke: Stroke, punch: Punch, *, front: bool
    ) -> list[Finding]:
        """One finding for each tool the half meets, at the sample of the deepest meeting."""
        above, below = self._tools(half, stroke, punch, front=front)
        found: list[Finding] = []
        worst: dict[str, tuple[float, int, int]] = {}
        at: Node | None = node
        while at is not None:
            solid = half.solid(at)
            loops = [tuple(map(tuple, loop)) for loop in solid.tolist()]
            for tools in (above,) if at.straight else (above, below):
                samples: dict[str, set[int]] = {}
                for pair in tools.hits(solid)[1].tolist():
                    name = tools.names[pair % tools.parts]
                    samples.setdefault(name, set()).add(pair // tools.parts)
                for name, when in samples.items():
                    for sample in looked_at(sorted(when)):
                        depth_mm = overlap_depth(loops, tools.shape_of(name, sample))
                        depth_mm += half.skin_mm
                        if depth_mm > worst.get(name, (0.0, 0, 0))[0]:
                            worst[name] = (depth_mm, sample, at.leg)
            at = at.parent
        for name, (depth_mm, sample, leg) in worst.items():
            loading = sample >= len(stroke.swing.half_rad)
            angle = None if loading else math.degrees(2 * stroke.swing.half_rad[sample])
            found.append(
                meeting_finding(
                    stroke=stroke,
                    what=say("leg {at}", at=place(leg)),
                    meets=kind_of_tool(name, punch, stroke),
                    tool=name,
                    overlap_mm=depth_mm,
                    angle_deg=angle,
                )
            )
        return found

    def _finger_meeting(
        self, done: int, stroke: Stroke, behind: Half, contact: Contact
    ) -> list[Finding]:
        node = behind.node(done)
        hit = self._finger_hit(node, behind, stroke.index, contact)
        if hit is None:
            return []
        pieces, piece, sample = hit
        swung = seen_in_machine(pieces[piece], stroke.swing, sample, front=False)
        depth_mm = overlap_depth(
            [tuple(map(tuple, swung))],
            Polygon(finger_outline(self.task.brake.finger, contact.x_mm)),
        )
        return [
            meeting_finding(
                stroke=stroke,
                what=say("the rear half"),
                meets="finger",
                tool=FINGER,
                overlap_mm=depth_mm + behind.skin_mm,
                angle_deg=math.degrees(2 * stroke.swing.half_rad[sample]),
            )
        ]

    def _self_meeting(self, done: int, stroke: Stroke) -> Finding:
        near, far, pairs = self._self_pairs(done, stroke.index)
        one = pairs[0].astype(int)
        depth_mm = overlap_depth([tuple(map(tuple, near[one[0]]))], Polygon(far[one[1]]))
        return meeting_finding(
            stroke=stroke,
            what=say("the part"),
            meets="itself",
            tool="its other half",
            overlap_mm=depth_mm + 2 * self._halves[stroke.index][0].skin_mm,
            angle_deg=stroke.loaded_deg,
        )
