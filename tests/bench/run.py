"""Measure the program against its peers in one run and print one table; exit status 1 when a limit is broken.

    python tests/bench/run.py            everything
    python tests/bench/run.py cuts       only the named groups: cuts, chart, check, start, growth, studies, carry, people

Only the ratios mean something: both sides are timed in the same process, in turn, on the same data.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import time
from copy import deepcopy
from dataclasses import dataclass, replace
from functools import partial
from importlib import import_module
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from tumblehome.body import Shell, bundled_shells, load_shell
from tumblehome.body.offsets import OffsetBody
from tumblehome.body.parts import Lined, Lining, Recess, Sheet
from tumblehome.carrying import carry
from tumblehome.carrying.footprint import Body
from tumblehome.carrying.freeplan import FreePlan
from tumblehome.carrying.search import Layers, search
from tumblehome.checks import Checker, check, check_modes
from tumblehome.cuts import section, width_chart
from tumblehome.files import read_toml
from tumblehome.fitout import Layout, Module, load_layout, load_modes
from tumblehome.fitout.layoutfile import LayoutReader
from tumblehome.fitout.module import Frame, Use, solid_of
from tumblehome.people.aisle import check_aisle
from tumblehome.people.exits import check_exits
from tumblehome.people.ground import Floor
from tumblehome.people.passing import check_passing
from tumblehome.people.person import Person
from tumblehome.people.run import people
from tumblehome.studies import Wall, effects_on, study
from tumblehome.sweep import Prism

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from tumblehome.body.parts import Part, Side
    from tumblehome.files import TomlFile

DEMO = "long-heron"
SIZES = {"10k": (50, 52), "240k": (240, 252), "1M": (490, 512)}
"""Stations and rows of shells of about so many triangles."""


@dataclass(frozen=True)
class Row:
    """One line of the table: what was measured, the ratio, and the limit it is held to ("<" or ">")."""

    group: str
    what: str
    own: str
    peer: str
    ratio: float
    sense: str
    limit: float

    @property
    def holds(self) -> bool:
        """Whether the limit holds."""
        return self.ratio <= self.limit if self.sense == "<" else self.ratio >= self.limit


def timed(work: Callable[[], object], *, repeat: int = 5) -> float:
    """Return the median seconds of some runs, after one to warm up."""
    work()
    times = []
    for _ in range(repeat):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return float(np.median(times))


def compared(group: str, what: str, own: float, peer: float, sense: str, limit: float) -> Row:
    """Return the row of a comparison: own time over the peer's ("<"), or how many times faster than the peer (">")."""
    ratio = own / peer if sense == "<" else peer / own
    return Row(group, what, f"{own * 1e3:.2f} ms", f"{peer * 1e3:.2f} ms", ratio, sense, limit)


def dense_shell(stations: int, rows: int) -> Shell:
    """Return a shell whose walls bulge smoothly, with many stations and rows."""
    x, z = np.linspace(0, 4000, stations), np.linspace(0, 1900, rows)
    lean = 880 - 180 * (z / 1900) ** 3 + 15 * np.sin(z / 300)
    half = lean[None] * (1 - 0.03 * np.cos(x / 900))[:, None]
    return Shell("dense", 3.0, Lined(OffsetBody(x, z, half, half, rows - 1), Lining()), ())


def bench_cuts() -> list[Row]:
    """Time 100 height and 100 station cuts with their polygons."""
    limits = {"10k": (1.6, 10.0, 20), "240k": (1.3, 15.0, 4), "1M": (1.3, 20.0, 4)}
    return [row for name, held in limits.items() for row in _cuts_at(name, *held)]


