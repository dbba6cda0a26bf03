"""Formulas in MathML Core, as browsers draw it by themselves."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from anchorsize.present.report.notation import POWER, PRODUCT, SUM, WHOLE, Figure, Piece

DOTTED = {"ṁ": "m"}
"""Letters with a dot over them: as one sign they have no italic form in the letters of formulas, so the dot is set over the letter."""


def math(body: str) -> str:
    """A formula that stands in a line of text."""
    return f"<math>{body}</math>"


def signed(sign: str, body: str) -> str:
    """A term of a sum as a formula of its own, its sign spaced as between two terms."""
    return math(f'<mo form="infix">{sign}</mo>{body}' if sign else body)


class MathML:
    """Writes the pieces of a formula; ``numbers`` puts a dot between factors where symbols just stand side by side."""

    def __init__(self, numbers: bool) -> None:
        self._times = "<mo>·</mo>" if numbers else "<mo>&#8290;</mo>"

    def constant(self, value: float) -> Piece:
        return Piece(f"<mn>{value:g}</mn>")

    def symbol(self, base: str, subscript: str, vector: bool) -> Piece:
        mark = ' class="v"' if vector else ""
        letter = f"<mi{mark}>{escape(base)}</mi>" if base not in DOTTED else _dotted(DOTTED[base])
        if not subscript:
            return Piece(letter)
        words = "".join(
            f"<mn>{each}</mn>" if each.isdigit() else f"<mi>{escape(each)}</mi>" if len(each) == 1 else f"<mtext>{escape(each)}</mtext>"
            for each in _spaced(subscript.split())
        )  # fmt: skip
        return Piece(f"<msub>{letter}<mrow>{words}</mrow></msub>")

    def number(self, figure: Figure, unit: str) -> Piece:
        text = _digits(figure) + _unit(unit)
        if figure.value < 0.0:
            return Piece(f"<mrow><mo>−</mo>{text}</mrow>", SUM)
        return Piece(
            f"<mrow>{text}</mrow>" if unit or figure.exponent else text, PRODUCT if unit or figure.exponent else WHOLE
        )

    def vector(self, figures: Sequence[Figure], unit: str) -> Piece:
        inside = "<mo>,</mo>".join(self.number(each, "").text for each in figures)
        return Piece(f"<mrow><mo>(</mo>{inside}<mo>)</mo>{_unit(unit)}</mrow>", PRODUCT if unit else WHOLE)

    def negative(self, a: str) -> str:
        return f"<mo>−</mo>{a}"

    def between(self, sign: str, a: str, b: str) -> str:
        return f"{a}{self._times if sign == '·' else f'<mo>{sign}</mo>'}{b}"

    def over(self, a: Piece, b: Piece) -> Piece:
        return Piece(f"<mfrac><mrow>{a.text}</mrow><mrow>{b.text}</mrow></mfrac>", POWER)

    def power(self, a: str, exponent: str) -> str:
        return f"<msup><mrow>{a}</mrow>{exponent}</msup>"

    def root(self, a: Piece) -> Piece:
        return Piece(f"<msqrt>{a.text}</msqrt>")

    def bars(self, a: str) -> str:
        return f"<mrow><mo>|</mo>{a}<mo>|</mo></mrow>"

    def call(self, name: str, arguments: Sequence[str]) -> str:
        function = f"<mi>{name}</mi>" if name else ""
        return f"<mrow>{function}<mo>(</mo>{'<mo>,</mo>'.join(arguments)}<mo>)</mo></mrow>"

    def group(self, a: str) -> str:
        return f"<mrow><mo>(</mo>{a}<mo>)</mo></mrow>"

    def sigma(self, a: str) -> str:
        return f"<mo>∑</mo>{a}"

    def system(self, matrix: Sequence[Sequence[str]], unknowns: Sequence[str], right: Sequence[str]) -> str:
        return f"{_table(matrix)}{_table([[each] for each in unknowns])}<mo>=</mo>{_table([[each] for each in right])}"


def _dotted(letter: str) -> str:
    return f'<mover accent="true"><mi>{letter}</mi><mo stretchy="false">˙</mo></mover>'


def _spaced(words: Sequence[str]) -> list[str]:
    """Words of a subscript, with blanks between those that follow each other."""
    return [word if not i else f" {word}" if len(word) > 1 else word for i, word in enumerate(words)]


def _digits(figure: Figure) -> str:
    if not figure.exponent:
        return f"<mn>{figure.digits}</mn>"
    power = (
        f"<mn>{figure.exponent}</mn>" if figure.exponent > 0 else f"<mrow><mo>−</mo><mn>{-figure.exponent}</mn></mrow>"
    )
    return f"<mrow><mn>{figure.digits}</mn><mo>×</mo><msup><mn>10</mn>{power}</msup></mrow>"


def _unit(unit: str) -> str:
    return f"<mtext> {escape(unit)}</mtext>" if unit else ""


def _table(rows: Sequence[Sequence[str]]) -> str:
    cells = "".join(f"<mtr>{''.join(f'<mtd>{cell}</mtd>' for cell in row)}</mtr>" for row in rows)
    return f'<mtable class="m">{cells}</mtable>'
