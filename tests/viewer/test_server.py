"""Who gets an answer from the served viewer, and what it says over its socket.

That a page elsewhere must get nothing: the Origin and Host checks follow RFC 6455 section 10.2 and RFC 6454; the policy's
words are those of W3C Content Security Policy Level 3.
"""

from __future__ import annotations

import asyncio
import http.client
import io
import re
import signal
import socket
import stat
import subprocess
import sys
import time
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

import aiohttp
import ezdxf
import pytest
from pypdf import PdfReader

import tumblehome as th
from viewer.serving import BOX, Served, serving, write_wedge
from wedge import environment, half_breadth

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable, Iterator
    from pathlib import Path


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with serving(write_wedge(tmp_path_factory.mktemp("van"))) as running:
        yield running


@pytest.fixture
def fresh(tmp_path: Path) -> Iterator[Served]:
    """A program of the test's own, for what changes it."""
    with serving(write_wedge(tmp_path)) as running:
        yield running


def get(served: Served, path: str, **headers: str) -> tuple[int, bytes, dict[str, str]]:
    """Ask for a path with exactly these headers, Host among them unless another is given."""
    talk = http.client.HTTPConnection("127.0.0.1", served.port, timeout=20)
    talk.putrequest("GET", path, skip_host=True)
    for name, value in {"Host": f"127.0.0.1:{served.port}", **headers}.items():
        talk.putheader(name, value)
    talk.endheaders()
    answer = talk.getresponse()
    body = answer.read()
    talk.close()
    return answer.status, body, dict(answer.getheaders())


class Talking:
    """A page's side of the socket."""

    def __init__(self, socket: aiohttp.ClientWebSocketResponse) -> None:
        self.socket, self.n, self.told = socket, 0, list[dict[str, Any]]()

    async def send(self, ask: str, **fields: object) -> int:
        self.n += 1
        await self.socket.send_json({"n": self.n, "ask": ask, **fields})
        return self.n

    async def hear(self) -> dict[str, Any]:
        message: dict[str, Any] = await self.socket.receive_json(timeout=30)
        return message

    async def ask(self, ask: str, **fields: object) -> dict[str, Any]:
        """Ask and return the answer; what is told meanwhile is kept."""
        n = await self.send(ask, **fields)
        while True:
            heard = await self.hear()
            if heard.get("n") == n:
                return heard
            if "n" not in heard:
                self.told.append(heard["told"])

    async def news(self) -> dict[str, Any]:
        """Return what is told next."""
        if not self.told:
            self.told.append((await self.hear())["told"])
        return self.told.pop(0)


def talk(served: Served, use: Callable[..., Awaitable[None]], pages: int = 1) -> None:
    """Open some sockets as the page does and use them."""

    async def run() -> None:
        async with aiohttp.ClientSession() as session:
            origin = f"http://127.0.0.1:{served.port}"
            sockets = [
                await session.ws_connect(f"{served.address}talk", origin=origin, max_msg_size=0) for _ in range(pages)
            ]
            try:
                await use(*map(Talking, sockets))
            finally:
                for each in sockets:
                    await each.close()

    asyncio.run(run())


PANE = {"wide": 500, "tall": 420, "units": "mm", "height": 1200, "station": 1500}

# ---- who gets an answer ----


def test_the_page_is_given_under_a_strict_policy(served: Served) -> None:
    status, body, headers = get(served, f"/{served.secret}/")
    assert status == 200
    policy = dict(part.strip().split(" ", 1) for part in headers["Content-Security-Policy"].split(";"))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == "'self'"
    assert policy["connect-src"] == f"'self' ws://127.0.0.1:{served.port}"
    assert policy["frame-ancestors"] == policy["base-uri"] == policy["form-action"] == "'none'"
    assert headers["Referrer-Policy"] == "no-referrer"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Cache-Control"] == "no-store"
    text = body.decode()
    assert re.findall(r'(?:src|href)="([^"#]*)"', text) == ["data:,", "view.css", "view.js"]
    assert not re.search(r"<style|<script>| on\w+=|style=", text)
    for name in ("view.js", "view.css"):
        status, body, _ = get(served, f"/{served.secret}/{name}")
        assert status == 200
        assert not re.search(rb"https?://(?!www\.w3\.org/2000/svg)", body)


