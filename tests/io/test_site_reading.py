"""What a site file's tables come to, against sums done by hand."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from tests.badsites.cases import GABLE, GOOD, SLOPE
from ventroute.catalog.lookup import load_catalog
from ventroute.catalog.paths import catalogs_folder
from ventroute.errors import Fault, InputError
from ventroute.io.near import did_you_mean, listed
from ventroute.io.site_file import building_faults, read_site, read_site_text
from ventroute.layout.building import build
from ventroute.model.site import Site
from ventroute.rules.pack import pack_names

FT, IN = 0.3048, 0.0254
DEMOS = sorted((catalogs_folder() / "sites").glob("*.toml"))


def read(*swaps: tuple[str, str]) -> Site:
    """The good file with pieces exchanged."""
    return read_site_text(spoilt(*swaps), "house.toml", Path(), load_catalog().appliances)


def spoilt(*swaps: tuple[str, str]) -> str:
    text = GOOD
    for old, new in swaps:
        assert old in text
        text = text.replace(old, new, 1)
    return text


def faults(*swaps: tuple[str, str]) -> list[str]:
    with pytest.raises(InputError) as caught:
        read(*swaps)
    return [str(fault) for fault in caught.value.faults]


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_a_demonstration_has_no_fault(path):
    packs = pack_names(catalogs_folder() / "rules")
    build(read_site(path, load_catalog().appliances, packs))


def test_a_bare_number_is_in_the_unit_of_the_file():
    assert read().building.footprint[1] == pytest.approx((30 * FT, 0))
    assert read(('units = "ft"', 'units = "m"')).building.footprint[1] == (30, 0)
    assert read(('units = "ft"\n', "")).building.footprint[1] == pytest.approx((30 * FT, 0))


def test_a_box_room_is_its_floor_and_two_heights():
    room = read().rooms[0]
    assert [tuple(round(part / FT, 9) for part in corner) for corner in room.floor] == [
        (0.5, 0.5), (12.5, 0.5), (12.5, 9.5), (0.5, 9.5)]  # fmt: skip
    assert (room.bottom_m, room.top_m) == pytest.approx((-5.5 * FT, -5.5 * FT + 86 * IN))
    assert room.heated


def test_a_polygon_written_clockwise_is_turned_about():
    there = read().building.footprint
    back = read(("[[0,0],[30,0],[30,24],[0,24]]\nbottom", "[[0,0],[0,24],[30,24],[30,0]]\nbottom")).building.footprint
    assert set(back) == set(there)
    area = sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(back, [*back[1:], back[0]], strict=True)) / 2
    assert area == pytest.approx(30 * 24 * FT**2)  # positive: counter-clockwise


def test_a_gable_is_two_slopes_that_meet_over_the_middle():
    # 24 ft wide, 6/12: the ridge is 12 ft / 2 = 6 ft over the eave at 18 ft; 1 ft of overhang falls 6 in below it.
    roofs = {roof.name: roof for roof in read().roofs}
    south, north = roofs["main, south slope"], roofs["main, north slope"]
    assert {tuple(round(v / FT, 9) for v in corner) for corner in south.corners} == {
        (-1, -1, 17.5), (31, -1, 17.5), (31, 12, 24), (-1, 12, 24)}  # fmt: skip
    assert {tuple(round(v / FT, 9) for v in corner) for corner in north.corners} == {
        (-1, 25, 17.5), (31, 25, 17.5), (31, 12, 24), (-1, 12, 24)}  # fmt: skip
    assert south.thickness_m == pytest.approx(9 * IN)


@pytest.mark.parametrize(
    ("ridge", "sides"),
    [("east", "south north"), ("west", "south north"), ("north", "west east"), ("south", "west east")],
)
def test_a_gable_falls_across_its_ridge_and_faces_the_sky(ridge, sides):
    site = read(
        (SLOPE, GABLE),
        (
            "\n" + GABLE + '\nthickness = "9 in"\n\n[[hole]]',
            f'\n{GABLE.replace("east", ridge)}\nthickness = "9 in"\n\n[[hole]]',
        ),
    )
    pair = site.roofs[2:]
    assert [roof.name for roof in pair] == [f"main, {side} slope" for side in sides.split()]
    run = (12 if ridge in ("east", "west") else 15) * FT
    for roof in pair:
        assert max(z for _, _, z in roof.corners) == pytest.approx(18 * FT + run / 2)
        (ax, ay, _), (bx, by, _), (cx, cy, _) = roof.corners[:3]
        assert (bx - ax) * (cy - ay) - (by - ay) * (cx - ax) > 0  # counter-clockwise seen from above


def test_a_gable_over_corners_named_the_other_way_round_is_the_same():
    assert read(("over=[[0,0],[30,24]]", "over=[[30,24],[0,0]]")).roofs == read().roofs
    assert read(("over=[[0,0],[30,24]]", "over=[[0,24],[30,0]]")).roofs == read().roofs


def test_a_pitch_in_degrees_is_its_tangent():
    ridge = max(z for _, _, z in read(('pitch="6/12"', 'pitch="30 deg"')).roofs[1].corners)
    assert ridge == pytest.approx(18 * FT + 12 * FT * math.tan(math.radians(30)))


def test_a_missing_key_is_at_the_header_of_its_table():
    line = GOOD[: GOOD.index("[[hole]]")].count("\n") + 1
    assert faults(('clear = "6 in"\n', "")) == [f'house.toml:{line}: hole[1].clear: missing; wanted clear = "6 in"']
    line = GOOD[: GOOD.index('[[feature]]\nkind = "gas')].count("\n") + 1
    assert faults(('kind = "gas regulator vent"\n', ""), ('pressure = "2 psi"\n', "")) == [
        f'house.toml:{line}: feature[2].kind: missing; wanted kind = "window, openable"'
    ]


def test_a_missing_key_of_an_inline_table_is_where_that_table_begins():
    line = GOOD[: GOOD.index('  {size = "3 in"')].count("\n") + 1
    assert faults(('{size = "3 in", max_length = "100 ft", ', '{size = "3 in", ')) == [
        f'house.toml:{line}: appliance.sizes[2].max_length: missing; wanted max_length = "60 ft"'
    ]


def test_a_missing_table_is_at_line_one():
    start, end = GOOD.index("[building]"), GOOD.index("[[room]]")
    assert faults((GOOD[start:end], "")) == ["house.toml:1: building: missing; wanted a table [building]"]


def test_a_file_without_rooms_is_told_so_once():
    start, end = GOOD.index("[[room]]"), GOOD.index("[[roof]]")
    assert faults((GOOD[start:end], ""))[0] == "house.toml:1: room: missing; wanted at least one [[room]]"


@pytest.mark.parametrize(
    ("word", "meant"),
    [
        ("utilty", "utility"),
        ("Utility", "utility"),
        ("utility room", "utility"),
        ("outdoor", "outdoors"),
        ("atic", "attic"),
    ],
)
def test_a_near_miss_is_named(word, meant):
    assert did_you_mean(word, ["utility", "attic", "outdoors"]) == f'; did you mean "{meant}"?'


@pytest.mark.parametrize("word", ["garage", "x", "", "u" * 5000, 7, None, ["utility"]])
def test_what_is_near_nothing_is_not_guessed_at(word):
    assert did_you_mean(word, ["utility", "attic"]) == ""


def test_a_long_list_of_words_is_cut_short():
    assert listed(["a", "b"]) == '"a", "b"'
    assert listed(f"w{n}" for n in range(40)).endswith('"w11", ...')


def test_the_contract_s_own_message():
    assert faults(('through = ["utility", "outdoors"]', 'through = ["utilty", "outdoors"]'))[0].endswith(
        'cut[1].through: no space "utilty"; did you mean "utility"?'
    )


MODEL = 'model = "generic-condensing-water-heater-120"\n'


def inline() -> str:
    """The appliance's own fields in the good file."""
    start = GOOD.index('name = "water heater"')
    return GOOD[start : GOOD.index("[want]")]