def _cuts_at(name: str, over_raw: float, over_trimesh: float, few: int) -> list[Row]:
    shell = dense_shell(*SIZES[name])
    heights, places = np.linspace(3.3, 1893.3, 100).tolist(), np.linspace(7.7, 3991.7, 100).tolist()
    own = timed(lambda: _own_cuts(shell, heights, places))
    raw = timed(lambda: _raw_cuts(shell, heights, places))
    slow = timed(lambda: _trimesh_cuts(shell, heights[:few], places[:few]), repeat=2) * 100 / few
    label = f"200 cuts, {len(shell.void.surface) / 1e3:.0f}k triangles, against"
    rows = [
        compared("cuts", f"{label} raw kernel slices", own, raw, "<", over_raw),
        compared("cuts", f"{label} trimesh section", own, slow, ">", over_trimesh),
    ]
    if name == "1M":
        plane = timed(lambda: _vtk_cuts(shell, heights[:few], places[:few]), repeat=2) * 100 / few
        rows.append(compared("cuts", f"{label} VTK plane cutter", own, plane, ">", 10.0))
    return rows


def _own_cuts(shell: Shell, heights: list[float], stations: list[float]) -> None:
    for z in heights:
        _ = section(shell, height=z).rings
    for x in stations:
        _ = section(shell, station=x).rings


def _raw_cuts(shell: Shell, heights: list[float], stations: list[float]) -> None:
    upright = shell.void.kernel
    turned = _turned(shell)
    for z in heights:
        upright.slice(z).to_polygons()
    for x in stations:
        turned.slice(x).to_polygons()


def _turned(shell: Shell) -> Any:
    if shell.name not in _TURNED or _TURNED[shell.name][0] is not shell:
        matrix = np.array([[0.0, 1, 0, 0], [0, 0, 1, 0], [1, 0, 0, 0]])
        _TURNED[shell.name] = (shell, shell.void.kernel.transform(matrix))
    return _TURNED[shell.name][1]


_TURNED: dict[str, tuple[Shell, Any]] = {}


def _trimesh_cuts(shell: Shell, heights: list[float], stations: list[float]) -> None:
    import trimesh

    mesh = _cached(shell, "trimesh", lambda: trimesh.Trimesh(*shell.void.mesh(), process=False))
    for z in heights:
        _ = mesh.section(plane_origin=[0, 0, z], plane_normal=[0, 0, 1]).discrete
    for x in stations:
        _ = mesh.section(plane_origin=[x, 0, 0], plane_normal=[1, 0, 0]).discrete


def _vtk_cuts(shell: Shell, heights: list[float], stations: list[float]) -> None:
    from vtkmodules.vtkCommonDataModel import vtkPlane
    from vtkmodules.vtkFiltersCore import vtkPlaneCutter

    mesh = _cached(shell, "vtk", lambda: _polydata(shell))
    for origin, normal in [((0, 0, z), (0, 0, 1)) for z in heights] + [((x, 0, 0), (1, 0, 0)) for x in stations]:
        plane = vtkPlane()
        plane.SetOrigin(origin)
        plane.SetNormal(normal)
        cutter = vtkPlaneCutter()
        cutter.SetInputData(mesh)
        cutter.SetPlane(plane)
        cutter.Update()


def _polydata(shell: Shell) -> Any:
    import pyvista

    vertices, triangles = shell.void.mesh()
    return pyvista.make_tri_mesh(vertices, triangles)  # type: ignore[arg-type]  # any integers will do


_CACHE: dict[tuple[int, str], Any] = {}


def _cached(shell: Shell, kind: str, make: Callable[[], object]) -> Any:
    key = (id(shell), kind)
    if key not in _CACHE:
        _CACHE[key] = make()
    return _CACHE[key]


def bench_chart() -> list[Row]:
    """Time the width chart at 10 mm x 10 mm against the same rays cast with embree."""
    import trimesh
    from trimesh.ray.ray_pyembree import RayMeshIntersector

    shell = load_shell(DEMO)
    low, high = shell.bounds
    heights, stations = np.arange(low[2], high[2], 10.0), np.arange(low[0], high[0], 10.0)
    caster = RayMeshIntersector(trimesh.Trimesh(*shell.void.mesh(), process=False))
    z, x = (grid.ravel() for grid in np.meshgrid(heights, stations, indexing="ij"))
    origins = np.column_stack([x, np.zeros_like(x), z])

    def cast() -> None:
        for sense in (1.0, -1.0):
            directions = np.tile([0.0, sense, 0.0], (len(origins), 1))
            caster.intersects_id(origins, directions, multiple_hits=False, return_locations=True)

    own, peer = timed(lambda: width_chart(shell, heights, stations)), timed(cast)
    return [compared("chart", f"{len(origins)} places on the demo, against embree rays", own, peer, ">", 5.0)]