def test_whoever_does_not_know_the_secret_gets_nothing(served: Served) -> None:
    wrong = served.secret[:-1] + ("a" if served.secret[-1] != "a" else "b")
    paths = ["/", "//", "/talk", "/view.js", f"/{served.secret}", f"/{served.secret[:-1]}/", f"/x/{served.secret}/"]
    paths += [f"/{wrong}/{rest}" for rest in ("", "view.js", "talk", "take/plan.svg")]
    for path in paths:
        status, body, headers = get(served, path)
        assert (status, body) == (404, b""), path
        assert "Content-Security-Policy" not in headers
        assert served.secret not in str(headers)


def test_a_foreign_host_or_origin_gets_nothing(served: Served) -> None:
    here, page = f"127.0.0.1:{served.port}", f"/{served.secret}/"
    foreign = [
        {"Host": "rebound.example"}, {"Host": f"rebound.example:{served.port}"}, {"Host": "127.0.0.1"}, {"Host": ""},
        {"Host": f"localhost:{served.port}"},
        {"Origin": "http://elsewhere.example"}, {"Origin": "null"}, {"Origin": f"https://{here}"},
        {"Origin": "http://127.0.0.1:1"}, {"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"},
    ]  # fmt: skip
    for headers in foreign:
        for path in (page, f"{page}view.js", f"{page}talk", f"{page}take/plan.svg?at=1000"):
            assert get(served, path, **headers)[:2] == (404, b""), (path, headers)
    assert get(served, page, Origin=f"http://{here}")[0] == 200


@pytest.mark.parametrize("origin", ["http://elsewhere.example", "null", None])
def test_a_foreign_page_gets_no_socket(served: Served, origin: str | None) -> None:
    asking = {"Connection": "Upgrade", "Upgrade": "websocket", "Sec-WebSocket-Version": "13"}
    asking |= {"Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ=="}  # RFC 6455 section 1.3
    path = f"/{served.secret}/talk"
    assert get(served, path, **asking, **({"Origin": origin} if origin else {}))[:2] == (404, b"")
    assert get(served, path, **asking, Origin=f"http://127.0.0.1:{served.port}", Host="rebound.example")[:2] == (
        404,
        b"",
    )


def test_it_answers_on_this_machine_alone(served: Served) -> None:
    with pytest.raises(OSError, match=r"refused|timed out|unreachable"):
        socket.create_connection(("127.0.0.2", served.port), timeout=2).close()


def test_every_run_has_a_secret_of_its_own(served: Served, fresh: Served) -> None:
    assert served.secret != fresh.secret
    assert min(len(served.secret), len(fresh.secret)) >= 32  # 24 bytes of chance in base64
    assert get(fresh, f"/{served.secret}/")[:2] == (404, b"")


# ---- beginning and ending ----


def test_it_ends_cleanly_with_pages_open(fresh: Served) -> None:
    async def use(one: Talking, other: Talking) -> None:
        await one.ask("told")
        fresh.process.send_signal(signal.SIGINT)
        fresh.process.send_signal(signal.SIGINT)
        for page in (one, other):
            closing = await page.socket.receive(timeout=10)
            assert closing.type is aiohttp.WSMsgType.CLOSE
            assert closing.data == 1001  # "going away", RFC 6455 section 7.4.1

    talk(fresh, use, pages=2)
    assert fresh.process.wait(20) == 0


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_it_ends_cleanly_with_none(fresh: Served, number: signal.Signals) -> None:
    fresh.process.send_signal(number)
    assert fresh.process.wait(20) == 0


