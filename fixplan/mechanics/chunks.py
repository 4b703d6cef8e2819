"""Many cases in few megabytes: split the first leading axis, run, join. The numbers are those of one run."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar

import numpy as np

T = TypeVar("T")

#: fields with a trailing axis of stations
STATIONED = frozenset({"edges", "outer_x", "outer_y", "canal_x", "canal_y"})
#: cases evaluated at once; arrays of this many cases still fit a processor's cache
AT_ONCE = 2048


def lead_shape(*parts: Any) -> tuple[int, ...]:
    """The common leading shape of all arrays of some parts."""
    shapes = [
        value.shape[:-1] if f.name in STATIONED else value.shape
        for part in parts
        for f in fields(part)
        if isinstance(value := getattr(part, f.name), np.ndarray)
    ]
    return np.broadcast_shapes(*shapes)


def _rows(part: Any, depth: int, low: int, high: int) -> Any:
    """The part with only rows low to high of the first of `depth` leading axes."""
    changed = {}
    for f in fields(part):
        value = getattr(part, f.name)
        if isinstance(value, np.ndarray) and value.ndim - (f.name in STATIONED) == depth and value.shape[0] > 1:
            changed[f.name] = value[low:high]
    return replace(part, **changed)


def _join(results: list[Any], shapes: list[tuple[int, ...]]) -> Any:
    first = results[0]
    if isinstance(first, np.ndarray | np.generic):
        return np.concatenate([np.broadcast_to(r, s) for r, s in zip(results, shapes, strict=True)])
    if isinstance(first, dict):
        return {k: _join([r[k] for r in results], shapes) for k in first}
    if is_dataclass(first) and not isinstance(first, type):
        return replace(first, **{f.name: _join([getattr(r, f.name) for r in results], shapes) for f in fields(first)})
    return first


def in_chunks(run: Callable[..., T], *parts: Any, at_once: int = AT_ONCE) -> T:
    """run(*parts), with the first leading axis cut so that about `at_once` cases are evaluated together.

    `run` has to return dataclasses, dicts and arrays whose shapes broadcast to the leading shape.
    """
    lead = lead_shape(*parts)
    size = int(np.prod(lead))
    if size <= at_once or not lead:
        return run(*parts)
    step = max(1, at_once * lead[0] // size)
    results, shapes = [], []
    for low in range(0, lead[0], step):
        high = min(low + step, lead[0])
        results.append(run(*(_rows(p, len(lead), low, high) for p in parts)))
        shapes.append((high - low, *lead[1:]))
    joined: T = _join(results, shapes)
    return joined
