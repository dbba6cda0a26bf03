"""Worked lines told in brief: of many lines of one formula one stands in full, all of them are rows of a table.

Nothing is lost: a row holds every number put in that is not the same in all lines, and the result. Groups of lines that are about
the same things, such as the tension and the shear of each bolt, share one table.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from anchorsize.present.report.blocks import Grid, grouped
from anchorsize.present.report.notation import Figure, parts
from anchorsize.present.report.plain import PlainText, signed_text
from anchorsize.present.report.steps import Quantity, Step

LEAST = 3
"""Lines of one formula from which a table is made."""

REST = "Every line of the same formulas, with its numbers"
ELSEWHERE = "all of them: table below"

Cell = tuple[Quantity, list[Figure]]


@dataclass(frozen=True)
class Told:
    """Lines of one formula as they are told: those in full, and whether the others stand in a table."""

    steps: list[Step]
    tabled: bool = False


@dataclass
class _Table:
    """Rows by label and columns by symbol."""

    columns: dict[str, dict[str, Cell]] = field(default_factory=dict)
    labels: list[str] = field(default_factory=list)

    def takes(self, columns: dict[str, dict[str, Cell]]) -> bool:
        """Whether columns are about the same things and say nothing else of them."""
        labels = {label for column in columns.values() for label in column}
        if self.labels and not (labels <= set(self.labels) or labels >= set(self.labels)):
            return False
        return all(
            self.columns[symbol][label][0].parts == quantity.parts
            and self.columns[symbol][label][0].unit == quantity.unit
            for symbol, column in columns.items()
            for label, (quantity, _) in column.items()
            if label in self.columns.get(symbol, {})
        )

    def add(self, columns: dict[str, dict[str, Cell]]) -> None:
        """Take columns in; of a number that is there already, the one with more figures stays."""
        for symbol, column in columns.items():
            known = self.columns.setdefault(symbol, {})
            for label, cell in column.items():
                if label not in self.labels:
                    self.labels.append(label)
                if label not in known or _length(known[label]) < _length(cell):
                    known[label] = cell

    def grid(self) -> Grid:
        """The table; a unit that a whole column shares stands in its head."""
        heads, columns = ["of"], []
        for symbol, column in self.columns.items():
            units = {quantity.unit_of(0) for quantity, _ in column.values() if any(quantity.parts)}
            shared = units.pop() if len(units) == 1 else ""
            name = PlainText().symbol(*parts(symbol), False).text
            heads.append(f"{name} [{shared}]" if shared else name)
            columns.append([_cell(column.get(label), not shared) for label in self.labels])
        return Grid("", heads, [[label, *row] for label, *row in zip(self.labels, *columns, strict=True)], REST)


def _length(cell: Cell) -> int:
    return sum(len(figure.digits) for figure in cell[1])


def _cell(cell: Cell | None, with_unit: bool) -> str:
    if cell is None:
        return "-"
    quantity, figures = cell
    told = [signed_text(figure) for figure in figures]
    text = told[0] if quantity.single else f"({', '.join(told)})"
    unit = quantity.unit_of(0) if with_unit and any(quantity.parts) else ""
    return f"{text} {unit}" if unit else text


def in_brief(steps: Sequence[Step]) -> tuple[list[Told], list[Grid]]:
    """Lines of one formula together, the one with the greatest result in full; and the tables of the others."""
    told, tables = [], list[_Table]()
    for group in grouped(steps):
        if not _can_be_tabled(group):
            told.append(Told(group))
            continue
        first = _governing(group)
        columns = _columns(group)
        table = next((each for each in tables if each.takes(columns)), None)
        if table is None:
            table = _Table()
            tables.append(table)
        table.add(columns)
        told.append(Told([first], tabled=True))
    return told, [table.grid() for table in tables]


def _can_be_tabled(group: Sequence[Step]) -> bool:
    """Whether lines differ by numbers alone that fit into cells, and by labels that tell them apart."""
    return (
        len(group) >= LEAST
        and not group[0].unknowns
        and len({step.label for step in group}) == len(group)
        and all(step.label for step in group)
        and not any(value.row for step in group for value in step.values.values())
    )


def _governing(group: Sequence[Step]) -> Step:
    """The line with the greatest result, of margins the one with the least."""

    def size(step: Step) -> float:
        return max(abs(part) for part in step.result.parts)

    if group[0].symbol == "margin":
        return min(group, key=lambda step: step.result.number)
    return max(group, key=size)


def _columns(group: Sequence[Step]) -> dict[str, dict[str, Cell]]:
    """What differs within a group, by symbol and label, and the results; what all lines share stands in the full line."""
    columns: dict[str, dict[str, Cell]] = {}
    for symbol in group[0].values:
        if len({(tuple(step.values[symbol].parts), step.values[symbol].unit) for step in group}) > 1 or _coarser(
            symbol, group
        ):
            columns[symbol] = {step.label: (step.values[symbol], step.put_in[symbol]) for step in group}
    columns[group[0].symbol] = {step.label: (step.result, step.result_figures) for step in group}
    return columns


def _coarser(symbol: str, group: Sequence[Step]) -> bool:
    """Whether another line needs more figures of a number that all share than the full line prints."""
    shown = _governing(group).put_in[symbol]
    return any(
        len(there.digits) > len(here.digits)
        for step in group
        for here, there in zip(shown, step.put_in[symbol], strict=True)
    )