def bench_check() -> list[Row]:
    """Time the check of the demo layout in process."""
    layout = load_layout(DEMO)
    _ = layout.shell.obstacles
    own = timed(lambda: check(_anew(layout)))
    what = f"the demo, {len(layout.modules)} modules, its shell warm; against 150 ms"
    return [compared("check", what, own, 0.150, "<", 1.0), *_nudged()]


def _nudged() -> list[Row]:
    """Time what the findings take after each module in turn was moved by a millimeter, in one mode and in all."""
    file = read_toml(bundled_shells()[DEMO].parent / "layout.toml", "layout file")
    rows = []
    for words, modes in (("in its first mode", (None,)), ("in all of its modes", None)):
        reader, checker, times = LayoutReader(), Checker(), []
        check_modes(reader.read(file, modes), checker=checker)
        for i in range(len(file.data["modules"])):
            nudges = [reader.read(_moved(file, i, by), modes) for by in (1.0, 2.0, 3.0, 4.0, 5.0)]
            times.append(np.median([_seconds(partial(check_modes, nudge, checker=checker)) for nudge in nudges]))
            check_modes(reader.read(file, modes), checker=checker)
        for which, own in (("the worst module", max(times)), ("the median module", np.median(times))):
            what = f"a nudge of the demo checked again {words}; against 16 ms; {which}"
            rows.append(compared("check", what, float(own), 0.016, "<", 1.0))
    return rows


def _moved(file: TomlFile, number: int, by: float) -> TomlFile:
    """Return a layout file with a module further rearward, mm."""
    data = deepcopy(file.data)
    data["modules"][number]["station"] += by
    return replace(file, data=data)


def _seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def _anew(layout: Layout) -> Layout:
    """Return a layout made of things of which nobody remembers anything, in the same shell."""
    return replace(layout, modules=tuple(_made_anew(module) for module in layout.modules))


def _made_anew(module: Module) -> Module:
    body = tuple(replace(prism) for prism in module.body)
    hull = body if module.hull is module.body else tuple(replace(prism) for prism in module.hull)
    zones = tuple(replace(zone, prisms=tuple(replace(prism) for prism in zone.prisms)) for zone in module.zones)
    return replace(module, body=body, hull=hull, zones=zones)


def bench_start() -> list[Row]:
    """Time the whole command against importing what it stands on."""
    rows = []
    for words, mode in (("in its first mode", ("--mode", load_layout(DEMO).mode)), ("in all of its modes", ())):
        own = timed(partial(_run, "-m", "tumblehome", "check", DEMO, *mode), repeat=9)
        peer = _imports(9)
        what = f"the whole command 'check' of the demo, {words}, against the bare imports"
        rows.append(compared("start", what, own, peer, "<", 2.0))
    return rows


def _imports(repeat: int = 5) -> float:
    """Return how long the bare imports take: what the program stands on, and how fast the machine is just now."""
    return timed(partial(_run, "-c", "import numpy, shapely, manifold3d, pydantic, typer"), repeat=repeat)


def _run(*arguments: str) -> None:
    """Run Python as a user's machine does: compiled modules are kept from one run to the next."""
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    subprocess.run([sys.executable, *arguments], capture_output=True, check=False, env=environment)


def bench_growth() -> list[Row]:
    """Fit how check grows with modules and a cut with triangles."""
    counts, times = [10, 100, 1000], []
    for n in counts:
        layout = _crowd(n)
        _ = layout.shell.obstacles
        times.append(timed(partial(_checked_anew, layout), repeat=1))
    rows = [_grown("check", counts, times, 1.2)]
    sizes, cuts = [], []
    for stations, levels in ((50, 52), (160, 160), (490, 512), (870, 864)):
        shell = dense_shell(stations, levels)
        places = np.linspace(3.3, 1893.3, 20).tolist()
        sizes.append(len(shell.void.surface))
        cuts.append(timed(partial(_own_cuts, shell, places, places)) / 40)
    return [*rows, _grown("a cut", sizes, cuts, 1.0)]


