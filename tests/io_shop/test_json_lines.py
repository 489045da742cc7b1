"""Lines of keys in JSON, found again by looking for keys that stand nowhere else."""

from __future__ import annotations

import json
from itertools import count
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from ventroute.io.json_lines import json_lines

leaves = st.none() | st.booleans() | st.floats(allow_nan=False, allow_infinity=False) | st.text(max_size=6)
values = st.recursive(
    leaves,
    lambda inner: st.lists(inner, max_size=3) | st.lists(inner, max_size=3).map(lambda v: {"": v}),
    max_leaves=12,
)


def with_own_keys(value: Any, names: Any) -> Any:
    """The value, its objects' items under keys of which no two are alike."""
    if isinstance(value, dict):
        return {f'k"{next(names)}{{:': with_own_keys(item, names) for item in value[""]}
    return [with_own_keys(item, names) for item in value] if isinstance(value, list) else value


def paths(value: Any, at: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    pairs = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [path for key, item in pairs for path in ((*at, key), *paths(item, (*at, key)))]


@given(values, st.sampled_from([None, 1]))
def test_every_key_is_found_at_its_line(value, indent):
    whole = with_own_keys(value, count())
    text = json.dumps(whole, indent=indent)
    found = json_lines(text)
    assert found.odd == []
    assert set(found.lines) == set(paths(whole))
    for path, line in found.lines.items():
        if isinstance(path[-1], str):
            assert line == 1 + text[: text.index(json.dumps(path[-1]))].count("\n")


def test_an_item_of_a_list_stands_where_it_begins():
    text = '{"a": [\n1,\n{"b":\n2}, [],\n3]}'
    assert json_lines(text).lines == {
        ("a",): 1, ("a", 0): 2, ("a", 1): 3, ("a", 1, "b"): 3, ("a", 2): 4, ("a", 3): 5,
    }  # fmt: skip
