"""The plan being worked on: its text, what it means, what was found, and every step back."""

from __future__ import annotations

import time
from bisect import bisect_right
from collections import OrderedDict
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal, TypeVar

import numpy as np

from tumblehome.body.shellfile import load_shell
from tumblehome.checks import Checker, check_modes
from tumblehome.errors import InputError, LayoutError, TumblehomeError
from tumblehome.files import MAX_BYTES, parse_toml
from tumblehome.fitout.layoutfile import LayoutReader
from tumblehome.records import dataclass
from tumblehome.viewer.editing import Edit, Nudge, SetText, edited, words_of
from tumblehome.viewer.keeping import DiskFile, News, OnDisk, Recovery, Work
from tumblehome.viewer.merging import merged
from tumblehome.viewer.pen import Plan
from tumblehome.viewer.snapping import Snap, snapped
from tumblehome.viewer.watching import ShellWatch

if TYPE_CHECKING:
    from collections.abc import Callable

    from tumblehome.body import Shell
    from tumblehome.checks import Finding
    from tumblehome.fitout import Layout, Module

__all__ = ["Desk", "Shown"]

Kept = TypeVar("Kept")

_TOGETHER: Final = 1.0
"""Nudges of one module that follow within this are one step to undo, s."""

_REMEMBERED: Final = 8
"""So many texts' meanings are remembered: what was undone, or is being dragged to and fro, is not worked out again."""


@dataclass(frozen=True)
class _Step:
    """A change of the text: where, what stood there, what stands there now, and in words."""

    at: int
    old: str
    new: str
    words: str
    nudged: str | None = None
    when: float = 0.0

    @classmethod
    def between(cls, before: str, after: str, words: str, nudged: str | None = None, when: float = 0.0) -> _Step:
        at = _alike(before, after)
        same = _alike(before[at:][::-1], after[at:][::-1])
        return cls(at, before[at : len(before) - same], after[at : len(after) - same], words, nudged, when)

    def taken(self, text: str) -> str:
        return text[: self.at] + self.new + text[self.at + len(self.old) :]

    def taken_back(self, text: str) -> str:
        return text[: self.at] + self.old + text[self.at + len(self.new) :]


def _alike(one: str, other: str) -> int:
    """Return with how many equal letters two texts begin."""
    short = min(len(one), len(other))
    return bisect_right(range(1, short + 1), x=False, key=lambda size: one[:size] != other[:size])


@dataclass(frozen=True)
class _Meaning:
    """What a text means: its layouts and what was found, or why it is no layout."""

    layouts: tuple[Layout, ...] = ()
    findings: tuple[Finding, ...] = ()
    error: TumblehomeError | None = None


@dataclass(frozen=True)
class Shown:
    """What a desk shows at one moment; whoever needs longer for it is not disturbed by the next change."""

    shell: Shell
    layouts: tuple[Layout, ...]
    findings: tuple[Finding, ...]


