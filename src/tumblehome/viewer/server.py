"""How is the page served, and to whom? To this machine alone, and to nobody who does not know the secret of this run.

The secret is the first part of every address, and fresh for each run. It is never sent to anybody as the page that a
visitor came from (``Referrer-Policy``), nor kept where another program on this machine is shown it, as a cookie would be:
those belong to a machine, not to a port. A request for another host, or from another page, gets nothing.
"""

from __future__ import annotations

import asyncio
import contextlib
import gc
import hmac
import json
import os
import secrets
import signal
import sys
import webbrowser
from concurrent.futures import ThreadPoolExecutor
from functools import cache, partial
from importlib.resources import files
from threading import Thread
from typing import TYPE_CHECKING, Any, Final, TypeVar
from urllib.parse import quote

from aiohttp import WSCloseCode, WSMsgType, web

from tumblehome.errors import InputError, TumblehomeError
from tumblehome.page.page import root_colors
from tumblehome.viewer.answers import EDITING, Answers, Seen, told_length
from tumblehome.viewer.drawn import told_place

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable

    from tumblehome.viewer.desk import Desk

    Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]

__all__ = ["Viewer", "serve"]

Result = TypeVar("Result")

_HOST: Final = "127.0.0.1"
_LOOKS: Final = 1.0
"""So often it is looked whether the file has changed on the disk, s."""
_GRACE: Final = 1.0
"""So long open pages are given to say goodbye at the end, s."""
_MOST: Final = 8 * 2**20
"""The longest message that a page may send, bytes: a whole layout file, edited by hand."""
_FIRST: Final = ("edit", "drag", "release", "undo", "redo", "save", "keep", "recover", "discard", "told")
"""Questions that are answered before all others, in this order."""
_SCRIPTS: Final = (
    ("page", "elements.js"), ("page", "space.js"), ("page", "placing.js"), ("page", "round.js"), ("page", "orbit.js"),
    ("viewer", "talk.js"), ("viewer", "pane.js"), ("viewer", "textbox.js"), ("viewer", "view.js"),
)  # fmt: skip


_AT_ONCE: Final = frozenset({"length", "place"})
"""Questions that need no look at the plan."""


