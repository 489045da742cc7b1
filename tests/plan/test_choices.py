"""Which route is said to be the cheapest, where some prices are not known."""

from __future__ import annotations

from dataclasses import replace

from tests.drawing import samples
from ventroute.choices import chosen
from ventroute.drawing.summary import cost_lines
from ventroute.model.plan import PlannedRoute, ShoppingLine


def bought(planned: PlannedRoute, price: float | None) -> PlannedRoute:
    """The route with one thing to buy, at this price."""
    line = ShoppingLine("pipe", "pipe", 1, "stick", "to build it", price=price)
    return replace(planned, shopping=(line,), cost=price or 0.0)


def two(first: float | None, second: float | None) -> list[PlannedRoute]:
    return [bought(route, price) for route, price in zip(samples.plan().routes[:2], (first, second), strict=True)]


def test_an_unknown_price_is_not_the_least():
    routes = chosen(two(None, 500.0), "cost")
    assert [route.cost for route in routes] == [500.0, 0.0]
    assert not any("least cost" in route.reason for route in routes)  # nobody knows


def test_a_known_price_below_what_is_known_of_the_others_is_the_least():
    # what the other costs besides only adds to its 600
    first, second = two(500.0, 600.0)
    more = ShoppingLine("boot", "boot", 1, "each", "for the roof", price=None)
    routes = chosen([first, replace(second, shopping=(*second.shopping, more))], "cost")
    assert "least cost" in routes[0].reason
    assert routes[0].cost == 500.0


def test_a_sum_that_lacks_prices_says_so_and_stands_last():
    routes = [replace(route, id=str(n)) for n, route in enumerate(two(None, 500.0), 1)]
    _, first, last = cost_lines(routes, "us")
    assert "500.00" in first
    assert "without a price" not in first
    assert last.rstrip().endswith("0.00 and 1 without a price")