def test_a_model_brings_its_row_and_inline_wins():
    site = read((inline(), MODEL + 'exhaust_usual = "100 degF"\n\n'))
    row = load_catalog().appliances["generic-condensing-water-heater-120"]
    assert site.appliance.name == row["name"]
    assert len(site.appliance.sizes) == len(row["sizes"])
    assert site.appliance.exhaust_usual_degC == pytest.approx((100 - 32) / 1.8)
    assert site.appliance.exhaust_max_degC == pytest.approx((140 - 32) / 1.8)


def test_a_model_s_row_may_not_lean_on_the_file_s_unit():
    row = {
        **load_catalog().appliances["generic-condensing-water-heater-120"],
        "sizes": [{"size": "2 in", "max_length": 40}],
    }
    text = spoilt((inline(), MODEL + "\n"))
    with pytest.raises(InputError, match=r"sizes\[1\].max_length without a unit"):
        read_site_text(text, "house.toml", Path(), {"generic-condensing-water-heater-120": row})


def test_a_misspelt_model_is_one_fault_with_the_name_that_was_meant():
    said = faults((inline(), MODEL.replace("120", "12O") + "\n"))
    assert len(said) == 1
    assert 'did you mean "generic-condensing-water-heater-120"?' in said[0]


def test_a_rule_pack_that_is_not_there_is_named():
    with pytest.raises(InputError, match=r'place.rules: no rule pack "us-2031"; did you mean "us-2021"'):
        read_site_text(spoilt(('"us-2021"', '"us-2031"')), "house.toml", Path(), packs=["us-2021", "us-2018"])


