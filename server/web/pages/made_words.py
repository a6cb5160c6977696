"""What a step does beside a plain air bend, in words: a hem is hit twice, a curve many times."""

from collections import Counter
from collections.abc import Iterable

WORDS = {
    "air": "",
    "bottoming": "bottomed",
    "coining": "coined",
    "acute": "acute hit for a hem",
    "flatten": "flatten the hem",
    "offset": "offset in one hit",
}


def made_words(steps: Iterable[tuple[str, tuple[int, ...]]]) -> list[str]:
    """Words for the kind of each step and its bends, in their order; empty for an air bend.

    >>> made_words([("bump", (1,)), ("air", (0,)), ("bump", (1,)), ("flatten", (2,))])
    ['hit 1 of 2 of a curve', '', 'hit 2 of 2 of a curve', 'flatten the hem']
    """
    known = list(steps)
    total, made = Counter(known), Counter[tuple[str, tuple[int, ...]]]()
    words = []
    for one in known:
        made[one] += 1
        curve = f"hit {made[one]} of {total[one]} of a curve"
        words.append(curve if one[0] == "bump" else WORDS.get(one[0], one[0]))
    return words