def _checked_anew(layout: Layout) -> None:
    check(_anew(layout))


def _grown(what: str, sizes: list[int], times: list[float], limit: float) -> Row:
    exponent = float(np.polyfit(np.log(sizes), np.log(times), 1)[0])
    told = ", ".join(f"{n}: {t * 1e3:.3g} ms" for n, t in zip(sizes, times, strict=True))
    return Row("growth", f"{what} ({told})", "exponent", "", exponent, "<", limit)


def _crowd(count: int) -> Layout:
    """Return a layout of many small boxes on the floor of the demo shell."""
    shell = load_shell(DEMO)
    side = 900.0 / np.sqrt(count)
    columns = int(np.ceil(np.sqrt(count)))
    modules = []
    for i in range(count):
        frame = Frame.facing(0.0).moved((400 + 3.0 * side * (i % columns), -450 + side * (i // columns), 0.0))
        body = (frame.box((0.0, 0.8 * side), (0.0, 0.8 * side), (0.0, 300.0)),)
        name = f"box {i}"
        solid = solid_of(body, name)
        modules.append(
            Module(name, "rigid", body, body, solid, (), frame, 0.8 * side, 0.8 * side, 300.0, support="floor")
        )
    return Layout("crowd", shell, tuple(modules))


def bench_studies() -> list[Row]:
    """Time the exact slide along a wall, what every part gives and costs, and how both grow with the number of parts."""
    layout = load_layout(DEMO)
    shell = layout.shell
    x0, x1 = shell.stations
    box = Prism.box((x0, -100.0, 0.0), (x0 + 600.0, 100.0, 1500.0))
    own = timed(partial(_slide, shell, box), repeat=9)
    steps = np.linspace(x0 + 700.0, x1 - 700.0, 6)
    slow = timed(lambda: [_bisected(shell, box.moved((x - x0, 0.0, 0.0))) for x in steps], repeat=1) / len(steps)
    modules = [m.name for m in layout.modules if m.parent is None and m.against in {"left", "right"}]
    give = max(timed(partial(_effects_anew, layout, name)) for name in modules)
    return [
        compared(
            "studies", "the slide of a box 600 x 1500 along the demo's wall, warm; against 30 ms", own, 0.030, "<", 1.0
        ),
        compared(
            "studies", "the same, against bisecting booleans to 1e-4 mm at 4000 steps", own, 4000 * slow, ">", 300.0
        ),
        compared("studies", "give and take, the slowest module of the demo, all built anew", give, 0.300, "<", 1.0),
        *_grown_by_parts(),
    ]


def _effects_anew(layout: Layout, name: str) -> object:
    """Ask of a shell that has computed nothing yet."""
    return study(replace(layout, shell=replace(layout.shell, _family={}, _solids={})), name).effects


def _slide(shell: Shell, box: Prism) -> object:
    return Wall.of(shell, -1.0).by_station([box])


def _bisected(shell: Shell, box: Prism) -> float:
    """Return how far left a box can go from the centerline, by the volume that sticks out of the void, to 1e-4 mm."""
    solid, low, high = solid_of([box], "box"), 0.0, float(-shell.bounds[0][1])
    while high - low > 1e-4:
        middle = (low + high) / 2
        if (solid.moved((0.0, -middle, 0.0)) - shell.void).volume > 0:
            high = middle
        else:
            low = middle
    return low


def _grown_by_parts() -> list[Row]:
    counts, slides, gives = [10, 30, 100, 300], [], []
    for n in counts:
        shell = _many_parts(n)
        box = Prism.box((1200.0, -100.0, 300.0), (1800.0, 100.0, 1500.0))
        _ = Wall.of(shell, -1.0)
        slides.append(timed(partial(_slide, shell, box)))
        gives.append(timed(partial(effects_on, shell, [box], -1.0), repeat=3))
    return [
        replace(_grown("the slide by parts", counts, slides, 1.2), group="studies"),
        replace(_grown("give and take by parts", counts, gives, 1.2), group="studies"),
    ]


def _many_parts(count: int) -> Shell:
    """Return a van 4 m long with ribs and recesses in turn along both walls."""
    x, z = np.array([0.0, 4000.0]), np.array([0.0, 950.0, 1900.0])
    half = np.tile([850.0, 850.0, 700.0], (2, 1))
    pitch = 4000.0 / (count / 2)
    parts: list[Part] = []
    for i in range(count):
        side: Side = "left" if i % 2 else "right"
        start = pitch * (i // 2)
        span = (start + 0.2 * pitch, start + 0.8 * pitch)
        if i // 2 % 2:
            parts.append(Recess(f"recess {i}", "recess", None, side, span, (400.0, 900.0), 40.0, 0.0, 0.0))
        else:
            parts.append(Sheet(f"rib {i}", "rib", None, span, 25.0, (side,), False, None))
    return Shell("many parts", 3.0, Lined(OffsetBody(x, z, half, half, 2), Lining(40.0, 40.0, 0.0)), tuple(parts))


def bench_carry() -> list[Row]:
    """Time carrying the demo's refrigerator, its growth with modules, and three plans beside a sampling planner."""
    layout = load_layout(DEMO)
    door, rear = (doorway.name for doorway in layout.shell.doorways)
    _ = layout.shell.opened(door).void, layout.shell.opened(rear).void
    one = timed(lambda: carry(layout, "refrigerator", through=rear), repeat=3)
    free = timed(lambda: carry(layout, "refrigerator", through=door), repeat=3)
    what = "the demo's refrigerator, decided to 1 mm, against 1 s:"
    counts, times = [10, 30, 100, 300], []
    for n in counts:
        crowd = _crowd(n)
        times.append(timed(partial(carry, crowd, "box 0", through=door), repeat=1))
    return [
        compared("carry", f"{what} no way, and what must go", one, 1.0, "<", 1.0),
        compared("carry", f"{what} the way out", free, 1.0, "<", 1.0),
        replace(_grown("carrying by modules", counts, times, 1.6), group="carry"),
        *_beside_a_planner(),
    ]


_PATIENCE = 2.0
"""Seconds that the planner may try."""


def _beside_a_planner() -> list[Row]:
    """Carry a box 800 x 540 from one room into another, through a gap that is wide, 5 mm too wide, and 1 mm too narrow."""
    rows = []
    for gap in (900.0, 545.0, 539.0):
        rooms = shapely.box(0, -1500, 3000, 1500), shapely.box(3100, -1500, 6100, 1500)
        plan = shapely.union_all([*rooms, shapely.box(2999, -gap / 2, 3101, gap / 2)])
        body = Body.of_prisms([Prism.box((1100, 330, 0), (1900, 870, 1))])
        layers = Layers(((FreePlan.of_polygons([plan]),),), (0.0,))
        goal = np.array([4600.0, -300.0])

        def own(layers: Layers = layers, body: Body = body, goal: NDArray[np.float64] = goal) -> str:
            return search(layers, body, shapely.Point(body.center), goal).verdict

        found, seconds = _planned(plan, 800.0, 540.0, (1500.0, 600.0), (4600.0, -300.0))
        what = f"a box of 540 through a gap of {gap:.0f}: {own()}; the planner: {found}"
        rows.append(compared("carry", what, timed(own), seconds, "<", 1.0))
    return rows


def _planned(
    plan: shapely.Geometry, wide: float, deep: float, start: tuple[float, float], goal: tuple[float, float]
) -> tuple[str, float]:
    """Return what a sampling planner says, and after how many seconds; it can find, and never say that there is no way."""
    try:
        base, geometric, util = (import_module(f"ompl.{name}") for name in ("base", "geometric", "util"))
    except ImportError:
        return "not installed", _PATIENCE
    util.setLogLevel(util.LogLevel.LOG_NONE)
    space, bounds = base.SE2StateSpace(), base.RealVectorBounds(2)
    for i in range(2):
        bounds.setLow(i, plan.bounds[i] / 1000)
        bounds.setHigh(i, plan.bounds[i + 2] / 1000)
    space.setBounds(bounds)
    setup, half = geometric.SimpleSetup(space), np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * (wide / 2, deep / 2)
    shapely.prepare(plan)

    def is_free(state: Any) -> bool:
        c, s = np.cos(state.getYaw()), np.sin(state.getYaw())
        ring = half @ np.array([[c, s], [-s, c]]) + (1000 * state.getX(), 1000 * state.getY())
        return bool(plan.covers(shapely.Polygon(ring)))

    def state(at: tuple[float, float]) -> Any:
        made = space.allocState()
        made.setX(at[0] / 1000)
        made.setY(at[1] / 1000)
        made.setYaw(0.0)
        return made

    setup.setStateValidityChecker(is_free)
    setup.getSpaceInformation().setStateValidityCheckingResolution(0.002)
    setup.setStartAndGoalStates(state(start), state(goal), 0.05)
    setup.setPlanner(geometric.RRTConnect(setup.getSpaceInformation()))
    begin = time.perf_counter()
    setup.solve(_PATIENCE)
    return "a way" if setup.haveExactSolutionPath() else "no answer", time.perf_counter() - begin


def bench_people() -> list[Row]:
    """Time all questions about people of the demo in all of its modes, read anew, and how the ways grow with modules."""
    person = Person.of()
    file = bundled_shells()[DEMO].parent / "layout.toml"
    runs = iter([load_modes(file) for _ in range(6)])
    all_modes = timed(lambda: people(next(runs), person))
    counts, times = [10, 30, 100, 300], []
    for n in counts:
        crowd = _crowd(n)
        used = [replace(module, use=Use("counter")) for module in crowd.modules[:: max(1, n // 4)]]
        named = {module.name: module for module in used}
        layout = replace(crowd, modules=tuple(named.get(module.name, module) for module in crowd.modules))
        times.append(timed(partial(_ways, layout, person), repeat=1))
    return [
        compared("people", "all questions about people of the demo, in 3 modes; against 1 s", all_modes, 1.0, "<", 1.0),
        replace(_grown("aisle, passing and ways out by modules", counts, times, 2.0), group="people"),
    ]


def _ways(layout: Layout, person: Person) -> object:
    opened, closed = Floor(layout), Floor(layout, closed=True)
    return [*check_aisle(opened, person), *check_passing(closed, person), *check_exits(opened, person)]


GROUPS: dict[str, Callable[[], list[Row]]] = {
    "cuts": bench_cuts,
    "chart": bench_chart,
    "check": bench_check,
    "start": bench_start,
    "growth": bench_growth,
    "studies": bench_studies,
    "carry": bench_carry,
    "people": bench_people,
}


def main() -> int:
    """Run the groups that were asked for and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("groups", nargs="*", choices=[*GROUPS, []], metavar="group", help=", ".join(GROUPS))
    asked = parser.parse_args().groups or GROUPS
    speed = [_imports()]
    rows = [row for name in asked for row in GROUPS[name]()]
    speed.append(_imports())
    print(f"| {'what':86} | {'own':>10} | {'peer':>10} | {'ratio':>7} | limit |")
    print(f"|{'-' * 88}|{'-' * 12}|{'-' * 12}|{'-' * 9}|-------|")
    for row in rows:
        mark = "" if row.holds else "  broken"
        print(
            f"| {row.what:86} | {row.own:>10} | {row.peer:>10} | {row.ratio:7.2f} | {row.sense} {row.limit:g} |{mark}"
        )
    before, after = (1e3 * seconds for seconds in speed)
    print(f"\nThe bare imports took {before:.0f} ms before and {after:.0f} ms after: so fast was the machine.")
    return 0 if all(row.holds for row in rows) else 1


if __name__ == "__main__":
    raise SystemExit(main())
