"""Site files with one thing wrong each.

The expected line is found by the test itself, as that of a piece of text which stands in the spoilt file.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

GOOD = (Path(__file__).parent / "good.toml").read_text(encoding="utf-8")


@dataclass(frozen=True)
class Bad:
    """`old` becomes `new`; the fault stands where `at` begins (line 1 where it is empty), at `key`, and says `words`."""

    name: str
    old: str
    new: str
    at: str
    key: str
    words: str

    @property
    def text(self) -> str:
        """The spoilt file."""
        assert self.old in GOOD, "nothing to spoil"
        return GOOD.replace(self.old, self.new, 1)

    @property
    def line(self) -> int:
        """Line of the fault; a piece that the new text has is looked for there."""
        start = GOOD.index(self.old) if self.at in self.new else 0
        return self.text[: self.text.index(self.at, start)].count("\n") + 1 if self.at else 1


def _swap(name: str, old: str, new: str, key: str, words: str) -> Bad:
    return Bad(name, old, new, new.split("\n")[-1], key, words)


UTILITY = 'corner = [0.5, 0.5, -5.5]\nsize = [12, 9, "7 ft 2 in"]'
ATTIC = "floor = [[0.5,0.5],[29.5,0.5],[29.5,23.5],[0.5,23.5]]"
FOOTPRINT = "footprint = [[0,0],[30,0],[30,24],[0,24]]"
SLOPE = "corners = [[-1,-1,17.5],[31,-1,17.5],[31,12,24],[-1,12,24]]"
GABLE = 'gable = {over=[[0,0],[30,24]], ridge="east", eave=18, pitch="6/12", overhang="1 ft"}'
DRAIN = 'ends = [[0,2,-1],[12,2,-1]]\ndiameter = "4 in"'
MESHED = 'name = "drain"\nmesh = '

CASES = [
    # the top of the file
    Bad("format missing", "format = 1\n", "", "", "format", "missing; wanted format = 1"),
    _swap("format of the future", "format = 1", "format = 2", "format", "2 is not a format; wanted 1"),
    _swap("format true", "format = 1", "format = true", "format", "true is not a format"),
    _swap("format 0", "format = 1", "format = 0", "format", "wanted 1"),
    Bad("name missing", 'name = "Birch Row basement"\n', "", "", "name", "missing"),
    _swap("name a number", 'name = "Birch Row basement"', "name = 7", "name", "wanted a name in quotes"),
    _swap("name empty", 'name = "Birch Row basement"', 'name = " "', "name", "empty"),
    _swap("name rings a bell", 'name = "Birch Row basement"', 'name = "a\\u0007b"', "name", "printable"),
    _swap("units unknown", 'units = "ft"', 'units = "feet"', "units", 'did you mean "ft"?'),
    Bad("unknown table", "[want]", "[wants]", "[wants]", "wants", 'unknown key "wants"; did you mean "want"?'),
    Bad("unknown key at the top", "format = 1", "format = 1\nflavour = 3", "flavour", "flavour", "wanted one of"),
    # tables
    Bad("place missing", "[place]", "[plaice]", "", "place", "missing; wanted a table [place]"),
    Bad("building missing", "[building]", "[bilding]", "", "building", "missing"),
    Bad("appliance missing", "[appliance]", "[appliances]", "", "appliance", "missing"),
    Bad("rooms in single brackets", "[[room]]", "[room]", '[[room]]\nname = "attic"', "room[1]", "not TOML"),
    Bad("want in double brackets", "[want]", "[[want]]", "[[want]]", "want", "in single brackets"),
    Bad("building twice", "[building]", "[[building]]", "[[building]]", "building", "in single brackets"),
    Bad("hole a number", "[[hole]]", "[hole]", "[hole]", "hole", "wanted [[hole]], in double brackets"),
    Bad("table twice", "[want]", "[place]\n[want]", "[place]\n[want]", "place", "the same key or table stands twice"),
    Bad("key twice", "grade = 0", "grade = 0\ngrade = 1", "grade = 1", "place.grade", "not TOML"),
    Bad("no value", "grade = 0", "grade =", "grade =", "place.grade", "not TOML at column"),
    Bad("quote left open", '"Birch Row basement"', '"Birch Row basement', "Birch Row", "name", "not TOML"),
    Bad("bracket left open", "[want]", "[want", "[want", "want", "not TOML"),
    Bad("a decimal comma", "eave=18", "eave=18,5", "eave=18,5", "roof[2].gable", "not TOML"),
    # keys
    Bad("missing key", "grade = 0\n", "", "[place]", "place.grade", "missing; wanted grade = 0"),
    Bad("misspelt key", "snow = ", "snwo = ", "snwo", "place.snwo", 'did you mean "snow"?'),
    Bad("key of another table", 'gap = "1 in"\n[[ob', 'clear = "1 in"\n[[ob', 'clear = "1 in"', "obstacle[1].clear", "unknown"),
    # lengths
    _swap("decimal comma in a length", '"850 ft"', '"850,5 ft"', "place.altitude", "write a decimal point"),
    _swap("length without unit", 'snow = "18 in"', 'snow = "18"', "place.snow", 'no unit; write "18 in"'),
    _swap("length in parsecs", 'snow = "18 in"', 'snow = "18 pc"', "place.snow", "is not a length"),
    _swap("improper fraction", 'clear = "6 in"', 'clear = "61/2 in"', "hole[1].clear", 'write "6 1/2 in"'),
    _swap("inches over twelve", '"7 ft 2 in"', '"7 ft 14 in"', "room[1].size[3]", "can be read in two ways"),
    _swap("decimal feet and inches", '"7 ft 2 in"', '"7.5 ft 2 in"', "room[1].size[3]", "can be read in two ways"),
    _swap("length a table", "grade = 0", "grade = {m = 0}", "place.grade", "not a number"),
    _swap("length true", "grade = 0", "grade = true", "place.grade", "true is not a number"),
    _swap("length a date", "grade = 0", "grade = 2020-01-01", "place.grade", "not a number"),
    _swap("length not a number", "grade = 0", "grade = nan", "place.grade", "not a number one can measure"),
    _swap("length infinite", "grade = 0", "grade = -inf", "place.grade", "not a number one can measure"),
    _swap("length too long", "grade = 0", "grade = 4000", "place.grade", "too large"),
    _swap("length beyond floats", "grade = 0", "grade = 1" + "0" * 400, "place.grade", "too large"),
    _swap("hexadecimal without end", "grade = 0", "grade = 0x" + "f" * 5000, "place.grade", "too large"),
    Bad("decimal without end", "grade = 0", "grade = " + "9" * 5000, "grade = 9", "place.grade", "thousands of digits"),
    _swap("hole in feet, meant in inches", 'clear = "6 in"', "clear = 6", "hole[1].clear", 'inches are written "6 in"'),
    _swap("hole of no size", 'clear = "6 in"', "clear = 0", "hole[1].clear", "wanted more than 0 in"),
    _swap("hole of negative size", 'clear = "6 in"', 'clear = "-6 in"', "hole[1].clear", "wanted more than 0 in"),
    _swap("snow below nothing", 'snow = "18 in"', 'snow = "-18 in"', "place.snow", "at least 0 in"),
    # quantities
    _swap("power without unit", '"120000 Btu/h"', "120000", "appliance.input", "no unit; write a power as"),
    _swap("power in degrees", '"120000 Btu/h"', '"120000 degF"', "appliance.input", "is not a power"),
    _swap("power of a town", '"120000 Btu/h"', '"120 MW"', "appliance.input", "is not a power"),
    _swap("power out of range", '"120000 Btu/h"', '"9000 kW"', "appliance.input", "out of range"),
    _swap("thousands mark", '"120000 Btu/h"', '"120,000 Btu/h"', "appliance.input", "no thousands mark"),
    _swap("temperature without unit", 'winter = "5 degF"', "winter = 5", "place.winter", "no unit"),
    _swap("temperature below the end", 'winter = "5 degF"', 'winter = "-600 degF"', "place.winter", "absolute zero"),
    _swap("winter too warm", 'winter = "5 degF"', 'winter = "149 degF"', "place.winter", "out of range"),
    _swap("pressure without sense", '"2 psi"', '"2 ft"', "feature[2].pressure", "is not a pressure"),
    _swap("exhaust usual above max", '"120 degF"', '"200 degF"', "appliance.exhaust_usual", "above exhaust_max"),
    _swap("pitch upright", 'pitch="6/12"', 'pitch="90 deg"', "roof[2].gable.pitch", "not a slope"),
    _swap("pitch a number", 'pitch="6/12"', "pitch=0.5", "roof[2].gable.pitch", 'write a pitch as "6/12"'),
    _swap("size without unit", 'collar_size = "2 in"', "collar_size = 2", "appliance.collar_size", 'as "3 in"'),
    _swap("size that nobody makes", 'collar_size = "2 in"', 'collar_size = "93 mm"', "appliance.collar_size", "80 mm"),
    # points, directions, words
    _swap("point in the plane", "at = [6, 4, 2]", "at = [6, 4]", "hole[1].at", "2 items; wanted a point [x, y, z]"),
    _swap("point of text", "at = [6, 4, 2]", 'at = "6, 4, 0"', "hole[1].at", "is not a list"),
    _swap("coordinate of text", "at = [6, 4, 2]", 'at = [6, "four", 0]', "hole[1].at[2]", "is not a length"),
    Bad("direction misspelt", 'axis = "up"', 'axis = "upp"', '"upp"', "hole[1].axis", "write up, down, north"),
    _swap("direction of no length", 'axis = "up"', "axis = [0, 0, 0]", "hole[1].axis", "points nowhere"),
    _swap("direction not a number", 'axis = "up"', "axis = [0, nan, 1]", "hole[1].axis", "not a number"),
    _swap("air unknown", 'air = "heated"', 'air = "warm"', "room[1].air", 'wanted one of "heated", "unheated"'),
    _swap("kind unknown", '"window, openable"', '"window, open"', "feature[1].kind", 'did you mean "window, openable"?'),
    Bad("material unknown", '["PVC", "ABS"]\ncollar', '["PVX"]\ncollar', '["PVX"]', "appliance.materials[1]", 'mean "PVC"?'),
    Bad("no material", '["PVC", "ABS"]\nsizes', "[]\nsizes", "[]", "want.materials", "0 items"),
    _swap("category 4", 'category = "IV"', "category = 4", "appliance.category", '"I", "II", "III", "IV"'),
    _swap("money below nothing", "cost = 45", "cost = -45", "cut[1].cost", "out of range"),
    _swap("money in words", "cost = 45", 'cost = "$45"', "cut[1].cost", "an amount of money"),
    _swap(
        "sizes mixed as one likes",
        'category = "IV"',
        'category = "IV"\nmixed_sizes = "yes"',
        "appliance.mixed_sizes",
        'wanted one of "no", "by share"',
    ),
    _swap("half an elbow", "max_elbows = 6", "max_elbows = 6.5", "appliance.sizes[2].max_elbows", "not a count"),
    _swap("rule pack up the tree", '"us-2021"', '"../us-2021"', "place.rules", "plain word"),
    # shapes
    _swap("room without height", UTILITY, UTILITY.replace('"7 ft 2 in"', "0"), "room[1].size[3]", "more than 0 in"),
    _swap("room inside out", UTILITY, UTILITY.replace("12", "-12"), "room[1].size[1]", "wanted more than 0 in"),
    Bad("room both ways", UTILITY, UTILITY + "\nfloor = [[0,0],[9,0],[9,9]]", "floor = [[0,0],[9", "room[1].floor",
        "leave one set out"),
    Bad("room without size", UTILITY, UTILITY.split("\n")[0], "[[room]]\nname = \"utility\"", "room[1].size",
        "missing; a room has corner and size"),
    Bad("polygon without top", 'top = "roof"\n', "", '[[room]]\nname = "attic"', "room[2].top", "missing"),
    _swap("ceiling below floor", 'top = "roof"', "top = 2", "room[2].top", "not above bottom"),
    _swap("top of a word", 'top = "roof"', 'top = "rof"', "room[2].top", "is not a length"),
    _swap("floor crosses itself", ATTIC, "floor = [[0.5,0.5],[29.5,23.5],[29.5,0.5],[0.5,23.5]]", "room[2].floor",
          "crosses or touches itself"),
    _swap("floor of two corners", ATTIC, "floor = [[0.5,0.5],[29.5,0.5]]", "room[2].floor", "from 3 to 200 corners"),
    _swap("floor in a line", ATTIC, "floor = [[0,0],[1,0],[2,0]]", "room[2].floor", "crosses or touches itself"),
    _swap("floor closed by hand", ATTIC, "floor = [[0,0],[29,0],[29,23],[0,0]]", "room[2].floor", "leave the last one"),
    _swap("footprint crosses itself", FOOTPRINT, "footprint = [[0,0],[30,24],[30,0],[0,24]]", "building.footprint",
          "crosses or touches itself"),
    _swap("footprint of endless corners", FOOTPRINT, f"footprint = [{'[0,0],' * 300}]", "building.footprint", "200"),
    _swap("roof off its plane", SLOPE, SLOPE.replace("31,12,24", "31,12,23"), "roof[1].corners", "not planar"),
    _swap("roof upright", SLOPE, "corners = [[0,0,0],[9,0,0],[9,0,9]]", "roof[1].corners", "seen from above"),
    Bad("roof both ways", SLOPE, f"{SLOPE}\n{GABLE}\n", f"{GABLE}\n\n", "roof[1].gable", "leave one out"),
    Bad("roof without shape", SLOPE + "\n", "", '[[roof]]\nname = "south', "roof[1].corners", "missing"),
    _swap("gable over nothing", "over=[[0,0],[30,24]]", "over=[[0,0],[30,0]]", "roof[2].gable.over", "bound no area"),
    Bad("gable without eave", "eave=18, ", "", "gable = {", "roof[2].gable.eave", "missing; wanted eave = 18"),
    _swap("gable ridge upward", 'ridge="east"', 'ridge="up"', "roof[2].gable.ridge", "wanted one of"),
    Bad("obstacle box without size", "\nsize = [1.2, 9, 0.8]", "", '[[obstacle]]\nname = "supply', "obstacle[1].size", "missing; a box has"),
    Bad("obstacle of two shapes", DRAIN, DRAIN + "\ncorner = [0, 0, 0.25]", "ends = ", "obstacle[2].ends", "one shape"),
    Bad("obstacle of no shape", DRAIN, "", '[[obstacle]]\nname = "drain"', "obstacle[2].corner", "missing"),
    Bad("pipe of no length", DRAIN, DRAIN.replace("12,2", "0,2"), "ends = [[0,2,-1],[0,2", "obstacle[2].ends", "same"),
    Bad("scale without mesh", DRAIN, DRAIN + '\nscale = "1 m"', "scale", "obstacle[2].scale", "only a mesh"),
    _swap("window of no size", "size = [3, 0.2, 4]", "size = [0, 0, 4]", "feature[1].size", "at most one 0"),
    Bad("window with open sides", "size = [3, 0.2, 4]", "size = [3, 0.2, 4]\nopen_sides = 2", "open_sides",
        "feature[1].open_sides", "only"),
    Bad("window with pressure", "size = [3, 0.2, 4]", 'size = [3, 0.2, 4]\npressure = "1 psi"', '"1 psi"',
        "feature[1].pressure", "only"),
    # one table beside another
    _swap("rooms of one name", 'name = "attic"', 'name = "utility"', "room[2].name", "is the name of room[1] too"),
    _swap("hole and cut of one name", 'name = "south rim"', 'name = "old flue, first floor"', "cut[1].name", "hole[1]"),
    _swap("a room named outdoors", 'name = "attic"', 'name = "outdoors"', "room[2].name", "another name"),
    _swap("space misspelt", '["utility", "attic"]', '["utilty", "attic"]', "hole[1].through", 'mean "utility"?'),
    _swap("space twice", '["utility", "attic"]', '["attic", "attic"]', "hole[1].through", "two different spaces"),
    _swap("one space", '["utility", "attic"]', '["attic"]', "hole[1].through", "the names of two spaces"),
    Bad("nothing on top", SLOPE, "", "[[roof]]\nname = \"south", "roof[1].corners", "missing"),
    Bad("top below bottom", "top = 18\n", "top = -9\n", "top = -9", "building.top", "not above bottom"),
    _swap("size twice", '{size = "3 in"', '{size = "2.0 in"', "appliance.sizes[2].size", "stands in row 1 too"),
    _swap("least above most", 'min_length = "3 ft"', 'min_length = "101 ft"', "appliance.sizes[2].min_length", "less"),
    Bad("condensing without fall", 'category = "IV"', 'category = "IV"\npitch = "0 %"', "pitch = ", "appliance.pitch",
        "drains through its vent"),
    Bad("excess air of another gas", 'category = "IV"', 'category = "IV"\nexcess_air = "9 % CO"', "excess_air = ",
        "appliance.excess_air", "9 % CO2"),
    Bad("excess air beyond all", 'category = "IV"', 'category = "IV"\nexcess_air = "900 %"', "excess_air = ",
        "appliance.excess_air", "wanted from 0 % to 400 %"),
    Bad("appliance not in the catalog", 'faces = "up"', 'faces = "up"\nmodel = "abc"', "model =", "appliance.model",
        "no appliance"),
    # mesh files
    _swap("mesh up the tree", f'name = "drain"\n{DRAIN}', MESHED + '"../a.glb"', "obstacle[2].mesh", "leads out of"),
    _swap("mesh absolute", f'name = "drain"\n{DRAIN}', MESHED + '"/etc/a.glb"', "obstacle[2].mesh", "leads out of"),
    _swap("mesh on a drive", f'name = "drain"\n{DRAIN}', MESHED + "'C:\\a.glb'", "obstacle[2].mesh", "leads out of"),
    _swap("mesh of another folder", f'name = "drain"\n{DRAIN}', MESHED + "'a\\..\\..\\a.glb'", "obstacle[2].mesh", "leads"),
    _swap("mesh by address", f'name = "drain"\n{DRAIN}', MESHED + '"http://x/a.glb"', "obstacle[2].mesh", "leads out"),
    _swap("mesh missing", f'name = "drain"\n{DRAIN}', MESHED + '"none.glb"', "obstacle[2].mesh", "no file"),
    _swap("mesh of a kind unknown", f'name = "drain"\n{DRAIN}', MESHED + '"good.toml"', "obstacle[2].mesh", ".glb"),
    _swap("mesh empty", f'name = "drain"\n{DRAIN}', MESHED + '""', "obstacle[2].mesh", "not a file name"),
    # excess
    Bad("deep list", "grade = 0", "grade = " + "[" * 5000, "grade = [", "place.grade", "deep"),
    Bad("deep list, closed", "grade = 0", "grade = " + "[" * 900 + "]" * 900, "grade = [", "place.grade", "deep"),
    Bad("deep key", "grade = 0", "a." * 5000 + "b = 0", "a.a.a.", "place." + "a." * 30, "deep"),
    Bad("deep table", "[want]", "[" + "a." * 5000 + "b]\n[want]", "a.a.a.", "a." * 30, "deep"),
    Bad("deep inline", "grade = 0", "grade = " + "{a=" * 500, "grade = {", "place.grade", "deep"),
    Bad("control character in text", '"Birch Row basement"', '"Birch\x01"', "Birch", "name", "not TOML"),
    Bad("escape in a key", "grade = 0", 'grade = 0\n"\\u001b[2J" = 1', "u001b", "place.?[2J", "unknown key"),
]  # fmt: skip

# A good file, of a house that cannot stand: what only the solids show.
HOUSES = [
    _swap("collar in a wall", "collar = [6, 4, -4]", "collar = [6, 0.25, 0]", "appliance.collar", "inside construction"),
    _swap("collar in the ground", "collar = [6, 4, -4]", "collar = [6, 40, -4]", "appliance.collar", "inside construction"),
    _swap("collar outdoors", "collar = [6, 4, -4]", "collar = [6, -4, 3]", "appliance.collar", "outdoors"),
    _swap("collar against the ceiling", "collar = [6, 4, -4]", "collar = [6, 4, 1.66]", "appliance.collar", "straight into"),
    _swap("collar in a duct", "collar = [6, 4, -4]", "collar = [3.5, 4, -1.5]", "appliance.collar", 'inside "supply duct"'),
    Bad("hole through nothing", "bottom = 2.5", "bottom = 15", "[[hole]]", "hole[1]", "leads through nothing"),
    Bad("hole beside its room", "at = [6, 4, 2]", "at = [20, 4, 2]", "[[hole]]", "hole[1]", "its axis never runs in"),
    Bad("hole the wrong way", 'axis = "up"', 'axis = "east"', "[[hole]]", "hole[1]", "its axis never runs in"),
    Bad("hole to a room not there", "at = [6, 4, 2]", "at = [6, -9, 2]", "[[hole]]", "hole[1]", "its axis never runs in"),
    Bad("cut along the wall", 'axis = "south"', 'axis = "up"', "[[cut]]", "cut[1]", "its axis never runs in"),
    Bad("cut into the ground", "corner = [1, 0, 0.2]", "corner = [1, 0, -4]", "[[cut]]", "cut[1]", "its axis never runs in"),
    Bad("no roof over half a room", "over=[[0,0],[30,24]]", "over=[[0,0],[30,12]]", 'top = "roof"', "room[2].top", "no roof over"),
    Bad("room outside the walls", UTILITY, UTILITY.replace("[12,", "[42,"), "[[room]]", "room[1]", "reaches outside"),
    Bad("room below the house", UTILITY, UTILITY.replace("-5.5", "-9"), "[[room]]", "room[1]", "below the building's bottom"),
    _swap("room through the roof", 'top = "roof"', "top = 17.5", "room[2].top", "reaches into the roof"),
]  # fmt: skip
