"""The joint-record plugin for desktop GIS: a thin face on the `asbuilt` command.

It runs on the host's own interpreter and imports nothing but the host and the standard library.
"""


def classFactory(iface):
    """Make the plugin, as the host asks for it."""
    from .plugin import JointRecords

    return JointRecords(iface)
