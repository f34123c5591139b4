"""What a script imports: every public name is there, typed where it is defined, and loaded only when asked for."""

from __future__ import annotations

import ast
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

import tumblehome as th
from wedge import environment


def test_every_public_name_can_be_had_and_is_listed() -> None:
    assert len(th.__all__) == len(set(th.__all__)) > 20
    for name in th.__all__:
        assert getattr(th, name) is not None
    assert set(th.__all__) <= set(dir(th))


def test_what_a_type_checker_sees_is_what_is_loaded() -> None:
    tree = ast.parse(Path(th.__file__).read_text(encoding="utf-8"))
    imports = [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("tumblehome.")
    ]
    seen = {alias.name: node.module for node in imports for alias in node.names}
    assert seen.keys() | {"__version__", "errors"} == set(th.__all__)
    for name, module in seen.items():
        assert getattr(th, name) is getattr(import_module(str(module)), name)


def test_a_wrong_name_is_refused_as_python_does() -> None:
    with pytest.raises(AttributeError, match="no attribute 'shel'"):
        th.shel  # type: ignore[attr-defined]  # noqa: B018


def test_importing_the_package_loads_nothing_heavy() -> None:
    probe = (
        "import sys, tumblehome as th; assert 'numpy' not in sys.modules; th.load_shell; assert 'numpy' in sys.modules"
    )
    done = subprocess.run(
        [sys.executable, "-c", probe], capture_output=True, env=environment(), timeout=60, check=False
    )
    assert done.returncode == 0, done.stderr
