"""What a command answered, said in sentences in the log of a form."""

from .words import meaning, tr

_ROUTINE = "note"
_NAMED = 20
"""Joints named one by one; of more, only how many they are is said."""


def job(answer, feedback, in_words):
    """Say what became of a job's records.

    Parameters
    ----------
    answer : dict, of `asbuilt check` or `asbuilt place`
    feedback : QgsProcessingFeedback
    in_words : function of a message that puts it in the words of the form
    """
    say = feedback.pushInfo
    say(
        tr("{0} records were read; {1} were placed and {2} were set aside.").format(
            answer["records_read"], answer["inspections_placed"], answer["records_set_aside"]
        )
    )
    for reason, count in answer["set_aside_by_reason"].items():
        say("    " + tr("{0} set aside as {1}: {2}").format(count, reason, meaning("set_aside_reason", reason)))
    say(
        tr("They are {0} joints, on {1} of {2} routes.").format(
            answer["joints"], answer["routes_with_joints"], answer["routes"]
        )
    )
    for verdict, count in answer["joints_by_verdict"].items():
        say("    " + tr("{0} judged {1}: {2}").format(count, verdict, meaning("verdict", verdict)))
        if verdict == "over" and answer["joints_over_together"]:
            say(
                "        "
                + tr("{0} of these share a turn with others, and one or more of them all is over").format(
                    answer["joints_over_together"]
                )
            )
    say(tr("There are {0} findings to look at.").format(answer["findings"]))
    for code, count in answer["findings_by_code"].items():
        say("    " + tr("{0} of {1}: {2}").format(count, code, meaning("finding_code", code)))
    codes = answer["note_codes"]
    for at, note in enumerate(answer["notes"]):
        routine = at >= len(codes) or codes[at]["severity"] == _ROUTINE
        (say if routine else feedback.pushWarning)(tr("Note: {0}").format(in_words(note)))


def load(answer, say):
    """Say what became of a placed job in the register."""
    if answer["dry_run"]:
        say(tr("Nothing was changed; this is what a load would do."))
    elif answer["made"]:
        say(tr("The register {0} was made.").format(answer["register"]))
    joints, records, found = answer["joints"], answer["inspections"], answer["findings"]
    say(
        tr("{0} joints were read: {1} new, {2} changed, {3} unchanged, {4} left out.").format(
            joints["read"], joints["new"], joints["updated"], joints["unchanged"], joints["left_out"]
        )
    )
    say(
        tr("{0} inspections were read: {1} new, {2} unchanged, {3} left out; {4} earlier ones are superseded.").format(
            *(records[name] for name in ("read", "added", "unchanged", "left_out", "superseded"))
        )
    )
    say(
        tr("{0} findings were read: {1} new; {2} earlier ones are superseded.").format(
            *(found[name] for name in ("read", "added", "superseded"))
        )
    )
    if answer["conflicts"]:
        say(tr("{0} joints contradict the register and wait to be settled: {1}").format(
            len(answer["conflicts"]), _joints(answer["conflicts"])
        ))  # fmt: skip
    if answer["not_mentioned"]:
        say(tr("The job says nothing of joints that it brought earlier; they stay: {0}").format(
            _joints(answer["not_mentioned"])
        ))  # fmt: skip
    if answer["replaced"]:
        say(tr("{0} joints of the main that was replaced are out of service.").format(answer["replaced"]))
    notes(answer, say)
    if answer["load"] is not None:
        say(tr("This is load {0}; by that number it can be undone.").format(answer["load"]))
    elif not answer["dry_run"]:
        say(tr("The register was not changed."))


