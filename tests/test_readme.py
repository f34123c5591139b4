"""Everything that README shows is run: its commands in one folder, in their order, and its Python."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

import tumblehome as th
from tumblehome.fitout.module import FINISHES

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    """Return README's fenced blocks of a language, those within lists without their indent."""
    found = re.findall(rf"^( *)```{language}\n(.*?)^\1```", README, flags=re.MULTILINE | re.DOTALL)
    return [re.sub(rf"^{indent}", "", text, flags=re.MULTILINE) for indent, text in found]


def commands() -> list[str]:
    """Return the commands of the walk, in order."""
    return [line[2:] for block in blocks("console") for line in block.splitlines() if line.startswith("$ ")]


def test_the_walk_runs_as_it_is_written(tmp_path: Path) -> None:
    shown = commands()
    assert len(shown) >= 8
    for command in shown:
        words = shlex.split(command)
        assert words[0] == "tumblehome"
        extra = ["--no-stills"] if words[1] == "render" else []
        run = subprocess.run(
            [sys.executable, "-m", "tumblehome", *words[1:], *extra],
            cwd=tmp_path,
            capture_output=True,
            text=True,
            check=False,
        )
        assert run.returncode == 0, f"{command}: {run.stdout}{run.stderr}"
        assert "--built" not in words or "galley" in run.stdout, run.stdout
    for name in ("section.svg", "widths.svg"):
        assert ElementTree.parse(tmp_path / name).getroot().tag == "{http://www.w3.org/2000/svg}svg"
    assert list((tmp_path / "pictures").glob("*.svg"))


@pytest.mark.parametrize("text", blocks("python"))
def test_its_python_runs(text: str, capsys: pytest.CaptureFixture[str]) -> None:
    exec(compile(text, "README.md", "exec"), {})
    assert "window recess 2 left" in capsys.readouterr().out


def test_its_table_of_offsets_is_one(tmp_path: Path) -> None:
    (table,) = blocks("csv")
    (tmp_path / "offsets.csv").write_text(table, encoding="utf-8")
    shell = tmp_path / "shell.toml"
    shell.write_text(
        'name = "a"\nunit = "mm"\nmeasured_to = 3\n[offsets]\nhalf_breadths = "offsets.csv"\n', encoding="utf-8"
    )
    found = th.load_shell(shell)
    assert found.stations == (0.0, 3100.0)
    assert th.width(found, height=1200.0, station=1000.0).usable == pytest.approx(1560.0, abs=1e-6)


def test_every_finish_is_told_where_one_is_chosen() -> None:
    row = next(line for line in README.splitlines() if "`finish` is one of" in line)
    template = (ROOT / "src/tumblehome/templates/layout.toml").read_text(encoding="utf-8")
    assert re.findall(r"`(\w+)`", row.split("is one of")[1]) == list(FINISHES)
    choices = template[template.index('finish = "enamel"') :].split("\n\n")[0]
    assert [finish for finish in FINISHES if finish not in choices] == []


def test_its_pictures_are_there() -> None:
    pictures = re.findall(r"\]\((renders/[^)]+)\)", README)
    assert pictures
    assert [name for name in pictures if not (ROOT / name).is_file()] == []
    sizes = [path.stat().st_size for path in (ROOT / "renders").glob("*.png")]
    assert len(sizes) <= 8
    assert sum(sizes) <= 3_000_000
