"""What a model has against a tree, told as faults that a person can mend.

The models say what is wrong in the words of validation; here each becomes a fault with its
line and column, what was typed there, what is expected and, where something is near, what was
probably meant.
"""

from __future__ import annotations

from collections.abc import Iterable
from types import MappingProxyType
from typing import Any, Final, Literal, TypeVar, get_args, get_origin

from pydantic import BaseModel, ValidationError

from ledger.basis.yamltext import Path, YamlTree, path_in_words, read_tree, shortened
from ledger.errors import Fault, FaultsFound, closest

M = TypeVar("M", bound=BaseModel)

# The patterns of the models in words; a test holds them to the models.
PATTERNS_IN_WORDS: Final = MappingProxyType(
    {
        r"^[a-z0-9]+([._-][a-z0-9]+)*$": (
            "a name of small letters and digits, joined by single - . or _, such as pot-code"
        ),
        r"^[a-z0-9]+(-[a-z0-9]+)*(\.[a-z0-9]+(-[a-z0-9]+)*)?$": (
            "a position, such as tuner-plates, or pot.1 where there are several"
        ),
    }
)
_SHAPES: Final = MappingProxyType(
    {
        "model_type": "keys with their values, one a line, such as id: label",
        "tuple_type": "a list, such as [one, two]",
        "string_type": "text",
    }
)


def read_model(content: bytes, file: str, model: type[M]) -> M:
    """The model that the YAML in ``content`` describes.

    Raises:
        FaultsFound: it cannot be read or does not fit the model; every fault is listed.
    """
    tree = read_tree(content, file)
    value, faults = fitted(tree, model)
    if value is None or faults:
        raise FaultsFound(faults)
    return value


def fitted(tree: YamlTree, model: type[M]) -> tuple[M | None, tuple[Fault, ...]]:
    """The model that the tree describes, if it fits, and all faults of reading and fitting."""
    try:
        value = model.model_validate(tree.value)
    except ValidationError as error:
        known = {(fault.line, fault.column) for fault in tree.faults}
        found = faults_of(error, tree, model)
        # What was refused in reading has no value to hold against the model.
        return None, (
            *tree.faults,
            *(fault for fault in found if (fault.line, fault.column) not in known),
        )
    return value, tree.faults


def faults_of(error: ValidationError, tree: YamlTree, model: type[BaseModel]) -> tuple[Fault, ...]:
    """Each thing that the model has against the tree, with the place to mend it."""
    return tuple(
        _fault_of(detail, tree, model)
        for detail in error.errors(include_url=False)
        if not _is_echo(detail)
    )


def _is_echo(detail: Any) -> bool:  # noqa: ANN401 - pydantic's own dict
    """Whether a list is called too short only because its items have faults of their own."""
    if detail["type"] != "too_short":
        return False
    least: int = detail["ctx"]["min_length"]
    return len(detail["input"]) >= least


def _fault_of(detail: Any, tree: YamlTree, model: type[BaseModel]) -> Fault:  # noqa: ANN401 - as above
    path: Path = detail["loc"]
    kind: str = detail["type"]
    place = tree.place_of(path)
    if kind == "extra_forbidden":
        place = tree.key_place_of(path)
        found, expected, advice = _unknown_key(str(path[-1]), _type_at(model, path[:-1]))
    elif kind == "missing":
        found, expected, advice = "nothing", *_missing(path, _type_at(model, path[:-1]))
    else:
        found, expected, advice = _misfit(detail, _type_at(model, path))
    return Fault(tree.file, place.line, place.column, path_in_words(path), found, expected, advice)


def _unknown_key(key: str, around: object) -> tuple[str, str, str]:
    known = list(_fields_of(around))
    return f"the key {shortened(key)}", f"one of {', '.join(known)}", did_you_mean(key, known)


def _missing(path: Path, around: object) -> tuple[str, str]:
    name = str(path[-1])
    description = _fields_of(around).get(name, "")
    if isinstance(path[-1], int):
        return f"an item {path[-1] + 1} of the list", ""
    return f"{name}: {description}" if description else f"the key {name}", ""


def _misfit(detail: Any, expected_type: object) -> tuple[str, str, str]:  # noqa: ANN401 - as above
    kind, context, given = detail["type"], detail.get("ctx", {}), detail["input"]
    found, advice = typed(given), ""
    if kind == "trade_fault":
        found, expected, advice = context["found"], context["expected"], context["advice"]
    elif kind == "literal_error":
        choices = [str(choice) for choice in _choices_in(expected_type)]
        expected, advice = f"one of: {'; '.join(choices)}", did_you_mean(str(given), choices)
    elif kind == "string_pattern_mismatch":
        pattern = context["pattern"]
        expected = PATTERNS_IN_WORDS.get(pattern, f"text of the pattern {pattern}")
    elif kind == "string_too_short":
        expected = "some text"
    elif kind == "string_too_long":
        found = f"{len(given)} characters"
        expected = f"at most {context['max_length']} characters"
    elif kind == "too_short":
        found = f"a list of {context['actual_length'] or 'no'} items"
        expected = f"at least {context['min_length']}"
    elif kind == "too_long":
        found, expected = "a longer list", f"at most {context['max_length']} items"
    else:
        expected = _SHAPES.get(kind, str(detail["msg"]))
    return found, expected, advice


def typed(value: object) -> str:
    """What was typed, as a fault quotes it."""
    if isinstance(value, str):
        return shortened(value) if value else "nothing"
    return "a list" if isinstance(value, list) else "a group of keys"


def did_you_mean(name: str, known: Iterable[str]) -> str:
    """The advice that names the nearest of ``known``, or nothing."""
    near = closest(name, list(known))
    return f"Did you mean {near}?" if near else ""


def _type_at(model: type[BaseModel], path: Path) -> object:
    """The annotation of the field at ``path``; steps into lists stay with their items."""
    at: object = model
    for step in path:
        owner = _model_in(at)
        if isinstance(step, str) and owner is not None and step in owner.model_fields:
            at = owner.model_fields[step].annotation
    return at


def _model_in(annotation: object) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    found = (_model_in(inner) for inner in get_args(annotation))
    return next((inner for inner in found if inner is not None), None)


def _choices_in(annotation: object) -> tuple[object, ...]:
    if get_origin(annotation) is Literal:
        return get_args(annotation)
    found = (_choices_in(inner) for inner in get_args(annotation))
    return next((inner for inner in found if inner), ())


def _fields_of(annotation: object) -> dict[str, str]:
    model = _model_in(annotation)
    fields = model.model_fields if model is not None else {}
    return {name: info.description or "" for name, info in fields.items()}
