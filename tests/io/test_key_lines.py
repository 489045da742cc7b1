"""Where keys stand, against the standard parser: every key it finds has a line, and that line holds the key."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.badsites.cases import GOOD
from ventroute.catalog.paths import catalogs_folder
from ventroute.io.site_lines import first_excess, key_lines, line_of, path_of, spelt

FILES = sorted(catalogs_folder().rglob("*.toml"))


def paths(value: object, at: tuple[str | int, ...] = ()) -> set[tuple[str | int, ...]]:
    """Every key and item of parsed TOML, by its path."""
    below: list[tuple[str | int, object]] = []
    if isinstance(value, dict):
        below = list(value.items())
    elif isinstance(value, list):
        below = list(enumerate(value))
    return {(*at, key) for key, _ in below}.union(*(paths(item, (*at, key)) for key, item in below))


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_every_key_of_every_catalog_file_has_its_line(path: Path):
    text = path.read_text(encoding="utf-8")
    lines, rows = key_lines(text), text.splitlines()
    assert set(lines) == paths(tomllib.loads(text))
    for found, line in lines.items():
        if isinstance(found[-1], str):
            assert found[-1] in rows[line - 1]


# Random TOML: (text, the values, the line of each path), built together so that the lines are known.

keys = st.sampled_from(
    ["a", "b", "key", "x-1", "snow_load", "1234", '"quo ted"', "'lit.eral'", '"a\\"b"', '"\\u00e9"', '"#"', '"=["']
)
scalars = st.sampled_from(
    ["1", "-2.5", "true", '"text"', '"with # and = and ] and \\" in it"', "'lit # \"eral'", "2020-01-01", "07:32:00.5",
     "2020-01-01 07:32:00Z", "1e5", "+0.5", "nan", "-inf", "0xff", '""', "''", '"""one "quoted" line"""', "'''it''s'''",
     '"""\ntwo\n  lines\n"""', "'''\nthree\n\nlines'''", '"""tail\\\n   joined"""', '""""quoted""""'],
)  # fmt: skip
spaces = st.sampled_from(["", " ", "  ", "\t"])
breaks = st.sampled_from(["", " ", "\n", "\n\n", " # note ] } , = \n", "\n  # [x]\n  "])
values = st.recursive(
    scalars,
    lambda inner: (
        st.lists(st.tuples(breaks, inner, breaks), max_size=3).map(
            lambda items: "[" + ",".join(f"{before}{item}{after}" for before, item, after in items) + "]"
        )
        | st.lists(st.tuples(keys, spaces, inner), max_size=3, unique_by=lambda pair: pair[0]).map(
            lambda pairs: "{" + ", ".join(f"{key}{gap}={gap}{item}" for key, gap, item in pairs) + "}"
        )
    ),
    max_leaves=8,
)
notes = st.sampled_from(["", "\n", "# note = [1]\n", "  \n", '# """\n'])


@st.composite
def documents(draw: st.DrawFn) -> tuple[str, dict[tuple[str | int, ...], int]]:
    """TOML text, and the line of each key at the top and of each table and key in it."""
    text, known = "", {}
    counts: dict[str, int] = {}

    def pairs(at: tuple[str | int, ...]) -> None:
        nonlocal text
        for key in draw(st.lists(keys, max_size=3, unique=True)):
            text += draw(notes)
            known[*at, tomllib.loads(f"{key} = 1").popitem()[0]] = text.count("\n") + 1
            text += f"{draw(spaces)}{key}{draw(spaces)}={draw(spaces)}{draw(values)}{draw(spaces)}" + draw(
                st.sampled_from(["\n", " # note\n", "\r\n"])
            )

    pairs(())
    for name in draw(st.lists(st.sampled_from(["room", "hole"]), max_size=4)):
        text += draw(notes)
        number = counts.setdefault(name, 0)
        known[name, number] = text.count("\n") + 1
        counts[name] += 1
        text += f"[[{draw(spaces)}{name}{draw(spaces)}]]\n"
        pairs((name, number))
    if draw(st.booleans()):
        text += draw(notes)
        known["place",] = text.count("\n") + 1
        text += "[ place ]\n"
        pairs(("place",))
        if draw(st.booleans()):
            known["place", "deep", "er"] = text.count("\n") + 1
            text += '[place . deep."er"] # note\n'
            pairs(("place", "deep", "er"))
    return text, known


@given(documents())
def test_every_key_of_any_document_has_its_line(document):
    text, known = document
    lines = key_lines(text)
    assert set(lines) == paths(tomllib.loads(text))
    assert {path: lines[path] for path in known} == known


def test_dotted_keys_and_tables_inside_lists_of_tables():
    text = "a.b.c = 1\n\n[[room]]\nat.x = 1\n[room.shape]\nround = true\n[[room.door]]\nw = 1\n[[room.door]]\nw = 2\n[[room]]\n[[room.door]]\n"
    lines = key_lines(text)
    assert set(lines) == paths(tomllib.loads(text))
    expected = {
        ("a",): 1, ("a", "b"): 1, ("a", "b", "c"): 1, ("room", 0): 3, ("room", 0, "at", "x"): 4, ("room", 0, "shape"): 5,
        ("room", 0, "shape", "round"): 6, ("room", 0, "door", 0): 7, ("room", 0, "door", 0, "w"): 8,
        ("room", 0, "door", 1): 9, ("room", 0, "door", 1, "w"): 10, ("room", 1): 11, ("room", 1, "door", 0): 12,
    }  # fmt: skip
    assert {path: lines[path] for path in expected} == expected


def test_items_of_a_list_over_several_lines_have_their_own():
    text = "corners = [\n  [1, 2], # first\n\n  [3,\n   4],\n]\n"
    lines = key_lines(text)
    assert lines["corners", 0] == 2
    assert lines["corners", 1] == 4
    assert lines["corners", 1, 1] == 5


def test_what_is_not_in_the_text_is_at_the_nearest_thing_around_it():
    lines = key_lines("format = 1\n[place]\nsnow = 1\n[[room]]\n")
    assert line_of(lines, ("place", "grade")) == 2
    assert line_of(lines, ("room", 0, "size", 2)) == 4
    assert line_of(lines, ("building", "top")) == 1


@given(
    st.lists(
        st.sampled_from(["hole", "clear", "sizes", "a-b"]).map(lambda name: (name,))
        | st.tuples(st.sampled_from(["hole", "sizes"]), st.integers(0, 40)),
        min_size=1,
        max_size=4,
    )
)
def test_a_key_as_messages_spell_it_leads_back_to_its_path(parts):
    path = tuple(part for pair in parts for part in pair)
    assert path_of(spelt(path)) == path


def test_tables_are_counted_from_one_in_messages():
    assert spelt(("hole", 0, "clear")) == "hole[1].clear"
    assert path_of("appliance.sizes[2].max_elbows") == ("appliance", "sizes", 1, "max_elbows")


@given(st.text("[]{}\"'\\=.,#\n\r ab1\x00é", max_size=60))
def test_no_text_upsets_the_first_pass(text):
    assert first_excess(text) is None or text


@given(documents())
def test_an_honest_document_is_not_too_much(document):
    assert first_excess(document[0]) is None


def test_brackets_in_text_are_no_nesting():
    assert first_excess("a = " + json.dumps("[" * 500)) is None
    assert first_excess("# " + "[" * 500) is None
    assert first_excess('a = """' + "[{\n" * 500 + '"""') is None
    assert first_excess(GOOD) is None
    assert first_excess("a = " + "[" * 13) == (1, "nested more than 12 deep; a site file needs no more than 4")
