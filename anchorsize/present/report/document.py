"""The report as sections: verdict and signatures, support options, on site, inputs, cases with worked lines, curve, what it rests on."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from anchorsize import __version__
from anchorsize.assessment.hot import cautions
from anchorsize.assessment.results import Assessment, CaseResult
from anchorsize.assessment.statements import DEFERRAL
from anchorsize.casefile.inputs import InputValue
from anchorsize.casefile.parse import validate
from anchorsize.present import text
from anchorsize.present.flow_words import energy_words
from anchorsize.present.given import case_terms
from anchorsize.present.on_site import on_site
from anchorsize.present.repaired import repair_words
from anchorsize.present.report import pictures, tables
from anchorsize.present.report.blocks import (
    Block,
    Bullets,
    Document,
    Facts,
    Grid,
    Lines,
    Listing,
    Prose,
    Section,
    Signatures,
)
from anchorsize.present.report.drawing import Drawing
from anchorsize.present.report.file_words import file_words
from anchorsize.present.report.worked import Part, Worked, worked
from anchorsize.present.words import quantity

WHOLE = 1_000_000  # columns: a sentence of the terminal report on one line
LONGEST_LISTING = 60_000  # characters of an input file that the report repeats
ROLES = ("Prepared by", "Checked by", "Reviewed by (licensed engineer)")
FILED_AS = ("Document number", "Revision")
TO_FILL_IN = "." * 24
SIGNED = ("name", "license number and place", "date", "signature")
SIGN = Section("Signatures", [Signatures(ROLES, SIGNED)])
_RECALLED = re.compile(r" \(from memory\)|,? from memory")
HOW_TO_READ = (
    "Every line stands on its own: the formula, the numbers put in, the result, the source. Numbers are in coherent SI units (m, kg, s, N, "
    "N·m, Pa), so that a line is recomputed as it stands; behind the result stands the same in the units of this report. A number with "
    "fewer than six figures put in, or fewer than five in a result, is exact; a result of 0 is under a billionth of its terms, a part "
    "of a vector that reads 0 under a billionth of its greatest part. Loads that are nothing are left out. Vectors are (x, y, z) in the axes of the file; × between them is the vector product, · the scalar product, "
    "|…| the length. Σ runs over the bolts that carry (there, and not loose), in the order of their numbers."
)
IN_BRIEF = (
    " Told in brief: of many lines of one formula the one with the greatest result (of margins the least) stands in full and all of them in a table with every number "
    "that differs; a formula that an earlier line has shown is named by the number of that line; terms of a sum that are 0 are left out, and the line says so; equal terms of a sum over the bolts stand "
    "once, with their number before them. With "
    "`--full` every line is written out."
)


@dataclass(frozen=True)
class Source:
    """The file that a report is made from: its name, its text, its digest and its inputs."""

    name: str
    text: str
    digest: str
    inputs: list[InputValue]


def document(
    assessment: Assessment,
    source: Source,
    followed: pictures.Followed,
    further: Iterable[Section],
    drawing: Drawing | None,
    day: date,
    full: bool = False,
    asked: Prose | None = None,
) -> Document:
    """Build the report of an assessment.

    ``followed`` are the curves, and ``further`` sections of other studies, which stand behind them unless they are ``early``; they
    are asked for before the first picture, so that what they work out is worked out while pictures are drawn. ``drawing`` is None
    where no pictures are wanted, ``day`` is the date of making in UTC, and ``full`` whether every worked line is written out.
    ``asked`` is what comes of a study that was asked for: it stands with the verdict.
    """
    study = assessment.study
    lines = worked(assessment)
    others = list(further)
    sections = [
        Section("Result", _result(assessment, _recalled(assessment, lines), asked), [SIGN]),
        *(section for section in others if section.early),
        Section("On site", (), list(_on_site(assessment, drawing))),
        Section("Inputs", _inputs(assessment, source)),
        Section(
            "Worked lines that every case shares",
            [Prose(HOW_TO_READ + ("" if full else IN_BRIEF), "note")],
            [_part(part) for part in lines.common],
        ),
        *(_case(assessment, case, lines.cases[name], drawing) for name, case in assessment.cases.items()),
    ]
    if (how := tables.how(assessment)) is not None:
        note = "Utilization is demand over allowable; allowable over demand for a demand that must be at least (≥). Margin is 1 / utilization − 1."
        sections.append(Section("How the checks were made", [Prose(note), how]))
    shown = drawing.of_study(followed) if drawing is not None else pictures.told_curves(followed)
    if shown:
        sections.append(Section("Reaction against flow, and balance flow", shown))
    sections += [*(section for section in others if not section.early), *_closing(assessment), _file(source)]
    fluid = f"{study.fluid.name}, {quantity(float(study.fluid.density), 'density', study.units, 6)}"
    option = f"; support option: {assessment.option}" if len(study.supports) > 1 else ""
    front: list[Block] = [
        Prose(
            f"Calculation report of {source.name}; fluid: {fluid}{option}; {len(assessment.cases)} operating cases.",
            "soft",
        ),
        Facts([("Made on", f"{day.isoformat()} (UTC)"), *((name, TO_FILL_IN) for name in FILED_AS)]),
    ]
    return Document(study.title or "untitled", front, sections)


def _result(assessment: Assessment, recalled: Sequence[str], asked: Prose | None) -> list[Block]:
    said = text.verdict_text(assessment, WHOLE).split("\n")
    blocks: list[Block] = [
        Prose(said[0], "boxed" if assessment.verdict == "holds" else "loud"),
        *([] if asked is None else [asked]),
        *(Prose(line) for line in said[1:]),
    ]
    weak = [f"values of {', '.join(row.what for row in assessment.weak_sources)}"] if assessment.weak_sources else []
    weak += [f"formulas of {'; '.join(recalled)}"] if recalled else []
    if weak:
        told = f"From memory, not from a printed page: {'; '.join(weak)}. Confirm before relying on the result."
        blocks.append(Prose(told, "note"))
    overview = tables.overview(assessment)
    return [*blocks, overview] if overview is not None else blocks


def _recalled(assessment: Assessment, lines: Worked) -> list[str]:
    """Sources of worked lines and checks that are cited from memory, each once."""
    parts = [*lines.common, *(part for case in lines.cases.values() for part in case)]
    checks = [check for case in assessment.cases.values() for check in case.checks]
    cited = [step.source for part in parts for step in part.steps]
    cited += [source for check in checks for source in (check.source, check.allowable_from)]
    return list(dict.fromkeys(_RECALLED.sub("", source) for source in cited if _RECALLED.search(source)))


def _on_site(assessment: Assessment, drawing: Drawing | None) -> Iterator[Section]:
    """Bolts, torque and worst push of each joint, in the words of the installer's sheet."""
    for name in assessment.study.joints:
        _, items = on_site(assessment, name)
        pictured = drawing.blocks("flange", name) if drawing is not None else []
        yield Section(f"Joint '{name}'", [Facts(items), *pictured])
    if repaired := repair_words(assessment):
        yield Section("After repair", [Prose(repaired)])


