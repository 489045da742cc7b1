"""What a kit knows of its parts: socket depths by item, and names."""

from __future__ import annotations

from ventroute.model.parts import Kit
from ventroute.model.route import Part, Route


def sockets_m(kit: Kit) -> dict[str, float]:
    """Socket depth [m] of every fitting of a kit that has one."""
    depths = {bend.item: bend.socket_m for bend in kit.bends} | {kit.coupling.item: kit.coupling.socket_m}
    return depths | {change.item: change.socket_m for change in kit.start}


def beside(route: Route, index: int, step: int) -> float:
    """Depth [m] to which the pipe at ``index`` is covered by the fitting before (-1) or after (+1) it; 0 for none."""
    other = index + step
    depths = {item: depth for kit in route.kits for item, depth in sockets_m(kit).items()}
    return depths.get(route.parts[other].item, 0.0) if 0 <= other < len(route.parts) else 0.0


def label(part: Part) -> str:
    """A part's name in findings."""
    return f"part {part.n} ({part.kind})"