class Viewer:
    """One desk, served on one port to any number of pages."""

    def __init__(self, desk: Desk, units: str = "mm") -> None:
        self._answers = Answers(desk)
        self._units = units
        self._secret = secrets.token_urlsafe(24)
        self._worker = ThreadPoolExecutor(1, thread_name_prefix="desk")
        self._aside = ThreadPoolExecutor(1, thread_name_prefix="aside")
        self._talks: set[_Talk] = set()
        self._runner: web.AppRunner | None = None
        self.port = 0

    @property
    def address(self) -> str:
        """Where the page is, secret and all."""
        return f"http://{_HOST}:{self.port}/{self._secret}/"

    async def start(self, port: int = 0) -> None:
        """Begin to serve on a port, 0 for any free one; raises InputError when it is taken."""
        app = web.Application(middlewares=[self._guard], client_max_size=_MOST)
        app.router.add_get("/{secret}/", self._page)
        app.router.add_get("/{secret}/talk", self._talk)
        app.router.add_get("/{secret}/take/{name}", self._take)
        app.router.add_get("/{secret}/{name}", self._file)
        self._runner = web.AppRunner(app, access_log=None, shutdown_timeout=_GRACE)
        await self._runner.setup()
        try:
            await web.TCPSite(self._runner, _HOST, port).start()
        except (OSError, OverflowError) as fault:
            await self._runner.cleanup()
            raise InputError(
                f"port {port} of this machine cannot be used; leave --port out to take a free one"
            ) from fault
        self.port = int(self._runner.addresses[0][1])
        self._watch = asyncio.create_task(self._watching())

    async def stop(self) -> None:
        """Say goodbye to every open page and stop serving."""
        self._watch.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await self._watch
        await asyncio.gather(*(talk.close() for talk in set(self._talks)), return_exceptions=True)
        if self._runner:
            await self._runner.cleanup()
        for worker in (self._worker, self._aside):
            worker.shutdown(wait=False, cancel_futures=True)

    # ---- who gets an answer ----

    @web.middleware
    async def _guard(self, request: web.Request, handler: Handler) -> web.StreamResponse:
        if not self._is_ours(request):
            return web.Response(status=404, headers={"Connection": "close"})
        try:
            response = await handler(request)
        except web.HTTPException as refused:
            return web.Response(status=refused.status)
        if not response.prepared:
            response.headers.update(self._headers)
        return response

    def _is_ours(self, request: web.Request) -> bool:
        """Return whether a request is for this host, from this page if from any, and knows the secret."""
        here = f"{_HOST}:{self.port}"
        origin = request.headers.getall("Origin", [])
        is_talk = request.path.endswith("/talk")
        secret = request.path.split("/")[1] if request.path.count("/") > 1 else ""
        return (
            request.headers.getall("Host", []) == [here]
            and (origin == [f"http://{here}"] or (not origin and not is_talk))
            and request.headers.get("Sec-Fetch-Site", "none") in {"none", "same-origin"}
            and hmac.compare_digest(secret.encode(), self._secret.encode())
        )

    @property
    def _headers(self) -> dict[str, str]:
        here = f"{_HOST}:{self.port}"
        return {
            "Content-Security-Policy": (
                f"default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self' ws://{here}; "
                "img-src 'self' data: blob:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
            ),
            "Referrer-Policy": "no-referrer",
            "X-Content-Type-Options": "nosniff",
            "Cross-Origin-Opener-Policy": "same-origin",
            "Cross-Origin-Resource-Policy": "same-origin",
            "Cache-Control": "no-store",
        }

    # ---- what is served ----

    async def _page(self, _request: web.Request) -> web.StreamResponse:
        text = (
            _read("viewer", "view.html").replace("%units%", self._units).replace("%marks%", _read("page", "marks.html"))
        )
        return web.Response(text=text, content_type="text/html")

    async def _file(self, request: web.Request) -> web.StreamResponse:
        match request.match_info["name"]:
            case "view.js":
                return web.Response(text=_script(), content_type="text/javascript")
            case "view.css":
                return web.Response(text=_style(), content_type="text/css")
        raise web.HTTPNotFound

    async def _take(self, request: web.Request) -> web.StreamResponse:
        from tumblehome.viewer.taken import taken  # noqa: PLC0415  (loads what only this needs)

        shown = await self.work(lambda: self._answers.desk.shown)
        job = partial(taken, shown, request.match_info["name"], dict(request.query))
        try:
            file = await asyncio.get_running_loop().run_in_executor(self._aside, job)
        except TumblehomeError as fault:
            return web.Response(status=422, text=str(fault))
        attached = {"Content-Disposition": f'attachment; filename="{file.name}"', "Words": quote(file.words)}
        return web.Response(body=file.data, content_type=file.kind, headers=attached)

    # ---- talking ----

    async def work(self, job: Callable[[], Result]) -> Result:
        """Have the one worker at the desk do something, after all that it was given before."""
        return await asyncio.get_running_loop().run_in_executor(self._worker, job)

    async def _talk(self, request: web.Request) -> web.StreamResponse:
        socket = web.WebSocketResponse(max_msg_size=_MOST, heartbeat=30.0, compress=False)
        await socket.prepare(request)
        talk = _Talk(self, socket)
        self._talks.add(talk)
        try:
            await talk.run()
        finally:
            self._talks.discard(talk)
        return socket

    async def answer(self, asked: dict[str, Any], seen: Seen) -> dict[str, Any]:
        """Return the answer to a page's question, and tell all pages when it changed the plan."""
        if asked["ask"] not in EDITING:
            return await self.work(partial(self._answers.answer, asked, seen))
        answer, told = await self.work(lambda: (self._answers.answer(asked, seen), self._answers.told()))
        await self._tell({"told": told})
        return answer

    async def _watching(self) -> None:
        while True:
            await asyncio.sleep(_LOOKS)
            with contextlib.suppress(TumblehomeError):
                if news := await self.work(self._answers.look):
                    await self._tell({"told": await self.work(self._answers.told), "news": news})

    async def _tell(self, message: dict[str, Any]) -> None:
        text = json.dumps(message, allow_nan=False)
        await asyncio.gather(*(talk.send(text) for talk in set(self._talks)))