def test_a_port_that_is_taken_is_told_in_a_line(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        command = [
            sys.executable,
            "-m",
            "tumblehome",
            "view",
            str(write_wedge(tmp_path)),
            "--no-browser",
            "--port",
            port,
        ]
        done = subprocess.run(command, capture_output=True, text=True, env=environment(), timeout=60, check=False)
    assert done.returncode == 2
    assert done.stderr.splitlines() == [
        f"tumblehome: port {port} of this machine cannot be used; leave --port out to take a free one"
    ]


@pytest.mark.skipif(sys.platform != "linux", reason="displays are named otherwise elsewhere")
@pytest.mark.parametrize("display", [True, False])
def test_a_browser_is_opened_where_there_is_a_display(tmp_path: Path, display: bool) -> None:
    opened, browser = tmp_path / "opened", tmp_path / "browser"
    browser.write_text(f'#!/bin/sh\necho "$1" > "{opened}"\n')
    browser.chmod(browser.stat().st_mode | stat.S_IXUSR)
    env = {k: v for k, v in environment(BROWSER=f"{browser} %s").items() if k not in {"DISPLAY", "WAYLAND_DISPLAY"}}
    env |= {"DISPLAY": ":77"} if display else {}
    command = [sys.executable, "-m", "tumblehome", "view", str(write_wedge(tmp_path / "van"))]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=env) as process:
        assert process.stdout
        address = process.stdout.readline().strip()
        until = time.monotonic() + (20 if display else 1)
        while time.monotonic() < until and not (opened.exists() and opened.read_text()):
            time.sleep(0.05)
        process.send_signal(signal.SIGINT)
        assert process.wait(20) == 0
    assert opened.exists() == display
    if display:
        assert opened.read_text().strip() == address


# ---- what is said ----


def test_a_cut_brings_the_librarys_numbers(served: Served) -> None:
    layout = th.load_layout(served.file)

    async def use(page: Talking) -> None:
        for height, station in ((500.0, 2200.0), (1200.0, 2200.0), (850.0, 1050.0), (1600.0, 500.0)):
            for units in ("mm", "in"):
                asked = PANE | {"height": height, "station": station, "units": units}
                told = (await page.ask("section", **asked))["width"]
                for key, space in (("bare", layout.shell), ("fitted", layout)):
                    found = th.width(space, height=height, station=station)
                    if found.usable is None or found.left is None or found.right is None:
                        assert told[key] == {"usable": None, "blocked": found.blocked_by}
                        continue
                    shown = [th.format_length(v, units) + (" mm" if units == "mm" else "") for v in (
                        found.usable, found.left.half_breadth, found.right.half_breadth)]  # fmt: skip
                    assert [told[key]["usable"], told[key]["left"]["half"], told[key]["right"]["half"]] == shown
                    assert [told[key]["left"]["part"], told[key]["right"]["part"]] == [
                        found.left.part,
                        found.right.part,
                    ]

    talk(served, use)


def test_a_place_on_a_drawing_is_where_it_says(served: Served) -> None:
    """The floor's corners of the wedge's cross-section lie where scale and origin put them: half-breadth 900 at height 0."""

    async def use(page: Talking) -> None:
        drawn = await page.ask("section", **PANE)
        root = ElementTree.fromstring(drawn["svg"])
        (ox, oy), scale = drawn["origin"], drawn["scale"]
        path = next(g for g in root if g.get("data-layer") == "air")[0].get("d") or ""
        points = [tuple(map(float, pair.split(","))) for pair in re.findall(r"[-\d.e]+,[-\d.e]+", path)]
        places = sorted((round((x - ox) * scale, 3), round((oy - y) * scale, 3)) for x, y in points)
        for height in (0.0, 2000.0):
            for side in (-1, 1):
                assert min(abs(x - side * half_breadth(height)) + abs(z - height) for x, z in places) == pytest.approx(
                    0, abs=0.01
                )
        assert root.get("viewBox") == f"0 0 {drawn['size'][0]:.9g} {drawn['size'][1]:.9g}"
        named = {name for _, name, _ in drawn["things"]}
        assert named == {"rib left"} or not named  # at 1500 no module is cut, and the box lies behind

    talk(served, use)


