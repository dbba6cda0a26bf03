"""Sections of the report on how far the joint bears what may go otherwise: another torque, a bolt lost."""

from __future__ import annotations

from collections.abc import Sequence

from anchorsize.assessment.results import Assessment
from anchorsize.present.losses import LOSSES, any_lost_words, loss_columns, loss_notes, no_loss_words
from anchorsize.present.report.blocks import Block, Bullets, Grid, Prose, Section
from anchorsize.present.windows import window_sentences
from anchorsize.studies.lost_bolt import LostBolt
from anchorsize.studies.torque import TighteningWindow
from anchorsize.units import System

VERDICT = "verdict"
"""Head of the last column, which the table of the terminal leaves without one."""


def window_section(
    windows: Sequence[TighteningWindow],
    after: Sequence[TighteningWindow],
    system: System,
    one_lost: Sequence[TighteningWindow] = (),
) -> Section | None:
    """Between which torques every check holds that preload decides; None where no joint is tightened.

    ``after`` are the windows once the joints are repaired, ``one_lost`` those that stand any one bolt lost.
    """
    told = window_sentences(windows, system, after, one_lost)
    if not told:
        return None
    blocks: list[Block] = [Bullets([sentence for bullet, sentence in told if bullet == "- "])]
    blocks += [Prose(sentence, "note") for bullet, sentence in told if bullet != "- "]
    return Section("Tightening window", blocks, early=True)


def lost_words(losses: Sequence[LostBolt]) -> Prose | None:
    """What comes of losing any one bolt; None where none was lost."""
    if not losses:
        return None
    return Prose(any_lost_words(losses), "boxed" if all(row.holds for row in losses) else "loud")


def lost_section(losses: Sequence[LostBolt], assessment: Assessment) -> Section:
    """Every joint with each of its bolts lost in turn, worst first."""
    said = lost_words(losses)
    if said is None:
        return Section("One bolt lost", [Prose(no_loss_words(assessment), "note")], early=True)
    headers, rows = loss_columns(losses, list(assessment.cases), roomy=True)
    cells = [[*(cell.replace("\n", "; ") for cell in row), verdict.replace("\n", " ")] for *row, verdict in rows]
    notes = loss_notes(losses, assessment)
    blocks: list[Block] = [
        said,
        Grid("one_bolt_lost", [*headers[:-1], VERDICT], cells, LOSSES, len(headers) - 3),
    ]
    if notes:
        blocks.append(Bullets(notes))
    return Section("One bolt lost", blocks, early=True)
