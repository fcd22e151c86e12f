"""truethrow for whoever builds on it: a rotating assembly from its weights to what shakes, in a few lines.

    from truethrow import load, work, trim, shake, sweep

    done = work(load("my.toml", "my-weigh.csv"))
    done.bobweights, done.cost, done.spreads      # what to hang, what that leaves, how far the parts are apart
    trim(done)                                    # what to take off which part
    shake(done, "4200 rpm").curve.force_n         # a turn of the shaking force, as an array
    sweep(done, [0.4, 0.45, 0.5]).force_n         # the largest force at each share

A name is loaded when it is first asked for, so that the import costs nothing. A mass, a length or a speed is a
number in g, mm or r/min, a text with its unit, or a quantity of pint; what comes out is in g, mm, degrees, N and
N·m, its unit in its name. What cannot be answered is a BadInput, with every fault found. Nothing here writes.
"""

TYPE_CHECKING = False  # the module typing is not needed for that alone, and takes longer than all of this
if TYPE_CHECKING:
    from truethrow.balance.base.errors import BadInput as BadInput
    from truethrow.balance.base.errors import TruethrowError as TruethrowError
    from truethrow.balance.library.formulas import bobweight as bobweight
    from truethrow.balance.library.formulas import centrifugal_force as centrifugal_force
    from truethrow.balance.library.formulas import curve as curve
    from truethrow.balance.library.formulas import drilled_hole as drilled_hole
    from truethrow.balance.library.formulas import permissible_unbalance as permissible_unbalance
    from truethrow.balance.library.formulas import piston_speed as piston_speed
    from truethrow.balance.library.formulas import plane_share as plane_share
    from truethrow.balance.library.jobs import example as example
    from truethrow.balance.library.jobs import load as load
    from truethrow.balance.library.jobs import match as match
    from truethrow.balance.library.jobs import shake as shake
    from truethrow.balance.library.jobs import share as share
    from truethrow.balance.library.jobs import sweep as sweep
    from truethrow.balance.library.jobs import trim as trim
    from truethrow.balance.library.jobs import work as work

    __version__: str

# Where each name is.
_AT = {
    **dict.fromkeys(("load", "work", "trim", "match", "shake", "share", "sweep", "example"), "library.jobs"),
    **dict.fromkeys(("bobweight", "curve", "permissible_unbalance", "plane_share"), "library.formulas"),
    **dict.fromkeys(("centrifugal_force", "drilled_hole", "piston_speed"), "library.formulas"),
    **dict.fromkeys(("BadInput", "TruethrowError"), "base.errors"),
}

__all__ = [  # noqa: PLE0604 (made of the table above, which a test holds to what is imported for types)
    *_AT,
    "__version__",
]


def __getattr__(name: str) -> object:
    if name == "__version__":
        from truethrow.balance.base.program import version  # noqa: PLC0415

        return version()
    if name not in _AT:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module  # noqa: PLC0415 (nor is this, before a name is asked for)

    found = getattr(import_module(f"truethrow.balance.{_AT[name]}"), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted(__all__)
