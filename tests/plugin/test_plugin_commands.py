"""Every command and option has its place in the plugin, or a reason why it has none."""

import ast

import build_plugin
import click

from asbuilt.cli import cli

ELSEWHERE = {
    "demo": "its sample is files for the first steps on the command line; the form takes them as it takes any other",
    "check --template": "the form asks for the keys, and saves them as a job file",
    "check --strict": "a status for scripts; the form says what was set aside",
    "compare --strict": "a status for scripts",
    "conflicts --all": "settled ones are told by the command",
    "load --crs": "for the first load into a register kept in another system than its job's",
    "load --tolerance": "for settling by hand",
    "load --accept-accuracy": "an exception that a person must type, having read why",
    "load --end-tests": "an exception that a person must type, having read which tests end",
    "conflicts --other-sizes": "an exception that a person must type, having read of which sizes the joints are",
    "conflicts --however-far": "an exception that a person must type, having read how far the joints are apart",
    "info --against": "for whoever keeps two copies of a register, and settles by hand which one goes on",
    "load --strict": "a status for scripts",
    "find --accept-accuracy": "an exception that a person must type, having read why",
    "map --strict": "a status for scripts",
    "place --workers": "many jobs at once; in the host, a batch",
    "place --scheduler": "many jobs at once; in the host, a batch",
    "place --resume": "many jobs at once; in the host, a batch",
    "place --report": "many jobs at once; in the host, a batch",
    "place --strict": "a status for scripts",
    "review --paper": "printing is set on the command line",
    "review --photos": "photos of the job are looked for where the job names them",
    "review --photo-folder": "photos of the job are looked for where the job names them",
    "review --dxf": "the host writes DXF of its own layers",
    "review --landxml": "for who draws, on the command line",
    "review --issues": "the list that came back is read on the command line",
    "serve --host": "the plugin serves this machine alone",
    "serve --address": "the plugin serves this machine alone",
    "serve --token-file": "the plugin serves this machine alone",
    "serve --user-header": "the plugin serves this machine alone",
    "serve --photos": "set where a register is served for many",
    "serve --tiles": "set where a register is served for many",
    "serve --attribution": "set where a register is served for many",
    "sheet --rows": "set on the command line",
    "sheet --paper": "set on the command line",
}  # fmt: skip
"""What the plugin does not hand over, and why."""
IN_ANY = {"--json", "--progress", "--by"}
"""Options that the plugin gives by itself wherever there are any."""
QUERY = "questions of this kind are asked on the search page, which the menu opens"
ELSEWHERE |= {
    f"find --{name}": QUERY
    for name in ("size", "type", "kind", "crew", "job", "load", "month", "item", "column", "service", "tested",
                 "no-inspection", "no-photo", "unmarked", "over-deg", "changed-since", "group-by", "map")
}  # fmt: skip


def handed_over():
    """Give each command that the plugin asks, with the options that stand in the class or function that asks it."""
    found = {}
    for file in sorted(build_plugin.PLUGIN.glob("*.py")):
        tree = ast.parse(file.read_text("utf-8"))
        shared = {text for node in tree.body if isinstance(node, ast.Assign) for text in _texts(node)}
        for part in tree.body:
            texts = _texts(part) | (shared if isinstance(part, ast.ClassDef) else set())
            for command in set(cli.commands) & {
                one.elts[0].value
                for one in ast.walk(part)
                if isinstance(one, ast.List) and one.elts and isinstance(one.elts[0], ast.Constant)
            } | ({"serve"} if "serve" in texts and file.name == "serving.py" else set()):
                found.setdefault(command, set()).update(text.partition("=")[0] for text in texts if text[:2] == "--")
    return found


def _texts(tree):
    return {one.value for one in ast.walk(tree) if isinstance(one, ast.Constant) and isinstance(one.value, str)}


def commands_and_options():
    """Give all that the command offers."""
    for name, command in cli.commands.items():
        yield name, None
        for one in command.params:
            if isinstance(one, click.Option) and not set(one.opts) & IN_ANY:
                yield name, max(one.opts, key=len)


def test_every_command_and_option_is_in_the_plugin_or_has_a_reason():
    given = handed_over()
    for command, option in commands_and_options():
        name = f"{command} {option}" if option else command
        if command in ELSEWHERE:
            assert command not in given, name
            continue
        here = command in given if option is None else option in given[command] or _by_name(command, option)
        assert here != (name in ELSEWHERE), f"{name}: {'is in the plugin' if here else 'has no place and no reason'}"


def _by_name(command, option):
    """Options that the plugin names after the field of the form."""
    return (command, option) in {
        ("review", "--pdf"), ("review", "--plots"), ("find", "--verdict"), ("find", "--finding"), ("find", "--since"),
        ("find", "--until"),
    }  # fmt: skip


def test_no_reason_stands_for_what_is_not_there():
    there = {f"{command} {option}" if option else command for command, option in commands_and_options()}
    assert set(ELSEWHERE) <= there


def test_a_new_command_without_a_place_is_found(monkeypatch):
    monkeypatch.setitem(cli.commands, "brand-new", click.Command("brand-new"))
    try:
        test_every_command_and_option_is_in_the_plugin_or_has_a_reason()
    except AssertionError as error:
        assert "brand-new: has no place and no reason" in str(error)  # noqa: PT017
    else:
        raise AssertionError("it was not found")
