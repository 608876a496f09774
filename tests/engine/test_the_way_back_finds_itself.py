"""The step to do now, on small procedures that can be drawn at random."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from coach.engine import State, after_outcome, ended, start, step_to_do
from coach.procedure.compose import compose
from coach.procedure.facts import Effect, Fact, FactTable, Start, Where
from coach.procedure.model import Act, Outcome, Procedure, Source, Step

HERE = Where("drawn", 1)
NO_WORDS = ("", "")


def chain(needs: list[list[int]]) -> Procedure:
    """Return a procedure whose step *i* sets fact *i* and needs the facts in ``needs[i]``."""
    names = [f"f{number}" for number in range(len(needs))]
    table = FactTable.of(
        tuple(Fact(n, "", ("no", "yes"), (Start({}, "no"),), {}, HERE) for n in names)
    )
    steps = []
    for number, wanted in enumerate(needs):
        named = {names[other]: ("yes",) for other in wanted}
        sets = {names[number]: "yes"}
        outcome = Outcome("done", "", table.effect(sets), sets)
        step = Step(
            names[number], "", "", "", "", HERE, {}, 0, table.forbids(named), named,
            (outcome,), Act(), False, "", {},
        )  # fmt: skip
        steps.append(step)
    no_words = (NO_WORDS, NO_WORDS, NO_WORDS)
    source = Source("", table, tuple(steps), (), (), {}, (), (), "", *no_words, "", 0, 0, 0)
    return compose(source, {})


def spoil(procedure: Procedure, state: State, number: int) -> State:
    """Return *state* with fact *number* taken away."""
    effect: Effect = procedure.source.table.effect({f"f{number}": "no"})
    return State(effect.on(state.facts), state.place)


def to_the_end(procedure: Procedure, state: State) -> list[int]:
    """Return the numbers of the steps that are done from *state* on."""
    done = []
    while not ended(procedure, state):
        step = step_to_do(procedure, state)
        done.append(procedure.index[step.id])
        state = after_outcome(procedure, state, step, step.outcomes[0])
    return done


NEEDS = (
    st.integers(1, 12)
    .flatmap(
        lambda size: st.tuples(
            *(st.lists(st.integers(0, max(0, i - 1)), unique=True, max_size=3) for i in range(size))
        )
    )
    .map(lambda drawn: [[n for n in wanted if n < i] for i, wanted in enumerate(drawn)])
)


@given(NEEDS)
def test_with_nothing_spoiled_it_is_the_list_from_top_to_bottom(needs: list[list[int]]) -> None:
    procedure = chain(needs)
    assert to_the_end(procedure, start(procedure)) == list(range(len(needs)))


@given(NEEDS, st.data())
def test_what_was_spoiled_is_done_again_only_where_it_is_needed(
    needs: list[list[int]], data: st.DataObject
) -> None:
    procedure = chain(needs)
    state = start(procedure)
    place = data.draw(st.integers(0, len(needs) - 1))
    for _ in range(place):
        step = step_to_do(procedure, state)
        state = after_outcome(procedure, state, step, step.outcomes[0])
    spoiled = data.draw(st.sets(st.integers(0, len(needs) - 1), max_size=4))
    gone = {number for number in spoiled if number < place}
    for number in gone:
        state = spoil(procedure, state, number)

    missing: set[int] = set()

    def want(number: int) -> None:
        for needed in needs[number]:
            if needed in gone and needed not in missing:
                missing.add(needed)
                want(needed)

    for number in range(place, len(needs)):
        want(number)
    done = to_the_end(procedure, state)
    assert sorted(done) == sorted([*missing, *range(place, len(needs))])


@given(NEEDS)
def test_each_step_has_what_it_needs_when_it_is_done(needs: list[list[int]]) -> None:
    procedure = chain(needs)
    state = State(procedure.start, len(needs) - 1)  # as if all before it had been lost
    have: set[int] = set()
    for number in to_the_end(procedure, state):
        assert set(needs[number]) <= have
        have.add(number)
