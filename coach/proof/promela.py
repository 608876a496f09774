"""The same model for another checker: one kind of dose in Promela, the language of SPIN.

Owns the text of the model. The facts are byte variables, what the rules keep in mind bits, and
each event is one atomic move, so that the states that SPIN stores are the states after events.
It must never search; SPIN does, and its own figures are compared with those of the search here.

Source of the language: G. J. Holzmann, The SPIN Model Checker, 2003, and spinroot.com/spin/Man.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from coach.engine import State, step_to_do
from coach.procedure.facts import Effect
from coach.procedure.model import Mishap, Outcome, Source, Step, Stop
from coach.proof.chart import Chart
from coach.proof.cone import Lens, bits_of
from coach.proof.explore import search_of
from coach.proof.family import Family, family_of, kinds_of
from coach.proof.rules import Rule
from coach.proof.watch import LEFT, Check, Key, Watch, key_of, told_key

STOPPED = "-1"
"""The place of a dose that was ended by a stop."""
OVER = "-1"
"""What there is to do when the dose is over."""
PORTION = 500
"""Lines of one step. SPIN takes 2048 statements, and a line has four at most."""


def promela(
    source: Source, kind: Mapping[str, str], rules: Iterable[Rule], *, merged: bool = False
) -> str:
    """Return the model of *source* for one *kind* of order sheet, with *rules* as assertions.

    With *merged*, values that nothing tells apart any more are made one after each event, as in
    the search here; there are then far fewer states, and just as many as the search has.
    """
    family = family_of(source, [kind])
    chart = search_of(family, rules).chart if merged else None
    model = _Model(family, Watch(family, rules), chart)
    return "\n".join((*model.head(kind), *model.inline(), *model.dose(), ""))


def write_promela(source: Source, rules: Iterable[Rule], folder: Path) -> tuple[Path, ...]:
    """Write a model for each kind of order sheet of *source* to *folder*, and return the files.

    Raises OSError if it cannot be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    rules = tuple(rules)
    written = []
    for number, kind in enumerate(kinds_of(source), 1):
        path = folder / f"kind-{number:03}.pml"
        path.write_text(promela(source, kind, rules, merged=True), encoding="utf-8")
        written.append(path)
    return tuple(written)


def _name(*words: str) -> str:
    """Return *words* as one name of Promela; no word of its own has such a double underscore."""
    return "__".join(word.replace("-", "_").replace(" ", "_") for word in words)


