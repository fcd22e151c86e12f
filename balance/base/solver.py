"""One optimisation programme after another, linear or with whole numbers, for HiGHS: put together column by column
and row by row, solved, and asked. HiGHS takes a tenth of a second to load, which only a programme pays."""

from __future__ import annotations

import math
import signal
import threading
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from truethrow.balance.base.arrays import Floats

UNBOUNDED = math.inf

Terms = Mapping[int, float]  # by column, or by row


class Programme:
    """The least of what the columns cost, each between two bounds, with every row between two. On one thread, so
    that the same programme has the same answer.

    options: HiGHS's own, by their names there."""

    def __init__(self, **options: float) -> None:
        import highspy  # noqa: PLC0415 (start-up)

        self._status, self._whole = highspy.HighsModelStatus, highspy.HighsVarType.kInteger
        self.highs: Any = highspy.Highs()  # type: ignore[no-untyped-call]
        self.set(**({"output_flag": False, "threads": 1} | options))
        # Called now and then amid a long search for whole numbers, for whoever shows that it goes on.
        self.watch: Callable[[], None] | None = None
        self.columns = self.rows = 0
        self._has_whole = False

    def set(self, **options: float) -> None:
        """Options of HiGHS's own, from now on."""
        for option, value in options.items():
            self.highs.setOptionValue(option, value)

    def column(
        self,
        cost: float = 0.0,
        most: float = UNBOUNDED,
        *,
        least: float = 0.0,
        whole: bool = False,
        entries: Terms | None = None,
    ) -> int:
        """One more column, and its number. entries: what one of it is in the rows that stand already."""
        entries = entries or {}
        self.highs.addCol(cost, least, most, len(entries), list(entries), list(entries.values()))
        if whole:
            self.highs.changeColIntegrality(self.columns, self._whole)
            self._has_whole = True
        self.columns += 1
        return self.columns - 1

    def many_columns(self, costs: Floats, entries: NDArray[np.integer], most: float, *, whole: bool) -> None:
        """More columns at once, from 0 to most. entries: what one of each is in the rows that stand
        already (columns × rows)."""
        import numpy as np  # noqa: PLC0415 (start-up)

        count, filled = len(entries), entries != 0
        starts = np.concatenate([[0], np.cumsum(filled.sum(axis=1))])[:-1].astype(np.int32)
        rows, values = np.nonzero(filled)[1].astype(np.int32), entries[filled].astype(np.float64)
        lower, upper = np.zeros(count), np.full(count, float(most))
        self.highs.addCols(count, costs, lower, upper, len(values), starts, rows, values)
        if whole:
            added = np.arange(self.columns, self.columns + count, dtype=np.int32)
            self.highs.changeColsIntegrality(count, added, np.full(count, self._whole))
            self._has_whole = True
        self.columns += count

    def row(self, least: float, most: float, terms: Terms | None = None) -> int:
        """One more row, and its number."""
        terms = terms or {}
        self.highs.addRow(least, most, len(terms), list(terms), list(terms.values()))
        self.rows += 1
        return self.rows - 1

    def cost(self, costs: Terms) -> None:
        """Let the columns cost this from now on, and every other nothing."""
        for column in range(self.columns):
            self.highs.changeColCost(column, float(costs.get(column, 0.0)))

    def hold_column(self, column: int, least: float, most: float) -> None:
        """Hold a column between other bounds from now on."""
        self.highs.changeColBounds(column, least, most)

    def hold_row(self, row: int, least: float, most: float) -> None:
        """Hold a row between other bounds from now on."""
        self.highs.changeRowBounds(row, least, most)

    def begin_with(self, values: Terms) -> None:
        """An answer to begin with, of some of the columns; the solver finds the others."""
        self.highs.setSolution(len(values), list(values), list(values.values()))

    def run(self, progress: Callable[[float], None] = lambda _: None) -> None:
        """Solve it. progress: is told now and then, amid a search for whole numbers, what no answer can cost less
        than. Raises KeyboardInterrupt for Ctrl-C, also amid such a search."""
        if not self._has_whole or threading.current_thread() is not threading.main_thread():
            self.highs.run()
            return
        pressed = threading.Event()

        def look(event: Any) -> None:
            if self.watch is not None:
                self.watch()
            if pressed.is_set():
                event.interrupt()
            elif math.isfinite(bound := float(event.data_out.mip_dual_bound)):
                progress(bound)

        before = signal.signal(signal.SIGINT, lambda *_: pressed.set())
        self.highs.cbMipInterrupt.subscribe(look)
        try:
            self.highs.run()
        finally:
            self.highs.cbMipInterrupt.unsubscribe(look)
            signal.signal(signal.SIGINT, before)
        if pressed.is_set():
            raise KeyboardInterrupt

    @property
    def ended(self) -> str:
        """How the search ended, in HiGHS's words."""
        return str(self.highs.modelStatusToString(self.highs.getModelStatus()))

    @property
    def total(self) -> float:
        """What the answer costs."""
        return float(self.highs.getInfo().objective_function_value)

    @property
    def bound(self) -> float:
        """What no answer of a programme with whole numbers can cost less than, as far as it was searched."""
        return float(self.highs.getInfo().mip_dual_bound)

    @property
    def nodes(self) -> int:
        """How many nodes of its tree the search for whole numbers went through."""
        return max(0, int(self.highs.getInfo().mip_node_count))

    @property
    def is_best(self) -> bool:
        """Whether the answer is proved to be the best."""
        return bool(self.highs.getModelStatus() == self._status.kOptimal)

    @property
    def is_impossible(self) -> bool:
        return bool(self.highs.getModelStatus() == self._status.kInfeasible)

    @property
    def is_feasible(self) -> bool:
        """Whether there is an answer that keeps all bounds, be it the best or not."""
        return bool(self.highs.getInfo().primal_solution_status == 2)  # HiGHS's word for a feasible point

    @property
    def values(self) -> list[float]:
        """Of the columns; none where the search ended before any were found."""
        solution = self.highs.getSolution()
        return list(solution.col_value) if solution.value_valid else []

    @property
    def prices(self) -> list[float]:
        """What one more of each row would cost (the duals), of a programme without whole numbers."""
        return list(self.highs.getSolution().row_dual)
