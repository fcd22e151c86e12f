"""What to do about what keeps a plan or a signature back, as commands ready to paste."""

from __future__ import annotations

import shlex

from truethrow.balance.station.balancing import Balancing
from truethrow.balance.station.may_go import reasons, withheld
from truethrow.balance.station.reasons import Reason
from truethrow.balance.station.stationlog import KnownMass


def next_steps(state: Balancing) -> list[str]:
    """What to do about what keeps a plan or a signature back, where it is not in the plan itself."""
    if reason := next(reasons(state, to_sign=True), None):
        return [next_command(state, reason)]
    if state.last is None or state.in_engine is None or state.verdicts_of(state.last) != ("inside", "inside"):
        return []
    ruled = {one.verdict for one in state.in_engine}
    return [] if ruled == {"inside"} else _less_by_hanging(state, "too close to call" in ruled)


def _less_by_hanging(state: Balancing, is_close: bool) -> list[str]:
    """How the parts and what hangs come nearer to each other."""
    job, steps = state.called, []
    if state.job.hang != "own":
        own = command(state, "stack")
        steps.append(f'hang on each throw its own: in {job} set [bobweight] hang = "own"; {own}; spin again')
    steps.append(f"or trim closer: in {job} set a lower [limits] bobweight; truethrow trim {job}")
    if is_close:
        steps.append(f"or weigh the parts once more, so that it is surer: truethrow weigh {job}")
    return steps


def next_command(state: Balancing, reason: Reason) -> str:
    """What to do about a reason, ready to paste."""
    match reason.why:
        case "damaged" | "rehung" | "edited" | "apart" | "lost" | "thin" | "unspun" | "drilled":
            return command(state, "spin", "FRONT REAR")
        case "doubted":
            return f"truethrow check {state.called}"
        case "disagrees" | "unproved" | "unanswered":
            return hang_a_mass(state)
        case "not inside" | "not inside in engine":
            return command(state, "holes")
        case "signed":
            return command(state, "spins")


def recorded_late(state: Balancing) -> list[str]:
    """The command for holes that were drilled by the last spin's plan before the job changed; none where none
    can have been."""
    if not any(one.why == "rehung" for one in withheld(state)) or not state.to_do:
        return []
    return [command(state, "holes", f"--done --plan {state.plan_name}")]


def next_mass(state: Balancing) -> KnownMass:
    """The test mass to hang next."""
    last = None if state.is_edited else state.last
    return state.proof.next_mass(state.instrument, last, state.job.engine.throw_radius_mm)


def hang_a_mass(state: Balancing) -> str:
    """The command of the test mass to hang next."""
    mass = next_mass(state)
    on = f"--mass {mass.mass_g:g} --radius {mass.radius_mm:g} --plane {mass.plane} --at {mass.angle_deg:g}"
    return command(state, "test-mass", f"{on} FRONT REAR")


def command(state: Balancing, name: str, more: str = "") -> str:
    """A command of the station on this job."""
    return command_of(state.called, shlex.quote(state.profile.source or "STATION"), name, more)


def command_of(job: str, station: str, name: str, more: str = "") -> str:
    """A command of the station. job, station: as a shell takes them; STATION where the profile is not known."""
    return f"truethrow {name} {job} --station {station} {more}".rstrip()
