"""Taking approved frames out of somebody's programme.

A *ripple* moves everything later up, on all channels. To *hold the length*, as many frames are put
in elsewhere (`impactcut.core.recut.hold_length`). What cannot be cut stays, and is named with the
reason.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from impactcut.core.grouping import grouped
from impactcut.core.programme.cutlist import Removal
from impactcut.core.programme.sequence import Piece, SequenceEvent
from impactcut.core.recut.hold_length import HeldClock, Hold, hold_length, plan_hold
from impactcut.core.recut.ripple import plan_ripple, ripple
from impactcut.core.recut.uses import RefusedUse, Use, find_uses
from impactcut.core.time.frames import Gaps


@dataclass(frozen=True)
class Recut:
    """A programme before and after.

    Parameters
    ----------
    events : tuple of SequenceEvent
        Before, in the order of the list.
    pieces : tuple of Piece
        After: what is left of each event, in the order of the events.
    made : tuple of Use
        Where frames went out, in record order.
    refused : tuple of RefusedUse
        Where they were to go and did not.
    absent : tuple of Removal
        What the programme does not show.
    clock : Gaps or HeldClock
        Where the record frames of the old programme come to lie.
    """

    events: tuple[SequenceEvent, ...]
    pieces: tuple[Piece, ...]
    made: tuple[Use, ...]
    refused: tuple[RefusedUse, ...]
    absent: tuple[Removal, ...]
    clock: Gaps | HeldClock

    @cached_property
    def left(self) -> Mapping[int, Sequence[Piece]]:
        """What is left of each event, by its index, in record order."""
        ordered = sorted(self.pieces, key=lambda piece: piece.record.start)
        return grouped((piece.event.index, piece) for piece in ordered)


def recut(
    events: Sequence[SequenceEvent],
    removals: Iterable[Removal],
    hold: Hold | None = None,
    whole_sound: bool = False,
) -> Recut:
    """Take frames out of every place of a programme that shows them.

    Parameters
    ----------
    events : sequence of SequenceEvent
        Those of the project's clips with their ``clip``.
    hold : {"tail", "head", "next"} or None
        What pays for the frames; None to ripple.
    whole_sound : bool
        Leave sound unsplit.
    """
    removals = tuple(removals)
    uses = find_uses(events, removals)
    clock: Gaps | HeldClock
    if hold is None:
        made, refused = plan_ripple(events, uses.found, whole_sound)
        clock = Gaps(tuple(sorted({use.record for use in made})))
        pieces = ripple(events, clock, whole_sound)
    else:
        changes, made, refused = plan_hold(events, uses.found, removals, hold, whole_sound)
        pieces = hold_length(events, changes, whole_sound)
        clock = HeldClock(pieces)
    return Recut(tuple(events), pieces, made, (*uses.refused, *refused), uses.absent, clock)
