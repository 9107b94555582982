"""A circuit laid out on a page: supply on top, ground at the bottom, current down the page, branches side by side.

Pure geometry, the same for screen and paper, in points at natural size; x counts to the right and y down. Elements
stand upright in columns, each hanging from its upper point; a point that several columns share is a bar across them.
The same circuit always gives the same drawing.

How it comes about: `circuit_graph` turns every element the way current takes, `circuit_rows` finds how far down each
point lies, `circuit_columns` which column each strand of elements stands in; here both are brought together, so that
no bar runs through a symbol or a word, and everything gets its place in points.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal, NamedTuple

from workshop_log.paper.circuit_columns import Bar, Columns, Strand, columns_of
from workshop_log.paper.circuit_graph import Edge, Graph, graph_of
from workshop_log.paper.circuit_positions import positions
from workshop_log.paper.circuit_rows import Demand, Rows
from workshop_log.paper.circuit_text import (
    LINE_HEIGHT,
    NAME_SIZE,
    POINT_SIZE,
    VALUE_SIZE,
    label_lines,
    point_words,
    width_of,
)

if TYPE_CHECKING:
    from workshop_log.exchange.records import Circuit, Setup

SYMBOL = 24.0
MARK_HEIGHT = 9.0
# A range glyph beside the number of its test.
GLYPH_WIDTH = 24.0
MARK_SIZE = 7.2
_MARGIN = 8.0
# From a column's line to the words beside it.
_BESIDE = SYMBOL / 2 + 4
_BESIDE_POINT = 6.0
_BESIDE_MARK = SYMBOL / 2 + 3
# Heights of the elements with their leads; a relay's piece also has room for the side of a change-over contact.
_HEIGHTS = {"contact": 28.0, "wire": 28.0, "ground point": 29.0, "relay": 52.0, "motor": 36.0, "control unit": 36.0}
_HEIGHT = 34.0
# Symbols that are smaller than the others.
_SIZES = {"contact": 20.0, "ground point": 19.0}
_LINK = 18.0
# Where the third point leaves a change-over contact, and where the dashed line between coil and contact runs.
_DASHED = 27.0
_SIDE_OUT = 0.4 * SYMBOL
_SIDE, _SIDE_TURNED = _DASHED + 0.26 * SYMBOL, _DASHED - 0.26 * SYMBOL
# Room above and below a point's line for its name and its mark, between two bars, and between strands in one column.
_ABOVE, _BELOW, _BETWEEN_BARS, _BETWEEN_STRANDS = 9.0, 18.0, 14.0, 32.0
# Room for a current beside the id of an element, and behind both for how suspect it is: "100 %", "s4, s19".
CURRENT_WIDTH = 36.0
SHARE_WIDTH = 30.0
_CURRENT_KINDS = ("battery", "source", "fuse", "lamp", "motor", "heater", "coil", "sensor", "control unit", "load")
# Elements carry their titles where the drawing has no more columns than this, and narrow words where it has more than
# that.
_MOST_WITH_TITLES, _MOST_WITH_WIDE_WORDS = 3, 4
# Between the words of one column and those of the next.
_GAP = 9.0
# The text of an A4 sheet. [pt]
PAPER_WIDTH = 483.0

LabelKind = Literal["name", "value", "point"]


class Box(NamedTuple):
    """A rectangle, in points."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def middle(self) -> tuple[float, float]:
        """The centre."""
        return (self.left + self.right) / 2, (self.top + self.bottom) / 2

    def overlaps(self, other: Box) -> bool:
        """Say whether the two share more than an edge."""
        return (self.left < other.right and other.left < self.right
                and self.top < other.bottom and other.top < self.bottom)


