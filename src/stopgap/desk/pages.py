"""Which room lies at which address: GET shows a page, POST does something and shows it."""

import re
from collections.abc import Callable, Sequence
from importlib import import_module
from secrets import token_urlsafe
from urllib.parse import urlencode

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from stopgap.desk.ahead import Ahead
from stopgap.desk.asking import Desk, Done, Room
from stopgap.desk.doors import Doors, Keys
from stopgap.desk.forms import Sent, read_form
from stopgap.desk.words import error_words
from stopgap.errors import InputError, LibraryError, Remedy, StopgapError
from stopgap.reports.render.rooms import FormField, Panel, RoomPage, kept_page, render_room

ROOMS = {
    "wall": "Wall",
    "match": "Stand-ins",
    "layers": "Try two",
    "lists": "Lists",
    "blends": "Blends",
    "holes": "Holes",
    "shop": "Shop",
    "bring": "Bring in",
    "print": "Print",
    "history": "History",
    "guide": "Guide",
}
"""The rooms in their order, a module of `rooms` each, and how they are called."""
KEEP = "keep"
"""The deed of every room that gives its answer as a file."""
_MOST_SENTENCES = 50


def find_room(name: str) -> Room:
    """The room of a name of ROOMS."""
    known = list(ROOMS)
    room: Room = import_module(f"stopgap.desk.rooms.{known[known.index(name)]}").ROOM
    return room


class Pages:
    """The pages of one desk; what a deed said is kept until the page it leads to shows it."""

    def __init__(self, desk: Desk, keys: Keys) -> None:
        self.desk = desk
        self.keys = keys
        self.told: dict[str, str] = {}
        self.ahead = Ahead(desk)

    def show(self, name: str, sent: Sent, part: str = "") -> tuple[str, str]:
        """A room with the answer to what was sent, as a page and its policy; with a `part` the
        panel alone.

        What is wrong with the question or the library is said on the page.
        """
        self.ahead.somebody_asks()
        room = find_room(name)
        mark = self.desk.mark()
        fields: Sequence[FormField] = ()
        panel = Panel()
        said = [*filter(None, (self.told.get(key, "") for key in sent.every("said")))]
        try:
            fields = room.fields(self.desk, sent)
            panel = self.answer(name, room, sent, mark) or panel
            said += [*panel.said, *filter(None, [panel.awaited])]
        except StopgapError as error:
            empty = not isinstance(error, LibraryError) and self.desk.is_empty()
            said.append("There is no pencil in the library yet." if empty else error_words(error))
            nothing = empty or error.remedy in (Remedy.FIRST_RANGE, Remedy.IMPORT_RANGE)
            if name != "bring" and nothing:
                panel = Panel(links=[("/bring", "Bring in a range, or look at invented ones")])
        key = sent.text("page") or token_urlsafe(8)
        pairs = [pair for pair in sent.pairs if pair[0] not in ("said", "page")]
        lines = [*dict.fromkeys(line.strip() for each in said for line in each.splitlines())]
        page = RoomPage(
            *(name, room.title, room.about, room.ask, fields, lines, panel, mark),
            str(self.desk.path),
            f"/{name}?{urlencode([*pairs, ('page', key)])}",
            key,
            pairs,
        )
        return render_room(page, list(ROOMS.items()), part)

    def answer(self, name: str, room: Room, sent: Sent, mark: str) -> Panel | None:
        """What a room answers, kept as long as the library is as it was; while it is worked out,
        a panel that says so.
        """
        asked = tuple(pair for pair in sent.pairs if pair[0] not in ("said", "page"))
        key = (name, asked, mark, self.desk.file_state())
        found: list[Panel | None] | None = self.desk.work.answer(
            key, lambda: [room.answer(self.desk, sent)]
        )
        if found is None:
            return Panel(
                awaited="This is worked out now; the page shows it as soon as it is there."
            )
        if found[0] is not None and found[0].awaited:
            self.desk.work.forget(key)
        return found[0]

    def do(self, name: str, deed: str, sent: Sent) -> Done:
        """Do what a form says; raises StopgapError where nothing was done."""
        self.ahead.somebody_asks()
        if deed == KEEP:
            return self.kept(name, sent)
        return find_room(name).deeds[deed](self.desk, sent)

    def kept(self, name: str, sent: Sent) -> Done:
        """The answer to what was sent as a page to keep, which is a sheet like those of commands.

        Raises
        ------
        InputError
            If the room has nothing to keep, or works it out still.
        """
        room = find_room(name)
        panel = self.answer(name, room, sent, self.desk.mark())
        if panel is None or panel.report is None:
            raise InputError("There is nothing to keep yet. Ask first, and wait for the answer.")
        held = kept_page(panel.report, room.title)
        return Done("", file=(f"{name}.html", "text/html; charset=utf-8", held))

    def keep(self, said: str) -> str:
        """The key under which a sentence is shown once the browser comes for the page."""
        while len(self.told) >= _MOST_SENTENCES:
            del self.told[next(iter(self.told))]
        key = token_urlsafe(8)
        self.told[key] = said
        return key

    async def home(self, request: Request) -> Response:
        """The wall; where there is nothing on it yet, where something can be brought in."""
        del request
        empty = await run_in_threadpool(self.desk.is_empty)
        return RedirectResponse("/bring" if empty else "/wall", 303)

    async def enter(self, request: Request) -> Response:
        """The cookie for a start key, and the way in.

        It is no redirect: a page must lead on, or the browser would not send the cookie, which is
        for this site alone, with a request that another began.
        """
        cookie = self.keys.exchange(request.query_params.get("key", ""))
        if cookie is None:
            sentence = "This address opened the desk once already. Start the desk again to come in."
            return HTMLResponse(_plain("The desk stays closed", sentence), 403)
        text = _plain("The desk", "Come in.", '<meta http-equiv="refresh" content="0; url=/">')
        answer = HTMLResponse(text)
        answer.set_cookie(self.keys.cookie_name, cookie, httponly=True, samesite="strict")
        return answer

    async def key(self, request: Request) -> Response:
        """A new start key, for another start on this machine."""
        del request
        return JSONResponse({"key": self.keys.start_key()})

    async def mark(self, request: Request) -> Response:
        """What the library is like now."""
        del request
        return JSONResponse({"mark": await run_in_threadpool(self.desk.mark)})

    async def icon(self, request: Request) -> Response:
        """The picture of a tab."""
        del request
        return Response(_ICON, media_type="image/svg+xml")

    async def close(self, request: Request) -> Response:
        """End the desk."""
        request.app.state.close()
        return HTMLResponse(_plain("The desk is closed", "You may close this window."))

    async def room(self, request: Request) -> Response:
        """A room with its answer."""
        name = request.path_params["room"]
        if name not in ROOMS:
            return HTMLResponse(_plain("No such room", "The desk has no page here."), 404)
        asked = request.query_params.multi_items()
        part = dict(asked).get("part", "")
        sent = Sent([pair for pair in asked if pair[0] != "part"])
        if part and not re.fullmatch(r"[a-z]\w{0,40}", part, re.ASCII):
            return HTMLResponse(_plain("No such part", "The desk has no page here."), 404)
        text, policy = await run_in_threadpool(self.show, name, sent, part)
        return HTMLResponse(text, headers={"Content-Security-Policy": policy})

    async def deed(self, request: Request) -> Response:
        """Do what a form says, and lead on to the page that shows it; a script is told in JSON."""
        name, what = request.path_params["room"], request.path_params["deed"]
        if name not in ROOMS or what not in (KEEP, *find_room(name).deeds):
            return HTMLResponse(_plain("No such room", "The desk has no page here."), 404)
        body = await request.body()
        sent, done_at_all = Sent(), True
        try:
            sent = read_form(request.headers.get("content-type", ""), body)
            done = await run_in_threadpool(self.do, name, what, sent)
            if done.file is None:
                self.ahead.changed()
        except StopgapError as error:
            done_at_all, done = False, Done(error_words(error))
        if request.headers.get("accept") == "application/json":
            told = {"said": done.said, "stale": not done_at_all, **done.told}
            told["mark"] = await run_in_threadpool(self.desk.mark)
            return JSONResponse(told, 200 if done_at_all else 409)
        if done.file is not None:
            file, kind, held = done.file
            return Response(
                held,
                media_type=kind,
                headers={"Content-Disposition": f'attachment; filename="{file}"'},
            )
        there = done.there or sent.text("there")
        if there.partition("?")[0] not in {f"/{each}" for each in ROOMS}:
            there = f"/{name}"
        joined = "&" if "?" in there else "?"
        return RedirectResponse(
            f"{there}{joined}{urlencode({'said': self.keep(done.said)})}", status_code=303
        )