def test_what_is_typed_is_read_by_the_library(served: Served) -> None:
    async def use(page: Talking) -> None:
        for text, units, mm in (
            ("48 in", "mm", 1219.2),
            ("1200", "mm", 1200.0),
            ("47 1/4", "in", 1200.15),
            ("1.2 m", "in", 1200),
        ):
            assert (await page.ask("length", text=text, units=units))["mm"] == pytest.approx(mm)
        wrong = await page.ask("length", text="tall", units="mm")
        with pytest.raises(th.errors.LengthError) as fault:
            th.parse_length("tall", unit="mm")
        assert wrong["fault"] == str(fault.value)
        here = await page.ask("place", height=1200.0, station=500.0, breadth=-304.8, units="in")
        assert here["words"] == ['height 47 1/4"', 'station 19 11/16"', 'half-breadth 12" left']

    talk(served, use)


def test_nonsense_neither_ends_it_nor_is_obeyed(fresh: Served) -> None:
    before = fresh.file.read_bytes()

    async def use(page: Talking) -> None:
        for text in (
            "",
            "{",
            "[]",
            "3",
            '{"n": 1}',
            '{"ask": 7}',
            '{"ask": {}}',
            '"told"',
            '{"n": {}, "ask": "place"}',
        ):
            await page.socket.send_str(text)
        await page.socket.send_bytes(b"\x00\xff")
        bad: list[dict[str, object]] = [
            {"ask": "nothing"}, {"ask": "__class__"}, {"ask": "section"}, {"ask": "plan", **PANE, "height": "a"},
            {"ask": "plan", **PANE, "height": 1e9}, {"ask": "section", **PANE, "wide": None},
            {"ask": "edit", "edit": "__init__"}, {"ask": "edit", "edit": "move"},
            {"ask": "edit", "edit": "move", "module": 7, "x": 1}, {"ask": "edit", "edit": "move", "module": "no such", "x": 1},
            {"ask": "edit", "edit": "nudge", "module": "box", "axis": "q", "mm": 1},
            {"ask": "edit", "edit": "turn", "module": "box", "degrees": "around"},
            {"ask": "edit", "edit": "push", "module": "box", "side": []},
            {"ask": "edit", "edit": "text", "text": 9}, {"ask": "drag", "module": "box"}, {"ask": "study", "module": "no such"},
            {"ask": "curves", "module": "box"}, {"ask": "recover"},
        ]  # fmt: skip
        for fields in bad:
            answer = await page.ask(**fields)  # type: ignore[arg-type]
            assert answer.get("fault") or (fields["ask"] == "study" and answer["sentences"] == []), fields
        told = (await page.ask("told"))["told"]
        assert (told["fault"], told["can_undo"], told["is_saved"]) == (None, False, True)

    talk(fresh, use)
    assert fresh.file.read_bytes() == before


def test_only_the_newest_of_many_questions_is_answered(served: Served) -> None:
    async def use(page: Talking) -> None:
        sent = [await page.send("section", **PANE | {"station": 100.0 + 10 * i}) for i in range(120)]
        heard: list[dict[str, Any]] = []
        while not heard or heard[-1]["n"] != sent[-1]:
            heard.append(await page.hear())
        numbers = [answer["n"] for answer in heard]
        assert numbers == sorted(numbers)
        assert len(numbers) < len(sent)
        assert heard[-1]["at"] == 100.0 + 10 * 119

    talk(served, use)


# ---- changing ----


def test_two_pages_stay_in_step(fresh: Served) -> None:
    async def use(one: Talking, other: Talking) -> None:
        await one.ask("told")
        await other.ask("told")
        await one.ask("edit", edit="nudge", module="box", axis="x", mm=10)
        seen = [await page.news() for page in (one, other)]
        assert seen[0] == seen[1]
        assert seen[0]["layouts"][0]["modules"][0]["low"][0] == pytest.approx(2010)
        await other.ask("undo")
        back = [await page.news() for page in (one, other)]
        assert back[0] == back[1]
        assert back[0]["layouts"][0]["modules"][0]["low"][0] == pytest.approx(2000)
        assert back[0]["is_saved"]

    talk(fresh, use, pages=2)


