"""Equal blanks on sheets: how many per sheet, how many sheets, what is left.

An estimate for prices and purchases, not a cutting plan: blanks are their bounding rectangles.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache

from server.shop.blank_layout import EqualLayout, GridBlock, TurnedLayouts, grid_layout
from server.shop.sheet_room import (
    UM_PER_MM,
    Blank,
    NestSettings,
    Place,
    Remnant,
    Sheet,
    SheetRoom,
    exceeds_sheet,
    need_quantity,
    turn_for,
)


@dataclass(frozen=True, slots=True)
class EqualNest:
    """Equal blanks: what one sheet gives, and the sheets a quantity needs.

    `bound_per_sheet_count` is the most any layout could give: equal means proven.
    `used_ratio` is blank area over the area of all sheets bought, `full_sheet_used_ratio` of one
    full sheet. `remnant` is what the last sheet leaves whole, None when too small to keep.
    """

    blank: Blank
    sheet: Sheet
    settings: NestSettings
    quantity_count: int
    per_sheet_count: int
    bound_per_sheet_count: int
    sheets_count: int
    least_sheets_count: int
    on_last_sheet_count: int
    used_ratio: float
    full_sheet_used_ratio: float
    remnant: Remnant | None
    blocks: tuple[GridBlock, ...]

    @property
    def proven_best(self) -> bool:
        """True when no layout gives more blanks per sheet."""
        return self.per_sheet_count == self.bound_per_sheet_count

    def places(self) -> Iterator[Place]:
        """Every blank on a full sheet."""
        return block_places(self.blank, self.settings, self.blocks)


def block_places(
    blank: Blank, settings: NestSettings, blocks: Iterable[GridBlock]
) -> Iterator[Place]:
    """Every blank of a layout's blocks, where it lies on the sheet."""
    width, height = blank.width_mm, blank.height_mm
    for block in blocks:
        across, up = (height, width) if block.turned else (width, height)
        left = settings.edge_mm + block.x_um / UM_PER_MM
        low = settings.edge_mm + block.y_um / UM_PER_MM
        for column in range(block.columns_count):
            for row in range(block.rows_count):
                x_mm = left + column * (across + settings.spacing_mm)
                y_mm = low + row * (up + settings.spacing_mm)
                yield Place(0, x_mm, y_mm, across, up, turned=block.turned)


def nest_equal(
    *, blank: Blank, sheet: Sheet, quantity_count: int, settings: NestSettings | None = None
) -> EqualNest:
    """Equal blanks on equal sheets.

    Formula: sheets = ceil(quantity / per sheet); per sheet by the best layout found

    Args:
        blank: the rectangle of one part.
        sheet: the raw sheet.
        quantity_count: blanks wanted [count], 1 or more.
        settings: spacing, edge and least remnant.

    Returns: an `EqualNest`.

    Raises: ShopError `out_of_range` for a size or quantity that is none, `blank_exceeds_sheet` when
        not one blank fits.

    References: layouts and bound in `blank_layout`.

    >>> nest = nest_equal(blank=Blank(400, 250), sheet=Sheet(3000, 1500), quantity_count=100)
    >>> nest.per_sheet_count, nest.sheets_count, nest.on_last_sheet_count, nest.proven_best
    (44, 3, 12, True)
    """
    settings = settings or NestSettings()
    need_quantity(quantity_count)
    room = SheetRoom(sheet, settings)
    inflated = room.inflated(blank)
    turn = turn_for(blank, sheet)
    lying = inflated[::-1] if turn == "turned" else inflated
    layouts = None
    if turn == "free" and inflated[0] != inflated[1]:
        layouts = _layouts(room.width_um, room.height_um, *inflated)
        layout = layouts.best
    else:
        layout = grid_layout(
            width=room.width_um, height=room.height_um, piece_width=lying[0], piece_height=lying[1]
        )
        if turn == "turned":
            layout = _marked_turned(layout)
    if not layout.count:
        raise exceeds_sheet(blank, sheet)
    sheets = -(-quantity_count // layout.count)
    last = quantity_count - (sheets - 1) * layout.count
    return EqualNest(
        blank=blank,
        sheet=sheet,
        settings=settings,
        quantity_count=quantity_count,
        per_sheet_count=layout.count,
        bound_per_sheet_count=layout.bound_count,
        sheets_count=sheets,
        least_sheets_count=-(-quantity_count // layout.bound_count),
        on_last_sheet_count=last,
        used_ratio=quantity_count * blank.area_mm2 / (sheets * sheet.area_mm2),
        full_sheet_used_ratio=layout.count * blank.area_mm2 / sheet.area_mm2,
        remnant=_strip_remnant(room, layout, lying, layouts, last),
        blocks=layout.blocks,
    )


@lru_cache(maxsize=64)
def _layouts(width: int, height: int, piece_width: int, piece_height: int) -> TurnedLayouts:
    """Layouts are the same for every quantity of a quote; worked out once."""
    return TurnedLayouts(
        width=width, height=height, piece_width=piece_width, piece_height=piece_height
    )


def _marked_turned(layout: EqualLayout) -> EqualLayout:
    blocks = tuple(
        GridBlock(b.x_um, b.y_um, b.columns_count, b.rows_count, turned=True) for b in layout.blocks
    )
    return EqualLayout(blocks, layout.count, layout.bound_count)


def _strip_remnant(
    room: SheetRoom,
    layout: EqualLayout,
    lying: tuple[int, int],
    layouts: TurnedLayouts | None,
    last: int,
) -> Remnant | None:
    """The larger rest when the last sheet's blanks are kept in a strip along one side."""
    rests = []
    for along_width, side in ((True, room.width_um), (False, room.height_um)):
        if layouts is not None:
            strip = layouts.shortest_strip(last, along_width=along_width)
        else:
            strip = _grid_strip(layout.blocks[0], lying, last, along_width=along_width)
        if strip is not None and strip < side:
            free = (strip, 0, room.width_um - strip, room.height_um)
            rests.append(free if along_width else (0, strip, room.width_um, room.height_um - strip))
    kept = [remnant for rest in rests if (remnant := room.remnant(rest))]
    return max(kept, key=lambda remnant: remnant.area_mm2, default=None)


def _grid_strip(block: GridBlock, lying: tuple[int, int], last: int, *, along_width: bool) -> int:
    if along_width:
        return -(-last // block.rows_count) * lying[0]
    return -(-last // block.columns_count) * lying[1]
