"""`ventroute view`: a page to work in, or a finished plan to look at. The viewer is imported only here, and late."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Annotated, Any

from cyclopts import Parameter

from ventroute.cli.options import Options, refuse_file
from ventroute.errors import Fault, InputError, VentrouteError
from ventroute.model.plan import Plan

Answer = dict[str, Any]


def view(
    path: Annotated[Path, Parameter(help="A site file to work on, or a plan.json to look at.")],
    /,
    *,
    window: Annotated[bool, Parameter(help="A 3D window on the desk instead of the browser.", negative=())] = False,
    port: Annotated[int, Parameter(help="Port on this machine; 0: any that is free.")] = 0,
    browser: Annotated[bool, Parameter(help="Open the browser.")] = True,
    options: Options | None = None,
) -> int:
    """Work on a site, or look at a plan, in the browser."""
    options = options or Options()
    if not 0 <= port <= 65535:
        raise VentrouteError(f"port {port} does not exist; wanted one from 1 to 65535, or 0 for any that is free")
    finished = path.suffix.lower() == ".json"
    if window and (why := _part("probe").no_screen()):
        raise VentrouteError(why)  # before any planning, which takes a while
    if options.out:
        _keep(path, options)
    if window:
        return _window(path, options)
    server = _part("server")
    token = server.new_token()
    app = _report(path, server, token, options) if finished else _work(path, server, token, options)
    return _serve(app, token, port, browser)


def _keep(path: Path, options: Options) -> None:
    """Write the plan as `plan --out` does, before it is shown; what is changed on the page is saved from there."""
    from ventroute.cli.desk import open_site
    from ventroute.cli.export import export
    from ventroute.planner import plan

    refuse_file(options.out)
    desk, found = _finished(path) if path.suffix.lower() == ".json" else (open_site(path), None)
    export(desk, found or plan(desk.site, desk.building, desk.shop), options)


def _part(name: str) -> Any:
    """A module of the viewer, which the type checker does not see from here."""
    return import_module(f"ventroute.viewer.{name}")


def _work(path: Path, server: Any, token: str, options: Options) -> Any:
    from ventroute.io.site_text import read_text

    read_text(path)  # a file that cannot be read is told before any page opens
    plan_text, look_text = planning(path, options.units)
    return server.make_app(path.resolve(), plan_text, look_text=look_text, token=token, units=options.units)


def planning(path: Path, units: str) -> tuple[Callable[[str], Answer], Callable[[str], Answer]]:
    """The two things the page asks of a text: the planned answer, and the house alone."""
    from ventroute.cli.desk import open_text
    from ventroute.drawing.retold import retold
    from ventroute.planner import plan

    answer = _part("answer")

    def look_text(text: str) -> Answer:
        try:
            return dict(answer.looked(open_text(text, path.name, path.parent).site))
        except InputError as error:
            return dict(answer.refused(error.faults))

    def plan_text(text: str) -> Answer:
        try:
            desk = open_text(text, path.name, path.parent)
            found = retold(plan(desk.site, desk.building, desk.shop), units)
        except InputError as error:
            return dict(answer.refused(error.faults))
        except VentrouteError as error:
            return dict(answer.refused([Fault(path.name, 1, "", str(error))]))
        return dict(answer.answered(desk.site, desk.building, found, zones(desk), units))

    return plan_text, look_text


def zones(desk: Any) -> tuple[Any, ...]:
    """Where no terminal may be, for the kinds that are wanted, each region once."""
    from ventroute.rules.zones import terminal_zones

    found: dict[tuple[str, str], Any] = {}
    for kind in desk.site.want.terminals:
        for zone in terminal_zones(desk.site, desk.building, desk.shop.pack, kind, 0.0):
            found.setdefault((zone.rule, zone.subject), zone)
    return tuple(found.values())


def _site_beside(path: Path) -> Path:
    """The site file that was planned, which `--out` writes beside plan.json."""
    beside = path.parent / "site.toml"
    if not beside.is_file():
        what = "the site file it was made from is not beside it; plan with --out, and view DIR/plan.json"
        raise InputError([Fault(str(path), 1, "", what)])
    return beside


def _report(path: Path, server: Any, token: str, options: Options) -> Any:
    from ventroute.drawing.retold import retold
    from ventroute.rules.cautions import cautions

    desk, found = _finished(path)
    found = retold(found, options.units)
    seen = _part("scene").scene(desk.site, desk.building, found, zones(desk), options.units)
    said = cautions(desk.shop.pack)
    html = _part("report").report_html(found, desk.site, seen, _drawings(path.parent), said, options.units)
    return server.make_page_app(html, token=token)


def _finished(path: Path) -> tuple[Any, Plan]:
    """A plan.json with the house that it was made for."""
    from ventroute.cli.desk import open_site
    from ventroute.io.plan_file import read_plan

    found = read_plan(path)
    return open_site(_site_beside(path)), found


def _drawings(folder: Path) -> dict[str, bytes]:
    """The SVG drawings that `--out` wrote beside the plan."""
    return {file.stem: file.read_bytes() for file in sorted(folder.glob("*.svg"))}


def _window(path: Path, options: Options) -> int:
    from ventroute.cli.desk import open_site
    from ventroute.planner import plan

    finished = path.suffix.lower() == ".json"
    desk, found = _finished(path) if finished else (open_site(path), None)
    found = found or plan(desk.site, desk.building, desk.shop)
    _part("paint").window(_part("scene").scene(desk.site, desk.building, found, zones(desk), options.units))
    return 0 if found.routes else 1


def _serve(app: Any, token: str, port: int, browser: bool) -> int:
    import socket
    import webbrowser

    import uvicorn

    with socket.socket() as listening:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind(("127.0.0.1", port))  # this machine alone
        listening.listen(64)
        address = f"http://127.0.0.1:{listening.getsockname()[1]}/{token}/"
        print(f"{address}\nCtrl+C ends it.", flush=True)
        if browser:
            webbrowser.open(address)
        config = uvicorn.Config(app, log_level="error", access_log=False, ws="none", server_header=False)
        server = uvicorn.Server(config)
        with contextlib.suppress(KeyboardInterrupt):
            server.run(sockets=[listening])
    return 0