class Desk:
    """A layout (or a bare shell) on the workbench: its text, what it means, what was found, and every step back.

    Parameters
    ----------
    path : a layout file, or a shell file, which can be looked at but not changed
    recover : take up the unsaved work of an earlier time, if there is any
    clock : seconds; nudges that follow quickly are one step

    Raises
    ------
    InputError
        When the file cannot be read.

    Attributes
    ----------
    text : what the file would hold if it were saved now
    layouts : one a mode, in the order of the file; none for a bare shell
    shell : the last good one
    findings : of all modes
    revision : rises with every change
    changed : names of the modules whose place or shape the last change altered
    """

    def __init__(self, path: Path, *, recover: bool = False, clock: Callable[[], float] = time.monotonic) -> None:
        self.path, self._clock = Path(path), clock
        self._disk = DiskFile(self.path, "shell or layout file")
        self._told: OnDisk = self._disk.known
        self.text = self._disk.known.text or ""
        self.is_layout = "shell" in parse_toml(self.text, self.path).data
        self._error: TumblehomeError | None = None
        self.layouts: tuple[Layout, ...] = ()
        self.findings: list[Finding] = []
        self.revision, self.changed = 0, frozenset[str]()
        self._forget()
        self._steps: list[_Step] = []
        self._undone: list[_Step] = []
        self._begin()
        self._recovery = Recovery(self.path) if self.is_layout else None
        while self._recovery and self._recovery.offered and self._recovery.offered.text == self.text:
            self._recovery.discard()
        if recover and self.has_recovery:
            self.recover()

    def _forget(self) -> None:
        """Forget all that was read and worked out; what is shown stays as it is."""
        self._shells, self._reader, self._checker = ShellWatch(), LayoutReader(), Checker()
        self._plans: OrderedDict[str, Plan] = OrderedDict()
        self._meanings: OrderedDict[str, _Meaning] = OrderedDict()

    def _begin(self) -> None:
        if not self.is_layout:
            self.shell = self._bare_shell()
            return
        meaning = self._meaning(self.text)
        if meaning.error:
            raise meaning.error
        self.layouts, self.findings = meaning.layouts, list(meaning.findings)
        self.shell = self.layouts[0].shell

    def _bare_shell(self) -> Shell:
        self._shells.add(self.path)
        return load_shell(self.path)

    @property
    def fault(self) -> str | None:
        """Why the text is no layout, or its shell none, in one line, or None; layouts and findings are then the last good ones."""
        return str(self._error) if self._error else None

    @property
    def fault_line(self) -> int | None:
        """The line of the text at which the fault lies, counted from 1; None where it lies elsewhere or there is none."""
        error = self._error
        return error.line if isinstance(error, InputError) and error.file == self.path else None

    @property
    def shown(self) -> Shown:
        """What is shown now."""
        return Shown(self.shell, self.layouts, tuple(self.findings))

    # ---- changing ----

    @property
    def can_undo(self) -> bool:
        """Whether there is a step to take back."""
        return bool(self._steps)

    @property
    def can_redo(self) -> bool:
        """Whether there is a step that was taken back."""
        return bool(self._undone)

    @property
    def undo_words(self) -> str:
        """What undo would take back, such as "move refrigerator"; empty when there is nothing."""
        return self._steps[-1].words if self._steps else ""

    def apply(self, edit: Edit) -> None:
        """Make an edit.

        Raises
        ------
        InputError
            With the mend, for what cannot be done; then nothing has changed. A text that is set may be at fault: ``fault``
            says so then.
        """
        self._refuse_shell()
        text = self._edited(edit)
        if text == self.text:
            return
        nudged = edit.module if isinstance(edit, Nudge) else None
        self._step(text, words_of(edit), nudged)

    def _edited(self, edit: Edit) -> str:
        if isinstance(edit, SetText):
            return _sound(edit.text, self.path)
        if self.fault:
            raise InputError(f"the plan cannot be read as it is now; undo, or mend it first: {self.fault}")
        text = edited(self._read(self.text), edit)
        error = self._meaning(text).error
        if error:
            raise error
        return text

    def undo(self) -> None:
        """Take the last step back; nothing happens when there is none."""
        if self._steps:
            step = self._steps.pop()
            self._undone.append(step)
            self._become(step.taken_back(self.text))

    def break_off(self) -> None:
        """Take the last step back for good: it cannot be taken again."""
        self.undo()
        self._undone.clear()

    def redo(self) -> None:
        """Take the last step again that was taken back; nothing happens when there is none."""
        if self._undone:
            step = self._undone.pop()
            self._steps.append(step)
            self._become(step.taken(self.text))

    def _step(self, text: str, words: str, nudged: str | None = None) -> None:
        before, now = self.text, self._clock()
        last = self._steps[-1] if self._steps and not self._undone else None
        if last and nudged and last.nudged == nudged and now - last.when <= _TOGETHER:
            before = last.taken_back(before)
            self._steps.pop()
        if text != before:
            self._steps.append(_Step.between(before, text, words, nudged, now))
        self._undone.clear()
        self._become(text)

    def _become(self, text: str) -> None:
        """Take a text, and what it means if it is a layout."""
        self.text = text
        self.revision += 1
        meaning = self._meaning(text)
        self._error = meaning.error
        self.changed = frozenset()
        if not meaning.error:
            self.changed = _changed(self.layouts, meaning.layouts)
            self.layouts, self.findings = meaning.layouts, list(meaning.findings)
            self.shell = self.layouts[0].shell
        self._keep_unsaved()

    def _refuse_shell(self) -> None:
        if not self.is_layout:
            raise InputError("is a bare shell, in which there is nothing to change; name a layout file", file=self.path)

    # ---- what a text means ----

    def _meaning(self, text: str) -> _Meaning:
        """Return what a text means; a fault is looked for again each time, as it may lie in another file."""
        if text not in self._meanings:
            meaning = self._worked_out(text)
            if meaning.error:
                return meaning
            self._meanings[text] = meaning
        return _recalled(self._meanings, text)

    def _worked_out(self, text: str) -> _Meaning:
        try:
            layouts = self._read(text).layouts
            return _Meaning(layouts, tuple(check_modes(layouts, checker=self._checker)))
        except TumblehomeError as error:
            return _Meaning(error=error.with_traceback(None))

    def _read(self, text: str) -> Plan:
        if text not in self._plans:
            file = parse_toml(_sound(text, self.path), self.path)
            self._shells.add_named(file.data.get("shell"), self.path.parent)
            self._plans[text] = Plan(file, self._reader.read(file), self._read)
        return _recalled(self._plans, text)

    # ---- the file ----

    @property
    def is_saved(self) -> bool:
        """Whether the file holds what is here."""
        return self.text == self._disk.known.text

    def save(self) -> News | None:
        """Replace the file in one step, with what others changed in it elsewhere; return that news, if there is any.

        Raises
        ------
        Conflict
            When the disk holds something newer that touches the same; nothing is written.
        InputError
            When it cannot be written.
        """
        self._refuse_shell()
        news = self.look()
        self._disk.save(self.text)
        self._told = self._disk.known
        self._keep_unsaved()
        return news

    def look(self) -> News | None:
        """Look whether the file or its shell has changed on the disk, and take in what touches nothing that was changed here.

        A shell that cannot be read any more is a fault of the plan until it is mended.

        Returns
        -------
        News or None
            None when there is nothing that was not told before. After a conflict `keep` has to say which text holds.
        """
        shell = self._look_at_shell()
        return self._look_at_file() or shell

    def _look_at_shell(self) -> News | None:
        if not self._shells.has_changed:
            return None
        self._forget()
        if self.is_layout:
            self._become(self.text)
        else:
            self._take_shell()
        return News("the shell has changed on the disk", conflict=self._told != self._disk.known)

    def _take_shell(self) -> None:
        try:
            self.shell, self._error = self._bare_shell(), None
        except TumblehomeError as error:
            self._error = error.with_traceback(None)
        self.revision += 1

    def _look_at_file(self) -> News | None:
        now = self._disk.now()
        if now == self._told:
            return None
        self._told = now
        if now == self._disk.known:
            return News("the file is again as it was", conflict=False)
        if now.is_gone:
            self._know(now)
            return News("the file is gone from the disk; saving writes it anew", conflict=False)
        if self.is_layout:
            return self._take_in(now)
        self._disk.known, self.text = now, now.text or self.text
        self.revision += 1
        return News("taken from the disk", conflict=False)

    def _take_in(self, now: OnDisk) -> News:
        began, theirs, was_saved = self._disk.known.text, now.text, self.is_saved
        if theirs == self.text:
            self._know(now)
            return News("the disk holds what is here", conflict=False)
        together = None
        if theirs is not None and began is not None:
            together = theirs if self.text == began else self._merged(began, theirs)
        if together is None:
            return News(now.fault or "the file was changed on the disk where it was changed here", conflict=True)
        if together == self.text:
            self._know(now)
        else:
            self._disk.known = now
            self._step(together, "take in what was changed on the disk")
        if self.fault:
            return News("the file was changed on the disk", conflict=False)
        return News("taken from the disk" if was_saved else "joined with what was changed on the disk", conflict=False)

    def _know(self, now: OnDisk) -> None:
        """Take note of what the disk holds, while the text here stays."""
        self._disk.known = now
        self.revision += 1
        self._keep_unsaved()

    def _merged(self, began: str, theirs: str) -> str | None:
        """Return the text with what was changed elsewhere, or None where that contradicts what was changed here."""
        together = merged(began, self.text, theirs)
        if (
            together is not None
            and not self.fault
            and not self._meaning(theirs).error
            and self._meaning(together).error
        ):
            return None
        return together

    def keep(self, whose: Literal["mine", "disk"]) -> None:
        """Say which text holds after a conflict: the one here, which the next save then writes, or the disk's.

        Raises InputError when the disk's is to hold and cannot be read.
        """
        self._refuse_shell()
        now = self._disk.now()
        if whose == "disk" and now.text is None:
            raise InputError(now.fault or "the file is gone from the disk", file=None if now.fault else self.path)
        self._disk.known = self._told = now
        if whose == "disk" and now.text is not None and now.text != self.text:
            self._step(now.text, "take what is on the disk")
        else:
            self._know(now)

    # ---- unsaved work ----

    @property
    def has_recovery(self) -> bool:
        """Whether unsaved work of an earlier time is there."""
        return bool(self._recovery and self._recovery.offered)

    @property
    def recovery_time(self) -> float:
        """Of which moment that work is, seconds since 1970; 0 where that is not known."""
        return self._recovery.when if self._recovery else 0.0

    @property
    def recovery_replaces(self) -> bool:
        """Whether that work contradicts what is here, and takes its place when it is taken up."""
        offered = self._recovery.offered if self._recovery else None
        return offered is not None and self._merged(offered.began, offered.text) is None

    def recover(self) -> None:
        """Take up the unsaved work of an earlier time, joined with what is here; raises InputError when there is none.

        Where the two contradict each other it takes the place of what is here, and what the file was changed to since is
        asked about at the next look.
        """
        self._refuse_shell()
        assert self._recovery is not None
        work = self._recovery.take()
        text = self._merged(work.began, work.text)
        if text is None:
            text, self._disk.known = work.text, OnDisk(work.began)
            self._told = self._disk.known
        self._step(text, "recover unsaved work")

    def discard_recovery(self) -> None:
        """Throw the unsaved work of an earlier time away."""
        if self._recovery:
            self._recovery.discard()
            self.revision += 1

    def leave(self) -> None:
        """Leave the unsaved work to whoever opens the file next; nothing is changed here any more."""
        if self._recovery:
            self._recovery.leave()

    def _keep_unsaved(self) -> None:
        if not self._recovery:
            return
        if self.is_saved:
            self._recovery.clear()
        else:
            self._recovery.keep(Work(self.text, self._disk.known.text or ""))

    # ---- dragging ----

    def snapped(self, module: str, at: tuple[float, float, float], *, within: float, mode: str | None) -> Snap:
        """Return where a dragged module would land.

        Parameters
        ----------
        module : its name
        at : where the least corner of its bounds is dragged to, mm
        within : how far it may be drawn from there, mm
        mode : the state of the van that is looked at

        Raises
        ------
        InputError
            For a module that does not stand there, or a bare shell.
        """
        self._refuse_shell()
        named = [each for each in self.layouts if each.mode == (mode or each.mode)]
        layout = next((each for each in named if module in [m.name for m in each.modules]), None)
        if layout is None:
            raise LayoutError(f"there is no module '{module}' here", file=self.path)
        unit = None if self.fault else self._read(self.text).file.data.get("unit")
        return snapped(layout, module, at, within, "in" if unit in {"in", "ft"} else "mm")


