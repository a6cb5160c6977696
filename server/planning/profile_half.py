"""One half of a profile beside a bend line, as a tree of folded states.

In the half's frame the bend line is at x = 0, x runs outward, and the sheet lies from y = 0 to t.
What lies inward of a zone does not depend on what lies outward of it, so states share their inner
part: a node is the sheet up to one leg with the zones inward of it folded or not.

The fold of a closed hem counts as a free edge for the gauge.
"""

import math
from collections.abc import Sequence

import numpy as np

from server.geometry.clearance import Array, erosion_for
from server.geometry.outline import Point
from server.geometry.profile import Profile
from server.planning.bend_way import ZoneState
from server.planning.gauging import SAME_X_MM, UPRIGHT_DEG, Contact, farthest_in_window, rounded_x
from server.planning.making import Making
from server.planning.stroke import Stroke

CHORD_DEG = 15.0
CLOSED_HEM_DEG = 175.0
Box = tuple[float, float, float, float]
UPRIGHT_COS = math.sin(math.radians(UPRIGHT_DEG))


class Node:
    """The sheet up to one leg. Plain attributes: thousands of these are made.

    `box` encloses the node's own pieces (least x, least y, greatest x, greatest y). All pieces up to
    it are above `lowest_mm`, nearer than `farthest_mm`, and after the stroke beyond
    `least_across_mm` from the plane of the punch.
    """

    __slots__ = (
        "arc_from",
        "at_x",
        "at_y",
        "best",
        "box",
        "clear",
        "corners",
        "farthest_mm",
        "flange",
        "flat_ends",
        "flat_mm",
        "fold",
        "heading",
        "last",
        "least_across_mm",
        "leg",
        "lowest_mm",
        "parent",
        "solid",
        "state",
        "straight",
    )  # fmt: skip

    def __init__(self, parent: "Node | None", leg: int, *, last: bool) -> None:
        self.parent = parent
        self.leg = leg
        self.last = last
        self.at_x = self.at_y = self.heading = 0.0
        self.straight = True
        self.flat_ends = False
        self.flat_mm = 0.0
        self.best: Point | None = None
        self.flange: tuple[Point, int] | None = None
        self.fold: tuple[Point, int] | None = None
        if parent is not None:
            self.at_x, self.at_y, self.heading = parent.at_x, parent.at_y, parent.heading
            self.straight = parent.straight
            self.flat_ends, self.flat_mm = parent.flat_ends, parent.flat_mm
            self.best, self.flange, self.fold = parent.best, parent.flange, parent.fold
        self.state: ZoneState | None = None
        self.arc_from = (0.0, 0.0, 0.0)
        self.corners: tuple[Point, Point, Point, Point]
        self.box: Box
        self.least_across_mm = self.lowest_mm = math.inf
        self.farthest_mm = -math.inf
        self.solid: Array | None = None
        self.clear: dict[tuple[str, bool], bool] = {}


