"""Pictures of the screens, to be looked at by a person: run by hand, asserts nothing.

    python tests/tui/picture.py FOLDER

Textual's SVG names a font that is hardly installed; columns only stand straight when it is
replaced by a monospace font that is, and Chromium draws it.
"""

from __future__ import annotations

import asyncio
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Awaitable, Callable
from pathlib import Path

from hall import FIRST_LOOK, Hall, make_bench, make_plan, type_burst
from textual.pilot import Pilot

from stepwise.cli.services import services
from stepwise.run import Run
from stepwise.tui import Start, StepwiseApp

_SIZES = ((80, 24), (100, 30), (160, 50))
_FONT = "DejaVu Sans Mono"
_BROWSERS = ("chromium", "chromium-browser", "google-chrome")

Scene = Callable[[Pilot[None]], Awaitable[None]]


def save_png(svg: str, path: Path) -> None:
    """Draw a screenshot with a headless browser."""
    browser = next((found for name in _BROWSERS if (found := shutil.which(name))), None)
    if browser is None:
        raise SystemExit("no Chromium is installed")
    svg = re.sub(r"@font-face\s*{[^}]*}", "", svg).replace("Fira Code", _FONT)
    width, height = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg).groups()  # type: ignore[union-attr]
    page = path.with_suffix(".svg")
    page.write_text(svg, encoding="utf-8")
    size = f"--window-size={round(float(width))},{round(float(height))}"
    command = [browser, "--headless", "--no-sandbox", "--disable-gpu", size]
    command += [f"--screenshot={path}", page.resolve().as_uri()]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    page.unlink()


async def until(pilot: Pilot[None], kind: str, point: str = "") -> None:
    """Let the bench answer until a prompt of that kind is in hand."""
    session = pilot.app.screen.session  # type: ignore[attr-defined]
    clock = pilot.app._services.clock  # type: ignore[attr-defined]
    last = None
    while (prompt := session.prompt) is not None:
        # Between passes the board rests, as the card asks.
        clock.pass_seconds(2 if prompt.of == last else 40)
        last = prompt.of
        if prompt.kind == kind and (not point or prompt.point == point):
            break
        await type_burst(pilot, "y" if session.is_confirm else "*")
        if session.prompt is prompt:
            await type_burst(pilot, "/1")
    await pilot.pause()


async def safe(pilot: Pilot[None]) -> None:
    """The first thing that is asked."""
    await pilot.pause()


async def readings(pilot: Pilot[None]) -> None:
    """A reading half typed."""
    await until(pilot, "clip")
    await type_burst(pilot, "*2.0 on 3 x10")


async def sweep(pilot: Pilot[None]) -> None:
    """A sweep nearly done."""
    await until(pilot, "sweep", "20 kHz")


async def square(pilot: Pilot[None]) -> None:
    """A square wave."""
    await until(pilot, "square")


async def reason(pilot: Pilot[None]) -> None:
    """Leaving something out."""
    await until(pilot, "clip")
    await type_burst(pilot, "/")


async def help_(pilot: Pilot[None]) -> None:
    """Help over the sheet."""
    await until(pilot, "readings")
    await type_burst(pilot, "?")


async def stop(pilot: Pilot[None]) -> None:
    """A reading that stops everything."""
    await until(pilot, "readings", "offset")
    await type_burst(pilot, "18 V⏎")


async def flags(pilot: Pilot[None]) -> None:
    """Flags with their evidence."""
    await until(pilot, "square")
    await pilot.press("ctrl+f")


async def doubt(pilot: Pilot[None]) -> None:
    """A probable slip."""
    await until(pilot, "clip")
    await type_burst(pilot, "200 V⏎")


async def review(pilot: Pilot[None]) -> None:
    """The review."""
    await until(pilot, "square")
    await pilot.press("ctrl+o")


async def end(pilot: Pilot[None]) -> None:
    """Ending a run that is not finished."""
    await review(pilot)
    await type_burst(pilot, "e")


SCENES: dict[str, Scene] = {
    each.__name__.strip("_"): each
    for each in (safe, readings, sweep, square, reason, help_, stop, doubt, flags, review, end)
}
HOME = ("home", "unit", "start")
ARCHIVE = ("logs", "compare", "rank")
THEMES = ("stepwise-dark", "stepwise-light", "stepwise-contrast")


async def shoot_sheet(scene: str, size: tuple[int, int], theme: str, to: Path) -> None:
    """One picture of a run."""
    with tempfile.TemporaryDirectory() as name:
        hall = Hall(Path(name))
        plan = make_plan(FIRST_LOOK, "first-look")
        run = Run.start(plan, hall.folder, hall.clock, operator="QH")
        bench = make_bench(plan, ("small-coupling-capacitor", 1.0))
        app = StepwiseApp(hall.services(), Start(run=run, bench=bench, theme=theme))
        async with app.run_test(size=size) as pilot:
            await SCENES[scene](pilot)
            save_png(app.export_screenshot(), to)


async def shoot_home(scene: str, size: tuple[int, int], theme: str, to: Path) -> None:
    """One picture of the screens before a run."""
    with tempfile.TemporaryDirectory() as name:
        hall = Hall(Path(name))
        app = StepwiseApp(hall.services(), Start(theme=theme))
        async with app.run_test(size=size) as pilot:
            if scene == "unit":
                await pilot.press("5", "down", "enter")
            if scene == "start":
                await pilot.press("1")
            await pilot.pause()
            save_png(app.export_screenshot(), to)


async def shoot_archive(scene: str, size: tuple[int, int], theme: str, to: Path) -> None:
    """One picture of the screens on many logs."""
    with tempfile.TemporaryDirectory() as name:
        for more in ([], ["--fault", "small-coupling-capacitor"], ["--fault", "dc-offset"]):
            words = ["rehearse", "quick-check", "--unattended", "--logs", name, *more]
            subprocess.run(
                [sys.executable, "-m", "stepwise", *words], check=False, capture_output=True
            )
        app = StepwiseApp(services(Path(name)), Start(theme=theme))
        async with app.run_test(size=size) as pilot:
            await pilot.press("3")
            for _ in range(60):
                await asyncio.sleep(0.05)
                await pilot.pause()
            if scene == "compare":
                await pilot.press("space", "down", "space", "c")
            if scene == "rank":
                await pilot.press("k")
            await pilot.pause()
            save_png(app.export_screenshot(), to)


def main(folder: Path, wanted: str = "") -> None:
    """Every scene at every size in every theme, or those whose name holds what is wanted."""
    folder.mkdir(parents=True, exist_ok=True)
    shoots = dict.fromkeys(SCENES, shoot_sheet) | dict.fromkeys(HOME, shoot_home)
    shoots |= dict.fromkeys(ARCHIVE, shoot_archive)
    for scene, shoot in shoots.items():
        for width, height in _SIZES:
            for theme in THEMES:
                name = f"{scene}-{width}x{height}-{theme.removeprefix('stepwise-')}"
                if wanted not in name:
                    continue
                asyncio.run(shoot(scene, (width, height), theme, folder / f"{name}.png"))
                print(name)


if __name__ == "__main__":
    main(Path(sys.argv[1]), *sys.argv[2:])
