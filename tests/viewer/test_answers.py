"""What is answered about the text of the file."""

from __future__ import annotations

import tempfile
from functools import cache
from pathlib import Path

import numpy as np
from hypothesis import example, given, settings
from hypothesis import strategies as st

from desks import PLAN, VAN, desk
from tumblehome.viewer.answers import Answers, Seen
from tumblehome.viewer.desk import Desk
from tumblehome.viewer.editing import SetText


@cache
def shared() -> Answers:
    return Answers(desk(Path(tempfile.mkdtemp())))


def typed(answers: Answers, text: str) -> str:
    """Set a text as the page does and return what the desk holds then."""
    answer = answers.answer({"ask": "edit", "edit": "text", "text": text, "module": "", "mode": None}, Seen())
    assert "fault" not in answer
    return answers.desk.text


def test_the_text_is_told_with_the_line_of_its_fault(tmp_path: Path) -> None:
    answers = Answers(desk(tmp_path))
    assert answers.answer({"ask": "text"}, Seen()) == {"text": PLAN, "line": None}
    wrong = PLAN.replace("deep = 16\n", "deep = 16 mm\n")
    typed(answers, wrong)
    line = PLAN.splitlines().index("deep = 16") + 1
    assert answers.answer({"ask": "text"}, Seen()) == {"text": wrong, "line": line}
    answers.answer({"ask": "undo"}, Seen())
    assert answers.answer({"ask": "text"}, Seen()) == {"text": PLAN, "line": None}


def test_a_fault_in_the_shell_is_at_no_line_of_the_plan(tmp_path: Path) -> None:
    answers = Answers(desk(tmp_path))
    (tmp_path / "shell.toml").write_text(VAN.replace("measured_to", "measured_two"), encoding="utf-8")
    assert answers.look()
    assert "shell.toml:" in (answers.desk.fault or "")
    assert answers.answer({"ask": "text"}, Seen()) == {"text": PLAN, "line": None}


def test_saving_what_cannot_be_read_says_so(tmp_path: Path) -> None:
    answers = Answers(desk(tmp_path))
    typed(answers, PLAN.replace("deep = 16\n", "deeep = 16\n"))
    words = answers.answer({"ask": "save"}, Seen())["words"]
    assert words == "saved in layout.toml, which cannot be read as it is now"
    answers.answer({"ask": "undo"}, Seen())
    assert answers.answer({"ask": "save"}, Seen())["words"] == "saved in layout.toml"


def test_saving_tells_what_it_took_in_from_the_disk(tmp_path: Path) -> None:
    answers = Answers(desk(tmp_path))
    typed(answers, PLAN.replace("deep = 16\n", "deep = 17\n"))
    file = answers.desk.path
    file.write_text(f"{PLAN}# a remark from elsewhere\n", encoding="utf-8")
    words = answers.answer({"ask": "save"}, Seen())["words"]
    assert words == "saved in layout.toml; joined with what was changed on the disk"
    assert (
        file.read_text(encoding="utf-8") == PLAN.replace("deep = 16\n", "deep = 17\n") + "# a remark from elsewhere\n"
    )


def test_a_refused_change_is_told_without_the_numbers_of_the_files_tables(tmp_path: Path) -> None:
    answers = Answers(desk(tmp_path))
    name = answers.desk.layouts[0].modules[0].name
    sized = answers.answer({"ask": "edit", "edit": "resize", "module": name, "wide": "0", "units": "mm"}, Seen())[
        "fault"
    ]
    assert sized.startswith("wide: ")
    moved = answers.answer({"ask": "edit", "edit": "move", "module": name, "x": "90 m", "units": "mm"}, Seen())["fault"]
    assert moved.startswith(f"'{name}': ")


def test_a_bare_shell_tells_its_text(tmp_path: Path) -> None:
    file = desk(tmp_path).path.with_name("shell.toml")
    assert Answers(Desk(file)).answer({"ask": "text"}, Seen()) == {"text": VAN, "line": None}


def test_a_drag_that_is_refused_leaves_the_module_where_it_was_dragged_before(tmp_path: Path) -> None:
    """A scribed module's face cannot be beyond the centerline; the drag goes on from there, and is one step all the same."""
    answers = Answers(desk(tmp_path))
    low = answers.desk.layouts[0].module("galley").bounds[0]

    def dragged(along: float, across: float) -> dict[str, object]:
        at = dict(zip("xyz", (low + np.array([along, across, 0.0])).tolist(), strict=True))
        return answers.answer(
            {"ask": "drag", "module": "galley", "drag": "a", "within": 0.01, "level": "z", **at}, Seen()
        )

    assert "fault" not in dragged(40.0, 0.0)
    kept = answers.desk.text
    assert kept != PLAN
    assert "centerline" in str(dragged(40.0, -2000.0)["fault"])
    assert answers.desk.text == kept
    assert "fault" not in dragged(80.0, 0.0)
    assert answers.desk.text not in (PLAN, kept)
    answers.answer({"ask": "undo"}, Seen())
    assert (answers.desk.text, answers.desk.can_undo) == (PLAN, False)


lines = st.lists(st.tuples(st.sampled_from(["a = 1", "b = 2", "", "# c"]), st.sampled_from(["\n", "\r\n"])), max_size=8)
texts = st.tuples(lines, st.sampled_from(["", "d = 3"])).map(lambda told: "".join(a + b for a, b in told[0]) + told[1])


@given(texts, texts.map(lambda text: text.replace("\r\n", "\n")))
@example("a = 1\r\nb = 2", "a = 1\nb = 2\nc = 3\n")
@example("a = 1\r\n", "")
@settings(max_examples=300)
def test_a_text_area_changes_no_line_end_but_of_what_is_typed(text: str, area: str) -> None:
    """A text area has line feeds alone (HTML Living Standard, API value of textarea)."""
    answers = shared()
    answers.desk.apply(SetText(text))
    assert typed(answers, text.replace("\r\n", "\n")) == text
    found = typed(answers, area)
    assert found.replace("\r\n", "\n") == area
    plain = text.replace("\r\n", "\n")
    first = next((i for i, (a, b) in enumerate(zip(plain, area, strict=False)) if a != b), min(len(plain), len(area)))
    begins = plain[:first].count("\n")
    assert found.split("\n")[:begins] == text.split("\n")[:begins]
    if "\r" not in text:
        assert "\r" not in found
    elif text.count("\r\n") == text.count("\n"):
        assert found.count("\r\n") == found.count("\n")


def test_a_conflict_stays_one_when_the_shell_changes(tmp_path: Path) -> None:
    answers = Answers(desk(tmp_path))
    answers.answer({"ask": "edit", "edit": "nudge", "module": "galley", "axis": "x", "mm": 25.4}, Seen())
    answers.desk.path.write_text(PLAN.replace("station = 30", "station = 29"), encoding="utf-8")
    assert answers.look()
    (tmp_path / "shell.toml").write_text(VAN + "\n", encoding="utf-8")
    assert answers.look()
    assert answers.conflict
    answers.answer({"ask": "keep", "whose": "mine"}, Seen())
    (tmp_path / "shell.toml").write_text(VAN, encoding="utf-8")
    assert answers.look()
    assert not answers.conflict
