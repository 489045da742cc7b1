"""Rule packs: what loads, what is refused and at which line, how one is laid over another, what tells editions apart."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.rules.garden import THINGS, yard
from tests.rules.yard import PACKS, RADIUS_M, RULES, appliance, found, pack
from ventroute.errors import CatalogError
from ventroute.model.source import Grade
from ventroute.rules.cautions import CAUTIONS, cautions
from ventroute.rules.figures import read
from ventroute.rules.kinds import KINDS
from ventroute.rules.pack import Pack, load_pack, pack_names
from ventroute.rules.rows import FEATURES

SOURCES = '[town]\ntitle = "Town by-law 7"\nedition = "1"\ndate = "2024"\nlicence = "public law"\nreader = "read"\n'
GOOD = """format = 1
[[add]]
id = "town.window"
title = "distance to a window"
kind = "around"
features = "window, openable"
figures = { distance = "5 ft" }
source = "town"
section = "clause 3"
grade = "standard read"
"""


def loaded(folder: Path, text: str, name: str = "town", **others: str) -> Pack:
    (folder / "sources.toml").write_text(SOURCES)
    for stem, content in {name: text, **others}.items():
        (folder / f"{stem}.toml").write_text(content)
    return load_pack(name, folder)


def test_a_small_pack_loads_in_si_with_its_citation(tmp_path):
    small = loaded(tmp_path, GOOD)
    (rule,) = small.rules
    assert rule.figures["distance"].value == pytest.approx(1.524)  # 5 ft of 0.3048 m, exact
    assert rule.figures["distance"].unit == "m"
    assert rule.features == ("window, openable",)
    assert small.cite(rule.evidence) == "Town by-law 7, clause 3"
    assert rule.evidence.grade is Grade.STANDARD


BAD = [
    ('source = "town"\n', "", 2, "source"),  # no source
    ('source = "town"', 'source = "twon"', 8, 'did you mean "town"'),
    ('grade = "standard read"\n', "", 2, "grade"),
    ('grade = "standard read"', 'grade = "sure"', 10, "second-hand"),
    ('"5 ft"', "5", 7, "no unit"),
    ('"5 ft"', '"5"', 7, "no unit"),
    ('"5 ft"', '"5 kW"', 7, "distance"),
    ('"5 ft"', '"0 ft"', 7, "more than nothing"),
    ('"5 ft"', '"-1 ft"', 7, "more than nothing"),
    ("distance =", "distanse =", 7, "needs the figure distance"),
    ('{ distance = "5 ft" }', '{ distance = "5 ft", rise = "1 ft" }', 7, "unknown figure"),
    ('kind = "around"', 'kind = "arround"', 5, 'did you mean "around"'),
    ('kind = "around"\n', "", 2, "kind"),
    ('title = "distance to a window"\n', "", 2, "title"),
    ('"window, openable"', '"window, opening"', 6, 'did you mean "window, openable"'),
    ('features = "window, openable"\n', "", 2, "features"),
    ('section = "clause 3"', 'clause = "3"', 9, "unknown key"),
    ('id = "town.window"', 'id = "Town window"', 3, "lower-case"),
    ('kind = "around"', 'kind = "around"\ninput_to = "50000"', 6, "input_to"),
    ('kind = "around"', 'kind = "around"\ncategory = "V"', 6, "category"),
    ('kind = "around"', 'kind = "around"\nask = "yes"', 6, "true or false"),
    ('"5 ft"', '{ is = "5 ft" }', 7, "is, source, grade"),
    ("format = 1", "format = 2", 1, "format"),
    ("format = 1", 'format = 1\nrules = "x"', 2, "unknown key"),
    ("[[add]]", "[[change]]", 3, "not in the pack"),
    ('kind = "around"', 'kind = "around"\nmaterial = "PVC"', 6, "do not depend on it"),
    ('kind = "around"', 'kind = "grade"', 7, "needs the figure height"),
    (
        'kind = "around"\nfeatures = "window, openable"\nfigures = { distance = "5 ft" }',
        'kind = "statement"\nterminal = "wall"',
        6,
        "do not depend on it",
    ),
    (
        'kind = "around"\nfeatures = "window, openable"\nfigures = { distance = "5 ft" }',
        'kind = "statement"\npressure_to = "2 psi"',
        6,
        "do not depend on it",
    ),
]


@pytest.mark.parametrize(("old", "new", "line", "what"), BAD)
def test_a_bad_pack_is_refused_at_its_line(tmp_path, old, new, line, what):
    assert old in GOOD
    with pytest.raises(CatalogError) as refused:
        loaded(tmp_path, GOOD.replace(old, new, 1))
    message = str(refused.value)
    assert f"town.toml:{line}: " in message
    assert what in message
    assert "Traceback" not in message


def test_every_fault_is_told_at_once(tmp_path):
    text = GOOD.replace('"5 ft"', "5") + GOOD.split("\n", 1)[1].replace("town.window", "town.door").replace(
        'town"', 'x"'
    )
    with pytest.raises(CatalogError) as refused:
        loaded(tmp_path, text)
    assert len(str(refused.value).splitlines()) == 2


@pytest.mark.parametrize("text", ["format = = 1", "\x00", "add = 3\nformat = 1"])
def test_what_is_no_pack_is_refused(tmp_path, text):
    with pytest.raises(CatalogError):
        loaded(tmp_path, text)


def test_packs_that_extend_each_other_are_refused(tmp_path):
    with pytest.raises(CatalogError, match="cannot be extended"):
        loaded(tmp_path, 'extends = "b"\nformat = 1', "a", b='extends = "a"\nformat = 1')


def test_a_pack_that_is_not_there_names_those_that_are():
    with pytest.raises(CatalogError, match="us-2021"):
        load_pack("us-2099", RULES)


@pytest.mark.parametrize("name", ["../secret", "a/b", ""])
def test_a_pack_name_is_no_path(name):
    with pytest.raises(CatalogError):
        load_pack(name, RULES)


def test_a_folder_without_sources_has_no_rules(tmp_path):
    (tmp_path / "town.toml").write_text(GOOD)
    with pytest.raises(CatalogError, match="sources"):
        load_pack("town", tmp_path)


AMENDED = """format = 1
extends = "town"
[[change]]
id = "town.window"
figures = { distance = "6 ft" }
source = "town"
section = "amendment 1"
grade = "second-hand"
"""


def test_an_amendment_changes_a_row_and_cites_its_own_source(tmp_path):
    amended = loaded(tmp_path, AMENDED, "village", town=GOOD)
    (rule,) = amended.rules
    assert rule.figures["distance"].value == pytest.approx(1.8288)
    assert rule.features == ("window, openable",)  # kept
    assert amended.cite(rule.evidence) == "Town by-law 7, amendment 1"
    assert rule.evidence.grade is Grade.SECOND_HAND
    assert amended.chain == ("village", "town")


def test_an_amendment_without_a_source_of_its_own_is_refused(tmp_path):
    with pytest.raises(CatalogError, match="cites its own source"):
        loaded(tmp_path, AMENDED.replace('source = "town"\n', ""), "village", town=GOOD)


WITHDRAWN = 'format = 1\nextends = "town"\n[[withdraw]]\nid = "town.window"\nbecause = "repealed in 2025"\n' + (
    'source = "town"\ngrade = "memory"\n'
)


def test_a_rule_is_withdrawn_with_its_reason_and_the_plan_says_so(tmp_path):
    bare = loaded(tmp_path, WITHDRAWN, "village", town=GOOD)
    assert bare.rules == ()
    assert bare.withdrawn[0].because == "repealed in 2025"
    assert any("town.window" in said and "repealed in 2025" in said for said in cautions(bare))


def test_a_rule_withdrawn_and_given_anew_is_not_called_withdrawn(tmp_path):
    anew = GOOD.replace("format = 1", 'format = 1\nextends = "village"')
    back = loaded(tmp_path, anew, "hamlet", town=GOOD, village=WITHDRAWN)
    assert [rule.id for rule in back.rules] == ["town.window"]
    assert back.withdrawn == ()
    assert not any("town.window" in said and "not applied" in said for said in cautions(back))


def test_two_rows_of_one_file_never_settle_one_rule(tmp_path):
    second = AMENDED[AMENDED.index("[[change]]") :].replace("6 ft", "1 ft")
    with pytest.raises(CatalogError, match="one row for each rule"):
        loaded(tmp_path, AMENDED + second, "village", town=GOOD)


def test_a_rule_is_not_withdrawn_without_a_reason(tmp_path):
    with pytest.raises(CatalogError, match="say why"):
        loaded(tmp_path, WITHDRAWN.replace('because = "repealed in 2025"\n', ""), "village", town=GOOD)


def test_a_rule_is_not_added_twice(tmp_path):
    with pytest.raises(CatalogError, match="is there already"):
        loaded(tmp_path, GOOD.replace("format = 1", 'format = 1\nextends = "town"'), "village", town=GOOD)


def test_all_shipped_packs_load_and_the_default_is_among_them():
    names = pack_names(RULES)
    assert set(PACKS) <= set(names)
    for name in names:
        assert load_pack(name, RULES).rules


@pytest.mark.parametrize("name", [*PACKS, "us-2015", "us-manufactured-home"])
def test_every_source_cited_is_listed_and_every_row_graded(name):
    whole = pack(name)
    for rule in whole.rules:
        cited = [rule.evidence, *(f.evidence for f in rule.figures.values()), *(line.evidence for line in rule.table)]
        assert all(evidence.source in whole.sources for evidence in cited), rule.id


def test_a_rule_is_applied_only_where_it_says(tmp_path):
    text = GOOD.replace('kind = "around"', 'kind = "around"\nfuel = "propane"\ncategory = ["III", "IV"]')
    used = loaded(tmp_path, text)
    assert len(used.applying(appliance(fuel="propane")).rules) == 1
    assert used.applying(appliance()).rules == ()
    assert used.applying(appliance(fuel="propane", category="I")).rules == ()
    plastic = pack("ca-b149-2025").applying(appliance(), "stainless")
    assert plastic.rule("vent.s636") is None


def test_no_figure_of_the_2021_table_is_shown_as_read():
    # None of IFGC 2021 was read: every figure that is taken from it is memory.
    for rule in pack("us-2021").rules:
        for evidence in (rule.evidence, *(figure.evidence for figure in rule.figures.values())):
            assert evidence.source != "ifgc-2021" or evidence.grade is Grade.MEMORY, rule.id


def ids(name: str) -> set[str]:
    return {rule.id for rule in pack(name).rules}


def test_editions_differ_where_the_texts_do():
    # Decks and regulators: no US figure before 2021 (memory).
    new = {"regulator.column", "regulator.low-pressure", "regulator.high-pressure"}
    assert ids("us-2021") - ids("us-2018") == new
    for rule in ("floor.above", "deck.beneath"):
        assert (pack("us-2018").rule(rule).ask, pack("us-2021").rule(rule).ask) == (True, False)
    assert ids("us-2018") - ids("us-2021") == {"regulator.harm"}
    assert ids("us-2018") - ids("us-2015") == {"opening.direct.over-150k"}
    assert ids("us-manufactured-home") - ids("us-2021") == {"home.under"}


def test_what_2018_asks_about_a_regulator_2021_refuses():
    near = THINGS["regulator"]
    asks = found(yard({"regulator": near}), "us-2018", "regulator")
    bars = found(yard({"regulator": near}), "us-2021", "regulator")
    assert [clause.rule.ask for clause in asks] == [True]
    assert [clause.rule.ask for clause in bars] == [False, False]


def test_only_canada_asks_for_certified_plastic_and_a_view_of_it():
    assert {"vent.s636", "vent.in-view"} <= ids("ca-b149-2025")
    assert not {"vent.s636", "vent.in-view"} & (ids("us-2018") | ids("us-2021"))


def test_driveways_count_as_walkways_in_2021_only():
    # Memory: row L of 2021 speaks of paved driveways; before, of public walkways.
    drive = yard({"drive": THINGS["drive"]})
    assert found(drive, "us-2018", "walkway.height") == ()
    assert len(found(drive, "us-2021", "walkway.height")) == 1


def test_the_cautions_are_said_once_and_with_the_share_that_was_never_read():
    said = cautions(pack("us-2021"))
    assert said[: len(CAUTIONS)] == CAUTIONS
    assert len(set(said)) == len(said)
    assert "unverified" in said[-1]
    assert any("carbon monoxide" in line for line in said)
    assert any("UL 1738" in line for line in said)
    assert not any("UL 1738" in line for line in cautions(pack("ca-b149-2025")))


def test_kinds_name_dimensions_that_can_be_read():
    from ventroute.rules.figures import DIMENSIONS

    for kind in KINDS.values():
        wanted = [*kind.figures.values(), *kind.maybe.values(), *kind.table.values()]
        assert all(dimension in DIMENSIONS or dimension == "text" for dimension in wanted)


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("2 psi", "pressure", 13789.514586),  # NIST SP 811: 6894.757 293 Pa
        ("1/3 of depth", "share", 1 / 3),
        ("60 %", "share", 0.6),
        ("2 sides", "count", 2.0),
        ("100 in2", "area", 0.064516),  # exact
        ("1 in2 per 4000 Btu/h", "area per power", 0.00064516 / (4000 * 0.29307107017)),
        ("50 ft3 per 1000 Btu/h", "volume per power", 50 * 0.028316846592 / (1000 * 0.29307107017)),
        ("149 degF", "temperature", 65.0),
        ("6/12", "pitch", 0.5),
    ],
)
def test_figures_are_read_in_si(text, dimension, value):
    assert read(text, dimension) == pytest.approx(value, rel=1e-9)


def test_features_are_those_a_site_may_hold():
    from ventroute.io import site_file

    text = Path(str(site_file.__file__)).parent
    written = "\n".join(path.read_text() for path in text.glob("*.py"))
    assert all(f'"{feature}"' in written or feature in written for feature in FEATURES)
    assert pytest.approx(3.5 * 0.0254 / 2) == RADIUS_M
