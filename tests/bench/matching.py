"""One engine matched: ours beside a general-purpose exact solver (OR-Tools CP-SAT) on the same engines; and the
least metal of arrangement and trim, with its bound; then kinds that were hard, both with the same processor time;
and what the usual aims bring once the parts are trimmed.

Run: python tests/bench/matching.py [engines] [seconds of the processor that the solver may take]. Nothing is
asserted. The aims: proved in under 1 s for one aim and 5 s for two in order, and sooner than the solver; of the
hard kinds none worse. Import and model building are left out on both sides.
"""

import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import exact_solver
import metal_jobs
import questions
import scattered_jobs
import trims

from truethrow.balance.matching import aims, compared, match, solve
from truethrow.balance.matching.effort import Effort

ORDERS = (
    ("bobweight",),
    ("reciprocating",),
    ("residual",),
    ("bobweight", "reciprocating"),
    ("reciprocating", "bobweight"),
    ("limits", "bobweight", "reciprocating", "residual"),
)
ROUNDED_G = 0.02  # by the exact solver, over all cuts of an engine
LIMITS = {"bobweight": 1.5, "reciprocating": 2.0}


def ours(asked, names):
    listed = questions.as_listed(asked)
    made = [aims.MAKERS[name](asked) for name in names]
    start = time.process_time()
    found = solve.solve(asked, made, listed, Effort(1e6))
    return time.process_time() - start, found.reached


def theirs(asked, names, seconds):
    """Time to its own proof, or None, and the values in steps."""
    caps, taken, proved = {}, 0.0, True
    for name in names:
        caps[name], sure, own = exact_solver.solve_one(asked, name, caps, seconds)
        taken += own
        proved &= sure
    return taken, proved, caps


def report(units, engines, seconds):
    sys.stdout.write(f"V8 of {', '.join(units)}; {engines} engines; median (longest) seconds to the proof\n")
    for names in ORDERS:
        own, other, proved, solver_proved, differing = [], [], 0, 0, 0
        for seed in range(engines):
            asked = questions.question(seed, units=units, limits_g=LIMITS)
            taken, reached = ours(asked, names)
            own.append(taken)
            proved += all(aim.proved for aim in reached)
            if set(names) <= {"bobweight", "reciprocating"}:
                taken, sure, values = theirs(asked, names, seconds)
                other.append(taken)
                solver_proved += sure
                step_g = exact_solver.step_of_all(asked) / asked.per_g
                same = all(abs(aim.value - values[aim.name] * step_g) < 1e-9 for aim in reached)
                differing += sure and not same
        line = f"  {', '.join(names):<46} ours {statistics.median(own):6.3f} ({max(own):6.3f}), proved {proved}"
        if other:
            line += f"; solver {statistics.median(other):6.2f} ({max(other):5.2f}), proved {solver_proved}"
            line += f", ratio {statistics.median(other) / statistics.median(own):5.1f}, differing {differing}"
        sys.stdout.write(line + "\n")


ALL_FOUR = ("rod", "piston", "pin", "rings")
TWO = ("bobweight", "reciprocating")
# What is asked, in which ways to scatter, on which scale, in which aims.
HARD = (
    ("v8-90-crossplane", ALL_FOUR, "outliers", 0.1, (TWO[:1], TWO[1:], TWO)),
    ("v8-90-crossplane", ALL_FOUR, "normal", 0.01, (TWO[:1], TWO[1:], TWO)),
    ("inline-8", ALL_FOUR[:3], "skewed", 0.01, (TWO[:1], TWO[1:], TWO)),
    ("v12-60", ALL_FOUR[:3], "normal", 0.1, (TWO, TWO[::-1])),
    ("v16-90", ALL_FOUR[:2], "normal", 0.1, (TWO[1:], TWO, TWO[::-1])),
    ("v16-90", ALL_FOUR[:3], "normal", 0.1, (TWO[1:],)),
)


