"""The plugin's Qt names are those of Qt 6 too, and the script that says so finds what is wrong."""

import importlib.util
import sys
from pathlib import Path

import pytest

SCRIPTS = Path(__file__).resolve().parents[2] / "scripts"
sys.path.insert(0, str(SCRIPTS))

import check_qt6  # noqa: E402


@pytest.fixture
def stubs():
    package = importlib.util.find_spec("PyQt6")
    if package is None:
        pytest.skip("NOT CHECKED: PyQt6 (the extra qt6) is not here; .ci/run brings it")
    return check_qt6.Stubs(Path(package.submodule_search_locations[0]))


def test_every_qt_name_of_the_plugin_is_one_of_qt_6(stubs):
    wrong, checked = check_qt6.check(check_qt6.PLUGIN, stubs)
    assert wrong == []
    assert checked > 200


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("from qgis.PyQt.QtCore import QRegExp", "QRegExp is not for Qt 6"),
        ("from qgis.PyQt.QtCore import QVariant", "QVariant is not for Qt 6"),
        ("from qgis.PyQt.QtWidgets import QAction", "PyQt6 has no QAction in QtWidgets"),
        ("from qgis.PyQt.QtCore import Qt\nside = Qt.AlignLeft", "PyQt6 has no Qt.AlignLeft"),
        ("from qgis.PyQt.QtWidgets import QDialog\nQDialog().exec_()", "exec_ is not for Qt 6"),
        ("from qgis.PyQt.QtWidgets import QDialog\none = QDialog()\none.exec_()", "exec_ is not for Qt 6: take exec"),
        ("from qgis.PyQt.QtWidgets import QTableWidget\none = QTableWidget()\none.setMargin(3)", "no one.setMargin"),
        ("from qgis.core import Qgis\nlevel = Qgis.Warning", "Qgis.Warning: write the enum with its scope"),
    ],
)
def test_a_name_of_qt_5_alone_is_found(stubs, tmp_path, line, said):
    (tmp_path / "one.py").write_text(line + "\n")
    wrong, _ = check_qt6.check(tmp_path, stubs)
    assert said in " ".join(wrong)


def test_names_of_both_pass(stubs, tmp_path):
    (tmp_path / "one.py").write_text(
        "from qgis.PyQt.QtWidgets import QComboBox, QDialogButtonBox\n"
        "box = QComboBox()\nbox.setItemData(0, 1)\nbox.setToolTip('')\nbox.currentTextChanged.connect(print)\n"
        "kinds = QDialogButtonBox.StandardButton\nboth = kinds.Ok | kinds.Cancel\n"
    )
    wrong, checked = check_qt6.check(tmp_path, stubs)
    assert (wrong, checked) == ([], 8)
