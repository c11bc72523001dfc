"""Records to JSON and back without a digit lost: what the book keeps of an answer is what was worked out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from types import NoneType, UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints


def to_plain(value: Any) -> Any:
    """Return a record, with all records in it, as JSON can hold it; unlike a `to_json`, nothing is rounded or left out.

    value: a dataclass, or a tuple, list, mapping, text or number of such.
    """
    if is_dataclass(value):
        return {each.name: to_plain(getattr(value, each.name)) for each in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): to_plain(each) for key, each in value.items()}
    if isinstance(value, (tuple, list)):
        return [to_plain(each) for each in value]
    return value


def from_plain(kind: Any, plain: Any) -> Any:
    """Read back what `to_plain` wrote. kind: the record's class, or the type a field of it is declared with."""
    origin = get_origin(kind)
    if origin in (Union, UnionType):
        return None if plain is None else from_plain(next(k for k in get_args(kind) if k is not NoneType), plain)
    if origin is tuple:
        inner = get_args(kind)
        kinds = inner[:1] * len(plain) if inner[-1] is Ellipsis else inner
        return tuple(from_plain(each, value) for each, value in zip(kinds, plain, strict=True))
    if origin is not None and isinstance(plain, Mapping):
        return {key: from_plain(get_args(kind)[1], value) for key, value in plain.items()}
    if is_dataclass(kind) and isinstance(kind, type):
        hints = _hints(kind)
        return kind(**{name: from_plain(hints[name], value) for name, value in plain.items()})
    return plain


LARGEST = 1e12  # no amount on a label or in a recipe comes near
SORTS = {str: "text", int: "a whole number", float: "a number", bool: "true or false"}


def mistyped(kind: Any, value: Any, where: str = "") -> Iterator[tuple[str, Any, str]]:
    """Give every value in a record that is not of the sort it is declared as: where, the value, what belongs there.

    kind: the record's class, or the type a field of it is declared with. Python's own records take anything, so that
    a text can stand where a number belongs until somebody adds to it.
    """
    if _right(kind)(value):
        return
    origin, inner = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        if value is None and NoneType in inner:
            return
        kind = next(each for each in inner if each is not NoneType)
        yield from mistyped(kind, value, where)
    elif origin is tuple:
        if not isinstance(value, tuple):
            yield where, value, "a list"
            return
        kinds = inner[:1] * len(value) if inner[-1] is Ellipsis else inner
        if len(kinds) != len(value):
            yield where, value, f"a list of {len(kinds)}"
        for place, (each, one) in enumerate(zip(kinds, value, strict=False), start=1):
            yield from mistyped(each, one, f"{where} {place}")
    elif is_dataclass(kind) and isinstance(kind, type):
        if not isinstance(value, kind):
            yield where, value, f"a {kind.__name__.lower()}"
            return
        for name, declared in _hints(kind).items():
            yield from mistyped(declared, getattr(value, name), f"{where}, {name}" if where else name)
    else:
        yield where, value, SORTS[kind]


@cache
def _right(kind: Any) -> Callable[[Any], bool]:
    """Return what tells whether a value is all of the sort it is declared as; made once for each sort."""
    origin, inner = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        least = _right(next(each for each in inner if each is not NoneType))
        return lambda value: (value is None and NoneType in inner) or least(value)
    if origin is tuple and inner[-1] is Ellipsis:
        each_right = _right(inner[0])
        return lambda value: isinstance(value, tuple) and all(map(each_right, value))
    if origin is tuple:
        rights = [_right(each) for each in inner]
        return lambda value: (isinstance(value, tuple) and len(value) == len(rights)
                              and all(right(one) for right, one in zip(rights, value, strict=True)))  # fmt: skip
    if is_dataclass(kind) and isinstance(kind, type):
        return _record_right(kind)
    if kind is float:
        return lambda value: type(value) in (float, int) and -LARGEST <= value <= LARGEST
    if kind is int:
        return lambda value: type(value) is int and -LARGEST <= value <= LARGEST
    return (lambda value: isinstance(value, kind)) if kind in SORTS else lambda value: True


def _record_right(kind: type) -> Callable[[Any], bool]:
    named: list[tuple[str, Callable[[Any], bool]]] = []  # found at the first look: a record may hold its own sort

    def right(value: Any) -> bool:
        if not named:
            named.extend((name, _right(declared)) for name, declared in _hints(kind).items())
        return isinstance(value, kind) and all(fits(getattr(value, name)) for name, fits in named)

    return right


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)
