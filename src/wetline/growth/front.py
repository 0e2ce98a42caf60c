"""The front: a fire's edge that grows, waits at line, and goes on, from one event to the next."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from shapely.geometry import LineString, MultiPoint

from wetline.errors import OutsideRangeError
from wetline.growth._kernels import layout
from wetline.growth.metric import Metric
from wetline.growth.places import first_reached, framed_cells
from wetline.growth.ring import Ring
from wetline.growth.start import perimeter_times
from wetline.growth.state import State
from wetline.growth.tips import cell_long, joins

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray
    from shapely.geometry import MultiPolygon, Polygon
    from shapely.geometry.base import BaseGeometry

    from wetline.behaviour import FireFields
    from wetline.growth.metric import Paced
    from wetline.growth.places import Reached
    from wetline.growth.start import Start

__all__ = ["Front"]

_LINKS_PER_SQUARE = 6
_LINKS_PER_CELL_OF_LINE = 40
_TIP_CELLS = 1.6
"""Links that line crosses so near to its end can be gone round there."""
_PEN_CELLS = 0.5
"""Wet line that a perimeter drawn crosses by no more than this still holds (common practice, no source): an
edge walked or flown along wet line lies no nearer to it than that."""


class Front:
    """A growing fire, from a perimeter `burnt` [grid metres] seen at `at_s` [s after the fields' start].

    Growth is solved only between now and the next event; what has burnt is never solved again. Weather
    changes at the edges of the fields' slots, within `advance`. Line blocks links between cells: fire
    that reaches it waits until its piece ends, and goes on from there. An edge that has to wait longer
    than `burn_out_s` at one place is out there for good; by default no edge ever burns out.

    Raises
    ------
    InputError
        If the perimeter is no area or holds no burnable ground, or the fields hold no numbers.
    OutsideRangeError
        If the fields do not cover `at_s`, or `burn_out_s` is below 0.
    """

    def __init__(
        self,
        fields: FireFields | Paced,
        burnt: Polygon | MultiPolygon,
        at_s: float,
        *,
        burn_out_s: float = math.inf,
    ) -> None:
        self._metric = Metric(fields)
        self._now_s = float(fields.edges_s[0])
        self._check_time("at_s", at_s)
        if not burn_out_s >= 0.0:
            raise OutsideRangeError(field="burn_out_s", value=burn_out_s, low=0.0, high=math.inf, unit="s")
        self._now_s = self._slot_start_s = float(at_s)
        self._slot = fields.slot(at_s)
        self._parts_lost = 0
        start = perimeter_times(burnt, self._metric, self._slot)
        self._state = State(self._metric, burn_out_s)
        self._draw(start)

    @property
    def now_s(self) -> float:
        """Until when growth is known [s after the fields' start]."""
        return self._now_s

    @property
    def parts_lost(self) -> int:
        """Parts of the perimeters drawn that hold no ground known to burn: they do not grow here."""
        return self._parts_lost

    @property
    def reached_edge(self) -> bool:
        """Whether the fire has come to the grid's edge, beyond which it is not followed."""
        return bool(self._state.counts[layout.AT_EDGE])

    @property
    def arrival_s(self) -> NDArray[np.float64]:
        """float64[r, c]: when each cell burns; inf if not by now, the start's own time within it."""
        state = self._state
        known = np.where(state.status == layout.BURNT, state.arrival_s, np.inf)
        return self._metric.unframed(known)

    @property
    def burnt(self) -> NDArray[np.bool_]:
        """bool[r, c]: cells burnt by now."""
        return self._metric.unframed(self._state.status == layout.BURNT)

    def copy(self) -> Front:
        """An independent front in the same state; the fields are shared."""
        other = object.__new__(Front)
        other._metric, other._slot, other._parts_lost = self._metric, self._slot, self._parts_lost
        other._now_s, other._slot_start_s = self._now_s, self._slot_start_s
        other._state = self._state.copy()
        return other

    def ignite(self, burnt: Polygon | MultiPolygon) -> None:
        """Light a fire now, within a perimeter `burnt` [grid metres]: a spot, or a burn of our own.

        It and the fire that runs already are one fire from here on. Line that lies within it, or that
        it reaches across by more than half a cell, does not hold it. Parts on ground that is not known to
        burn are counted in `parts_lost`, all of them too.

        Raises
        ------
        InputError
            If the perimeter is no area.
        """
        self._draw(perimeter_times(burnt, self._metric, self._slot, may_be_lost=True))

    def redrawn(self, burnt: Polygon | MultiPolygon) -> Front:
        """The fire as it has been seen now, within `burnt` [grid metres], instead of as computed.

        A new front: what is not within the perimeter has not burnt, whatever was computed. Line laid
        before holds on, with its pieces' numbers, but where the perimeter reaches across it by more
        than half a cell; how long an edge has waited there counts anew. Ground that had burnt before
        keeps its arrival.

        Raises
        ------
        InputError
            If the perimeter is no area or holds no burnable ground.
        """
        other = object.__new__(Front)
        other._metric, other._slot, other._parts_lost = self._metric, self._slot, 0
        other._now_s = other._slot_start_s = self._now_s
        start = perimeter_times(burnt, self._metric, self._slot)
        other._state = State(self._metric, float(self._state.burn_out_s[0]))
        other._state.take_lines(self._state)
        other._draw(start)
        burns = other._state.status == layout.BURNT
        before = burns & (self._state.status == layout.BURNT)
        other._state.arrival_s[before] = self._state.arrival_s[before]
        return other

    def advance(self, until_s: float, places: Sequence[NDArray[np.intp]] = ()) -> Reached | None:
        """Grow until `until_s`, through every weather change on the way.

        Parameters
        ----------
        places
            Flat indices of the grid's cells at each place. Growth stops when the fire comes to a place
            where nothing has burnt yet.

        Returns
        -------
        Reached | None
            Where it stopped, or None if it has gone on until `until_s`.

        Raises
        ------
        InputError
            If a place has no cells on the grid.
        OutsideRangeError
            If `until_s` lies before now or after the end of the fields.
        """
        self._check_time("until_s", until_s)
        edges = self._metric.fields.edges_s
        framed = [framed_cells(self._metric, j, cells) for j, cells in enumerate(places)]
        status = self._state.status
        free = {j: cells for j, cells in enumerate(framed) if not (status[cells] == layout.BURNT).any()}
        watched = np.concatenate(list(free.values())) if free else np.empty(0, np.int64)
        while True:
            edge = float(edges[self._slot + 1])
            self._solve(min(until_s, edge), watched)
            reached = first_reached(self._state, self._metric, free, watched)
            if reached is not None:
                return reached
            if until_s < edge or self._slot + 2 >= len(edges):
                return None
            self._change_weather()

    def trace(self) -> list[Ring]:
        """The contours of the burnt area now, with what holds each part."""
        from wetline.growth._kernels.lines import trace  # noqa: PLC0415  numba loads late

        state, grid = self._state, self._metric.fields.grid
        cells = int(state.counts[layout.TRIALS] + state.counts[layout.WALLS])
        xy = np.empty((4 * cells, 2))
        squares = np.empty(4 * cells, np.int64)
        held = np.empty(4 * cells)
        starts = np.empty(4 * cells + 1, np.int64)
        off = np.empty(4 * cells, np.bool_)
        rings = trace(
            self._now_s,
            state.cells,
            state.lines,
            state.counts,
            self._metric.slot(self._slot),
            xy,
            squares,
            held,
            starts,
            off,
        )
        traced = []
        for j in range(rings):
            part = slice(starts[j], starts[j + 1])
            x, y = grid.xy(xy[part, 1] - layout.PAD, xy[part, 0] - layout.PAD)
            traced.append(
                Ring(
                    at_s=self._now_s,
                    xy=np.column_stack((x, y)),
                    held_until_s=held[part].copy(),
                    touches_edge=bool(off[j]),
                    squares=squares[part].copy(),
                )
            )
        return traced

    def hold(self, ring: Ring, first: int, last: int, until_s: float) -> int:
        """Hold the edge along parts `first` to `last` of a ring, wrapping round; the piece's number.

        Blocks every link between burnt and unburnt in the squares of those parts, diagonals too, so
        that nothing leaks between. Links held at least until `until_s` [inf: for good] stay as they
        are. A ring shows where the edge was when it was traced, so it must have been traced now: what
        falls where the edge was before is `hold_line`.

        Raises
        ------
        OutsideRangeError
            If the ring is not of now, `until_s` lies before now, or a part is not on the ring.
        """
        from wetline.growth._kernels.lines import block_squares  # noqa: PLC0415  numba loads late

        self._check_end(until_s)
        if ring.at_s != self._now_s:
            now_s = self._now_s
            raise OutsideRangeError(field="ring.at_s", value=ring.at_s, low=now_s, high=now_s, unit="s")
        n = len(ring.squares)
        for name, part in (("first", first), ("last", last)):
            if not 0 <= part < n:
                raise OutsideRangeError(field=name, value=part, low=0, high=n - 1, unit="")
        count = (last - first) % n + 1
        squares = ring.squares[(first + np.arange(count)) % n]
        piece = self._state.new_piece(until_s, _LINKS_PER_SQUARE * count)
        block_squares(
            squares,
            piece,
            self._now_s,
            self._state.cells,
            self._state.lines,
            self._state.cross_link,
            self._state.counts,
            self._metric.slot(self._slot),
        )
        state = self._state
        held = MultiPoint(state.crossing_points(*state.crossings_of(piece)))
        self._join(piece, held, np.empty((0, 2)))
        return piece

    def hold_line(self, xy: ArrayLike, until_s: float) -> int:
        """Lay line along a polyline `xy` [n, 2] in grid metres, ahead of the fire; the piece's number.

        Where the fire is already past it, it stops nothing: judged once, now. Round an end the fire comes
        as near as it can, unless the end lies within half a cell of other line or of ground that never
        burns: then the two are joined, and stay so.

        Raises
        ------
        InputError
            If `xy` is no line of at least two points.
        OutsideRangeError
            If `until_s` lies before now.
        """
        self._check_end(until_s)
        points = cell_long(self._metric.fields.grid, np.asarray(xy, float))
        piece = self._state.new_piece(until_s, _LINKS_PER_CELL_OF_LINE * len(points))
        self._block(piece, points, ends=True)
        self._join(piece, LineString(points), points[[0, -1]])
        return piece

    def release(self, piece: int, until_s: float) -> None:
        """Give a piece of line a new end: wetted again, secured (inf), or failing (now).

        Where it had dried and the fire has gone through, new water on the old line does not call the
        fire back.

        Raises
        ------
        OutsideRangeError
            If there is no such piece, or `until_s` lies before now.
        """
        self._check_piece(piece)
        self._check_end(until_s)
        state = self._state
        self._settle_waits(*state.crossings_of(piece))
        if state.piece_end_s[piece] <= self._now_s:
            self._move_on(*state.crossings_of(piece))
        state.piece_end_s[piece] = until_s
        self._forget(np.arange(*state.crossings_of(piece)))

    def piece_end_s(self, piece: int) -> float:
        """When a piece of line ends.

        Raises
        ------
        OutsideRangeError
            If there is no such piece.
        """
        self._check_piece(piece)
        return float(self._state.piece_end_s[piece])

    def contained(self) -> bool:
        """Whether the fire can reach no more ground: every link out is blocked for good.

        Never true once the fire has reached the grid's edge, nor where it only stands for an hour.
        """
        from wetline.growth._kernels.lines import contained  # noqa: PLC0415  numba loads late

        state = self._state
        return bool(
            contained(
                self._now_s,
                state.cells,
                state.lines,
                state.counts,
                self._metric.slot(self._slot),
                self._metric.last_slot,
                self._slot,
            )
        )

    def _draw(self, start: Start) -> None:
        """Burn what lies within a perimeter drawn now, and judge line anew beside it."""
        from wetline.growth._kernels.drawn import ignite  # noqa: PLC0415  numba loads late
        from wetline.growth._kernels.lines import judge_drawn  # noqa: PLC0415  numba loads late

        state, metric = self._state, self._metric.slot(self._slot)
        self._parts_lost += start.parts_lost
        ignite(
            state.cells,
            state.counts,
            metric,
            start.inside,
            start.near,
            start.cost_s,
            start.ray,
            self._now_s,
        )
        kept = np.empty(state.counts[layout.CROSSINGS], np.int64)
        n = judge_drawn(
            start.near,
            _PEN_CELLS,
            self._now_s,
            state.cells,
            state.lines,
            state.cross_link,
            state.counts,
            metric,
            kept,
        )
        self._forget(kept[:n])
        self._solve(self._now_s)

    def _solve(self, until_s: float, watched: NDArray[np.int64] | None = None) -> None:
        from wetline.growth._kernels.strips import solve  # noqa: PLC0415  numba loads late

        self._now_s = solve(
            self._state.cells,
            self._state.lines,
            self._state.counts,
            self._metric.slot(self._slot),
            self._state.queue,
            self._now_s,
            until_s,
            self._slot_start_s,
            np.empty(0, np.int64) if watched is None else watched,
        )

    def _change_weather(self) -> None:
        from wetline.growth._kernels.lines import hand_over  # noqa: PLC0415  numba loads late

        state, old = self._state, self._metric.slot(self._slot)
        crossings = int(state.counts[layout.CROSSINGS])
        self._settle_waits(1, crossings)
        self._move_on(1, crossings)
        self._slot += 1
        self._slot_start_s = self._now_s
        hand_over(state.cells, state.lines, state.counts, old, self._metric.slot(self._slot), self._now_s)

    def _settle_waits(self, first: int, last: int) -> None:
        from wetline.growth._kernels.lines import settle_waits  # noqa: PLC0415  numba loads late

        state = self._state
        if first == last:
            return
        settle_waits(
            first,
            last,
            self._now_s,
            state.cells,
            state.lines,
            state.cross_link,
            state.counts,
            self._metric.slot(self._slot),
        )

    def _move_on(self, first: int, last: int) -> None:
        from wetline.growth._kernels.lines import move_on  # noqa: PLC0415  numba loads late

        state = self._state
        if first == last:
            return
        piece = state.new_piece(self._now_s, last - first)
        move_on(
            first,
            last,
            piece,
            self._now_s,
            state.cells,
            state.lines,
            state.cross_link,
            state.counts,
            self._metric.slot(self._slot),
        )

    def _forget(self, crossings: NDArray[np.int64]) -> None:
        """Compute anew what depended on the links of these crossings."""
        from wetline.growth._kernels.drawn import forget  # noqa: PLC0415  numba loads late

        state = self._state
        if not crossings.size:
            return
        forget(crossings, state.cells, state.counts, state.cross_link, state.link, state.queue)
        self._solve(self._now_s)

    def _block(self, piece: int, points: NDArray[np.float64], *, ends: bool) -> None:
        """Block every link that a line crosses; `ends`: fire may come round its ends."""
        from wetline.growth._kernels.lines import block_polyline  # noqa: PLC0415  numba loads late

        state = self._state
        along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))
        block_polyline(
            points,
            along,
            _TIP_CELLS if ends else -1.0,
            piece,
            self._now_s,
            state.cells,
            state.lines,
            state.cross_link,
            state.cross_tip,
            state.counts,
            self._metric.slot(self._slot),
        )

    def _join(self, piece: int, shape: BaseGeometry, ends: NDArray[np.float64]) -> None:
        """Join the newest piece to what it meets, and compute anew what depended on all these links."""
        state = self._state
        met = joins(state, shape, ends, self._now_s)
        state.make_room(_LINKS_PER_CELL_OF_LINE * 2 * len(met.spurs))
        for spur in met.spurs:
            self._block(piece, spur, ends=False)
        state.piece_shapes[piece] = shape
        if len(ends):
            state.piece_tips[piece] = ends
        closed = [state.close_tip(piece, tip) for tip in met.own]
        closed += [state.close_tip(other, tip) for other, tip in met.others]
        self._forget(np.concatenate([np.arange(*state.crossings_of(piece)), *closed]))

    def _check_time(self, field: str, time_s: float) -> None:
        last = float(self._metric.fields.edges_s[-1])
        if not self._now_s <= time_s <= last:
            raise OutsideRangeError(field=field, value=time_s, low=self._now_s, high=last, unit="s")

    def _check_end(self, until_s: float) -> None:
        if not until_s >= self._now_s:
            raise OutsideRangeError(field="until_s", value=until_s, low=self._now_s, high=math.inf, unit="s")

    def _check_piece(self, piece: int) -> None:
        pieces = int(self._state.counts[layout.PIECES])
        if not 1 <= piece < pieces:
            raise OutsideRangeError(field="piece", value=piece, low=1, high=pieces - 1, unit="")
