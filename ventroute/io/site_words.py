"""The words that a site file's keys may take, in the order people are told them."""

MATERIALS = ("PVC", "CPVC", "ABS", "PP", "stainless")
TERMINALS = ("roof", "wall")
PREFERENCES = ("length", "cost", "fittings")
UNITS = ("ft", "in", "m", "cm", "mm")
AIR = ("heated", "unheated")
APPLIES = ("terminal", "route", "both")
MEMBERS = ("joist", "stud", "rafter")
RIDGES = ("north", "south", "east", "west")
FUELS = ("natural gas", "propane")
CATEGORIES = ("I", "II", "III", "IV")
VENT_STYLES = ("direct", "non-direct")
FALLS = ("appliance", "terminal")
COUNTS = ("centreline", "pipe")
MIXED = ("no", "by share")
DERATES = ("none", "total", "part above", "fan-assisted", "table")
MESHES = (".glb", ".obj", ".ply", ".stl")
FEATURES = (
    "window, openable",
    "window, fixed",
    "door",
    "inlet, gravity",
    "inlet, mechanical",
    "gas regulator vent",
    "gas meter",
    "electric meter",
    "walkway, public",
    "driveway",
    "porch",
    "deck",
    "balcony",
    "soffit, vented",
    "soffit, unvented",
    "neighbour opening",
    "lot line",
)
SHELTERS = ("porch", "deck", "balcony")  # kinds whose open sides matter