def test_what_is_left_out_is_taken_on_the_safe_side():
    want = GOOD[GOOD.index("[want]") :]
    site = read((want, ""), ('winter = "5 degF"\n', ""), ('air = "heated"\n', ""), ('exhaust_usual = "120 degF"\n', ""))
    assert site.place.winter_degC == -40  # freezing is not missed
    assert not site.rooms[0].heated
    assert site.appliance.exhaust_usual_degC == site.appliance.exhaust_max_degC
    assert site.appliance.pitch == pytest.approx(1 / 48)
    assert site.want.gap_m == pytest.approx(IN)
    assert (site.want.outdoors_m, site.want.reach_m) == pytest.approx((2 * FT, 6 * IN))
    assert site.want.materials == ()


def test_faults_of_the_house_are_placed_in_the_text():
    found = [
        Fault("", 0, "hole[1].clear", "a"),
        Fault("", 0, "roof[1].corners", "b"),
        Fault("", 0, "roof[2].corners", "c"),  # the gable's first slope
        Fault("", 0, "roof[3].corners", "d"),  # and its second
        Fault("", 0, "roof[3]", "e"),
        Fault("", 0, "room[2]", "f"),
        Fault("", 0, "roof[9].corners", "g"),
        Fault("other.toml", 3, "x", "h"),
    ]
    placed = {fault.what: (fault.line, fault.key) for fault in building_faults(GOOD, "house.toml", found).faults}

    def at(piece: str) -> int:
        return GOOD[: GOOD.index(piece)].count("\n") + 1

    assert placed["a"] == (at('clear = "6 in"'), "hole[1].clear")
    assert placed["b"] == (at(SLOPE), "roof[1].corners")
    assert placed["c"] == placed["d"] == (at(GABLE), "roof[2].gable")
    assert placed["e"] == (at('[[roof]]\nname = "main"'), "roof[2]")
    assert placed["f"] == (at('[[room]]\nname = "attic"'), "room[2]")
    assert placed["h"] == (3, "x")


def test_a_size_asked_for_twice_is_one_size():
    # 80 mm of a metric system goes by 3 in (EN 14471 systems are sold beside inch sizes so)
    sizes = 'sizes = ["80 mm", "3 in", "2 in"]'
    site = read(('sizes = ["2 in", "3 in"]', sizes))
    assert site.want.sizes_in == (3.0, 2.0)
