"""What is answered to a page's questions? One method a question; all of them run in one worker, one after another."""

from __future__ import annotations

import math
import re
from dataclasses import MISSING, field, fields
from itertools import takewhile
from types import NoneType
from typing import TYPE_CHECKING, Any, Final, Literal, get_args, get_origin, get_type_hints

from tumblehome.errors import InputError, TumblehomeError, nearest
from tumblehome.fitout import Layout
from tumblehome.lengths import parse_length, shown
from tumblehome.records import dataclass
from tumblehome.viewer import editing
from tumblehome.viewer.drawn import Cut, Pane, drawn_cut, measured
from tumblehome.viewer.keeping import Conflict, is_bundled
from tumblehome.viewer.rounded import RoundNews, RoundShell
from tumblehome.viewer.told import Teller, findings_in, layout_in

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from tumblehome.viewer.desk import Desk

__all__ = ["EDITING", "Answers", "Seen"]

Units = Literal["mm", "in"]
Message = dict[str, Any]

_NUMBERED: Final = re.compile(r"^(?:(?:modules|modes|changes|zones)\.\d+[. ]?)+")
"""What of a key of the file counts tables."""

EDITING: Final = frozenset({"edit", "drag", "release", "undo", "redo", "save", "keep", "recover", "discard"})
"""Questions that change something: none of them is ever dropped for a newer one, but those of a drag."""

_EDITS: Final[Mapping[str, type[editing.Edit]]] = {
    "move": editing.Move, "nudge": editing.Nudge, "push": editing.Push, "turn": editing.Turn, "resize": editing.Resize,
    "duplicate": editing.Duplicate, "remove": editing.Remove, "retype": editing.Retype, "text": editing.SetText,
}  # fmt: skip


@dataclass
class Seen:
    """What one page looks at, and what it has been sent."""

    round: RoundNews = field(default_factory=RoundNews)


