"""A teaching visit at a table, for tests: a small procedure, followed by keys alone."""

from __future__ import annotations

import re
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from random import Random

from coach import places
from coach.clock import ManualClock
from coach.journal.store import Journal
from coach.practice.lessons import Lessons
from coach.procedure.teaching import SignOffRule
from coach.screens.rehearse import RehearseApp
from coach.screens.widgets.words import Words
from coach.sitting.desk import Desk
from coach.themes import DARK
from tests.person import DEMO, MORNING, holds
from tests.proof.small import DOSE
from tests.screens.table import LARGE, Table

FACTS = """\
schema: 1
facts:
  body: {about: How the person feels., values: [well, ill], starts: well}
  hands: {about: The hands., values: [unclean, clean], starts: unclean, fades: {clean: unclean}}
  bag: {about: What the bag looks like., values: [unseen, good, bad], starts: unseen}
  connector:
    about: The end of the line.
    values: [unclean, ready]
    starts: unclean
    fades: {ready: unclean}
  joined: {about: What is on the line., values: [nothing, syringe], starts: nothing}
  rest: {about: The time after., values: ["no", over], starts: "no"}
  lock: {about: The lock., values: [out, in], starts: out}
"""
PICTURE = """\
schema: 1
line:
  - name: syringe
    shows: [{if: {joined: syringe}, word: joined, joined: yes}, {word: away}]
"""
PART = """\
schema: 1
title: All of it
steps:
  - id: wash
    title: Wash your hands
    do: Wash your hands.
    why: Clean hands keep germs away.
    critical: yes
    sets: {hands: clean}
  - id: look
    title: Look at the bag
    do: Look at the bag.
    why: A bad bag can hurt you.
    ask:
      question: Is it clear?
      answers:
        - {id: "yes", says: "Yes", sets: {bag: good}}
        - {id: "no", says: "No", sets: {bag: bad}, seen: The fluid looks milky.}
  - id: scrub
    title: Scrub the connector
    do: Scrub the connector.
    why: A clean end keeps germs out.
    critical: yes
    needs: {hands: clean, bag: good, joined: nothing}
    sets: {connector: ready}
    hold: scrub_time
    uses: {pad: 1}
  - id: join
    title: Join the syringe
    do: Push the syringe on.
    why: It has to be tight.
    critical: yes
    needs: {connector: ready}
    sets: {joined: syringe, connector: unclean}
  - id: rest
    title: Rest
    do: Rest for {warm_up}.
    why: It takes its time.
    needs: {joined: syringe}
    sets: {rest: over}
    wait: {time: warm_up, since: joined, while: {joined: syringe, rest: "no"}}
responses:
  - id: bag-stop
    as_soon_as: {bag: bad}
    title: The bag is not good
    do: Call the pharmacist.
    why: You should not have to guess.
    stop: {call: pharmacist, leave: Leave all as it is., close: Shut the clamp.,
           situation: The bag looks bad., assessment: It is now., request: Please help.,
           called: I have called}
  - id: ill-stop
    as_soon_as: {body: ill}
    title: You feel ill
    do: Call the nurse.
    why: You should not have to guess.
    stop: {call: nurse, leave: Leave all as it is., close: Shut the clamp.,
           situation: I feel ill., assessment: It is now., request: Please help.,
           called: I have called}
spoilings:
  - id: touched
    group: all
    title: The connector touched something
    seen: The end of the line brushes your sleeve.
    at: {connector: ready}
    sets: {connector: unclean}
troubles:
  - {id: ill, group: all, title: I feel ill, seen: It hurts., at: {body: well}, sets: {body: ill}}
"""
LOCK = """\
schema: 1
title: Close the line
steps:
  - id: lock
    title: Push the heparin
    do: Push the heparin.
    why: It keeps the line open.
    critical: yes
    needs: {joined: syringe}
    sets: {lock: in}
"""
TEACHING = """\
schema: 1
sign_off: {runs: RUNS, days: DAYS, surprises: SURPRISES}
reads: "You read: {typed}"
interruptions: [{id: phone, seen: Your phone rings.}]
teach_back:
  - {id: touched, asks: What do you do when a tip touched something?,
     points: [I scrub again., Germs can get into my blood.]}
"""


ONCE = SignOffRule(runs=1, days=1, surprises=1)
"""A rule that is soon met."""


def small_procedures(folder: Path, rule: SignOffRule = ONCE) -> Path:
    """Write the small procedures into *folder*, signed off by *rule*, and return where they are."""
    teaching = TEACHING
    for name, number in (("RUNS", rule.runs), ("DAYS", rule.days), ("SURPRISES", rule.surprises)):
        teaching = teaching.replace(name, str(number))
    found = folder / "procedures"
    dose = DOSE.replace(
        "parts: [{part: all}]", "parts: [{part: all}, {part: lock, when: {heparin: ordered}}]"
    ).replace("off_pace: pump-warning", "off_pace: ill")
    files = {
        "dose.yaml": dose,
        "facts.yaml": FACTS,
        "picture.yaml": PICTURE,
        "teaching.yaml": teaching,
        "parts/all.yaml": PART,
        "parts/lock.yaml": LOCK,
        "pump_cards/demo.yaml": "schema: 1\nname: A pump\ndemonstration: yes\nkeys: {}\n",
    }
    for name, text in files.items():
        path = found / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return found


def without_heparin(folder: Path) -> Path:
    """Return a demonstration sheet on which no heparin is ordered."""
    kept = [
        line.replace("ordered: yes", "ordered: no ")
        for line in DEMO.read_text(encoding="utf-8").splitlines()
        if not line.startswith(("  strength: 10 units/mL", "  volume: 3 mL", "  heparin_units"))
    ]
    path = folder / "orders.yaml"
    path.write_text("\n".join(kept) + "\n", encoding="utf-8")
    return path


class Classroom(Table):
    """The running application of a teaching visit."""

    lessons: Lessons

    @property
    def screen_text(self) -> str:
        """All that the screen says, on one line."""
        return " ".join(self.all_text.split())

    async def type(self, text: str) -> None:
        """Type *text* and press Enter."""
        await self.press(*("space" if letter == " " else letter for letter in text), "enter")

    async def choose(self, says: str, words: str = "lines") -> None:
        """Press the number of the line that *says* something."""
        shown = self.screen.query_one(f"#{words}", Words).text
        found = re.search(rf"(?m)^(\d)  .*{re.escape(says)}", shown)
        assert found, shown
        await self.press(found[1])

    async def deal(self, says: str) -> None:
        """Have the nurse deal the surprise that *says* something."""
        await self.press("f2")
        await self.choose(says)


@asynccontextmanager
async def classroom(
    folder: Path,
    size: tuple[int, int] = LARGE,
    *,
    orders: Path,
    procedures: Path,
    clock: ManualClock | None = None,
) -> AsyncIterator[Classroom]:
    """Open a teaching visit by the order sheet *orders*, beside a record in *folder*."""
    clock = clock or ManualClock(MORNING)
    with Journal.open(folder / "journal.sqlite") as journal:
        desk = Desk(orders, procedures, journal, clock, holds)
        lessons = Lessons(desk, places.practice_beside(journal.path), Random(1))
        try:
            async with RehearseApp(lessons, desk.contacts(), DARK).run_test(size=size) as pilot:
                room = Classroom(pilot, clock, desk)
                room.lessons = lessons
                await room.settle()
                yield room
        finally:
            lessons.close()