class Half:
    """All folded states of the half on one side of one stroke's bend line."""

    def __init__(
        self,
        making: Making,
        stroke: Stroke,
        outward: int,
        window_mm: tuple[float, float],
    ) -> None:
        sheet = making.sheet
        assert isinstance(sheet, Profile)
        self.making = making
        self.sheet = sheet
        self.sign = float(stroke.sign)
        self.window_mm = window_mm
        self.skin_mm = erosion_for(sheet.thickness_mm)
        own = min(stroke.zones) if outward < 0 else max(stroke.zones)
        self.own = own
        self.outward = outward
        last = -1 if outward < 0 else len(sheet.bends)
        self.zones = tuple(range(own + outward, last, outward))
        self.legs = tuple(
            own + 1 + number * outward if outward > 0 else own - number
            for number in range(len(self.zones) + 1)
        )
        phi = float(stroke.swing.half_rad[-1])
        self.cos, self.sin = math.cos(phi), math.sin(phi)
        rolled_mm = float(stroke.swing.rolled_mm[-1])
        self.across_mm = stroke.swing.pivot_mm * self.sin - rolled_mm * self.cos
        self.bits: list[int] = [0]
        for zone in self.zones:
            self.bits.append(self.bits[-1] | _bits_of(making, zone))
        self.mask = self.bits[-1]
        self.shift = (self.mask & -self.mask).bit_length() - 1 if self.mask else 0
        self._nodes: list[dict[int, Node]] = [{} for _ in self.legs]

    def node(self, done: int) -> Node:
        """The whole half with the given strokes done (bits of strokes)."""
        return self._node(len(self.zones), done & self.mask)

    def inner_node(self, depth: int, done: int) -> Node:
        """The half up to a number of zones outward, with the given strokes done."""
        return self._node(depth, done & self.bits[depth])

    def depth_known(self, done: int, key: tuple[str, bool]) -> tuple[int, bool]:
        """How far outward it is known whether the half clears some tools, and whether it does.

        -1 when nothing is known.
        """
        for depth in range(len(self.zones), -1, -1):
            node = self._nodes[depth].get(done & self.bits[depth])
            if node is not None and key in node.clear:
                return depth, node.clear[key]
        return -1, True

    def depth_of(self, zones: Sequence[int], outward: int) -> int:
        """How many zones outward the farthest of some zones of this half is."""
        farthest = max(zones) if outward else min(zones)
        return abs(farthest - self.own)

    def bits_up_to(self, depth: int) -> list[int]:
        """The strokes of the innermost zones, one bit each."""
        mask = self.bits[depth]
        return [1 << i for i in range(mask.bit_length()) if mask >> i & 1]

    def pieces(self, node: Node) -> Array:
        """All eroded pieces of the half, inner first."""
        parts = []
        at: Node | None = node
        while at is not None:
            parts.append(self.solid(at))
            at = at.parent
        return np.concatenate(parts[::-1])

    def contact(self, done: int, width_mm: float, finger_mm: float) -> Contact | None:
        """What the gauge touches when this half lies behind the die, None when nothing allowed."""
        node = self.node(done)
        if node.best is None or width_mm < finger_mm - 1e-9:
            return None
        x_mm = node.best[0]
        if width_mm >= 3 * finger_mm - 1e-9:
            fingers: tuple[float, ...] = (finger_mm / 2, width_mm - finger_mm / 2)
        else:
            fingers = (width_mm / 2,)
        if node.flange is not None and node.flange[0][0] >= x_mm - SAME_X_MM:
            at, leg = node.flange
            return Contact("flange", rounded_x(x_mm), leg, at, fingers, width_mm)
        end = farthest_in_window(node.corners[1:3], *self.window_mm)
        if end is not None and end[0] >= x_mm - SAME_X_MM:
            return Contact("edge", rounded_x(x_mm), node.leg, end, fingers, width_mm)
        if node.fold is not None and node.fold[0][0] >= x_mm - SAME_X_MM:
            at, leg = node.fold
            return Contact("edge", rounded_x(x_mm), leg, at, fingers, width_mm)
        return None

    def _node(self, depth: int, done: int) -> Node:
        """The node of a depth, grown from the deepest inner one that is known."""
        at = depth
        while at > 0 and done & self.bits[at] not in self._nodes[at]:
            at -= 1
        known = self._nodes[at].get(done & self.bits[at])
        if known is None:
            known = self._base()
            self._nodes[0][0] = known
        while at < depth:
            at += 1
            known = self._grown(known, at, done)
            self._nodes[at][done & self.bits[at]] = known
        return known

    def solid(self, node: Node) -> Array:
        """The eroded pieces a node adds: its arc first, its leg last."""
        if node.solid is None:
            skin_mm, t_mm = self.skin_mm, self.sheet.thickness_mm
            leg = self._leg(node, skin_mm)
            if node.state is None:
                node.solid = np.array([leg])
            else:
                lower = self._ring(node, node.state, skin_mm)
                upper = self._ring(node, node.state, t_mm - skin_mm)
                arc = [_quad(lower, upper, step) for step in range(len(lower) - 1)]
                node.solid = np.array([*arc, leg])
        return node.solid

    def _base(self) -> Node:
        node = Node(None, self.legs[0], last=not self.zones)
        node.at_x = self.sheet.bends[self.own].allowance_mm / 2
        self._go_straight(node, self.sheet.straights_mm[node.leg])
        self._enclose(node)
        return node

    def _enclose(self, node: Node) -> None:
        """Keep what the node's pieces lie within, a little too much, and all pieces up to it.

        No point of an arc is farther from its nearer end than 1.5 times its outside radius.
        """
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = node.corners
        cos, sin = self.cos, self.sin
        across_mm = min(
            ax * cos - ay * sin, bx * cos - by * sin, cx * cos - cy * sin, dx * cos - dy * sin
        )
        low_x, low_y = min(ax, bx, cx, dx), min(ay, by, cy, dy)
        high_x, high_y = max(ax, bx, cx, dx), max(ay, by, cy, dy)
        if node.state is not None:
            x, y, _ = node.arc_from
            t_mm = self.sheet.thickness_mm
            spare_mm = 1.5 * (node.state.inside_radius_mm + t_mm) + t_mm
            across_mm = min(across_mm, x * cos - y * sin) - spare_mm
            low_x, low_y = min(low_x, x) - spare_mm, min(low_y, y) - spare_mm
            high_x, high_y = max(high_x, x) + spare_mm, max(high_y, y) + spare_mm
        node.box = (low_x, low_y, high_x, high_y)
        across_mm += self.across_mm
        inner = node.parent
        if inner is not None:
            across_mm = min(across_mm, inner.least_across_mm)
            low_y, high_x = min(low_y, inner.lowest_mm), max(high_x, inner.farthest_mm)
        node.least_across_mm, node.lowest_mm, node.farthest_mm = across_mm, low_y, high_x

    def _grown(self, inner: Node, depth: int, done: int) -> Node:
        zone = self.zones[depth - 1]
        node = Node(inner, self.legs[depth], last=depth == len(self.zones))
        allowance_mm = self.sheet.bends[zone].allowance_mm
        straight_mm = self.sheet.straights_mm[node.leg]
        state = state_after(self.making, zone, done)
        if state is None:
            self._go_straight(node, allowance_mm + straight_mm)
            self._enclose(node)
            return node
        spare_mm = (allowance_mm - state.arc_mm) / 2
        if not node.flat_ends and zone not in self.making.mates[self.own]:
            node.flat_ends = True
            node.flat_mm += spare_mm
        node.straight = False
        node.state = state
        node.at_x += spare_mm * math.cos(node.heading)
        node.at_y += spare_mm * math.sin(node.heading)
        self._go_round(node, state)
        self._go_straight(node, spare_mm + straight_mm)
        self._enclose(node)
        return node

    def _go_round(self, node: Node, state: ZoneState) -> None:
        turn = math.radians(state.angle_deg) * self.sign
        node.arc_from = (node.at_x, node.at_y, node.heading)
        lower = self._centre_height(state)
        x, y = lower * math.sin(turn), lower * (1.0 - math.cos(turn))
        cos, sin = math.cos(node.heading), math.sin(node.heading)
        node.at_x, node.at_y = node.at_x + x * cos - y * sin, node.at_y + x * sin + y * cos
        if _passes_upright(node.heading, node.heading + turn):
            self._note_arc(node, state)
        node.heading += turn

    def _centre_height(self, state: ZoneState) -> float:
        return centre_height(state, self.sign, self.sheet.thickness_mm)

    def _ring(self, node: Node, state: ZoneState, w_mm: float) -> list[Point]:
        """Points along the node's arc at a height above the lower face."""
        turn = math.radians(state.angle_deg) * self.sign
        x0, y0, heading = node.arc_from
        centre_mm = self._centre_height(state)
        arm = w_mm - centre_mm
        cx, cy = x0 - centre_mm * math.sin(heading), y0 + centre_mm * math.cos(heading)
        count = max(2, math.ceil(abs(state.angle_deg) / CHORD_DEG))
        angles = [heading + turn * step / count for step in range(count + 1)]
        return [(cx - arm * math.sin(a), cy + arm * math.cos(a)) for a in angles]

    def _note_arc(self, node: Node, state: ZoneState) -> None:
        lower = self._ring(node, state, 0.0)
        upper = self._ring(node, state, self.sheet.thickness_mm)
        for step in range(len(lower) - 1):
            found = self._note(node, _quad(lower, upper, step))
            closed = abs(state.angle_deg) >= CLOSED_HEM_DEG
            if closed and found is not None and (node.fold is None or found > node.fold[0]):
                node.fold = (found, node.leg)

    def _go_straight(self, node: Node, length_mm: float) -> None:
        """Add the leg; its corners run from the inner end outward, lower face first."""
        length_mm = max(length_mm, 0.0)
        t_mm = self.sheet.thickness_mm
        cos, sin = math.cos(node.heading), math.sin(node.heading)
        x, y = node.at_x, node.at_y
        end_x, end_y = x + length_mm * cos, y + length_mm * sin
        up_x, up_y = -t_mm * sin, t_mm * cos
        node.corners = (
            (x, y),
            (end_x, end_y),
            (end_x + up_x, end_y + up_y),
            (x + up_x, y + up_y),
        )
        node.at_x, node.at_y = end_x, end_y
        if not node.flat_ends:
            node.flat_mm = end_x
        found = self._note(node, node.corners)
        if (
            found is not None
            and abs(cos) <= UPRIGHT_COS
            and (node.flange is None or found[0] > node.flange[0][0])
        ):
            node.flange = (found, node.leg)

    def _leg(self, node: Node, skin_mm: float) -> tuple[Point, ...]:
        """The node's leg with its skin taken off; only a free end loses length."""
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = node.corners
        share = skin_mm / self.sheet.thickness_mm
        length = math.hypot(bx - ax, by - ay)
        cut = min(skin_mm / length, 1.0) if node.last and length > 0.0 else 0.0
        up_x, up_y = (dx - ax) * share, (dy - ay) * share
        back_x, back_y = (bx - ax) * cut, (by - ay) * cut
        return (
            (ax + up_x, ay + up_y),
            (bx + up_x - back_x, by + up_y - back_y),
            (cx - up_x - back_x, cy - up_y - back_y),
            (dx - up_x, dy - up_y),
        )

    def _note(self, node: Node, corners: Sequence[Point]) -> Point | None:
        low_mm, high_mm = self.window_mm
        if all(y > high_mm for _, y in corners) or all(y < low_mm for _, y in corners):
            return None
        found = farthest_in_window(corners, low_mm, high_mm)
        if found is not None and (node.best is None or found[0] > node.best[0]):
            node.best = found
        return found


def _passes_upright(start_rad: float, end_rad: float) -> bool:
    """Whether a turn goes through straight up or straight down before its end."""
    low, high = min(start_rad, end_rad), max(start_rad, end_rad)
    first = math.ceil((low - math.pi / 2) / math.pi + 1e-9)
    return first * math.pi + math.pi / 2 < high - 1e-9


def state_after(making: Making, zone: int, done: int) -> ZoneState | None:
    """What a zone looks like after some strokes, None while it is flat."""
    state = None
    for stroke, after in making.zone_states[zone]:
        if done >> stroke & 1:
            state = after
    return state


def centre_height(state: ZoneState, sign: float, thickness_mm: float) -> float:
    """Height of an arc's centre above the sheet's lower face."""
    if state.angle_deg * sign > 0.0:
        return thickness_mm + state.inside_radius_mm
    return -state.inside_radius_mm


def _bits_of(making: Making, zone: int) -> int:
    return sum(1 << stroke for stroke, _ in making.zone_states[zone])


def _quad(lower: Sequence[Point], upper: Sequence[Point], step: int) -> tuple[Point, ...]:
    return (lower[step], lower[step + 1], upper[step + 1], upper[step])
