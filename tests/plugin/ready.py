"""The `asbuilt` command with its libraries read beforehand, each call in a process of its own that forks from here.

Reading them takes two seconds of a processor, the work on the sample half a second, and the tests of the plugin call
the command a hundred times. What is about the process itself (its start, its end, its environment) is tested on the
command as it is.

    python ready.py SOCKET                 serves until its standard input ends
    python ready.py SOCKET call ARGUMENT   calls, as the command would be called
"""

import contextlib
import json
import os
import signal
import socket
import sys

STREAMS = (0, 1, 2)


def call(path, arguments):
    """Have the command run with this process's streams, folder and environment, and end as it ends."""
    with socket.socket(socket.AF_UNIX) as there:
        there.connect(path)
        socket.send_fds(there, [b"?"], STREAMS)
        with there.makefile("rwb") as stream:
            stream.write(json.dumps([arguments, os.getcwd(), dict(os.environ)]).encode() + b"\n")
            stream.flush()
            signal.signal(signal.SIGTERM, lambda *_: there.sendall(b"T"))
            status = stream.readline()
    # Nothing is said by one that was killed.
    sys.exit(int(status or 137))


def serve(path):
    """Answer calls until standard input ends."""
    _read_libraries()
    import select

    with socket.socket(socket.AF_UNIX) as door:
        door.bind(path)
        door.listen(64)
        print("ready", flush=True)
        while True:
            heard, _, _ = select.select([door, sys.stdin], [], [])
            if sys.stdin in heard:
                return
            caller, _ = door.accept()
            if os.fork() == 0:
                door.close()
                _answer(caller)
            caller.close()
            _bury()


def _bury():
    """Let go of calls that ended."""
    with contextlib.suppress(ChildProcessError):
        while os.waitpid(-1, os.WNOHANG)[0]:
            pass


def _read_libraries():
    import importlib
    import pkgutil

    import asbuilt

    names = [one.name for one in pkgutil.walk_packages(asbuilt.__path__, "asbuilt.")]
    for name in (*names, *LIBRARIES):
        if name != "asbuilt.__main__" and not name.startswith("asbuilt.plugin"):
            importlib.import_module(name)


LIBRARIES = ("geopandas", "openpyxl", "pandas", "pyarrow.compute", "pyogrio", "pyproj", "shapely", "sqlalchemy",
             "sqlalchemy.dialects.sqlite", "python_calamine", "rich.console", "jinja2")  # fmt: skip


def _answer(caller):
    """Be the command of one call."""
    import threading

    from asbuilt.cli import main

    _, streams, _, _ = socket.recv_fds(caller, 1, len(STREAMS))
    stream = caller.makefile("rb")
    arguments, folder, surroundings = json.loads(stream.readline())
    for mine, theirs in zip(STREAMS, streams, strict=True):
        os.dup2(theirs, mine)
        os.close(theirs)
    # Fresh ones: those from before the fork may hold what was read there.
    sys.stdin, sys.stdout, sys.stderr = map(os.fdopen, STREAMS, "rww")
    os.chdir(folder)
    os.environ.clear()
    os.environ.update(surroundings)
    sys.argv = ["asbuilt", *arguments]

    def heed():
        """Be asked to end, or end with who called."""
        while stream.read(1):
            os.kill(os.getpid(), signal.SIGTERM)
        os._exit(1)

    threading.Thread(target=heed, daemon=True).start()
    try:
        main()
    except SystemExit as end:
        status = end.code
    except BaseException:
        import traceback

        traceback.print_exc()
        status = 1
    sys.stdout.flush()
    sys.stderr.flush()
    caller.sendall(f"{status or 0}\n".encode())
    os._exit(0)


if __name__ == "__main__":
    if sys.argv[2:3] == ["call"]:
        call(sys.argv[1], sys.argv[3:])
    else:
        serve(sys.argv[1])
