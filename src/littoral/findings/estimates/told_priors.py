"""What is likely before any reading, with what the trial file tells of the source water and of day 0."""

from __future__ import annotations

from dataclasses import replace

from littoral.findings.estimates.kept_tanks import Kept
from littoral.tank.fit.priors import LogNormal, Priors, default_priors, with_prior
from littoral.trial.model import Trial

LEAST_SAID_MG_PER_L = 0.01
"""A level written as 0 means below what a report tells apart; a log-normal needs something."""
SAID_LOG_SD = 0.15
SAID = "as the trial file says, give or take 15 in 100 (common practice, no source)"
"""What is written down for the source water and for day 0 is believed, but not to the digit."""


def priors_of(trial: Trial, kept: Kept) -> Priors:
    """Return the priors with what the trial file says of source water and of the levels on day 0."""
    priors = default_priors({key: way.method for key, way in kept.ways.items()})
    known = [key for key in kept.nutrients if key in priors.nutrients]
    for key in known:
        if trial.source is not None and key in trial.source.level_mg_per_l:
            priors = with_prior(priors, key, "source", _said(trial.source.level_mg_per_l[key]))
    starts = {}
    for tank in kept.tanks:
        for key in known:
            said = trial.tanks[tank.key].start_level_mg_per_l.get(key)
            if said is not None:
                starts[tank.key, key] = _said(said)
            elif trial.source is not None and key in trial.source.level_mg_per_l:
                # nothing is said of day 0: near the source water, where a tank that was just filled is; one that ran
                # before says its `start_levels`, and the page asks for them
                near = max(trial.source.level_mg_per_l[key], LEAST_SAID_MG_PER_L)
                starts[tank.key, key] = LogNormal(near, 0.7, "near the source water; common practice, no source")
    return replace(priors, start_of_tank=starts)


def _said(level_mg_per_l: float) -> LogNormal:
    log_sd = SAID_LOG_SD if level_mg_per_l >= LEAST_SAID_MG_PER_L else 1.0
    return LogNormal(max(level_mg_per_l, LEAST_SAID_MG_PER_L), log_sd, SAID)