def _inputs(assessment: Assessment, source: Source) -> list[Block]:
    study = assessment.study
    tree, _, _ = validate(source.text, source.name)
    blocks: list[Block] = [
        tables.inputs(source.inputs, study.units),
        tables.words(file_words(tree, {value.path for value in source.inputs})),
    ]
    if study.fitting.built_from:
        blocks += [Prose("The fitting was built from, followed from its inlet:"), Bullets(study.fitting.built_from)]
    if study.remarks:
        blocks += [Prose("Notes in the file:"), Bullets(study.remarks)]
    return blocks


def _part(part: Part) -> Section:
    return Section(part.heading, [Lines(part.steps)])


def _case(assessment: Assessment, case: CaseResult, parts: Sequence[Part], drawing: Drawing | None) -> Section:
    study, system = assessment.study, assessment.study.units
    terms = case_terms(study, case.name)
    loads: list[Block] = [Prose(f"{'; '.join(terms)}.")] if terms else []
    loads += drawing.blocks("side", case.name) if drawing is not None else []
    loads += [tables.openings(case, system)]
    loads += [Prose(words) for words in energy_words(study, case)]
    loads.append(tables.loads(case, system))
    if (supports := tables.supports(case, system)) is not None:
        loads.append(supports)
    sections = [Section("Loads by source", loads), Section("Worked lines", (), [_part(part) for part in parts])]
    for name, result in case.joints.items():
        joint = study.joints[name]
        blocks: list[Block] = [tables.actions(case, joint, result, system), tables.bolts(case, joint, result, system)]
        blocks.append(
            Prose(
                "Clock seen from the fitting toward the pipe, 12:00 toward e1. Pressed: the loads push the faces together there.",
                "soft",
            )
        )
        blocks += [Prose(line.strip()) for line in text.face_text(joint, result, system).split("\n") if line.strip()]
        blocks += drawing.blocks("joint", case.name, name) if drawing is not None else []
        sections.append(Section(f"Joint '{name}'", blocks))
    if case.checks:
        sections.append(Section("Checks", [tables.checks(case, system)]))
    return Section(f"Case '{case.name}'", (), sections)


def _closing(assessment: Assessment) -> Iterator[Section]:
    unmade = tables.not_checked(assessment)
    whole = "Every check that this tool knows was made."
    if any(name != assessment.option and some for name, some in assessment.study.supports.items()):
        whole = (
            f"No check of option '{assessment.option}' was left out that this tool knows; what was not checked of another option stands under "
            "that option."
        )
    yield Section("Not checked", [unmade if unmade is not None else Prose(whole)])
    yield Section("Assumptions", [Bullets(assessment.assumptions)])
    stands_out = [(f"In '{w.case}': " if w.case else "") + w.message for w in assessment.warnings]
    yield Section("Warnings: what stands out", [Bullets(stands_out) if stands_out else Prose("Nothing stands out.")])
    yield Section("Cautions", [Bullets([*cautions(assessment.study), DEFERRAL])])
    found = tables.sources(assessment)
    yield Section("Values from tables", [found if found is not None else Prose("No value was taken from a table.")])


def _file(source: Source) -> Section:
    items = [
        ("Made with", f"anchorsize {__version__}"),
        ("Input file", source.name),
        ("SHA-256 of the input file", source.digest),
    ]
    blocks: list[Block] = [Facts(items)]
    if len(source.text) <= LONGEST_LISTING:
        blocks.append(Listing(source.text, "The input file as it was read"))
    return Section("Tool and input file", blocks)


def grids(made: Document) -> Iterator[Grid]:
    """Every table of a report."""

    def within(sections: Sequence[Section]) -> Iterator[Grid]:
        for section in sections:
            yield from (block for block in section.blocks if isinstance(block, Grid))
            yield from within(section.sections)

    yield from within(made.sections)
