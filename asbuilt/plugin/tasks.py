"""Questions to the command in the background, so that the window never waits for a child."""

from qgis.core import QgsApplication, QgsTask

from . import child, environment
from .words import tr

_running = set()


class Question(QgsTask):
    """One command, asked in a thread of its own; its answer comes back to the window's thread."""

    def __init__(self, arguments, answered, failed):
        super().__init__(tr("Joint records: {0}").format(arguments[0]), QgsTask.Flag.CanCancel)
        self.arguments, self.answered, self.failed = arguments, answered, failed
        self.answer, self.error, self.heard = None, "", True

    def run(self):
        """Ask; the host calls this in a thread."""
        try:
            self.answer = child.ask(environment.command(), self.arguments, cancelled=self.isCanceled)
        except child.ChildError as error:
            self.error = str(error)
        return self.answer is not None

    def finished(self, result):
        """Hand the answer over; the host calls this in the window's thread."""
        _running.discard(self)
        if self.heard and self.answer is not None:
            self.answered(self.answer)
        elif self.heard:  # be it cancelled in the host's list of tasks
            self.failed(self.error)


def ask(arguments, answered, failed):
    """Ask a command in the background.

    Parameters
    ----------
    arguments : list of str
    answered : function of the answer
    failed : function of the message

    Returns
    -------
    Question
        For `cancel`.
    """
    return _begun(Question(arguments, answered, failed))


class _Work(QgsTask):
    """A function that takes a while, in a thread of its own."""

    def __init__(self, title, function, answered):
        super().__init__(title, QgsTask.Flag.CanCancel)
        self.function, self.answered = function, answered
        self.answer, self.heard = None, True

    def run(self):
        """Do it; the host calls this in a thread."""
        self.answer = self.function()
        return True

    def finished(self, result):
        """Hand the answer over; the host calls this in the window's thread."""
        _running.discard(self)
        if result and self.heard:
            self.answered(self.answer)


def work(title, function, answered):
    """Call a function in the background, and hand what it gives to another.

    Returns
    -------
    QgsTask
        For `cancel`.
    """
    return _begun(_Work(title, function, answered))


def cancel(task):
    """Cancel what runs; nobody hears of its end. What has ended, which the host throws away, stays as it is."""
    if task in _running:
        task.heard = False
        task.cancel()


def cancel_all():
    """Cancel all that runs."""
    for task in list(_running):
        cancel(task)


def are_running():
    """Tell whether anything runs, be it to its end after it was cancelled."""
    return bool(_running)


def _begun(task):
    """Hand a task to the host, and keep it alive, which the host does not."""
    _running.add(task)
    QgsApplication.taskManager().addTask(task)
    return task