class _Talk:
    """One open page: its questions wait here, of each kind only the newest one, and are answered one after another."""

    def __init__(self, viewer: Viewer, socket: web.WebSocketResponse) -> None:
        self._viewer, self._socket = viewer, socket
        self._seen = Seen()
        self._waiting: dict[object, dict[str, Any]] = {}
        self._news = asyncio.Event()

    async def run(self) -> None:
        """Talk until the page is gone."""
        answering = asyncio.create_task(self._answering())
        try:
            async for message in self._socket:
                if message.type is WSMsgType.TEXT:
                    await self._hear(message.data)
        finally:
            answering.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await answering

    async def close(self) -> None:
        """Say that the program has ended."""
        with contextlib.suppress(asyncio.TimeoutError):
            await asyncio.wait_for(self._socket.close(code=WSCloseCode.GOING_AWAY, message=b"ended"), _GRACE)

    async def send(self, text: str) -> None:
        """Send a text, unless the page has just gone."""
        with contextlib.suppress(ConnectionError):
            await self._socket.send_str(text)

    async def _hear(self, text: str) -> None:
        try:
            asked = json.loads(text)
        except ValueError:
            return
        if not isinstance(asked, dict) or not isinstance(asked.get("ask"), str):
            return
        if asked["ask"] in _AT_ONCE:
            await self._reply(asked, _told_at_once(asked))
            return
        self._waiting[_kind_of(asked)] = asked
        self._news.set()

    async def _answering(self) -> None:
        while True:
            await self._news.wait()
            kind = min(self._waiting, key=self._turn)
            asked = self._waiting.pop(kind)
            if not self._waiting:
                self._news.clear()
            await self._reply(asked, await self._viewer.answer(asked, self._seen))

    def _turn(self, kind: object) -> int:
        ask = self._waiting[kind]["ask"]
        return _FIRST.index(ask) if ask in _FIRST else len(_FIRST)

    async def _reply(self, asked: dict[str, Any], answer: dict[str, Any]) -> None:
        await self.send(json.dumps({"n": asked.get("n"), "ask": asked["ask"], **answer}, allow_nan=False))


def _kind_of(asked: dict[str, Any]) -> object:
    """Return what a newer question takes the place of; a change takes no other one's, but a drag goes only to its newest place."""
    ask = asked["ask"]
    return (ask, asked.get("n")) if ask in EDITING and ask != "drag" else (ask, asked.get("drag"))


def _told_at_once(asked: dict[str, Any]) -> dict[str, Any]:
    if asked["ask"] == "length":
        return told_length(asked)
    point = {key: asked[key] for key in ("height", "station", "breadth") if isinstance(asked.get(key), int | float)}
    return {"words": told_place(point, "in" if asked.get("units") == "in" else "mm")}


@cache
def _read(package: str, name: str) -> str:
    return files(f"tumblehome.{package}").joinpath(name).read_text(encoding="utf-8")


@cache
def _script() -> str:
    return '"use strict";\n' + "\n".join(_read(*where) for where in _SCRIPTS)


@cache
def _style() -> str:
    return root_colors() + _read("page", "base.css") + _read("viewer", "view.css")


def serve(desk: Desk, units: str, *, port: int = 0, opens: bool = True, tell: Callable[[str], None] = print) -> None:
    """Serve a desk until it is interrupted, then end cleanly.

    Parameters
    ----------
    desk : Desk
    units : "mm" or "in"; what is shown first
    port : 0 for any free one
    opens : whether the page is opened in a browser, where there is one
    tell : called with the address, once pages are answered

    Raises
    ------
    InputError
        When the port cannot be used.
    """
    with contextlib.suppress(KeyboardInterrupt):  # a second one, while it is ending
        asyncio.run(_serve(Viewer(desk, units), port, opens=opens, tell=tell))


async def _serve(viewer: Viewer, port: int, *, opens: bool, tell: Callable[[str], None]) -> None:
    ended = asyncio.Event()
    loop = asyncio.get_running_loop()
    for number in (signal.SIGINT, signal.SIGTERM):
        with contextlib.suppress(NotImplementedError):  # a system without such signals interrupts the loop itself
            loop.add_signal_handler(number, ended.set)
    await viewer.start(port)
    gc.freeze()  # what is loaded now stays for good: no answer has to wait until it was looked through for garbage
    tell(viewer.address)
    if opens and _has_display():
        Thread(target=_open, args=[viewer.address], daemon=True).start()
    try:
        await ended.wait()
    finally:
        await viewer.stop()


def _has_display() -> bool:
    """Return whether a browser could be seen; on a bare terminal it would take the place of the program."""
    return sys.platform in {"win32", "darwin"} or any(os.environ.get(name) for name in ("DISPLAY", "WAYLAND_DISPLAY"))


def _open(address: str) -> None:
    """Open the page, where there is a browser; the address has been told in any case."""
    with contextlib.suppress(webbrowser.Error, OSError):
        webbrowser.open(address)