@dataclass(frozen=True, slots=True)
class Terminal:
    """Where an element meets a point."""

    point: str
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class PlacedElement:
    """One symbol in its place; a relay has two, its coil and its contact.

    Attributes
    ----------
    id, kind : str
        Of the element; of a bridge "lamp" or "fused lead", and "bridge".
    part : {"whole", "coil", "contact", "bridge"}
        Which piece of the element.
    box : Box
        The room of the symbol with its leads.
    symbol : Box
        The square in which the symbol is drawn.
    turned : bool
        Whether the point named first lies at the bottom.
    side : {-1, 0, 1}
        On which side of a change-over contact the third point leaves; 0 without one.
    has_open : bool
        Whether a relay's contact in the column is the one that closes when it pulls in.
    closed, out : bool
        How it stands in the setup: on or pulled in; pulled, unplugged or disconnected.
    terminals : tuple[Terminal, ...]
        Supply side first.
    mark, current : Box
        Room for the numbers of its tests, and for the current through it.
    shows_current : bool
        Whether a current is worth showing here: in a row of elements it is the same everywhere.
    share : Box
        Room for how suspect it is.
    """

    id: str
    kind: str
    part: Literal["whole", "coil", "contact", "bridge"]
    box: Box
    symbol: Box
    turned: bool
    side: Literal[-1, 0, 1]
    has_open: bool
    closed: bool
    out: bool
    terminals: tuple[Terminal, ...]
    mark: Box
    current: Box
    shows_current: bool
    share: Box


@dataclass(frozen=True, slots=True)
class PlacedPoint:
    """A point where it can be probed, with the room for the marks of its readings."""

    name: str
    x: float
    y: float
    mark: Box


@dataclass(frozen=True, slots=True)
class Wire:
    """A straight line that belongs to a point, or to an element of the kind wire."""

    x1: float
    y1: float
    x2: float
    y2: float
    point: str
    element: str = ""


@dataclass(frozen=True, slots=True)
class Label:
    """One line of words beside an element or a point; `owner` is its id or name."""

    text: str
    owner: str
    kind: LabelKind
    box: Box


@dataclass(frozen=True, slots=True)
class Link:
    """The dashed line from a relay's coil to its contact."""

    element: str
    x1: float
    x2: float
    y: float


@dataclass(frozen=True, slots=True)
class Layout:
    """The whole drawing.

    Attributes
    ----------
    width, height : float
        Natural size. [pt]
    elements, points, wires, labels, links
        What is drawn.
    joints : tuple[tuple[str, float, float], ...]
        Where a bar meets a column: point, x, y.
    left_out : tuple[str, ...]
        Elements without two points of their own, which cannot be drawn.
    crossings : int
        How often a line runs over another one that it has nothing to do with.
    """

    width: float
    height: float
    elements: tuple[PlacedElement, ...]
    points: tuple[PlacedPoint, ...]
    wires: tuple[Wire, ...]
    labels: tuple[Label, ...]
    links: tuple[Link, ...]
    joints: tuple[tuple[str, float, float], ...]
    left_out: tuple[str, ...]
    crossings: int


@dataclass(frozen=True, slots=True)
class Shade:
    """How suspect an element is.

    Attributes
    ----------
    share : float
        Of all that is still possible, 0 to 1.
    words : str
        What stands beside it: "42 %"; of an element that is cleared the numbers of the steps that cleared it.
    is_cleared : bool
        Whether no fault of the element is possible any more.
    """

    share: float = 0.0
    words: str = ""
    is_cleared: bool = False


@dataclass(frozen=True, slots=True)
class Marks:
    """The numbers of the tests at points and elements, which of them carry a range glyph, and what is suspect.

    Attributes
    ----------
    points, elements : Mapping[str, str]
        "Test 8", by the point's name and the element's id.
    with_glyph : frozenset[tuple[str, str]]
        ("point", name) or ("element", id) where the last reading has a glyph.
    shades : Mapping[str, Shade]
        How suspect each element is, by its id. Where there are any, all elements keep room for it, so that the drawing
        stays where it is while the suspicion moves.
    """

    points: Mapping[str, str] = field(default_factory=dict)
    elements: Mapping[str, str] = field(default_factory=dict)
    with_glyph: frozenset[tuple[str, str]] = frozenset()
    shades: Mapping[str, Shade] = field(default_factory=dict)


