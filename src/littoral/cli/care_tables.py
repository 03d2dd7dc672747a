"""What the commands for today's list and the audit print."""

from __future__ import annotations

from typing import TYPE_CHECKING

from littoral.acts.see_today import STATE_WORDS
from littoral.cli.lines import table
from littoral.speech.say import translated

if TYPE_CHECKING:
    from littoral.acts.audit_care import Audited
    from littoral.acts.see_today import TankToday, Task, Today, TrialToday

MARK = {"due": "[ ]", "done": "[x]", "done otherwise": "[~]", "missed": "[-]", "overdue": "[ ]"}
SAME_MARKS = {"holds": "same", "fails": "NOT THE SAME", "warns": "look", "cannot tell": "not known"}


def today_text(today: Today) -> str:
    """Return every trial's day, tank by tank in the order of the bench."""
    return "\n\n".join(_trial(one) for one in today.trials)


def _trial(trial: TrialToday) -> str:
    head = f"{trial.title}\n{trial.date:%A} {trial.date}"
    if trial.running == "not begun":
        return f"{head}: begins in {-trial.day} days."
    if trial.running == "ended":
        return f"{head}: ended; it was {trial.days} days long."
    return "\n".join(
        [f"{head}, day {trial.day} of {trial.days}", *(line for one in trial.tanks for line in _tank(one, trial))]
    )


def _tank(tank: TankToday, trial: TrialToday) -> list[str]:
    left = f"{tank.left} to do" if tank.left else "nothing left to do"
    minutes = f", {tank.care_minutes:g} min of care so far" if tank.care_minutes else ""
    arm = f"from day {trial.baseline_days}: {tank.arm}" if trial.day < trial.baseline_days else tank.arm
    lines = ["", f"{tank.name} ({arm}): {left}{minutes}"]
    lines += [_line(one) for one in tank.tasks] or ["    nothing is planned today"]
    lines += [f"    [x] {one.clock:>5}  {one.words}   [{one.entry}]" for one in tank.besides]
    if tank.open_before:
        lines.append("  open from earlier days: do it, or let it go with  littoral record skip LOGBOOK " + tank.tank)
        lines += [_line(one, dated=True) for one in tank.open_before]
    return lines


def _line(task: Task, *, dated: bool = False) -> str:
    when = f"{task.date:%a %d %b}" if dated else task.clock
    said = task.words
    if task.state == "done otherwise":
        said = f"{task.words}: {task.done or translated(STATE_WORDS[task.state])}"
    elif task.state == "missed":
        said = f"{task.words}: {translated(STATE_WORDS[task.state])}"
    named = f"[{task.entries[0]}]" if task.entries else f'"{task.item}"'
    return f"    {MARK[task.state]} {when:>5}  {said}   {named}"


def audit_text(audited: Audited) -> str:
    """Return the audit as a table: what, the difference with its interval, the margin, and what it means."""
    return table(
        f"{audited.title}: {audited.arms[1]} minus {audited.arms[0]}",
        ("", "what", ">difference", ">margin", "", "comment"),
        (
            (
                SAME_MARKS[row.verdict],
                row.what,
                "" if row.value is None else f"{row.value:+.3g}",
                "" if row.limit is None else f"± {row.limit:.3g}",
                row.unit,
                row.comment,
            )
            for row in audited.rows
        ),
    )