def report_hard(engines, seconds):
    """Ours beside the solver with as much of the processor: never worse, or proved."""
    sys.stdout.write("Hard kinds; median (longest) seconds of the processor; worse: than what the solver found\n")
    for layout, units, scatter, step_g, orders in HARD:
        for names in orders:
            own, other, proved, solver_proved, worse, better = [], [], 0, 0, 0, 0
            for seed in range(engines):
                asked = questions.question(seed, layout, units, step_g=step_g, scatter=scatter)
                made = [aims.MAKERS[name](asked) for name in names]
                start = time.process_time()
                reached = solve.solve(asked, made, questions.as_listed(asked), Effort(1e6)).reached
                own.append(time.process_time() - start)
                taken, sure, values = theirs(asked, names, max(seconds, own[-1]) / len(names))
                other.append(taken)
                proved += all(aim.proved for aim in reached)
                solver_proved += sure
                step_in_g = exact_solver.step_of_all(asked) / asked.per_g
                differing = [aim.value - values[aim.name] * step_in_g for aim in reached]
                first = next((difference for difference in differing if abs(difference) > 1e-9), 0.0)
                worse, better = worse + (first > 0), better + (first < 0)
            said = f"  {layout} of {len(units)} kinds, {scatter}, {step_g} g, {', '.join(names)}:"
            sys.stdout.write(
                f"{said:<82} ours {statistics.median(own):5.2f} ({max(own):5.2f}), proved {proved} of {engines};"
                f" solver {statistics.median(other):5.2f} ({max(other):5.2f}), proved {solver_proved};"
                f" worse {worse}, better {better}\n"
            )
            sys.stdout.flush()


def report_metal(engines, seconds):
    """Ours beside the solver, the same least metal of arrangement and cuts; above: what the solver found or, where
    ours is told to be proved, what it proved."""
    taken, other, gaps, theirs_proved, above, false = [], [], [], 0, 0, 0
    for seed in range(engines):
        result = metal_jobs.of_two_limits(seed)
        start = time.process_time()
        (metal,) = match.match(result, 1200).reached
        taken.append(time.process_time() - start)
        gaps.append((metal.value - metal.bound) / metal.value if metal.value else 0.0)
        value, bound, sure, own = exact_solver.least_metal(*metal_jobs.limits_of(result), max(seconds, taken[-1]))
        other.append(own)
        theirs_proved += sure
        above += metal.value > value + ROUNDED_G
        false += metal.bound > value + ROUNDED_G or metal.value < bound - ROUNDED_G
    sys.stdout.write(
        f"V8 of rods and pistons, least metal: ours {statistics.median(taken):.1f} s of the processor"
        f" ({max(taken):.1f}), proved {gaps.count(0.0)} of {engines}, widest gap {max(gaps):.1%};"
        f" solver {statistics.median(other):.1f} s ({max(other):.1f}), proved {theirs_proved};"
        f" ours above what it found {above}, a bound above it {false}\n"
    )


def report_trimmed(engines):
    """The usual aims: whether what is proposed is better than as the parts sit once both are trimmed, and how
    often sorting by hand is better still; how many parts move, and the metal. Each part was weighed twice."""
    moved, taken, before, worse, by_hand_better, kept = [], [], [], 0, 0, 0
    for seed in range(5000, 5000 + engines):
        parts = [
            {kind: [grams, grams] if isinstance(grams, float) else grams for kind, grams in own.items()}
            for own in scattered_jobs.scattered(seed)
        ]
        result = scattered_jobs.worked(parts, limits=LIMITS, trim=trims.PADS, match={"move": ["piston", "rod"]})
        found = match.match(result, 1200)
        moved.append(sum(len(own) for own in found.moves.values()))
        taken.append(compared.figures(found.matched)["trim_g"])
        before.append(compared.figures(found.now)["trim_g"])
        kept += not found.moves
        worse += bool(found.moves) and not match.is_better_trimmed(found.matched, found.now)
        by_hand_better += found.by_hand is not None and match.is_better_trimmed(found.by_hand, found.matched)
    sys.stdout.write(
        f"V8 of rods and pistons, usual aims, once trimmed: {kept} of {engines} stay as they sit; parts"
        f" that move {statistics.median(moved)} ({max(moved)}); metal {statistics.median(taken):.1f} g, as sat"
        f" {statistics.median(before):.1f} g; proposed but no better {worse}; by hand better {by_hand_better}\n"
    )


def main() -> None:
    engines = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    seconds = float(sys.argv[2]) if len(sys.argv) > 2 else 5.0
    report(("rod", "piston"), engines, seconds)
    report(("rod", "piston", "pin"), engines, seconds)
    report_hard(engines, seconds)
    report_metal(engines, seconds)
    report_trimmed(engines)


if __name__ == "__main__":
    main()
