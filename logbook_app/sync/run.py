"""A conversation held: what the rules ask goes out, what comes back goes in, until both are done."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import closing
from typing import Final

from logbook_app.dive.problems import RefusedMessage
from logbook_app.language import _
from logbook_app.sync.asking import Outcome
from logbook_app.sync.conversation import Conversation
from logbook_app.sync.messages import Reply, Request

MOST_QUESTIONS: Final = (
    20_000  # some ten thousand dives with their samples; a club that wants more has no end
)

Progress = Callable[[int, Outcome], None]


def converse(
    conversation: Conversation,
    ask: Callable[[Request], Reply],
    progress: Progress = lambda _asked, _outcome: None,
) -> Outcome:
    """Hold a conversation to its end and return what it came to.

    ask        one question to the club, its answer; what it raises ends the conversation
    progress   called before every question with how many were asked, and with what came of it so far

    What was done before a break is kept, and the next conversation goes on from there.

    Raises RefusedMessage where the club goes on without an end.
    """
    with closing(conversation.run()) as talk:
        try:
            request = next(talk)
            for asked in range(MOST_QUESTIONS):
                progress(asked, conversation.outcome)
                request = talk.send(ask(request))
        except StopIteration:
            return conversation.outcome
    raise RefusedMessage(_("The club's answers have no end; tell who looks after it."))
