"""The timers of a dose in plain lines: what is said while time runs, and a line that cuts in.

Owns when a timer speaks. What a line that cuts in means is for whoever hears it.
"""

from __future__ import annotations

from abc import ABC, abstractmethod

from coach import telling, words
from coach.clean import one_line
from coach.lines import NO_LINE
from coach.sitting.show import view_of
from coach.sitting.sitting import Sitting
from coach.sitting.times import seconds_in_words
from coach.sitting.view import Timer, View
from coach.voice import LISTEN, LONGEST_LINE, Gone, Voice


class Timers(ABC):
    """What runs by itself in one dose."""

    def __init__(self, voice: Voice, sitting: Sitting) -> None:
        """Speak with *voice* while the timers of *sitting* run."""
        self.voice = voice
        self.sitting = sitting
        self.say = voice.say
        self.say_all = voice.say_all

    @abstractmethod
    def _command(self, view: View, word: str) -> bool:
        """Do what can be asked at every prompt; tell whether *word* asks for that."""

    @abstractmethod
    def _aside(self, view: View, heard: str) -> bool:
        """Do what *heard* asks beside the step; tell whether it asks that."""

    @abstractmethod
    def _take(self, view: View, heard: str) -> bool:
        """Do what *heard* asks; tell whether the step has to be told anew."""

    def _run(self, *, listens: bool) -> None:
        """Let what runs by itself run, speaking as it goes; a line that comes stops it."""
        while self.sitting.running:
            view, timer = view_of(self.sitting), self._timer()
            self.say(telling.timer_line(view, timer))
            heard = self._pass(timer, listens=listens)
            if heard != NO_LINE:
                self.sitting.stop_run()
                self.say(words.RUN_STOPPED)
                if not self._command(view, heard.casefold()):
                    self._aside(view, heard)
                return
            if timer.kind != "lead-in":
                self.say(words.OVER.format(title=view.title))
            self.sitting.tick()

    def _wait(self, *, listens: bool) -> bool:
        """Wait for time that passes by itself; a line that comes meanwhile is taken.

        Tell whether the step to do now has to be told.
        """
        timer = self._timer()
        if timer.over:
            self.sitting.done()
            return True
        self._say_left(timer.left)
        heard = self._pass(timer, listens=listens)
        view = view_of(self.sitting)
        if heard == NO_LINE:
            self.say(words.OVER.format(title=view.title))
            return False
        if heard:
            self._take(view, heard)
        return True

    def _pass(self, timer: Timer, *, listens: bool) -> str:
        """Let *timer* come to its end, speaking at its marks, and hearing a line if it *listens*.

        Return NO_LINE, or the line that cut in.
        """
        spoken = True
        while not timer.over:
            if listens and spoken:
                if heard := self._cut_in():
                    return heard
                timer = self._timer()
            mark = next((m for m in telling.marks(timer.total) if m < timer.left), 0)
            line = self.voice.lines.line_within(timer.total - mark - timer.passed)
            if line is None:
                raise Gone
            if line != NO_LINE:
                return one_line(line[:LONGEST_LINE])
            timer = self._timer()
            spoken = bool(mark) and timer.left <= mark
            if spoken:
                self._say_left(mark)
        return NO_LINE

    def _say_left(self, seconds: int) -> None:
        title = view_of(self.sitting).title
        self.say(words.LEFT.format(title=title, left=seconds_in_words(seconds)))

    def _timer(self) -> Timer:
        timer = self.sitting.timer()
        assert timer is not None
        return timer

    def _cut_in(self) -> str:
        """Return the line that is heard where a timer has spoken; empty where it may run on."""
        self.say(words.TYPE_LISTEN)
        told = telling.timer_line(view_of(self.sitting), self._timer())
        while (heard := self.voice.hear()).casefold() != LISTEN:
            if heard.casefold() == "again":
                self.say(told)
            elif not self._aside(view_of(self.sitting), heard):
                return heard
            self.say(words.TYPE_LISTEN)
        return ""
