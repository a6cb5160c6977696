"""What planning came to as plain values and back: dead ends, what would free them, other ways."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from server.errors import Sentence
from server.planning.alternative import Alternative
from server.planning.blocked_picture import BlockedPicture
from server.planning.dead_end import DeadEnd, DeadStroke, OtherWay
from server.planning.dimension import Dimension
from server.planning.errand import Blocked
from server.planning.freeing import Suggestion, ToolWorth
from server.planning.order import OrderCost
from server.planning.order_check import ChosenStep
from server.storage.plain_finding import (
    findings_of,
    plain_findings,
    plain_sentence,
    sentence_of,
)
from server.storage.plain_scene import loop_of, picture_of, plain_loop, plain_picture


@dataclass(frozen=True, slots=True)
class FoundWay:
    """Another way to bend a part: what was asked of it, its cost, and its steps."""

    asked: Sentence
    cost: OrderCost
    steps: tuple[ChosenStep, ...]


def plain_blocked(blocked: Blocked) -> dict[str, Any]:
    """What blocks a part as plain values."""
    return {
        "blockers": plain_findings(blocked.blockers),
        "ends": [_plain_end(end) for end in blocked.ends],
        "suggestions": [
            {**asdict(one), "what": plain_sentence(one.what)} for one in blocked.suggestions
        ],
        "proven": blocked.proven,
    }


def blocked_of(plain: Mapping[str, Any]) -> Blocked:
    """What `plain_blocked` wrote."""
    return Blocked(
        blockers=findings_of(plain["blockers"]),
        ends=tuple(_end(end) for end in plain["ends"]),
        suggestions=tuple(
            Suggestion(**{**one, "what": sentence_of(one["what"])}) for one in plain["suggestions"]
        ),
        proven=bool(plain["proven"]),
    )


def plain_ways(found: Sequence[Alternative]) -> list[dict[str, Any]]:
    """Other ways as plain values: enough to compare them and to put one on the strip."""
    return [
        {
            "asked": plain_sentence(one.asked),
            "cost": asdict(one.sequence.cost),
            "steps": [
                {"bend": step.bends[0], "rear": step.rear, "punch": step.punch}
                for step in one.sequence.steps
            ],
        }
        for one in found
    ]


def ways_of(plain: Sequence[Mapping[str, Any]]) -> tuple[FoundWay, ...]:
    """The ways that `plain_ways` wrote."""
    return tuple(
        FoundWay(
            sentence_of(one["asked"]),
            OrderCost(**one["cost"]),
            tuple(ChosenStep(**step) for step in one["steps"]),
        )
        for one in plain
    )


def plain_worth(found: Sequence[ToolWorth]) -> list[dict[str, Any]]:
    """Candidate tools and what they free, as plain values."""
    return [{"tool": one.tool, "frees": list(one.frees)} for one in found]


def worth_of(plain: Sequence[Mapping[str, Any]]) -> tuple[ToolWorth, ...]:
    """The candidates that `plain_worth` wrote."""
    return tuple(ToolWorth(one["tool"], tuple(one["frees"])) for one in plain)


def plain_dimensions(dimensions: Sequence[Dimension]) -> list[dict[str, Any]]:
    """Dimensions as plain values."""
    return [asdict(one) for one in dimensions]


def dimensions_kept(plain: Sequence[Mapping[str, Any]]) -> tuple[Dimension, ...]:
    """The dimensions that `plain_dimensions` wrote."""
    return tuple(
        Dimension(**{**one, "errors_mm": tuple((name, size) for name, size in one["errors_mm"])})
        for one in plain
    )


def _plain_end(end: DeadEnd) -> dict[str, Any]:
    return {
        "dies": list(end.dies),
        "by_itself": end.by_itself,
        "strokes": [_plain_stroke(stroke) for stroke in end.strokes],
    }


def _plain_stroke(stroke: DeadStroke) -> dict[str, Any]:
    return {
        "bends": list(stroke.bends),
        "made": list(stroke.made),
        "punch": stroke.punch,
        "rear": stroke.rear,
        "side_up": stroke.side_up,
        "findings": plain_findings(stroke.findings),
        "picture": plain_picture(stroke.picture.picture),
        "overlap_mm": [plain_loop(loop) for loop in stroke.picture.overlap_mm],
        "others": [
            {"punch": way.punch, "rear": way.rear, "findings": plain_findings(way.findings)}
            for way in stroke.others
        ],
    }


def _end(plain: Mapping[str, Any]) -> DeadEnd:
    strokes = tuple(
        DeadStroke(
            bends=tuple(one["bends"]),
            made=tuple(one["made"]),
            punch=one["punch"],
            rear=one["rear"],
            side_up=one["side_up"],
            findings=findings_of(one["findings"]),
            picture=BlockedPicture(
                picture_of(one["picture"]), tuple(loop_of(loop) for loop in one["overlap_mm"])
            ),
            others=tuple(
                OtherWay(way["punch"], way["rear"], findings_of(way["findings"]))
                for way in one["others"]
            ),
        )
        for one in plain["strokes"]
    )
    return DeadEnd(tuple(plain["dies"]), strokes, bool(plain["by_itself"]))
