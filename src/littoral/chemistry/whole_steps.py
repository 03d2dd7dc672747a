"""The solver behind building water: how many whole steps of each salt come nearest to what is missing.

Minimised is, in meq/L: the sum of the deviations of each aim; plus EACH_SALT for every salt used, so that a further
powder must earn its place; plus SIDE_WEIGHT for each mg/L of ions that nobody asked for, to decide between equals.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from littoral.chemistry.water_errors import WaterError

EACH_SALT = 0.01
SIDE_WEIGHT = 1e-4
MOST_STEPS = 1_000_000
SECONDS = 5.0


def grams_without_steps(
    per_gram: Sequence[Sequence[float]], missing: Sequence[float], unasked: Sequence[float]
) -> list[float]:
    """Return the grams of each salt by non-negative least squares (Lawson & Hanson, in SciPy).

    `per_gram` meq/L of each aim (rows) per gram of each salt; `missing` meq/L of each aim, which may be negative;
    `unasked` mg/L of other ions per gram, which decide where salts can stand in for each other.
    """
    import numpy as np
    from scipy.optimize import nnls

    rows = np.vstack([np.array(per_gram), SIDE_WEIGHT * np.array(unasked)])
    scale = np.linalg.norm(rows, axis=0)
    scale[scale == 0] = 1.0
    found, _ = nnls(rows / scale, np.append(missing, 0.0))
    return [float(x) for x in found / scale]


def whole_steps(
    per_gram: Sequence[Sequence[float]], missing: Sequence[float], unasked: Sequence[float], step_g: Sequence[float]
) -> list[int]:
    """Return the whole number of steps of each salt; arguments as above, `step_g` grams per step.

    Minimise Σ d + EACH_SALT Σ used + SIDE_WEIGHT Σ unasked with |A n - b| <= d and n <= most x used, by HiGHS.
    Raises WaterError where that takes longer than SECONDS.
    """
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    a = np.array(per_gram) * np.array(step_g)
    b = np.array(missing)
    aims, salts = a.shape
    most = np.array([_most_steps(a[:, j].tolist(), b.tolist()) for j in range(salts)])
    none, slack, linked = np.zeros((aims, salts)), np.eye(aims), np.zeros((salts, aims))
    constraints = [  # variables: steps, used, deviations
        LinearConstraint(np.hstack([a, none, slack]), b, np.inf),
        LinearConstraint(np.hstack([a, none, -slack]), -np.inf, b),
        LinearConstraint(np.hstack([np.eye(salts), -np.diag(most), linked]), -np.inf, 0.0),
    ]
    found = milp(
        np.concatenate([SIDE_WEIGHT * np.array(unasked) * np.array(step_g), np.full(salts, EACH_SALT), np.ones(aims)]),
        constraints=constraints,
        integrality=np.concatenate([np.ones(2 * salts), np.zeros(aims)]),
        bounds=Bounds(0.0, np.concatenate([most, np.ones(salts), np.full(aims, np.inf)])),
        options={"mip_rel_gap": 0.0, "time_limit": SECONDS},
    )
    if found.status != 0:  # all zeros is always feasible, so only the time limit can bring us here
        raise WaterError(what="no proven weigh-out was found in time", right="Use fewer salts or coarser steps.")
    return [round(float(x)) for x in found.x[:salts]]


def _most_steps(gains: Sequence[float], missing: Sequence[float]) -> float:
    """Steps beyond which a salt can only do harm: past its largest missing aim every further one adds deviation."""
    reach = [lack / gain for gain, lack in zip(gains, missing, strict=True) if gain > 0 and lack > 0]
    return float(min(MOST_STEPS, math.ceil(max(reach)))) if reach else 0.0
