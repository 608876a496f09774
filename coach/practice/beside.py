"""What the nurse does beside a rehearsal: prompts are counted, and the last thing is marked.

Owns which step a prompt belongs to, and what the nurse is told. It must never decide what a level
is worth.
"""

from __future__ import annotations

from coach.practice.rehearsal import Marked, Rehearsal, Settled
from coach.practice.verdict import ALONE
from coach.says import rehearsal as words
from coach.says.teaching import LEVELS as LEVEL_WORDS
from coach.says.teaching import SHORT

REMINDED = "reminder"
"""The level of a step at which a prompt was given, until the nurse says otherwise."""

NOT_YET = "not-yet"


def level_of(typed: str) -> str:
    """Return the name of the level that is *typed* by its name or in words; else what was typed."""
    known = {says: name for forms in (SHORT, LEVEL_WORDS) for name, says in forms.items()}
    return known.get(typed.casefold(), typed.casefold())


class Beside:
    """The nurse's side of one rehearsal, for every front end."""

    def __init__(self, rehearsal: Rehearsal) -> None:
        """Stand beside *rehearsal*."""
        self.rehearsal = rehearsal
        self.prompts = 0
        """Prompts at the step to do now; kept with its mark once it is done."""
        self.last = _key(rehearsal.last_to_mark())

    def look(self) -> str:
        """Compare and keep what follows from the last event; return what the nurse is told."""
        settled = self.rehearsal.settle()
        told = settled_line(settled) if settled is not None else ""
        return "\n".join(filter(None, (told, self._count())))

    def _count(self) -> str:
        """Once the step is done, keep its prompts as a mark; say what is to be marked."""
        now = self.rehearsal.last_to_mark()
        if now is None or _key(now) == self.last:
            return ""
        self.last = _key(now)
        if now.dealt is None and self.prompts:
            prompts, self.prompts = self.prompts, 0
            self.rehearsal.mark(now, REMINDED, prompts)
            return marked_line(now, REMINDED, prompts)
        return words.TO_MARK.format(title=title_of(now))

    def prompt(self) -> str:
        """Count one prompt at the step to do now; return what the nurse is told."""
        self.prompts += 1
        return words.PROMPTS.format(prompts=self.prompts)

    def mark(self, level: str) -> str:
        """Mark what was done last; return what the nurse is told.

        Before anything was done, the step to do now can be marked as not yet done, and as nothing
        else. A surprise that was missed while something was done alone was not met at all. Raises
        EngineError for a level that there is not.
        """
        marked = self.rehearsal.last_to_mark()
        if marked is None and level == NOT_YET:
            marked = self.rehearsal.step_to_mark()
        if marked is None:
            return words.NOTHING_TO_MARK
        told = [mark_again(self.rehearsal, marked, level)]
        for one in self._met_by(marked):
            missed = level == ALONE and one.met is not None and not one.met.is_right
            mark = mark_again(self.rehearsal, one, NOT_YET if missed else level)
            told += [mark] if missed else []
        return "\n".join(told)

    def _met_by(self, marked: Marked) -> tuple[Marked, ...]:
        """Return the surprises, not marked yet, that the doing of *marked* answered."""
        return tuple(
            one
            for one in self.rehearsal.to_mark()
            if one.dealt is not None
            and one.met is not None
            and one.mark is None
            and one.dealt.seq + 1 == marked.seq
        )

    def note(self, note: str) -> str:
        """Keep *note* with the mark of what was done last; return what the nurse is told."""
        marked = self.rehearsal.last_to_mark()
        return words.NOTHING_TO_NOTE if marked is None else note_again(self.rehearsal, marked, note)


def mark_again(rehearsal: Rehearsal, marked: Marked, level: str) -> str:
    """Mark *marked* at *level*, with the prompts and the note that it had."""
    before = marked.mark
    prompts, note = (before.prompts, before.note) if before is not None else (0, "")
    rehearsal.mark(marked, level, prompts, note)
    return marked_line(marked, level, prompts)


def note_again(rehearsal: Rehearsal, marked: Marked, note: str) -> str:
    """Keep *note* with the mark of *marked*; return what the nurse is told."""
    before = marked.mark
    if before is None:
        return words.MARK_FIRST
    rehearsal.mark(marked, before.level, before.prompts, note)
    return words.NOTED.format(title=title_of(marked))


def prompt_again(rehearsal: Rehearsal, marked: Marked) -> None:
    """Count one prompt more with *marked*, at the level that it had, or with a reminder."""
    before = marked.mark
    level, prompts, note = (
        (before.level, before.prompts, before.note) if before is not None else (REMINDED, 0, "")
    )
    rehearsal.mark(marked, level, prompts + 1, note)


def settled_line(settled: Settled) -> str:
    """Return what the nurse is told of a surprise that was met."""
    form = words.MET_RIGHT if settled.met.is_right else words.MET_WRONG
    return form.format(did=_ended(settled.met.did), should=settled.should.rstrip("."))


def marked_line(marked: Marked, level: str, prompts: int) -> str:
    """Return what the nurse is told of a mark."""
    form = words.MARKED_PROMPTS if prompts else words.MARKED
    return form.format(title=title_of(marked), level=LEVEL_WORDS[level], prompts=prompts)


def title_of(marked: Marked) -> str:
    """Return what *marked* is, in words."""
    if marked.dealt is None:
        return marked.title
    went = "open" if marked.met is None else "right" if marked.met.is_right else "missed"
    return words.SURPRISE.format(says=marked.title.rstrip("."), went=words.WENT[went])


def row_of(marked: Marked) -> str:
    """Return *marked* as one line of the list of marks, without its place."""
    mark = marked.mark
    form = words.ROW_PROMPTS if mark is not None and mark.prompts else words.ROW
    row = form.format(
        critical=words.CRITICAL if marked.critical or marked.dealt is not None else "",
        title=title_of(marked),
        level=words.UNMARKED if mark is None else LEVEL_WORDS[mark.level],
        prompts=0 if mark is None else mark.prompts,
    )
    row = " ".join(row.split())
    return words.ROW_NOTE.format(row=row, note=mark.note) if mark and mark.note else row


def _ended(text: str) -> str:
    return text if text.endswith((".", "?", "!")) else f"{text}."


def _key(marked: Marked | None) -> tuple[str, int, int]:
    if marked is None:
        return "", 0, 0
    return marked.step, marked.seq, 0 if marked.dealt is None else marked.dealt.id
