"""The leaf types of the case file's pydantic models, and the forgiving base of the models.

A leaf validates one value of the tree and describes itself in the JSON Schema. Problems are recorded in the
:class:`Collector` that travels as validation context, so that one run reports all of them; a model that cannot be built
at all raises the marker error ``reported`` and is left out by the nearest container.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, ClassVar, NoReturn, TypeVar, cast

from pydantic import (
    BaseModel,
    ConfigDict,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    ValidationError,
    ValidationInfo,
    WrapValidator,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from anchorsize.casefile.hints import WHICH_BOLTS, WordHints, bolt_number, bolt_numbers, word_hint
from anchorsize.casefile.mending import read_as_meant, rejoined
from anchorsize.casefile.problems import alike, listed, nearest, shorten
from anchorsize.casefile.quantities import (
    SHAPES,
    Bounds,
    Collector,
    Quantity,
    read_quantity,
    read_vector,
    with_last_unit,
)
from anchorsize.casefile.reading import Branch, Items, Text, Tree
from anchorsize.units import KINDS

T = TypeVar("T")
_WITH_UNIT = r"""^\s*[-+−–]?\s*[.\d¼½¾⅛⅜⅝⅞].*[A-Za-zµ°%"'″′].*$"""
_BARE = r"^\s*[-+−–]?\s*[.\d¼½¾⅛⅜⅝⅞].*$"


def reported() -> NoReturn:
    """Stop validating this value: its problem is recorded already."""
    raise PydanticCustomError("reported", "reported")


@dataclass(frozen=True)
class Leaf:
    """Base of the leaves: validate with :meth:`read`, describe with :meth:`describe`."""

    def read(self, node: Tree, collector: Collector) -> Any:
        raise NotImplementedError

    def describe(self) -> JsonSchemaValue:
        raise NotImplementedError

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(lambda node, info: self.read(node, info.context))

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return self.describe()


@dataclass(frozen=True)
class Q(Leaf):
    """A quantity of one of the kinds (separated by blanks), or one of ``words``."""

    kinds: str
    bounds: Bounds = field(default_factory=Bounds)
    words: tuple[str, ...] = ()

    def read(self, node: Tree, collector: Collector) -> Quantity | str:
        if isinstance(node, Text):
            for word in self.words:
                if alike(word) == alike(node):
                    return word
        return read_quantity(node, tuple(self.kinds.split()), self.bounds, collector)

    def describe(self) -> JsonSchemaValue:
        kinds = [KINDS[kind] for kind in self.kinds.split()]
        bare = kinds[0].name in ("share", "number")
        text: dict[str, Any] = {"type": "string", "pattern": _BARE if bare else _WITH_UNIT}
        examples = [f"1 {unit}" for kind in kinds for unit in kind.usual[:2]] + list(self.words)
        if examples:
            text["examples"] = examples
        if self.words:
            text = {"anyOf": [text, {"enum": list(self.words)}]}
        value = [text, {"type": "number"}] if bare else [text]
        spread = {
            "type": "object",
            "properties": {
                "value": {"type": ["string", "number"]},
                "plus_minus": {"type": ["string", "number"]},
                "shape": {"enum": list(SHAPES)},
            },
            "required": ["value"],
            "additionalProperties": False,
        }
        nouns = " or ".join(kind.noun for kind in kinds)
        return {"description": f"{nouns}, with its unit" if not bare else nouns, "anyOf": [*value, spread]}


@dataclass(frozen=True)
class V(Leaf):
    """A vector of three quantities of one kind; ``number`` for a plain direction."""

    kind: str

    def read(self, node: Tree, collector: Collector) -> tuple[Quantity, Quantity, Quantity]:
        return read_vector(node, self.kind, collector)

    def describe(self) -> JsonSchemaValue:
        usual = KINDS[self.kind].usual
        unit = f", in {usual[0]} or another unit written after the last or after each" if usual else ""
        return {
            "description": f"[x, y, z]{unit}",
            "type": "array",
            "items": {"type": ["number", "string"]},
            "minItems": 3,
            "maxItems": 3,
        }


@dataclass(frozen=True)
class PerBolt(Leaf):
    """One quantity for all bolts, or a list with one for each bolt in the order of their numbers."""

    kind: str
    bounds: Bounds

    def read(self, node: Tree, collector: Collector) -> tuple[Quantity, ...]:
        if not isinstance(node, Items):
            return (read_quantity(node, (self.kind,), self.bounds, collector),)
        texts = [entry for entry in node if isinstance(entry, Text)]
        if len(texts) != len(node) or not texts:
            collector.at(node, "this is no list of quantities", "write one value for each bolt", "wrong_form")
            reported()
        return tuple(read_quantity(text, (self.kind,), self.bounds, collector) for text in with_last_unit(texts))

    def describe(self) -> JsonSchemaValue:
        one = Q(self.kind).describe()
        many = {"type": "array", "items": {"type": ["number", "string"]}, "minItems": 1}
        return {"description": f"{one['description']}, for all bolts or as a list", "anyOf": [*one["anyOf"], many]}


@dataclass(frozen=True)
class Whole(Leaf):
    """A whole number between two limits."""

    least: int
    most: int
    hint: str = ""

    def read(self, node: Tree, collector: Collector) -> int:
        text = str(node).strip() if isinstance(node, Text) else ""
        if text.isascii() and text.isdigit() and len(text) < 9 and self.least <= int(text) <= self.most:
            return int(text)
        found = f"'{shorten(text)}'" if isinstance(node, Text) else "this"
        number, _, word = text.partition(" ")
        hint = f"write {number}" if number.isdigit() and word.strip().isalpha() else self.hint or bolt_number(text)
        if self.least < self.most and node.path[-1:] and node.path[-1].isdigit():  # one of a list
            hint = bolt_numbers(text) or hint or (WHICH_BOLTS if node.path[-2:-1] == ("missing",) else "")
        wanted = f"a whole number from {self.least} to {self.most}" if self.least < self.most else str(self.least)
        collector.at(node, f"{found} is not {wanted}", hint, "not_a_number")
        reported()

    def describe(self) -> JsonSchemaValue:
        return {"type": "integer", "minimum": self.least, "maximum": self.most}


@dataclass(frozen=True)
class Word(Leaf):
    """One of a few words; capitals, blanks, hyphens and underscores make no difference. ``meant`` are hints by what people write."""

    words: tuple[str, ...]
    meant: WordHints = ()

    def read(self, node: Tree, collector: Collector) -> str:
        if isinstance(node, Text):
            for word in self.words:
                if alike(node) == alike(word):
                    return word
        found = f"'{shorten(node)}'" if isinstance(node, Text) else "this"
        hint = listed(self.words)
        if isinstance(node, Text):
            near = nearest(node, self.words)
            hint = near if near.startswith("did you mean") else word_hint(node, self.meant) or near
        collector.at(node, f"{found} is not one of the words known here", hint, "choice")
        reported()

    def describe(self) -> JsonSchemaValue:
        return {"enum": list(self.words)}


@dataclass(frozen=True)
class Name(Leaf):
    """A text: a name, a designation, a note. ``loose`` lets a list of texts stand for several lines."""

    loose: bool = False

    def read(self, node: Tree, collector: Collector) -> str:
        if isinstance(node, Text) and node.strip():
            return " ".join(node.split())
        if self.loose and isinstance(node, Items) and all(isinstance(entry, Text) for entry in node):
            return " ".join(" ".join(str(entry).split()) for entry in node)
        if isinstance(node, Text):
            collector.at(node, "nothing is given where a text is expected", "write it, or take out the key", "empty")
        else:
            collector.at(node, "a single text is expected here", "", "wrong_form")
        reported()

    def describe(self) -> JsonSchemaValue:
        text: JsonSchemaValue = {"type": ["string", "number"]}
        return {"anyOf": [text, {"type": "array", "items": text}]} if self.loose else text


class Entry(BaseModel):
    """A mapping of the case file. Unknown keys are recorded and dropped; what is missing is recorded at its line."""

    model_config = ConfigDict(extra="forbid", arbitrary_types_allowed=True, populate_by_name=False)

    # The schema of a short form that may stand for the mapping, where there is one; see :meth:`unfold`.
    short_form: ClassVar[dict[str, Any] | None] = None

    # Words that people write for a key, where no likeness of letters leads to it.
    also_called: ClassVar[Mapping[str, str]] = {}

    # Keys whose value, where it cannot be read, is left out or replaced, so that the rest is judged in the same run: nothing that
    # is told of the others follows from it. An empty text leaves it out.
    dispensable: ClassVar[Mapping[str, str]] = {}

    @classmethod
    def unfold(cls, node: Tree, collector: Collector) -> Tree:  # noqa: ARG003
        """Turn a short form into the mapping that it stands for; without short forms, return the node itself."""
        return node

    @classmethod
    def judge(cls, branch: Branch, collector: Collector) -> None:
        """Record what can be told of the raw keys together, before any of them is read and perhaps refused."""

    @model_validator(mode="wrap")
    @classmethod
    def _forgive(cls, node: Any, handler: Any, info: ValidationInfo) -> Any:
        collector = cast(Collector, info.context)
        branch = cls.unfold(node, collector)
        if not isinstance(branch, Branch):
            _wrong_form(branch, collector)
        branch = rejoined(branch)
        cls.judge(branch, collector)
        keys = {field.alias or name for name, field in cls.model_fields.items()}
        open_ended = cls.model_config.get("extra") == "allow"
        known = {}
        for key, value in list(branch.items()):
            if key in keys or open_ended:
                known[key] = value
                continue
            line, path = branch.lines[key], (*branch.path, key)
            collector.add(line, path, f"unknown key '{shorten(key)}'", cls._meant(key, keys), "unknown_key", key)
            if meant := read_as_meant(branch, key, keys):
                known[meant] = value
        try:
            return handler(known)
        except ValidationError as error:
            details = error.errors(include_url=False, include_context=False)
        for detail in details:
            _record(branch, detail, collector)
        broken = {str(detail["loc"][0]) for detail in details}
        if not broken <= cls.dispensable.keys():
            reported()
        kept = {key: value for key, value in known.items() if key not in broken}
        placed = {key: Text(word, branch.line, (*branch.path, key)) for key, word in cls.dispensable.items() if word}
        return handler(kept | {key: text for key, text in placed.items() if key in broken})

    @classmethod
    def _meant(cls, key: str, keys: Collection[str]) -> str:
        other = cls.also_called.get(key.lower())
        return f"did you mean '{other}'?" if other else nearest(key, sorted(keys))

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        described = handler(core)
        if cls.short_form is None:
            return described
        return {"anyOf": [cls.short_form, described]}


def keyed_text(node: Tree, key: str) -> Tree:
    """Turn a text that stands for a mapping with one key into that mapping; leave anything else alone."""
    if not isinstance(node, Text) or not node.strip():
        return node
    branch = Branch(node.line, node.path)
    branch[key], branch.lines[key] = node, node.line
    return branch


def _wrong_form(node: Tree, collector: Collector) -> NoReturn:
    if isinstance(node, Text) and not node.strip():
        collector.at(node, "nothing is given here", "write its keys below it, indented, or take it out", "empty")
    else:
        found = "a list" if isinstance(node, Items) else f"'{shorten(node)}'" if isinstance(node, Text) else "this"
        collector.at(node, f"{found} stands where keys are expected", "write 'key: value' pairs", "wrong_form")
    reported()


def _record(branch: Branch, detail: Mapping[str, Any], collector: Collector) -> None:
    """Record one pydantic error that no leaf has reported: a missing key, or a mapping or list of the wrong form."""
    if detail["type"] == "reported":
        return
    key = str(detail["loc"][0])
    if detail["type"] == "missing":
        path = (*branch.path, key)
        collector.add(branch.line, path, f"'{key}' is missing", collector.supply.get(path, ""), "missing_key")
        return
    node = branch[key]
    for deeper in detail["loc"][1:]:
        if not isinstance(node, Branch) or deeper not in node:
            break
        node = node[str(deeper)]
    if isinstance(node, Text) and not node.strip():
        collector.at(node, "nothing is given here", "write it, or take out the key", "empty")
        return
    wanted = "a list" if detail["type"] == "list_type" else "a mapping of names"
    found = f"'{shorten(node)}'" if isinstance(node, Text) else "a list" if isinstance(node, Items) else "a mapping"
    collector.at(node, f"{found} stands where {wanted} is expected", _as_list(node, wanted), "wrong_form")


def _as_list(node: Tree, wanted: str) -> str:
    """How to write as a list what stands there by itself."""
    if wanted != "a list" or isinstance(node, Items):
        return ""
    if isinstance(node, Text):
        if found := bolt_numbers(node, least=1) or bolt_number(node):
            return found
        return WHICH_BOLTS if node.path[-1:] == ("missing",) else f"write [{shorten(node)}]"
    return f"start each entry with a dash: - {{{', '.join(f'{shorten(key)}: …' for key in list(node)[:3])}}}"


def _leave_out(value: Any, handler: Any) -> Any:
    try:
        return handler(value)
    except ValidationError:
        return None


# An item of a mapping or list that is left out (None) if it is broken, so that its neighbors are still judged.
Item = Annotated[T, WrapValidator(_leave_out)]


def nothing_is_empty(node: Tree) -> Tree | list[Tree]:
    """A list of which nothing is written is an empty one."""
    return [] if isinstance(node, Text) and not node.strip() else node


def whole(items: Mapping[str, T]) -> Iterator[tuple[str, T]]:
    """Iterate over the items that could be read."""
    return ((name, item) for name, item in items.items() if item is not None)


def length(above: float | None = None, least: float | None = None, most: float | None = None) -> Q:
    """Return the leaf of a length with limits [m]."""
    return Q("length", Bounds(above, least, most))


# The leaves that recur, by the limits that make sense of them.
Positive = Bounds(above=0.0)
NotNegative = Bounds(least=0.0)
Length = Annotated[Quantity, length(above=0.0)]
# a whole line, such as a wave runs through: longer than anything that stands in one place
LineLength = Annotated[Quantity, length(above=0.0, most=1e6)]
Distance = Annotated[Quantity, length()]
Area = Annotated[Quantity, Q("area", Positive)]
Point = Annotated[tuple[Quantity, Quantity, Quantity], V("length")]
Direction = Annotated[tuple[Quantity, Quantity, Quantity], V("number")]
ForceVector = Annotated[tuple[Quantity, Quantity, Quantity], V("force")]
MomentVector = Annotated[tuple[Quantity, Quantity, Quantity], V("moment")]
Modulus = Annotated[Quantity, Q("modulus", Positive)]
# Common practice, no source: under these the unit is in doubt. Polyethylene pipe, the softest, begins at 0.69 GPa.
Elastic = Annotated[Quantity, Q("modulus", Bounds(above=0.0, low=1e9))]
PipeModulus = Annotated[Quantity, Q("modulus", Bounds(above=0.0, low=0.5e9))]
Stress = Annotated[Quantity, Q("stress", Positive)]
Density = Annotated[Quantity, Q("density", Positive)]
Force = Annotated[Quantity, Q("force", NotNegative)]
Stiffness = Annotated[Quantity, Q("stiffness", Positive)]
RotationalStiffness = Annotated[Quantity, Q("rotational_stiffness", Positive)]
AbsolutePressure = Annotated[Quantity, Q("absolute_pressure", NotNegative)]
Ratio = Annotated[Quantity, Q("number", NotNegative)]
Note = Annotated[str, Name(loose=True)]