class _Model:
    """Writes the lines of one model."""

    def __init__(self, family: Family, watch: Watch, chart: Chart | None) -> None:
        self.family = family
        self.watch = watch
        self.chart = chart
        self.procedure = family.procedure
        self.table = family.procedure.source.table
        self.end = len(self.procedure.steps)
        mark = family.marks[0]
        self.steps = {n: s for n, s in enumerate(self.procedure.steps) if not s.only_if & mark}
        """By place, the steps that this kind can ask for."""
        self.responses = tuple(r for r in self.procedure.responses if not r.only_if & mark)
        self.mishaps = tuple(m for m in self.procedure.mishaps if not m.at & mark)
        self.bits = {watch.rules[n].id: bit for n, bit in watch.bits.items()}
        self.at_hand = {check.rule for mark in watch.marks.values() for check in mark.checks}
        self.at_hand |= {check.rule for check in watch.finish}

        fading = self.procedure.passing
        left = watch.marks[LEFT].written
        self.kept = (
            *(self.fact(name) for name, mask in self.table.masks.items() if mask & fading),
            *(self.memory(rule) for rule, bit in self.bits.items() if left & bit),
            "place",
            "todo",
        )
        """What a return can change."""

    # Words

    def fact(self, name: str) -> str:
        return _name("fact", name)

    def value(self, bit: int) -> str:
        name, value = next(names for names, b in self.table.bits.items() if b == bit)
        return _name(name, value)

    def todo(self, step: Step) -> str:
        return _name("do", step.id)

    def rule(self, place: int) -> str:
        return _name("holds", self.watch.rules[place].id)

    def memory(self, rule: str) -> str:
        return _name("after", rule)

    # Conditions and effects

    def allowed(self, name: str, forbidden: int) -> str:
        """Return in Promela that the fact *name* has none of the *forbidden* bits."""
        whole = self.table.masks[name]
        good, bad = whole & ~forbidden, whole & forbidden
        if good.bit_count() <= bad.bit_count():
            cases = (f"{self.fact(name)} == {self.value(bit)}" for bit in bits_of(good))
            return f"({' || '.join(cases)})" if good else "false"
        cases = (f"{self.fact(name)} != {self.value(bit)}" for bit in bits_of(bad))
        return f"({' && '.join(cases)})"

    def condition(self, forbidden: int) -> str:
        """Return in Promela that none of the *forbidden* bits is set."""
        if forbidden & self.family.marks[0]:
            return "false"
        asked = [name for name, mask in self.table.masks.items() if mask & forbidden]
        return " && ".join(self.allowed(name, forbidden) for name in asked) or "true"

    def assigned(self, effect: Effect) -> Iterator[str]:
        """Yield the assignments of *effect*."""
        for name, mask in self.table.masks.items():
            if effect.puts & mask:
                yield f"{self.fact(name)} = {self.value(effect.puts & mask)};"

    def changed(self, name: str, cases: Iterable[tuple[int, int]]) -> str:
        """Return the assignment that gives the fact *name* another value in each of *cases*.

        Each case is the bits before, and the bit afterwards.
        """
        after = self.fact(name)
        for before, bit in cases:
            condition = self.allowed(name, self.table.masks[name] & ~before)
            after = f"({condition} -> {self.value(bit)} : {after})"
        return f"{self.fact(name)} = {after};"

    def faded(self) -> Iterator[str]:
        """Yield the assignments by which fades what does not last."""
        for name, mask in self.table.masks.items():
            cases = [(b, e.puts & mask) for b, e in self.procedure.fading.items() if b & mask]
            if cases:
                yield self.changed(name, cases)

    def remembered(self, key: Key) -> Iterator[str]:
        """Yield what *key* does to the bits of the rules."""
        mark = self.watch.marks[key]
        for rule, bit in self.bits.items():
            if not mark.keeps & bit:
                yield f"{self.memory(rule)} = {int(bool(mark.puts & bit))};"

    def checked(self, checks: Iterable[Check]) -> Iterator[str]:
        """Yield an assertion for each rule that is broken; it is told once in a whole search."""
        for check in checks:
            if not check.kinds:
                continue
            name = self.rule(check.rule)
            asked = [self.condition(check.unless)]
            if check.bit:
                asked.append(f"{self.memory(self.watch.rules[check.rule].id)} == 1")
            holds = "false" if check.never else " && ".join(asked)
            counts = self.condition(check.given)
            broken = f"{name} == 1 && {counts} && !({holds})"
            yield f"if :: {broken} -> {name} = 0; assert({name} == 1) :: else fi;"

    # The head: what there is

    def head(self, kind: Mapping[str, str]) -> Iterator[str]:
        """Yield the names, and the variables with their first values."""
        yield f"/* {self.procedure.source.title}"
        yield from (f"   {name}: {value}" for name, value in kind.items())
        yield "   Each stored state is the state after an event. */"
        start = self.family.begin(0)
        state = State(start.facts | self.watch.start, start.place)
        if self.chart is not None:
            state = self.chart.decode(0, *self.chart.encode(0, state))
            state = State(state.facts & ~self.chart.idle_in(state.facts), state.place)
        for name, mask in self.table.masks.items():
            for number, bit in enumerate(bits_of(mask)):
                yield f"#define {self.value(bit)} {number}"
            yield f"byte {self.fact(name)} = {self.value(state.facts & mask)};"
        for rule, bit in self.bits.items():
            yield f"bit {self.memory(rule)} = {int(bool(state.facts & bit))};"
        for number, step in self.steps.items():
            yield f"#define {self.todo(step)} {number}"
        for number, step in enumerate(self.responses, self.end):
            yield f"#define {self.todo(step)} {number}"
        yield f"short place = {state.place};"
        yield f"short todo = {self.todo(step_to_do(self.procedure, state))};"
        # Hidden variables are no part of a state, and are not set back when the search goes back.
        yield "hidden short at = 0; hidden short earliest = 0;"
        yield from (f"hidden short kept__{name} = 0;" for name in self.kept)
        yield from (f"hidden byte {self.rule(n)} = 1;" for n in sorted(self.at_hand))

    # The tail: what follows every event

    def inline(self) -> Iterator[str]:
        """Yield the fading under a name of its own, as it happens at many places."""
        yield "inline fade() {"
        yield from (f"  {line}" for line in self.faded())
        yield "  skip"
        yield "}"

    def tail(self) -> Iterator[str]:
        """Yield what is passed over, what is to do, and what is asked at the end."""
        yield from self.settled()
        yield from self.responding()
        yield from self.finding()
        yield from self.chosen(f"place == {self.end}", self.checked(self.watch.finish))
        if self.chart:
            yield from self.merged()

    def portions(self, lines: Iterable[str]) -> Iterator[str]:
        """Yield *lines* in steps of a size that SPIN takes, none split within a choice."""
        portion: list[str] = []
        for line in lines:
            portion.append(line)
            if len(portion) > PORTION and line == ":: else fi;":
                yield from ("  d_step {", *portion, "  skip };")
                portion = []
        yield from ("  d_step {", *portion, "  skip }")

    def chosen(self, condition: str, lines: Iterable[str]) -> Iterator[str]:
        """Yield *lines* for where *condition* holds."""
        inside = tuple(lines)
        if inside:
            yield f"if :: {condition} ->"
            yield from (f"  {line}" for line in inside)
            yield "  skip"
            yield ":: else fi;"

    def settled(self) -> Iterator[str]:
        """Yield the passing over of what these facts do not ask for, from first to last."""
        for place, step in enumerate(self.procedure.steps):
            asked = self.condition(step.only_if)
            if asked != "true":
                yield f"place = (place == {place} && !({asked}) -> {place + 1} : place);"

    def responding(self) -> Iterator[str]:
        """Yield the search for the most urgent response, which is assigned last."""
        yield f"todo = (place == {self.end} -> {OVER} : place);"
        for step in reversed(self.responses):
            yield f"todo = ({self.condition(step.only_if)} -> {self.todo(step)} : todo);"
        yield f"todo = (place == {STOPPED} -> {OVER} : todo);"

    def finding(self) -> Iterator[str]:
        """Yield the way back from the step in order.

        It leads to earlier steps only, so one look from the last to the first is enough.
        """
        yield "at = todo;"
        for place in sorted(self.steps, reverse=True):
            yield from self.chosen(f"at == {place}", self.way_back(place))
        yield f"assert(at != -2); todo = (todo < {self.end} -> at : todo);"

    def way_back(self, place: int) -> Iterator[str]:
        needs = self.procedure.steps[place].needs
        if not self.procedure.ways[place]:
            return
        yield f"earliest = {place};"
        for mask, providers in self.procedure.ways[place]:
            nearest = "-2"
            for provider in reversed([p for p in providers if p in self.steps]):
                asked = self.condition(self.procedure.steps[provider].only_if)
                nearest = (
                    f"({asked} -> {provider} : {nearest})" if asked != "true" else f"{provider}"
                )
            unmet = f"!({self.condition(mask & needs)})"
            yield f"earliest = ({unmet} && {nearest} < earliest -> {nearest} : earliest);"
        yield "at = earliest;"

    # What nothing tells apart any more

    def merged(self) -> Iterator[str]:
        """Yield the making one of states with the same future, as the chart does."""
        assert self.chart is not None
        calls = [self.todo(r) for r in self.responses if r.id in self.chart.calls]
        stops = [
            self.todo(r)
            for r in self.responses
            if isinstance(r.ask, Stop) and r.id not in self.chart.calls
        ]
        if calls:
            called = " || ".join(f"todo == {call}" for call in calls)
            yield from self.chosen(called, [f"place = {STOPPED}; todo = {OVER};"])
        if stops and self.chart.fades_early:
            yield from self.chosen(" || ".join(f"todo == {s}" for s in stops), self.calling())
        nothing = [f"{self.fact(name)} = 0;" for name in self.table.masks]
        nothing += [f"{self.memory(rule)} = 0;" for rule in self.bits]
        yield from self.chosen(f"place == {STOPPED}", nothing)
        for place, lens in enumerate(self.chart.lenses):
            if place in self.steps or place == self.end:
                yield from self.chosen(f"place == {place}", self.seen(place, lens))
        for rule, bit in self.bits.items():
            if bit in self.chart.idle:
                memory, matters = self.memory(rule), self.condition(self.chart.idle[bit])
                yield f"{memory} = ({matters} -> {memory} : 0);"

    def calling(self) -> Iterator[str]:
        """Yield the fading that a call will bring, where nothing else is changed by it."""
        yield from (f"kept__{name} = {name};" for name in self.kept)
        yield from ("fade();", *self.remembered(LEFT))
        yield from (*self.settled(), *self.responding())
        yield "if :: place == kept__place && todo == kept__todo"
        yield ":: else ->"
        yield from (f"  {name} = kept__{name};" for name in self.kept)
        yield "fi;"

    def seen(self, place: int, lens: Lens) -> Iterator[str]:
        """Yield the assignments that make one what nothing tells apart from *place* on."""
        assert self.chart is not None
        for name, mask in self.table.masks.items():
            cases = [(group & mask, bit) for group, bit in lens.merges if group & mask]
            if lens.puts & mask:
                yield f"{self.fact(name)} = {self.value(lens.puts & mask)};"
            elif cases:
                yield self.changed(name, cases)
        for rule, bit in self.bits.items():
            if not self.chart.live[place] & bit:
                yield f"{self.memory(rule)} = 0;"

    # The moves

    def dose(self) -> Iterator[str]:
        """Yield the one process: any event that is possible, and what follows it, over and over."""
        yield "active proctype dose() {"
        yield "end: do"
        yield ":: atomic {"
        yield "  if"
        for step in (*self.steps.values(), *self.responses):
            for number, outcome in enumerate(step.outcomes):
                yield from self.move(
                    f"todo == {self.todo(step)}", self.ending(step, outcome, number)
                )
        for mishap in self.mishaps:
            yield from self.move(self.tellable(mishap), self.told(mishap))
        back = (*self.checked(self.watch.marks[LEFT].checks), "fade();", *self.remembered(LEFT))
        yield from self.move(f"todo != {OVER}", back)
        yield "  fi;"
        yield from self.portions(self.tail())
        yield "}"
        yield "od"
        yield "}"

    def move(self, guard: str, lines: Iterable[str]) -> Iterator[str]:
        yield f"  :: d_step {{ {guard} ->"
        yield from (f"       {line}" for line in lines)
        yield "       skip }"

    def ending(self, step: Step, outcome: Outcome, number: int) -> Iterator[str]:
        """Yield what follows from *step* having ended in *outcome*, which is of that *number*."""
        key = key_of(step, number)
        yield from self.checked(self.watch.marks[key].checks)
        if isinstance(step.ask, Stop):
            yield "fade();"
        yield from self.assigned(outcome.effect)
        yield from self.remembered(key)
        if outcome.ends:
            yield f"place = {STOPPED};"
        elif number == 0 and step.id in self.procedure.index:
            here = self.procedure.index[step.id]
            yield f"place = (place == {here} -> {here + 1} : place);"

    def tellable(self, mishap: Mishap) -> str:
        """Return the guard of *mishap*: only an emergency is told on top of something else."""
        waits = "" if mishap.final else f" && todo < {self.end}"
        return f"todo != {OVER}{waits} && {self.condition(mishap.at)}"

    def told(self, mishap: Mishap) -> Iterator[str]:
        key = told_key(mishap)
        yield from self.checked(self.watch.marks[key].checks)
        yield from self.assigned(mishap.effect)
        yield from self.remembered(key)
