"""A link that was lost in mid-plan: the rig is greeted again, and the plan resumes.

Only where the controller has not restarted, and where nothing but the silence stopped
the axis: a stop by a person, a contact or a fault waits for a person.
"""

from __future__ import annotations

from firmware_protocol.messages import FaultNotice, RestCause, RestNotice, State
from rig.errors import HostUnheard, MotionFault, NoticesLost, ReplyTimeout, Stopped
from rig.link.inbox import LostNotice
from rig.procedures.events import Remarked, Tell
from rig.procedures.mover import Mover

LOSSES = (HostUnheard, NoticesLost, ReplyTimeout)
MOST_IN_A_ROW = 3  # without a good sweep between them
_PATIENCE_S = 120.0
_HANDS_CLEAR_S = 10.0
_LOOK_EVERY_S = 0.1
_LONGEST_MOTION_S = 120.0


def outlast(loss: MotionFault | ReplyTimeout, mover: Mover, tell: Tell) -> None:
    """Greet the rig until it answers again; return when its axis may move.

    Raises:
        ReplyTimeout: It does not answer in 2 minutes.
        RigRestarted: It has restarted.
        Stopped: Somebody stopped it.
        MotionFault: Something else than silence stopped the axis.
        LinkLost: The port went away.
    """
    tell(Remarked(sentence=f"The link failed: {loss}. The rig is greeted again."))
    mover.link.greet_again(_PATIENCE_S)
    _see_why_it_rests(mover, silent=isinstance(loss, HostUnheard))
    tell(
        Remarked(
            sentence="The rig answers again and has not restarted: in"
            f" {_HANDS_CLEAR_S:.0f} s it homes and touches off again, and goes on at"
            " the next sweep. Keep hands clear of the axis."
        )
    )
    mover.settle(_HANDS_CLEAR_S)
    # A touch may have ended meanwhile, with the target at the face
    mover.forget_home()
    if mover.link.stop_asked:
        raise Stopped("stopped on request")


def _see_why_it_rests(mover: Mover, *, silent: bool) -> None:
    """Wait for rest; refuse to go on where silence is not what brought it about."""
    link = mover.link
    deadline_s = link.now_s() + _LONGEST_MOTION_S
    look = link.look()
    while look.state in (State.MOVING, State.SEEKING):
        if link.now_s() > deadline_s:
            link.halt()
            raise MotionFault(
                "the axis still moved 2 minutes after the loss of the link, and was"
                " stopped",
                hint="look at the axis, then begin again",
            )
        mover.settle(_LOOK_EVERY_S)
        look = link.look()
    link.look()  # what one look announces may be on its way; the second recalls it
    while (notice := link.next_notice(_LOOK_EVERY_S)) is not None:
        if isinstance(notice, RestNotice):
            silent = notice.cause is RestCause.SILENT
            known = silent or notice.cause in _AS_ORDERED
        else:
            known = not isinstance(notice, FaultNotice | LostNotice)
        if not known:
            break
    else:
        if silent or look.state is not State.HELD:
            return
    raise MotionFault(
        "the axis stopped while the link was lost, and not by the silence alone",
        hint="look at the axis, then begin again",
    )


_AS_ORDERED = (RestCause.THERE, RestCause.TURN, RestCause.TOUCHED)
