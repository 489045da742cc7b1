"""What the steady state of the gas says about the vent."""

from __future__ import annotations

from collections.abc import Iterator

from ventroute.model.plan import Finding, FlueState
from ventroute.model.site import Site
from ventroute.rules.pack import Pack
from ventroute.rules.verdict import at_least, at_most
from ventroute.sentences import note_temperature


def flue_findings(site: Site, pack: Pack, flue: FlueState) -> Iterator[Finding]:
    """Pressure by category, pressure drop against the manual's longest vent, freezing at the outlet.

    The state is computed: what it breaks is put to a person.
    """
    highest = max((station.pressure_Pa for station in flue.stations), default=0.0)
    if site.appliance.category in ("I", "II") and flue.stations:
        yield from at_most(pack, "flue.pressure", "the vent", highest, 0.0, "Pa", ask=True, note="computed")
    if flue.reference_drop_Pa is not None:
        limit = flue.reference_drop_Pa
        yield from at_most(pack, "flue.drop", "the vent", flue.drop_Pa, limit, "Pa", ask=True, note="computed")
    if flue.stations:
        wet = [station.wall_degC for station in flue.stations]
        expected = min(wet if flue.wall_min_degC is None else [*wet, flue.wall_min_degC])
        dry = [s.wall_dry_degC for s in flue.stations if s.wall_dry_degC is not None]
        coldest = min([expected, *dry])  # without the heat of what condenses: the safe side for ice
        where = f" in {', '.join(flue.freezes_running)}" if flue.freezes_running else ""
        note = (
            f"the coldest wall{where}, at {note_temperature(site.place.winter_degC)} outdoors, if nothing condenses; "
            f"{note_temperature(expected)} expected; computed"
        )
        yield from at_least(pack, "flue.freezing", "the vent", coldest, 0.0, "degC", ask=True, note=note)