def lay_out(circuit: Circuit, setup: Setup | None = None, marks: Marks | None = None, *,
            width: float = PAPER_WIDTH, with_currents: bool = False) -> Layout:
    """Return the drawing of a circuit.

    Parameters
    ----------
    circuit : Circuit
        As the job file describes it.
    setup : Setup, optional
        How switches and relays stand; as found without one. Only bridges change where anything lies, and they come
        last, so that the drawing stays where it is from one setup to the next.
    marks : Marks, optional
        What will be written at points and elements.
    width : float
        Where the drawing is narrower, elements also carry their titles; 0 for none. [pt]
    with_currents : bool
        Whether to keep room for the currents.
    """
    graph = graph_of(circuit, setup)
    if not graph.edges:
        return Layout(2 * _MARGIN, 2 * _MARGIN, (), (), (), (), (), (), tuple(graph.left_out), 0)
    drawing = _Drawing(circuit, setup, graph, marks or Marks(), with_currents)
    drawing.find_columns()
    for words in drawing.choices():
        drawing.write(*words)
        if drawing.usual_width <= width:
            break
    drawing.find_rows()
    return drawing.finished()


class _Drawing:
    """A layout while it comes about: the subject of one call of `lay_out`."""

    def __init__(self, circuit: Circuit, setup: Setup | None, graph: Graph, marks: Marks,
                 with_currents: bool) -> None:
        self.graph, self.marks, self.with_currents = graph, marks, with_currents
        self.positions = positions(circuit, setup)
        self._set_lines(with_title=False, is_narrow=False)
        self.columns = Columns([], [])
        self.rank: list[int] = []
        self.height: list[float] = []
        self.x: list[float] = []
        self.width = self.usual_width = 0.0
        self.anchor: dict[int, int] = {}
        self.crossings = 0
        self.not_level: set[str] = set()
        self.in_the_way: set[int] = set()

    # --- sizes ------------------------------------------------------------------------------------------------------

    def choices(self) -> tuple[tuple[bool, bool], ...]:
        """Return how the words may be written, best first: with titles, and narrow."""
        count = self._usual_columns()
        plain = (False, count > _MOST_WITH_WIDE_WORDS)
        return ((True, False), plain) if count <= _MOST_WITH_TITLES else (plain,)

    def write(self, with_title: bool, is_narrow: bool) -> None:
        """Choose the words beside the symbols, and find how wide the drawing becomes."""
        self._set_lines(with_title, is_narrow)
        self._place_again()

    def _place_again(self) -> None:
        """Rank the points anew, with the columns and widths that follow."""
        self._rank_points()
        self.columns.place(self.rank)
        self.find_widths()

    def _usual_columns(self) -> int:
        """Return how many columns there are without those of bridges, which must not change the words."""
        return 1 + max((column for column, strand in zip(self.columns.column, self.columns.strands, strict=True)
                        if self.graph.edges[strand.edges[0]].part != "bridge"), default=0)

    def _set_lines(self, with_title: bool, is_narrow: bool) -> None:
        edges = self.graph.edges
        self.lines = [label_lines(edge.element, edge.part, with_title, is_narrow)
                      if edge.element and edge.part != "link" else () for edge in edges]
        self.lengths = [self._length(number) for number in range(len(edges))]

    def _length(self, number: int) -> float:
        """Return how long a piece is: its symbol with leads, or its words where they need more, in points."""
        edge = self.graph.edges[number]
        if edge.part == "link":
            return _LINK
        needed = self._words_tall(number) + 6
        if edge.part in ("coil", "contact"):
            # Words stand above the dashed line, or below it where the contact is turned over.
            return _HEIGHTS["relay"] + max(0.0, needed - _DASHED + 2)
        return max(_HEIGHTS.get(edge.element.kind if edge.element else "", _HEIGHT), needed)

    def _words_tall(self, number: int) -> float:
        """Return how tall the words beside a piece are, in points."""
        has_mark = bool(self._mark_of(self.graph.edges[number]))
        return (1 + len(self.lines[number])) * LINE_HEIGHT + (MARK_HEIGHT if has_mark else 0)

    def _mark_of(self, edge: Edge) -> str:
        return self.marks.elements.get(edge.name, "") if edge.part in ("whole", "contact") else ""

    # --- rows and columns -------------------------------------------------------------------------------------------

    def find_columns(self) -> None:
        """Find the strands and their columns from where the points would lie without regard to columns."""
        self._rank_points()
        self.columns = columns_of(self.graph, self.height, self.rank, self.lengths)

    def _rank_points(self) -> None:
        self.rows = self._rows()
        self._level_relays(self.rows)
        self.height = self.rows.solve(self._let_down())
        order = sorted({*self.rows.group}, key=lambda group: (self.height[group] - self.rows.offset[group], group))
        rank_of = {group: rank for rank, group in enumerate(order)}
        self.rank = [rank_of[group] for group in self.rows.group]

    def _rows(self) -> Rows:
        """Return the demands of the elements themselves."""
        rows = Rows(len(self.graph.points), [])
        for side, contact in self.graph.sides.items():
            edge = self.graph.edges[contact]
            rows.fix(side, edge.top, _SIDE_TURNED if edge.turned else self.lengths[contact] - _HEIGHTS["relay"] + _SIDE)
        rows.demands += [Demand(edge.top, edge.bottom, length)
                         for edge, length in zip(self.graph.edges, self.lengths, strict=True)]
        reference = self.graph.reference
        if reference is not None:
            bottoms = {edge.bottom for edge in self.graph.edges} - {edge.top for edge in self.graph.edges}
            # Ends that hang in the air stay above the ground.
            rows.demands += [Demand(point, reference, 24.0) for point in sorted(bottoms - {reference})
                             if point not in self.graph.sides]
        return rows

    def _level_relays(self, rows: Rows) -> None:
        """Keep coil and contact of a relay level, so that the dashed line between them is straight."""
        for coil, contact in self._relays():
            if self.graph.edges[coil].name in self.not_level:
                continue
            rows.level(self.graph.edges[coil].top, self.graph.edges[contact].top,
                       self._dashed(coil) - self._dashed(contact))

    def _relays(self) -> Iterator[tuple[int, int]]:
        """Yield coil and contact of each relay that has both."""
        coils = {edge.name: number for number, edge in enumerate(self.graph.edges) if edge.part == "coil"}
        for number, edge in enumerate(self.graph.edges):
            if edge.part == "contact" and edge.name in coils:
                yield coils[edge.name], number

    def _let_down(self) -> list[int]:
        """Return the points that lie as low as they may: above ground points, and ends that nothing comes down to."""
        leaving: dict[int, list[Edge]] = {}
        for edge in self.graph.edges:
            leaving.setdefault(edge.top, []).append(edge)
        arrived = {edge.bottom for edge in self.graph.edges} | set(self.graph.sides)
        return [point for point, edges in leaving.items()
                  if all(edge.element and edge.element.kind == "ground point" for edge in edges)
                  or (point not in arrived and point not in self.graph.tops)]

    def find_rows(self) -> None:
        """Find how far down each point lies, so that no bar runs through a symbol, a word or another bar."""
        while True:
            self.crossings, self.in_the_way = 0, set()
            self.rows.demands += self._spacing()
            # A relay whose pieces are level must not keep a bar from passing beside one of them.
            relays = {name for name, group in self._levelled() if group in self.in_the_way} - self.not_level
            if not relays:
                break
            self.not_level |= relays
            self._place_again()
        self.height = self.rows.solve(self._let_down())

    def _levelled(self) -> Iterator[tuple[str, int]]:
        """Yield the relays whose pieces are kept level, with their group."""
        for coil, contact in self._relays():
            group = self.rows.group[self.graph.edges[coil].top]
            if group == self.rows.group[self.graph.edges[contact].top]:
                yield self.graph.edges[coil].name, group

    def _spacing(self) -> Iterator[Demand]:
        """Yield the demands that follow from the columns, each from a higher rank to a lower one."""
        in_column: dict[int, list[int]] = {}
        for number, column in enumerate(self.columns.column):
            in_column.setdefault(column, []).append(number)
        for numbers in in_column.values():
            numbers.sort(key=lambda number: self.columns.strands[number].top)
            for upper, lower in zip(numbers, numbers[1:], strict=False):
                yield Demand(self.columns.strands[upper].points[-1], self.columns.strands[lower].points[0],
                             _BETWEEN_STRANDS)
        spans = [(bar, *self.columns.span(bar)) for bar in self.columns.bars]
        spans.sort(key=lambda item: item[0].rank)
        for place, (bar, left, right) in enumerate(spans):
            for column in range(left + 1, right):
                for number in in_column[column]:
                    if number not in bar.members:
                        yield from self._clear(bar, self.columns.strands[number])
            for other, other_left, other_right in spans[place + 1:]:
                if left >= other_right or other_left >= right:
                    continue
                if bar.rank == other.rank:
                    self.in_the_way.add(self.rows.group[bar.point])
                else:
                    yield Demand(bar.point, other.point, _BETWEEN_BARS)

    def _clear(self, bar: Bar, strand: Strand) -> Iterator[Demand]:
        """Yield the demands that lead a bar between the elements of a strand that stands in its way."""
        above = [place for place, point in enumerate(strand.points) if self.rank[point] < bar.rank]
        self.crossings += strand.top < bar.rank < strand.bottom
        if any(self.rank[point] == bar.rank for point in strand.points):
            self.in_the_way.add(self.rows.group[bar.point])
        if above:
            place = above[-1]
            is_last = place == len(strand.edges)
            room = _BELOW if is_last else max(_BELOW, self.lengths[strand.edges[place]]) + 3
            yield Demand(strand.points[place], bar.point, room)
        below = [point for point in strand.points if self.rank[point] > bar.rank]
        if below:
            yield Demand(bar.point, below[0], _ABOVE + 1)

    # --- widths -----------------------------------------------------------------------------------------------------

    def find_widths(self) -> None:
        """Find where each column's line lies, with room for the words on both sides."""
        count = max(self.columns.column) + 1
        left, right = [_BESIDE] * count, [_BESIDE] * count
        self.anchor = {}
        for number, strand in enumerate(self.columns.strands):
            column = self.columns.column[number]
            for point in strand.points:
                if point not in self.graph.sides:
                    here = self.anchor.get(point)
                    self.anchor[point] = column if here is None else min(here, column)
            for edge in strand.edges:
                right[column] = max(right[column], _BESIDE + self._words_width(edge))
        for point, column in self.anchor.items():
            left[column] = max(left[column], self._point_width(point))
        x = _MARGIN
        self.x = []
        for column in range(count):
            x += left[column]
            self.x.append(x)
            x += right[column] + _GAP
            if column + 1 == self._usual_columns():
                self.usual_width = x - _GAP + _MARGIN
        self.width = x - _GAP + _MARGIN

    def _words_width(self, number: int) -> float:
        edge = self.graph.edges[number]
        if edge.part == "link":
            return 0.0
        first = width_of(edge.name, NAME_SIZE, bold=True)
        if self._shows_current(edge):
            first += 4 + CURRENT_WIDTH
        widths = [first, *(width_of(line, VALUE_SIZE) for line in self.lines[number])]
        if self._share_width(edge):
            widths[self._share_line(number)] += 4 + self._share_width(edge)
        return max(self._mark_width(self._mark_of(edge), "element", edge.name), *widths)

    def _point_width(self, point: int) -> float:
        name = self.graph.points[point]
        mark = self.marks.points.get(name, "")
        return max(_BESIDE_POINT + width_of(point_words(name), POINT_SIZE),
                   _BESIDE_MARK + self._mark_width(mark, "point", name))

    def _mark_width(self, mark: str, *owner: str) -> float:
        """Return the room for a mark with its glyph where it has one; none without a mark, in points."""
        return width_of(mark, MARK_SIZE, bold=True) + (4 + GLYPH_WIDTH) * (owner in self.marks.with_glyph)

    def _shows_current(self, edge: Edge) -> bool:
        kind = edge.element.kind if edge.element else ""
        return self.with_currents and (edge.part == "coil" or (edge.part == "whole" and kind in _CURRENT_KINDS))

    def _share_width(self, edge: Edge) -> float:
        """Return the room for how suspect an element is; of a relay it stands beside the coil. In points."""
        if not self.marks.shades or edge.part not in ("whole", "coil"):
            return 0.0
        shade = self.marks.shades.get(edge.name)
        return max(SHARE_WIDTH, width_of(shade.words, MARK_SIZE, bold=True) if shade else 0.0)

    def _share_line(self, number: int) -> int:
        """Return behind which line of words it stands how suspect an element is: the name, or below a current."""
        return 1 if self._shows_current(self.graph.edges[number]) and self.lines[number] else 0

    # --- what is drawn ----------------------------------------------------------------------------------------------

    def finished(self) -> Layout:
        """Return everything in its place."""
        top = min(self.height) - _MARGIN - _ABOVE
        self.height = [height - top for height in self.height]
        elements: list[PlacedElement] = []
        labels: list[Label] = []
        wires: list[Wire] = []
        for number, strand in enumerate(self.columns.strands):
            x = self.x[self.columns.column[number]]
            for edge in strand.edges:
                wires += self._leads(edge, x)
                if self.graph.edges[edge].part != "link":
                    element, words = self._element(edge, x)
                    elements.append(element)
                    labels += words
        points = self._points()
        labels += [self._point_label(point) for point in points]
        bars, joints = self._bars()
        return Layout(self.width, max(self.height) + _MARGIN + _BELOW, tuple(elements), points,
                      tuple(wires + bars), tuple(labels), tuple(self._links(elements, labels)), joints,
                      tuple(self.graph.left_out), self.crossings)

    def _symbol(self, number: int, x: float) -> Box:
        edge = self.graph.edges[number]
        top = self.height[edge.top]
        length = self.lengths[number]
        half = _SIZES.get(edge.element.kind if edge.element else "", SYMBOL) / 2
        # The middle of a relay's symbol is where the dashed line runs.
        middle = top + (self._dashed(number) if edge.part in ("coil", "contact") else length / 2)
        return Box(x - half, middle - half, x + half, middle + half)

    def _dashed(self, number: int) -> float:
        """Return how far below its upper point a relay's piece meets the dashed line, in points."""
        return _DASHED + (0.0 if self._is_upside_down(number) else self.lengths[number] - _HEIGHTS["relay"])

    def _is_upside_down(self, number: int) -> bool:
        return self.graph.edges[number].part == "contact" and self.graph.edges[number].turned

    def _leads(self, number: int, x: float) -> list[Wire]:
        """Return the lines from a symbol up and down to its points."""
        edge = self.graph.edges[number]
        top, bottom = self.height[edge.top], self.height[edge.bottom]
        names = self.graph.points[edge.top], self.graph.points[edge.bottom]
        if edge.part == "link":
            return [Wire(x, top, x, bottom, names[0])]
        if edge.element is not None and edge.element.kind == "wire":
            return [Wire(x, top, x, bottom, names[0], edge.name)]
        symbol = self._symbol(number, x)
        return [Wire(x, top, x, symbol.top, names[0]), Wire(x, symbol.bottom, x, bottom, names[1])]

    def _element(self, number: int, x: float) -> tuple[PlacedElement, list[Label]]:
        """Return a symbol in its place with the words beside it."""
        edge = self.graph.edges[number]
        top = self.height[edge.top]
        box = Box(x - SYMBOL / 2, top, x + SYMBOL / 2, top + self.lengths[number])
        lines = [edge.name, *self.lines[number]]
        mark, tall = self._mark_of(edge), self._words_tall(number)
        if self._is_upside_down(number):
            y = top + _DASHED + 3
        elif edge.part in ("coil", "contact"):
            y = top + self._dashed(number) - 2 - tall
        else:
            y = (box.top + box.bottom - tall) / 2
        left = x + _BESIDE
        labels = []
        for place, line in enumerate(lines):
            size, kind = (VALUE_SIZE, "value") if place else (NAME_SIZE, "name")
            here = Box(left, y + place * LINE_HEIGHT, left + width_of(line, size, bold=not place),
                       y + (place + 1) * LINE_HEIGHT)
            labels.append(Label(line, edge.name, kind, here))
        first = labels[0].box
        below = y + len(lines) * LINE_HEIGHT
        ends = [Terminal(self.graph.points[edge.top], x, top),
                Terminal(self.graph.points[edge.bottom], x, self.height[edge.bottom])]
        if edge.turned:
            ends.reverse()
        side = self._side(number)
        ends += [Terminal(self.graph.points[point], x + side * _SIDE_OUT, self.height[point])
                 for point, contact in self.graph.sides.items() if contact == number]
        kind = edge.element.kind if edge.element else "bridge"
        shows_current = self._shows_current(edge)
        beside = labels[self._share_line(number)].box
        share = beside.right + 4 + (CURRENT_WIDTH + 4 if shows_current and beside is first else 0)
        return PlacedElement(
            edge.name, kind, edge.part, box, self._symbol(number, x), edge.turned, side,
            edge.element is not None and edge.element.normally_open is not None,
            edge.name in self.positions.closed, edge.element is not None and edge.name in self.positions.out,
            tuple(ends), Box(left, below, left + self._mark_width(mark, "element", edge.name), below + MARK_HEIGHT),
            Box(first.right + 4, first.top, first.right + 4 + CURRENT_WIDTH, first.bottom), shows_current,
            Box(share, beside.top, share + self._share_width(edge), beside.bottom)), labels

    def _side(self, number: int) -> Literal[-1, 0, 1]:
        """Return on which side the third point of a change-over contact leaves."""
        for bar in self.columns.bars:
            if self.graph.sides.get(bar.point) == number:
                own = next(n for n, strand in enumerate(self.columns.strands) if number in strand.edges)
                column = self.columns.column[own]
                return 1 if self.columns.span(bar)[1] > column else -1
        return 0

    def _points(self) -> tuple[PlacedPoint, ...]:
        made = []
        for point, column in sorted(self.anchor.items(), key=lambda item: (self.height[item[0]], item[1])):
            x, y = self.x[column], self.height[point]
            right = x - _BESIDE_MARK
            name = self.graph.points[point]
            left = right - self._mark_width(self.marks.points.get(name, ""), "point", name)
            made.append(PlacedPoint(name, x, y, Box(left, y + 5, right, y + 5 + MARK_HEIGHT)))
        return tuple(made)

    @staticmethod
    def _point_label(point: PlacedPoint) -> Label:
        text = point_words(point.name)
        right = point.x - _BESIDE_POINT
        return Label(text, point.name, "point",
                     Box(right - width_of(text, POINT_SIZE), point.y - 3.9, right, point.y + 3.9))

    def _bars(self) -> tuple[list[Wire], tuple[tuple[str, float, float], ...]]:
        """Return the lines across the columns, and where columns join them."""
        wires, joints = [], []
        for bar in self.columns.bars:
            name, y = self.graph.points[bar.point], self.height[bar.point]
            ends: dict[float, int] = {}
            for member in bar.members:
                strand, x = self.columns.strands[member], self.x[self.columns.column[member]]
                if bar.point in strand.points:
                    # One line where the strand begins or ends here, two where it goes on.
                    ends[x] = ends.get(x, 0) + 1 + (bar.point in strand.points[1:-1])
                else:
                    contact = self.graph.sides[bar.point]
                    ends[x + self._side(contact) * _SIDE_OUT] = 1
            left, right = min(ends), max(ends)
            wires.append(Wire(left, y, right, y, name))
            joints += [(name, x, y) for x, count in ends.items() if count + (x > left) + (x < right) > 2]
        return wires, tuple(joints)

    def _links(self, elements: list[PlacedElement], labels: list[Label]) -> Iterator[Link]:
        """Yield the dashed line of each relay where nothing stands in its way; both pieces carry the relay's id."""
        contacts = {element.id: element for element in elements if element.part == "contact"}
        for coil in (element for element in elements if element.part == "coil"):
            contact = contacts.get(coil.id)
            if contact is None or abs(contact.symbol.middle[1] - coil.symbol.middle[1]) > 0.01:
                continue
            left, right = sorted((coil, contact), key=lambda element: element.symbol.left)
            y = coil.symbol.middle[1]
            way = Box(left.symbol.right, y - 1, right.symbol.left, y + 1)
            if not any(way.overlaps(other.symbol) for other in elements) and not any(
                    way.overlaps(label.box) for label in labels):
                yield Link(coil.id, way.left, way.right, y)