class Answers:
    """The questions that a page may ask about one desk."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.conflict = False
        self._teller = Teller()
        self._round: RoundShell | None = None
        self._dragged: tuple[str, str] | None = None

    def told(self) -> Message:
        """Return all that is told of the plan as it is now."""
        return self._teller.told(self.desk) | {"conflict": self.conflict}

    def answer(self, asked: Message, seen: Seen) -> Message:
        """Return the answer to a question; a fault of what was asked is an answer too, under "fault"."""
        ask: Callable[[Message, Seen], Message] | None = getattr(self, f"_ask_{asked.get('ask')}", None)
        if ask is None:
            return {"fault": "this page and its program do not belong together; load the page again"}
        try:
            return ask(asked, seen)
        except Conflict as fault:
            self.conflict = True
            return {"fault": str(fault)}
        except TumblehomeError as fault:
            return {"fault": str(fault)}

    def look(self) -> str:
        """Look whether the file has changed on the disk, and return in words what is new; empty when nothing is."""
        news = self.desk.look()
        if news is None:
            return ""
        self.conflict = news.conflict
        return news.words

    # ---- looking ----

    def _ask_told(self, _asked: Message, _seen: Seen) -> Message:
        return {"told": self.told()}

    def _ask_text(self, _asked: Message, _seen: Seen) -> Message:
        return {"text": self.desk.text, "line": self.desk.fault_line}

    def _ask_plan(self, asked: Message, _seen: Seen) -> Message:
        return self._drawn(asked, 2)

    def _ask_section(self, asked: Message, _seen: Seen) -> Message:
        return self._drawn(asked, 0)

    def _drawn(self, asked: Message, axis: int) -> Message:
        pane = Pane(axis, _number(asked, "wide"), _number(asked, "tall"))
        hidden = frozenset(str(name) for name in asked.get("hidden", ()))
        height, station = _number(asked, "height"), _number(asked, "station")
        cut = Cut(pane, height if axis == 2 else station, _units(asked), hidden)
        layout, mode = self._layout(asked)
        modules = layout.modules if layout else ()
        drawn = drawn_cut(self.desk.shell, modules, findings_in(self.desk, mode), cut)
        return drawn | {"width": self._width(layout, height, station, cut.units)}

    def _width(self, layout: Layout | None, height: float, station: float, units: Units) -> Message:
        told: Message = {"height": shown(height, units), "station": shown(station, units)}
        told["bare"] = measured(self.desk.shell, height, station, units)
        return told | {"fitted": measured(layout, height, station, units)} if layout else told

    def _ask_round(self, asked: Message, seen: Seen) -> Message:
        layout, _ = self._layout(asked)
        if self._round is None or self._round.shell is not self.desk.shell:
            self._round = RoundShell(self.desk.shell)
        shell = self.desk.shell
        return seen.round.since(self._round, layout or Layout(shell.name, shell, ()))

    def _ask_study(self, asked: Message, _seen: Seen) -> Message:
        from tumblehome.viewer.studied import studied  # noqa: PLC0415  (loads what only this needs)

        layout, _ = self._layout(asked)
        if layout is None:
            raise InputError("a bare shell has no modules")
        return studied(layout, _text(asked, "module"), _units(asked))

    def _ask_curves(self, asked: Message, _seen: Seen) -> Message:
        from tumblehome.viewer.studied import curves  # noqa: PLC0415  (loads what only this needs)

        layout, _ = self._layout(asked)
        return {"curves": curves(layout, _text(asked, "module"), _units(asked)) if layout else []}

    def _layout(self, asked: Message) -> tuple[Layout | None, str | None]:
        layout = layout_in(self.desk, asked.get("mode"))
        return layout, layout.mode if layout else None

    # ---- changing ----

    def _ask_edit(self, asked: Message, _seen: Seen) -> Message:
        self._dragged = None
        edit = _edit(asked)
        if isinstance(edit, editing.SetText):
            edit = editing.SetText(_with_ends_of(edit.text, self.desk.text))
            self.desk.apply(edit)
        else:
            self._apply(edit)
        return {"words": self.desk.undo_words}

    def _apply(self, edit: editing.Edit) -> None:
        """Apply an edit; a fault is told without the line and the numbers of a text that nobody has seen."""
        try:
            self.desk.apply(edit)
        except InputError as fault:
            raise InputError(fault.message, key=_NUMBERED.sub("", fault.key or "") or None) from fault

    def _ask_drag(self, asked: Message, _seen: Seen) -> Message:
        """Move a module with the pointer: however long the way, it is one step to undo."""
        name, drag, mode = _text(asked, "module"), _text(asked, "drag"), asked.get("mode")
        at = [_number(asked, key) for key in ("x", "y", "z")]
        snap = self.desk.snapped(name, (at[0], at[1], at[2]), within=_number(asked, "within"), mode=mode)
        held: dict[str, float | None] = dict(zip("xyz", snap.at, strict=True))
        held[str(asked.get("level"))] = None  # across the drawing's own plane nothing moves
        move = editing.Move(name, held["x"], held["y"], held["z"], mode=mode)
        goes_on, self._dragged = self._dragged == (name, drag), None
        if goes_on:
            self.desk.undo()
        before = self.desk.revision
        try:
            self._apply(move)
        except TumblehomeError as fault:
            if not goes_on:
                return {"fault": f"{fault}; it stays where it was"}
            self.desk.redo()
            self._dragged = (name, drag)
            return {"fault": f"{fault}; it stays at the last place where it can be"}
        self._dragged = (name, drag) if self.desk.revision != before else None
        return {"words": snap.words}

    def _ask_release(self, asked: Message, _seen: Seen) -> Message:
        """Take a drag back that was broken off, if it came to anything."""
        if self._dragged == (_text(asked, "module"), _text(asked, "drag")):
            self.desk.break_off()
        self._dragged = None
        return {}

    def _ask_undo(self, _asked: Message, _seen: Seen) -> Message:
        self._dragged = None
        self.desk.undo()
        return {}

    def _ask_redo(self, _asked: Message, _seen: Seen) -> Message:
        self._dragged = None
        self.desk.redo()
        return {}

    def _ask_save(self, _asked: Message, _seen: Seen) -> Message:
        if is_bundled(self.desk.path):
            words = "is a bundled van, which stays as it is; begin one of your own with: tumblehome new FOLDER"
            raise InputError(words, file=self.desk.path.name)
        news = self.desk.save()
        unread = ", which cannot be read as it is now" if self.desk.fault else ""
        return {"words": f"saved in {self.desk.path.name}{unread}" + (f"; {news.words}" if news else "")}

    def _ask_keep(self, asked: Message, _seen: Seen) -> Message:
        self._dragged = None
        self.desk.keep("mine" if asked.get("whose") == "mine" else "disk")
        self.conflict = False
        return {}

    def _ask_recover(self, _asked: Message, _seen: Seen) -> Message:
        self.desk.recover()
        return {}

    def _ask_discard(self, _asked: Message, _seen: Seen) -> Message:
        self.desk.discard_recovery()
        return {}


# ---- what is typed and pointed at ----


def told_length(asked: Message) -> Message:
    """Return what a typed length means: "mm" and its words. A bare number takes the unit that is shown; a fault tells the mend."""
    units = _units(asked)
    try:
        mm = parse_length(_text(asked, "text"), unit=units)
    except TumblehomeError as fault:
        return {"fault": str(fault)}
    return {"mm": mm, "words": shown(mm, units)}


def _edit(asked: Message) -> editing.Edit:
    """Return the edit that a page asks for; a text where a length is meant was typed, and is read as such."""
    kind = _EDITS.get(str(asked.get("edit")))
    if kind is None:
        raise InputError(f"there is no such change{nearest(str(asked.get('edit')), _EDITS)}")
    hints = get_type_hints(kind)
    given: dict[str, Any] = {
        each.name: _given(each.name, hints[each.name], asked) for each in fields(kind) if each.name in asked
    }
    missing = [each.name for each in fields(kind) if each.default is MISSING and each.name not in given]
    if missing:
        raise InputError(f"it is not said: {', '.join(missing)}")
    return kind(**given)


def _given(key: str, hint: object, asked: Message) -> object:
    """Return a field of an edit as its type wants it."""
    value = asked[key]
    allowed = get_args(hint)
    if value is None and NoneType in allowed:
        return None
    if hint is float or float in allowed:
        return parse_length(value, unit=_units(asked)) if isinstance(value, str) else _number(asked, key)
    text = _text(asked, key)
    if get_origin(hint) is Literal and text not in allowed:
        raise InputError(f"{key} is not '{text}' but one of {', '.join(allowed)}{nearest(text, allowed)}")
    return text


def _with_ends_of(typed: str, text: str) -> str:
    """Return a text from the page, whose lines all end in a line feed alone, with the line ends of the one that it came from.

    The lines that both begin and end with keep theirs; those between them end as most do.
    """
    if "\r" not in text:
        return typed
    old, new = text.split("\n"), typed.split("\n")
    plain = [line.removesuffix("\r") for line in old]
    first = _alike(plain[:-1], new[:-1])
    last = _alike(plain[first:][::-1], new[first:][::-1])
    end = "\r" if 2 * text.count("\r\n") > text.count("\n") else ""
    between = [line + end for line in new[first : len(new) - last]]
    if not last:
        between[-1] = new[-1]
    return "\n".join([*old[:first], *between, *old[len(old) - last :]])


def _alike(one: Sequence[str], other: Sequence[str]) -> int:
    """Return with how many equal lines two texts begin."""
    return sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(one, other, strict=False)))


def _number(asked: Mapping[str, Any], key: str) -> float:
    value = asked.get(key)
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise InputError(f"{key} is not a number")
    return float(value)


def _text(asked: Message, key: str) -> str:
    value = asked.get(key)
    if not isinstance(value, str):
        raise InputError(f"{key} is not a text")
    return value


def _units(asked: Message) -> Units:
    return "in" if asked.get("units") == "in" else "mm"
