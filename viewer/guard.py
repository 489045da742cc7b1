"""What stands before the work page: only this machine, only who has the address, only our own page."""

from __future__ import annotations

import hmac
from urllib.parse import urlsplit

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from .markup import policy

HOSTS = ("127.0.0.1", "localhost")
LARGEST_BODY = 6_000_000  # a site file may have 2 MB, and JSON may double it

HEADERS = {
    "Cache-Control": "no-store",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}


class Guard:
    """Refuses by host, token, origin, kind of content and size; writes the protective headers."""

    def __init__(self, app: ASGIApp, token: str, script_source: str = "'self'") -> None:
        self.app, self.token = app, token
        csp = policy(script_source, "'self'") + "; frame-ancestors 'none'"
        self.headers = {**HEADERS, "Content-Security-Policy": csp}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on what is allowed, with the token taken off the path."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return  # no websocket here
        request = Request(scope, receive)
        if refused := self._refusal(request):
            refused.headers.update(self.headers)
            await refused(scope, receive, send)
            return
        inner = dict(scope, path=scope["path"][len(self.token) + 1 :] or "/", raw_path=b"", root_path="")
        await self.app(inner, _limited(receive), _with_headers(send, self.headers))

    def _refusal(self, request: Request) -> Response | None:
        host = _host(request.headers.get("host", ""))
        if host not in HOSTS:
            return PlainTextResponse("This page is served to this machine alone.", 400)
        _, _, rest = request.scope["path"].partition("/")
        given, slash, _ = rest.partition("/")
        if not hmac.compare_digest(given.encode(), self.token.encode()) or not slash:
            return PlainTextResponse("Open the address that ventroute view has printed.", 403)
        origin = request.headers.get("origin")
        if origin is not None and origin != f"http://{request.headers['host']}":
            return PlainTextResponse("Another page may not ask here.", 403)
        if request.headers.get("sec-fetch-site", "none") not in ("none", "same-origin"):
            return PlainTextResponse("Another page may not ask here.", 403)
        return _unfit(request) if request.method == "POST" else None


def _unfit(request: Request) -> Response | None:
    kind = request.headers.get("content-type", "").split(";")[0].strip().lower()
    if kind != "application/json":
        return PlainTextResponse("application/json is wanted", 415)
    length = request.headers.get("content-length", "")
    if length and (not length.isascii() or not length.isdigit() or int(length) > LARGEST_BODY):
        return PlainTextResponse("too large", 413)
    return None


def _host(header: str) -> str:
    try:
        return urlsplit(f"//{header}").hostname or ""
    except ValueError:
        return ""


class TooLarge(Exception):  # noqa: N818  # a refusal, not a failure of ours
    """More came than was announced."""


def _limited(receive: Receive) -> Receive:
    seen = 0

    async def counted() -> Message:
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        if seen > LARGEST_BODY:
            raise TooLarge
        return message

    return counted


def _with_headers(send: Send, headers: dict[str, str]) -> Send:
    extra = [(key.lower().encode(), value.encode()) for key, value in headers.items()]

    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            message = dict(message, headers=[*message.get("headers", []), *extra])
        await send(message)

    return sent