def application(desk: Desk, keys: Keys, used: Callable[[], None] = lambda: None) -> Starlette:
    """The server's application; `used` is told of each request that somebody made by hand."""
    pages = Pages(desk, keys)
    routes = [
        Route("/", pages.home),
        Route("/enter", pages.enter),
        Route("/key", pages.key, methods=["POST"]),
        Route("/mark", pages.mark),
        Route("/icon.svg", pages.icon),
        Route("/favicon.ico", pages.icon),
        Route("/close", pages.close, methods=["POST"]),
        Route("/{room}", pages.room),
        Route("/{room}/{deed}", pages.deed, methods=["POST"]),
    ]
    doors = Middleware(Doors, keys=keys, used=used)
    app = Starlette(routes=routes, middleware=[doors], exception_handlers={500: _defect})
    app.state.close = lambda: None
    app.state.look_ahead = pages.ahead.begin
    return app


async def _defect(request: Request, error: Exception) -> Response:
    """What a defect of ours looks like; the server tells the rest where it was started."""
    del request, error
    sentence = "That is a fault of stopgap's. Nothing was changed by it; go back and on."
    return HTMLResponse(_plain("Something went wrong", sentence), 500)


_ICON = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 16 16"><path fill="#767676" '
    'd="M4 16V6l4-6 4 6v10z"/></svg>'
)


def _plain(title: str, sentence: str, head: str = "") -> str:
    """A page of one sentence of ours; an icon of its own, since a closed desk has none to fetch."""
    head += '<link rel="icon" href="data:,">'
    return (
        f'<!DOCTYPE html><html lang="en-GB"><head><meta charset="utf-8">{head}'
        f"<title>{title}</title></head><body><main><h1>{title}</h1><p>{sentence}</p></main></body>"
        "</html>"
    )