def test_a_drag_is_one_step_and_moves_the_files_module(fresh: Served) -> None:
    async def use(page: Talking) -> None:
        for i in range(1, 8):
            answer = await page.ask(
                "drag",
                module="box",
                x=2000 - 31.0 * i,
                y=-700 + 17.0 * i,
                z=0,
                drag="a",
                within=0.01,
                level="z",
                units="mm",
            )
            assert "fault" not in answer
        assert (await page.ask("save")).get("fault") is None
        moved = th.load_layout(fresh.file).module("box").bounds[0]
        assert moved == pytest.approx((2000 - 217, -700 + 119, 0))
        assert "# the last line is a remark\n" in fresh.file.read_text()
        await page.ask("undo")
        told = (await page.ask("told"))["told"]
        assert not told["can_undo"]
        await page.ask("save")

    talk(fresh, use)
    assert fresh.file.read_bytes() == BOX.encode()


def test_what_is_typed_for_a_module_is_a_length(fresh: Served) -> None:
    async def use(page: Talking) -> None:
        await page.ask("edit", edit="move", module="box", x="80 in", units="mm")
        await page.ask("edit", edit="resize", module="box", high="900", units="mm")
        module = (await page.ask("told"))["told"]["layouts"][0]["modules"][0]
        assert module["low"][0] == pytest.approx(80 * 25.4)
        assert module["size"][2] == pytest.approx(900)
        wrong = await page.ask("edit", edit="move", module="box", x="here", units="mm")
        assert "here" in wrong["fault"]

    talk(fresh, use)


def test_a_change_on_the_disk_is_told(fresh: Served) -> None:
    async def use(page: Talking) -> None:
        await page.ask("told")
        fresh.file.write_text(BOX.replace('"2000 mm"', '"1900 mm"'))
        told = await page.news()
        assert told["layouts"][0]["modules"][0]["low"][0] == pytest.approx(1900)
        await page.ask("edit", edit="move", module="box", x=1800)
        await page.news()
        fresh.file.write_text(BOX.replace('"2000 mm"', '"1700 mm"'))
        told = await page.news()
        assert told["conflict"]
        assert (await page.ask("save"))["fault"]
        assert '"1700 mm"' in fresh.file.read_text()
        await page.ask("keep", whose="mine")
        assert not (await page.ask("told"))["told"]["conflict"]
        await page.ask("save")

    talk(fresh, use)
    assert th.load_layout(fresh.file).module("box").bounds[0][0] == pytest.approx(1800)


def test_a_plan_that_becomes_wrong_keeps_its_last_good_picture(fresh: Served) -> None:
    async def use(page: Talking) -> None:
        await page.ask("told")
        fresh.file.write_text(BOX.replace('"2000 mm"', '"two"'))
        told = await page.news()
        assert "layout.toml:" in told["fault"]
        assert "two" in told["fault"]
        assert told["layouts"][0]["modules"][0]["low"][0] == pytest.approx(2000)
        assert (await page.ask("section", **PANE))["svg"]
        fresh.file.write_text(BOX)
        assert (await page.news())["fault"] is None

    talk(fresh, use)


def test_a_bare_shell_can_be_looked_at_and_not_changed(tmp_path: Path) -> None:
    with serving(write_wedge(tmp_path).with_name("shell.toml")) as shell:

        async def use(page: Talking) -> None:
            told = (await page.ask("told"))["told"]
            assert (told["is_layout"], told["layouts"]) == (False, [])
            drawn = await page.ask("plan", **PANE)
            assert drawn["width"]["bare"]["usable"] == f"{th.format_length(2 * half_breadth(1200), 'mm')} mm"
            assert "fitted" not in drawn["width"]
            assert (await page.ask("round", units="mm"))["meshes"]
            for ask in ("edit", "save", "drag"):
                fields: dict[str, object] = {
                    "edit": "remove",
                    "module": "box",
                    "x": 0,
                    "y": 0,
                    "z": 0,
                    "drag": "a",
                    "within": 1,
                }
                assert "bare shell" in (await page.ask(ask, **fields))["fault"]

        talk(shell, use)


# ---- the round and what is taken away ----


