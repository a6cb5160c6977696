"""Whether a blank belongs to the tools and to the numbers of today: told, never changed silently."""

from server.errors import Amount, Sentence, say
from server.findings import Finding
from server.mechanics.tooling import Die

SAME_MM = 5e-4
SAME_V_MM = 0.01


def check_blank_for_die(
    *, blank_mm: float, blank_v_mm: float, flat_mm: float, die: Die
) -> tuple[Finding, ...]:
    """Whether a blank was cut for the die it is to be bent in: a stop with the error in length."""
    if abs(blank_v_mm - die.v_opening_mm) <= SAME_V_MM:
        return ()
    error_mm = blank_mm - flat_mm
    return (
        Finding(
            "stop",
            "blank_not_for_tools",
            say(
                "The blank is {blank}, cut for a V of {made_for}; bent in {die} it has to be {flat}: "
                "the part comes out {error} too {way}.",
                blank=Amount(blank_mm, "mm"),
                made_for=Amount(blank_v_mm, "mm"),
                die=die.name,
                flat=Amount(flat_mm, "mm"),
                error=Amount(abs(error_mm), "mm"),
                way="long" if error_mm > 0 else "short",
            ),
            say(
                "Use a die with a V of {made_for}, or cut blanks of {flat}.",
                made_for=Amount(blank_v_mm, "mm"),
                flat=Amount(flat_mm, "mm"),
            ),
            source="a blank belongs to the tools it was worked out for",
            tool=die.name,
            amount=Amount(error_mm, "mm"),
        ),
    )


def check_released_flat(
    *, released_mm: float, now_mm: float, revision_label: str, because: Sentence
) -> tuple[Finding, ...]:
    """A released flat that would be worked out otherwise today: told, never changed."""
    if abs(now_mm - released_mm) <= SAME_MM:
        return ()
    return (
        Finding(
            "caution",
            "released_flat_differs",
            say(
                "Revision {label} was released with a flat of {released}; today it would be {now}: "
                "{because}.",
                label=revision_label,
                released=Amount(released_mm, "mm"),
                now=Amount(now_mm, "mm"),
                because=str(because),
            ),
            say("The released flat stays. Release a new revision to use the new one."),
            source="a released revision is frozen",
            amount=Amount(now_mm - released_mm, "mm"),
        ),
    )
