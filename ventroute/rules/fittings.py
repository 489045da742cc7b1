"""What a kit knows of its parts, by item: socket depths and names."""

from __future__ import annotations

from ventroute.model.parts import Kit
from ventroute.model.route import Part, Route


def sockets_m(kit: Kit) -> dict[str, float]:
    """Socket depth [m] of every fitting of a kit that has one."""
    depths = {bend.item: bend.socket_m for bend in kit.bends} | {kit.coupling.item: kit.coupling.socket_m}
    return depths | {change.item: change.socket_m for change in kit.start}


def items(kit: Kit) -> frozenset[str]:
    """Every item that a route of this kit may hold."""
    ends = {kit.pipe.item, *(terminal.item for terminal in kit.terminals)}
    return frozenset(ends | set(sockets_m(kit)))


def beside(route: Route, index: int, step: int) -> float:
    """Depth [m] to which the pipe at ``index`` is covered by the fitting before (-1) or after (+1) it; 0 for none."""
    other = index + step
    return sockets_m(route.kit).get(route.parts[other].item, 0.0) if 0 <= other < len(route.parts) else 0.0


def label(part: Part) -> str:
    """A part's name in findings."""
    return f"part {part.n} ({part.kind})"
