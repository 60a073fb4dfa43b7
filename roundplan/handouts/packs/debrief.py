"""Prompts for a good debrief: the team's own words first, then what went well, then what to improve."""

from __future__ import annotations

from collections.abc import Iterator

from roundplan.handouts.pdf.blocks import Block, Heading, Lines, Together
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.safety import DEBRIEFS
from roundplan.handouts.speech import message, say
from roundplan.handouts.watching import WATCH_HINTS, WATCH_WORDS
from roundplan.handouts.words import capital

_PARTS = 3
_GROUND = (
    message("Sit in a ring, away from the model. The director asks and listens more than they speak."),
    message("Speak the team's working language; whoever needs another asks for it."),
)
_OWN_WORDS = (
    message("How are you? One word each."),
    message("Tell it in your own words, from the call to the end."),
    message("What did you know, and what did you think was going on, at the moment that mattered most?"),
    message("Wait for an answer; count to ten before you help."),
)
_WENT_WELL = (
    message("What would you do the same way tomorrow?"),
    message("Each observer: one thing that you saw or heard, and what it did for mother or baby."),
    message("Who spoke up, and what changed when they did?"),
)
_TO_IMPROVE = (
    message("What would you do differently, and what would help you to?"),
    message("When did all of you know the same thing? When did you not?"),
    message("What at your own hospital would stand in the way: people, room, kit, habit?"),
    message("Each of you: one thing that you take home. Who does it, and by when?"),
)


def debrief_blocks(index: PlanIndex) -> Iterator[Block]:
    """Yield the prompts, with the time for each part, and what observers look at."""
    minutes = index.training_round.settings.session.debrief
    each = max(minutes // _PARTS, 1)
    yield Heading(say("Debrief, {minutes} min", minutes=minutes), 1)
    yield Lines([*(say(line) for line in _GROUND), say(DEBRIEFS)], marked=True)
    titled = (
        (say("1. The team's own words first, about {minutes} min", minutes=each), _OWN_WORDS),
        (say("2. What went well, about {minutes} min", minutes=each), _WENT_WELL),
        (say("3. What to improve, about {minutes} min", minutes=max(minutes - 2 * each, 1)), _TO_IMPROVE),
    )
    for title, prompts in titled:
        yield Together([Heading(title, 2), Lines([say(prompt) for prompt in prompts], marked=True)])
    hints = [
        say("{what}: {hint}", what=capital(say(words)), hint=say(WATCH_HINTS[watch]))
        for watch, words in WATCH_WORDS.items()
    ]
    yield Together([Heading(say("What observers look at"), 2), Lines(hints, marked=True)])
