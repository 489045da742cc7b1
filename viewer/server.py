"""The work page's server: keeps no state of its own but the file, so that any number of pages may be open."""

from __future__ import annotations

import hashlib
import json
import secrets
from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path
from threading import Lock
from typing import Any

from anyio import CapacityLimiter, to_thread
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from ventroute.io.whole import write_whole

from .document import EditError, changed, tables
from .guard import Guard, TooLarge
from .markup import digest as markup_digest
from .markup import script, static
from .work_page import work_html

Answer = dict[str, Any]
PlanText = Callable[[str], Answer]

LARGEST_TEXT = 2_000_000  # bytes of a site file
KEPT = 24  # answers kept, so that undo is at once
FILES = {"app.js": "text/javascript", "page.css": "text/css", "work.css": "text/css"}


def new_token() -> str:
    """A secret that the address carries, new at every start."""
    return secrets.token_urlsafe(24)


def make_app(
    site_path: Path, plan_text: PlanText, *, look_text: PlanText | None = None, token: str, units: str = "us"
) -> ASGIApp:
    """The work page for one site file; its address is ``/TOKEN/``.

    Parameters
    ----------
    site_path : the only file that is ever read or written
    plan_text : the answer to a text of a site file (see `answer.answered`); may take seconds, runs in a thread
    look_text : the same without planning, in milliseconds; None: `plan_text` alone
    """
    work = _Work(site_path, plan_text, look_text, units)
    routes = [
        Route("/", work.page),
        Route("/open", work.open, methods=["POST"]),
        Route("/edit", work.edit, methods=["POST"]),
        Route("/plan", work.plan, methods=["POST"]),
        Route("/save", work.save, methods=["POST"]),
        *(Route(f"/{name}", _file(name, kind)) for name, kind in FILES.items()),
    ]
    return Starlette(routes=routes, middleware=[Middleware(Guard, token=token)])


def make_page_app(html: bytes, *, token: str) -> ASGIApp:
    """A finished report, served under the same guard (its own policy, inside it, lets only its own script run)."""

    source = f"'{markup_digest(script())}'"

    async def page(request: Request) -> Response:
        return HTMLResponse(html)

    return Starlette(routes=[Route("/", page)], middleware=[Middleware(Guard, token=token, script_source=source)])


def digest(text: str) -> str:
    """What tells two versions of the file apart."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


class _Work:
    def __init__(self, path: Path, plan_text: PlanText, look_text: PlanText | None, units: str) -> None:
        self.path, self.plan_text, self.look_text, self.units = path, plan_text, look_text, units
        self.kept: OrderedDict[str, Answer] = OrderedDict()
        self.writing = Lock()
        self.limiter: CapacityLimiter | None = None

    async def page(self, request: Request) -> Response:
        return HTMLResponse(work_html(self.path.name, self.units))

    async def open(self, request: Request) -> Response:
        await _body(request)
        text = await to_thread.run_sync(self._read)
        return JSONResponse({"base": digest(text), "file": self.path.name, **await self._look(text)})

    async def edit(self, request: Request) -> Response:
        body = await _body(request)
        text, changes = _text(body), body.get("ops", [])
        if not isinstance(changes, list):
            raise HTTPException(400, "ops is a list")
        try:
            text = changed(text, changes)
        except EditError as error:
            raise HTTPException(422, str(error)) from None
        if len(text.encode()) > LARGEST_TEXT:
            raise HTTPException(413, "the file would be too large")
        return JSONResponse(await self._look(text))

    async def plan(self, request: Request) -> Response:
        text = _text(await _body(request))
        key = digest(text)
        if key not in self.kept:
            self.limiter = self.limiter or CapacityLimiter(2)
            self.kept[key] = await to_thread.run_sync(self.plan_text, text, limiter=self.limiter)
            while len(self.kept) > KEPT:
                self.kept.popitem(last=False)
        return JSONResponse({"text": text, **self.kept[key]})

    async def save(self, request: Request) -> Response:
        body = await _body(request)
        text, base = _text(body), body.get("base")
        try:
            tables(text)
        except EditError as error:
            raise HTTPException(422, str(error)) from None
        return await to_thread.run_sync(self._save, text, base)

    def _save(self, text: str, base: object) -> Response:
        with self.writing:
            now = digest(self._read())
            if base != now:
                said = "the file has been changed by somebody else since this page read it"
                return JSONResponse({"error": said, "base": now}, 409)
            write_whole(self.path, text.encode("utf-8"))
        return JSONResponse({"base": digest(text)})

    def _read(self) -> str:
        try:
            return self.path.read_bytes().decode("utf-8-sig")
        except (OSError, UnicodeDecodeError):
            raise HTTPException(409, "the site file cannot be read") from None

    async def _look(self, text: str) -> Answer:
        seen: Answer = {"text": text, "document": None}
        try:
            seen["document"] = json.loads(json.dumps(tables(text), default=str))
        except EditError as error:
            seen["faults"] = [{"line": 1, "key": "", "what": str(error)}]
            return seen
        return {**seen, **(await to_thread.run_sync(self.look_text, text) if self.look_text else {})}


def _file(name: str, kind: str) -> Callable[[Request], Any]:
    async def give(request: Request) -> Response:
        return Response(static(name), media_type=kind)

    return give


async def _body(request: Request) -> dict[str, Any]:
    try:
        body = json.loads(await request.body())
    except TooLarge:
        raise HTTPException(413, "too large") from None
    except (ValueError, RecursionError):
        raise HTTPException(400, "not JSON") from None
    if not isinstance(body, dict):
        raise HTTPException(400, "a JSON object is wanted")
    return body


def _text(body: dict[str, Any]) -> str:
    text = body.get("text")
    try:
        if not isinstance(text, str) or len(text.encode("utf-8")) > LARGEST_TEXT:
            raise HTTPException(400, "text is missing or too large")
    except UnicodeEncodeError:
        raise HTTPException(400, "text is not UTF-8") from None
    return text