def undo(answer, say):
    """Say what undoing a load did."""
    if answer["dry_run"]:
        say(tr("Nothing was changed; this is what undoing would do."))
    say(tr("Load {0} of the job '{1}': {2} joints are taken out, {3} are as they were before it.").format(
        answer["load"], answer["job"], answer["joints_removed"], answer["joints_restored"]
    ))  # fmt: skip
    say(tr("{0} inspections are undone, {1} stand again.").format(
        answer["inspections_undone"], answer["inspections_restored"]
    ))  # fmt: skip
    if answer["undone_with"]:
        say(tr("Undone with it: load {0}, of which all joints were left out for it; theirs stand under a main.").format(
            ", ".join(map(str, answer["undone_with"]))
        ))  # fmt: skip


def conflicts(answer, say):
    """Say which joints wait to be settled."""
    if not answer["conflicts"]:
        say(tr("No joint waits to be settled."))
        return
    say(tr("{0} joints of {1} jobs wait to be settled:").format(answer["joints"], answer["jobs"]))
    for one in answer["conflicts"][:_NAMED]:
        say("    " + tr("Job '{0}', route {1}, joint {2}: {3}").format(
            one["job"], one["route"], one["joint"], one.get("message") or one.get("reason", "")
        ))  # fmt: skip
    if len(answer["conflicts"]) > _NAMED:
        say("    " + tr("and {0} more").format(len(answer["conflicts"]) - _NAMED))


def settled(answer, say):
    """Say what became of joints that waited."""
    say(tr("{0} joints of the job '{1}' are settled.").format(answer["joints"], answer["job"]))
    for number in answer["loads"]:
        say(tr("This is load {0}; by that number it can be undone.").format(number))
    if answer["still"]:
        say(tr("{0} joints still wait.").format(len(answer["still"])))


def owner_map(answer, say, dry_run):
    """Say what became of a job's joints on the utility's layer."""
    where = tr("Layer {0} of {1}:").format(answer["layer"], answer["into"])
    told = (
        tr("{0} of {1} joints are there already; {2} would be added and {3} changed. Nothing was written.")
        if dry_run
        else tr("{0} of {1} joints were there already; {2} were added and {3} changed.")
    )
    numbers = (answer["already_there"], answer["joints"], answer["to_add"], answer["to_update"])
    say(f"{where} {told.format(*numbers)}")
    notes(answer, say)


def comparison(answer, say):
    """Say what is different between two placed files."""
    say(answer["answer"])
    for path in answer["written"]:
        say(tr("Written: {0}").format(path))
    notes(answer, say)


def review(answer, say):
    """Say what the review says of each route."""
    for route in answer["routes"]:
        say(tr("Route {0}: {1}").format(route["route"], route["answer"]))
    say(tr("Written: {0}").format(answer["index"]))


def notes(answer, say):
    """Say what a command noticed."""
    for note in answer["notes"]:
        say(tr("Note: {0}").format(note))


def _joints(joints):
    named = ", ".join(f"{one['route']} {one['joint']}" for one in joints[:_NAMED])
    return named if len(joints) <= _NAMED else f"{named} " + tr("and {0} more").format(len(joints) - _NAMED)


def inventory(answer, say):
    """Say what is in a register."""
    say(tr("{0}: {1} joints and {2} inspections, in {3}.").format(
        *(answer[name] for name in ("register", "joints", "inspections", "crs")))
    )  # fmt: skip
    for one in answer["mains"]:
        say("    " + tr("Main {0}: {1} joints, inspected from {2} to {3}.").format(
            *(one[name] or "?" for name in ("route", "joints", "first_inspected_on", "last_inspected_on")))
        )  # fmt: skip
    for one in answer["complete"]["job"]:
        text = tr("Job {0}: of {1} joints, the records of {2} are complete, {3} incomplete, {4} failed; {5} have none.")
        say("    " + text.format(*(one[name] for name in ("of", "joints", "complete", "incomplete", "failed", "none"))))
    for state, count in answer["out_of_service"].items():
        say(tr("{0} joints are {1}: {2}").format(count, state, meaning("service", state)))
    if answer["waiting"]["joints"]:
        say(tr("{0} joints wait to be settled.").format(answer["waiting"]["joints"]))
