"""The joint-record plugin for desktop GIS: a thin face on the `asbuilt` command.

It runs on the host's own interpreter and imports nothing but the host and the standard library.

The plugin may be used under the GNU General Public License, version 2 or (at your choice) any later version, as in
LICENSE beside this file. The wheel in its folder package, which runs as a program of its own, is under Apache-2.0.
"""


def classFactory(iface):
    """Make the plugin, as the host asks for it."""
    from .plugin import JointRecords

    return JointRecords(iface)