def test_only_what_changed_is_sent_again(fresh: Served) -> None:
    async def use(page: Talking, other: Talking) -> None:
        first = await page.ask("round", mode=None)
        assert {"shell", "member", "module", "person"} <= {mesh["kind"] for mesh in first["meshes"]}
        assert first["head"]["low"][0] <= 0
        again = await page.ask("round", mode=None)
        assert (again["gone"], again["meshes"]) == ([], [])
        assert "head" not in again
        await page.ask("edit", edit="nudge", module="box", axis="x", mm=10)
        after = await page.ask("round", mode=None)
        assert {mesh["kind"] for mesh in after["meshes"]} <= {"module", "person"}
        assert "box" in after["gone"]
        await page.ask("edit", edit="remove", module="box")
        gone = await page.ask("round", mode=None)
        assert "box" in gone["gone"]
        assert "box" not in {mesh["name"] for mesh in gone["meshes"]}
        late = await other.ask("round", mode=None)
        assert "head" in late

    talk(fresh, use, pages=2)


def test_drawings_can_be_taken_away(served: Served) -> None:
    take = f"/{served.secret}/take"
    status, body, headers = get(served, f"{take}/plan.svg?at=1000&units=mm")
    assert status == 200
    assert headers["Content-Disposition"] == 'attachment; filename="plan.svg"'
    assert ElementTree.fromstring(body).tag == "{http://www.w3.org/2000/svg}svg"
    assert b"Plan at height 1000" in body
    _, body, _ = get(served, f"{take}/section.pdf?at=2200&units=mm")
    assert "Station 2200" in PdfReader(io.BytesIO(body)).pages[0].extract_text()
    _, body, _ = get(served, f"{take}/section.dxf?at=2200&units=mm")
    assert list(ezdxf.read(io.StringIO(body.decode())).modelspace())
    _, body, _ = get(served, f"{take}/client.html?units=in")
    assert b"<title>One box</title>" in body


def test_what_takes_long_keeps_nobody_waiting_and_shows_the_moment_it_was_asked_at(fresh: Served) -> None:
    """While the client's page is made, cuts are answered and the box is moved on; the page says where it stood before."""
    take = f"{fresh.address}take/client.html?units=mm"

    async def use(page: Talking) -> None:
        async with aiohttp.ClientSession() as session:

            async def taken() -> list[str]:
                async with session.get(take) as answer:
                    assert answer.status == 200
                    return re.findall(r"Stations (\d+) to", await answer.text())

            taking = asyncio.create_task(taken())
            await asyncio.sleep(0.1)  # it has asked by now, and is not answered by far
            answered = moved = 0
            while not taking.done():
                moved += 1
                await page.ask("edit", edit="nudge", module="box", axis="x", mm=1)
                assert (await page.ask("section", **PANE))["svg"]
                answered += not taking.done()
            assert answered > 1
            assert await taking == ["2000"]
            assert await taken() == [str(2000 + moved)]

    talk(fresh, use)


def test_a_bundled_plan_is_worked_on_and_never_written_over() -> None:
    shell = next(iter(th.bundled_shells().values()))
    before = {path: path.read_bytes() for path in shell.parent.iterdir()}
    module = th.load_layout(shell.with_name("layout.toml")).modules[0].name

    async def use(page: Talking) -> None:
        assert "fault" not in await page.ask("edit", edit="nudge", module=module, axis="x", mm=10)
        assert "bundled van" in (await page.ask("save"))["fault"]
        assert not (await page.ask("told"))["told"]["is_saved"]

    with serving(shell.with_name("layout.toml")) as bundled:
        talk(bundled, use)
    assert {path: path.read_bytes() for path in shell.parent.iterdir()} == before


@pytest.mark.parametrize("name", ["plan.svg?at=9000", "plan.svg", "plan.svg?at=nan", "plan.exe?at=1", "other.svg?at=1"])
def test_what_cannot_be_taken_away_is_told_in_a_line(served: Served, name: str) -> None:
    status, body, _ = get(served, f"/{served.secret}/take/{name}")
    assert status == 422
    assert len(body.decode().splitlines()) == 1


def test_no_path_leads_out(served: Served) -> None:
    for path in (
        "../server.py",
        "..%2fserver.py",
        "%2e%2e/server.py",
        "view.html",
        "desk.py",
        "/etc/passwd",
        "take/..%2f..%2fx",
    ):
        status, body, _ = get(served, f"/{served.secret}/{path}")
        assert status in {404, 422}
        assert b"import" not in body
        assert b"root:" not in body