def _sound(text: str, path: Path) -> str:
    """Return a text that a file can hold; raises InputError for any other."""
    try:
        size = len(text.encode())
    except UnicodeEncodeError as fault:
        raise InputError("holds half a character, which no file can hold; type it again", file=path) from fault
    if size > MAX_BYTES:
        raise InputError(f"is larger than {MAX_BYTES:,} bytes; is this the right text?", file=path)
    return text


def _recalled(kept: OrderedDict[str, Kept], text: str) -> Kept:
    kept.move_to_end(text)
    while len(kept) > _REMEMBERED:
        kept.popitem(last=False)
    return kept[text]


def _changed(before: tuple[Layout, ...], after: tuple[Layout, ...]) -> frozenset[str]:
    """Return the names of the modules that stand otherwise, in any mode."""
    old = {(layout.mode, module.name): module for layout in before for module in layout.modules}
    new = {(layout.mode, module.name): module for layout in after for module in layout.modules}
    return frozenset(name for mode, name in {*old, *new} if not _is_same(old.get((mode, name)), new.get((mode, name))))


def _is_same(one: Module | None, other: Module | None) -> bool:
    """Return whether two modules have the same place and shape, their zones with them."""
    if one is None or other is None:
        return one is other
    if one is other:
        return True
    prisms = [
        [*module.body, *module.hull, *(p for zone in module.zones for p in zone.prisms)] for module in (one, other)
    ]
    return len(prisms[0]) == len(prisms[1]) and all(
        np.array_equal(a.outline, b.outline) and (a.bottom, a.top) == (b.bottom, b.top)
        for a, b in zip(*prisms, strict=True)
    )
