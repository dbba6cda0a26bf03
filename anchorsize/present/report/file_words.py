"""The words of an input file that are no quantities: sizes, classes, designations, exits, counts, directions, names."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from anchorsize.casefile.reading import Text, Tree

TOLD_ELSEWHERE = ("note", "notes", "title", "case_file")


def file_words(tree: Tree, quantities: Collection[str]) -> Iterator[tuple[str, int, str]]:
    """Key path, line and text of every word, in the order of the file; a list of words is one row.

    ``quantities`` are the key paths of the quantities, which are left out with their parts.
    """
    parts = {path.rpartition("/")[0] for path in quantities} | set(quantities)

    def within(branch: Tree, path: str) -> Iterator[tuple[str, int, str]]:
        if isinstance(branch, Text):
            if path not in quantities:
                yield path, branch.line, str(branch)
        elif isinstance(branch, dict):
            for key, each in branch.items():
                if key not in TOLD_ELSEWHERE:
                    yield from within(each, f"{path}/{key}" if path else key)
        elif not all(isinstance(each, Text) for each in branch):
            for number, each in enumerate(branch, 1):
                yield from within(each, f"{path}/{number}")
        elif branch and path not in parts:
            yield path, branch.line, f"[{', '.join(map(str, branch))}]"

    yield from within(tree, "")
