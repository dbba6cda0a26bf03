"""Formulas as plain text, for Markdown and for reading aloud."""

from __future__ import annotations

from collections.abc import Sequence

from anchorsize.present.report.notation import PRODUCT, SUM, WHOLE, Figure, Piece

_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


class PlainText:
    """Writes the pieces of a formula with the signs of a text."""

    def constant(self, value: float) -> Piece:
        return Piece(f"{value:g}")

    def symbol(self, base: str, subscript: str, vector: bool) -> Piece:
        _ = vector  # a vector is told by its parts
        return Piece(f"{base}_{subscript.replace(' ', ',')}" if subscript else base)

    def number(self, figure: Figure, unit: str) -> Piece:
        text = signed_text(figure)
        if unit:
            return Piece(f"({text} {unit})")
        return Piece(text, SUM if figure.value < 0.0 else PRODUCT if figure.exponent else WHOLE)

    def vector(self, figures: Sequence[Figure], unit: str) -> Piece:
        return Piece(
            f"({', '.join(map(signed_text, figures))}){f' {unit}' if unit else ''}", PRODUCT if unit else WHOLE
        )

    def negative(self, a: str) -> str:
        return f"−{a}"

    def between(self, sign: str, a: str, b: str) -> str:
        return f"{a}·{b}" if sign in "·⋅" else f"{a} {sign} {b}"

    def over(self, a: Piece, b: Piece) -> Piece:
        above, below = (
            self.group(each.text) if each.strength < least else each.text for each, least in ((a, PRODUCT), (b, WHOLE))
        )
        return Piece(f"{above}/{below}", PRODUCT)

    def power(self, a: str, exponent: str) -> str:
        whole = exponent.lstrip("−-").isdigit()
        return f"{a}{exponent.replace('−', '-').translate(_RAISED)}" if whole else f"{a}^({exponent})"

    def root(self, a: Piece) -> Piece:
        return Piece(f"√({a.text})")

    def bars(self, a: str) -> str:
        return f"|{a}|"

    def call(self, name: str, arguments: Sequence[str]) -> str:
        return f"{name}({', '.join(arguments)})"

    def group(self, a: str) -> str:
        return f"({a})"

    def sigma(self, a: str) -> str:
        return f"Σ {a}"

    def system(self, matrix: Sequence[Sequence[str]], unknowns: Sequence[str], right: Sequence[str]) -> str:
        rows = (
            "; ".join(", ".join(row) for row in part)
            for part in (matrix, [[u] for u in unknowns], [[r] for r in right])
        )
        left, middle, sides = rows
        return f"[{left}]·[{middle}] = [{sides}]"


def signed_text(figure: Figure) -> str:
    """A number as printed, with its sign and power of ten."""
    text = figure.digits if not figure.exponent else f"{figure.digits}×10{str(figure.exponent).translate(_RAISED)}"
    return f"−{text}" if figure.value < 0.0 else text
