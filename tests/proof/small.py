"""A small procedure in which everything holds, to break one thing at a time in it."""

from __future__ import annotations

import re
import shutil
from collections.abc import Mapping
from pathlib import Path

from coach.procedure.files import bundle_of
from coach.procedure.read import read_source
from coach.proof.family import kinds_of
from coach.proof.lists import read_words
from coach.proof.prove import Report, check
from coach.proof.rules import read_rules
from tests.procedure.shipped import BUNDLE, FOLDER

DOSE = (
    re.sub(
        r"(?m)^given: .*$", "given: {joined: syringe}", BUNDLE["dose.yaml"].split("\nmenu:")[0]
    ).replace("off_pace: pump-warning", "off_pace: ill")
    + """
menu: {all: Something is wrong}
parts: [{part: all}]
circumstances: []
"""
)
"""What a dose says of itself is as it ships."""

FACTS = """\
schema: 1
facts:
  body: {about: How the person feels., values: [well, ill, in-danger], starts: well}
  hands: {about: The hands., values: [unclean, clean], starts: unclean, fades: {clean: unclean}}
  connector:
    about: The end of the line.
    values: [unclean, ready]
    starts: unclean
    fades: {ready: unclean}
  joined: {about: What is on the line., values: [nothing, syringe], starts: nothing}
  clamp: {about: The clamp., values: [shut, open], starts: shut}
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
    sets: {hands: clean}
    hold: wash_time
  - id: scrub
    title: Scrub the connector
    do: Scrub the connector.
    why: A clean end keeps germs out.
    needs: {hands: clean, joined: nothing}
    sets: {connector: ready}
    hold: scrub_time
  - id: join
    title: Join the syringe
    do: Push the syringe on.
    why: It has to be tight.
    needs: {connector: ready}
    sets: {joined: syringe, connector: unclean}
  - id: open-clamp
    title: Open the clamp
    do: Open the clamp.
    why: The line has to be open.
    when: {clamp: present}
    needs: {joined: syringe}
    sets: {clamp: open}
  - id: look
    title: Look at the clamp
    do: Look at the clamp.
    why: A shut clamp lets nothing through.
    when: {clamp: present}
    needs: {clamp: open}
    ask:
      question: Is it open?
      answers:
        - {id: "yes", says: "Yes", sets: {clamp: open}}
        - {id: "no", says: "No", sets: {clamp: shut}}
responses:
  - id: danger-stop
    as_soon_as: {body: in-danger}
    title: Call for help now
    do: Call for help now.
    why: It can be a danger to your life.
    stop:
      call: emergency
      leave: Leave all as it is.
      close: Shut the clamp.
      situation: I feel faint.
      assessment: It is now.
      request: Please send help.
      called: I have called
  - id: ill-stop
    as_soon_as: {body: ill}
    title: You feel ill
    do: Call the nurse.
    why: You should not have to guess.
    stop:
      call: nurse
      leave: Leave all as it is.
      close: Shut the clamp.
      situation: I feel ill.
      assessment: It is now.
      request: Please tell me what to do.
      called: I have called
      goes_on: {says: The nurse says to go on, sets: {body: well}}
spoilings:
  - id: touched
    group: all
    title: The connector touched something
    seen: The end of the line brushes your sleeve.
    at: {connector: ready}
    sets: {connector: unclean}
troubles:
  - {id: danger, group: all, title: I feel faint, seen: It goes dark.,
     at: {}, sets: {body: in-danger}, final: yes}
  - {id: ill, group: all, title: I feel ill, seen: It hurts., at: {body: well}, sets: {body: ill}}
"""

RULES = """\
schema: 1
rules:
  - id: scrubbed-before-joining
    number: 1
    says: Nothing is joined unless it was scrubbed.
    source: "common practice, no source"
    hurts: yes
    only: {step: join}
    after: {step: scrub}
    since: {step: join, told: touched, left: yes}
  - id: clean-when-scrubbed
    number: 1
    says: Only clean hands scrub.
    source: "common practice, no source"
    always: {attempt: scrub}
    facts: {hands: clean}
  - id: scrubs-are-timed
    number: 13
    says: Each scrub lasts its time.
    source: "common practice, no source"
    timed: {step: scrub, hold: scrub_time}
  - id: hands-fade
    number: 16
    says: Hands do not stay clean.
    source: "common practice, no source"
    fades: {hands: unclean}
  - id: an-end-can-be-reached
    number: 15
    says: From every state an end can be reached.
    source: "common practice, no source"
    ends: {}
  - id: one-dose
    number: 17
    says: No dose is given twice.
    source: "common practice, no source"
    elsewhere: the journal
"""

FILES: Mapping[str, str] = {
    "dose.yaml": DOSE,
    "facts.yaml": FACTS,
    "picture.yaml": PICTURE,
    "parts/all.yaml": PART,
    "rules/safety.yaml": RULES,
}

Change = tuple[str, str]
"""A text that stands once in one of the files, and what takes its place."""


def written(folder: Path, *changes: Change) -> Path:
    """Write the small procedure with each change made, and return its folder."""
    files = dict(FILES)
    for old, new in changes:
        (name,) = (name for name, text in files.items() if text.count(old) == 1)
        files[name] = files[name].replace(old, new)
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    shutil.copytree(FOLDER / "words", folder / "words")
    return folder


def checked(folder: Path, *changes: Change) -> Report:
    """Check the small procedure with each change made, its words apart."""
    written(folder, *changes)
    source = read_source(bundle_of(folder))
    return check(
        source, read_rules(folder / "rules", source), kinds_of(source), read_words(folder), True
    )
