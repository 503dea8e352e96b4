"""What a person reads at a joint on the map: its form in tabs, verdict first, its map tip, and its label."""

import json
import re
import sqlite3
from contextlib import closing
from pathlib import Path

from qgis.core import (
    QgsAttributeEditorContainer,
    QgsAttributeEditorField,
    QgsAttributeEditorRelation,
    QgsCategorizedSymbolRenderer,
    QgsEditFormConfig,
    QgsEditorWidgetSetup,
    QgsField,
    QgsPalLayerSettings,
    QgsRuleBasedLabeling,
    QgsTextBufferSettings,
    QgsTextFormat,
    QgsVectorLayerSimpleLabeling,
)
from qgis.PyQt.QtGui import QColor

from .words import tr, vocabulary

ASSUMED = "assumed_in_words"
WHICH = "joint_route_station"
MEANT = "verdict_in_words"
PHOTO = "first_photo"
DEGREES = "deflection_in_words"
_VERDICT = (
    WHICH, "verdict", MEANT, DEGREES, ASSUMED, "allowable_source", "deflection_source", "inspection", "findings",
)  # fmt: skip
"""Texts all: numbers of a layer that is only read stand there in pale grey, and may lie beyond the form's edge."""
_CODED = ("verdict", "severity", "code", "inspection", "deflection_source", "position_source", "state")
"""Shown as they stand: a list of their long words would push the numbers out of the form."""
_CHOICE = "ValueMap"
"""How the host shows the codes that the file gives meanings for, in English."""
_LONG = (MEANT, DEGREES, ASSUMED, "allowable_source")
"""Read to the end: in one line, the form would show the end of such a text without its beginning."""
_DEGREES, _LENGTHS = 2, 2
_SAME_DEGREES = 0.005
"""Bounds that are no farther apart say nothing more than the deflection."""
_ROUNDED = ("distance", "easting", "northing", "elevation", "gap_mean", "gap_residual", "cover", "value", "limit")
_IN_TABS = 1
"""The layout of a form in tabs, by its number: a later host calls it otherwise than an earlier one."""
_STATION_SCALE, _FINDING_SCALE = 500, 2000


def set_up(layer, name, path):
    """Give a layer of a placed job or a register its legend in words, map tip, rounded numbers, and labels.

    Parameters
    ----------
    layer : QgsVectorLayer
    name : its name in the file
    path : the file
    """
    _translate_style(layer)
    if name == "joints":
        _add_name(layer)
        _add_words_of_verdict(layer)
        _add_words_of_deflection(layer)
        _add_words_of_assumptions(layer)
        layer.setMapTipTemplate(_joint_tip(layer))
        _label(layer, "joint", "station", _STATION_SCALE)
    elif name == "findings":
        layer.setMapTipTemplate(_finding_tip())
        _label(layer, "code", None, _FINDING_SCALE)
    elif name == "inspections" and layer.fields().indexOf("photo_files") >= 0:
        _show_photo(layer, path)
    _write_values(layer)


def lay_out(joints, relations):
    """Lay out the joints' form in tabs: verdict, place, inspections with their photos, findings.

    Parameters
    ----------
    joints : QgsVectorLayer
    relations : dict of a layer's name to the QgsRelation of its rows to the joints
    """
    form = QgsEditFormConfig(joints.editFormConfig())
    form.setLayout(QgsEditFormConfig.EditorLayout(_IN_TABS))
    form.clearTabs()
    root = form.invisibleRootContainer()
    fields = [field.name() for field in joints.fields()]
    verdict = [name for name in _VERDICT if name in fields]
    rest = [name for name in fields if name not in verdict and name != "verdict_assumes"]
    form.addTab(_tab(tr("Verdict"), root, joints, verdict))
    titles = {"inspections": tr("Inspections"), "findings": tr("Findings"), "photos": tr("Photos")}
    for name in ("inspections", "findings", "photos"):
        relation = relations.get("inspections" if name == "photos" else name)
        if relation is None or (name == "photos" and relation.referencingLayer().fields().indexOf(PHOTO) < 0):
            continue
        tab = QgsAttributeEditorContainer(titles[name], root)
        tab.setIsGroupBox(False)
        rows = QgsAttributeEditorRelation(relation.id(), relation, tab)
        rows.setRelationWidgetTypeId("relation_editor")
        tab.addChildElement(rows)
        form.addTab(tab)
    form.addTab(_tab(tr("Place and numbers"), root, joints, rest))
    joints.setEditFormConfig(form)


def _tab(title, root, layer, names):
    tab = QgsAttributeEditorContainer(title, root)
    tab.setIsGroupBox(False)
    for name in names:
        tab.addChildElement(QgsAttributeEditorField(name, layer.fields().indexOf(name), tab))
    return tab


def _add_name(layer):
    """Add a column that says in one line which joint it is: the host's title of a form does not."""
    if layer.fields().indexOf(WHICH) < 0:
        expression = 'array_to_string(array_filter(array("joint", "route", "station"), @element is not null), \', \')'
        layer.addExpressionField(expression, _text_field(layer, "joint", WHICH))
        layer.setFieldAlias(layer.fields().indexOf(WHICH), tr("Joint, route, station"))


def _add_words_of_verdict(layer):
    """Add a column that says in words what a verdict means."""
    if layer.fields().indexOf(MEANT) < 0:
        words = _in_words(vocabulary()["domains"]["verdict"], '"verdict"')
        layer.addExpressionField(words, _text_field(layer, "verdict", MEANT))
        layer.setFieldAlias(layer.fields().indexOf(MEANT), tr("That is"))


def _add_words_of_deflection(layer):
    """Add a column that says in one line what a joint deflects and may deflect, and how surely that is known."""
    if layer.fields().indexOf(DEGREES) >= 0:
        return
    alone = _filled(tr("{0} degrees"), "deflection_deg")
    allowed = _filled(tr("{0} of {1} degrees allowed"), "deflection_deg", "allowable_deg")
    bounds = ("deflection_floor_deg", "deflection_ceiling_deg")
    bounded = _filled(tr("the survey bounds it between {0} and {1} degrees"), *bounds)
    measured = _filled(tr("measured at the joint: {0} degrees"), "measured_deg")
    said = [f'if("allowable_deg" is null or "deflection_deg" is null, {alone}, {allowed})']
    said.append(f'if("{bounds[1]}" - "{bounds[0]}" > {_SAME_DEGREES}, {bounded}, NULL)')
    limit = _filled(tr("{0} degrees allowed"), "allowable_deg")
    said.append(f'if("deflection_deg" is null and "{bounds[1]}" - "{bounds[0]}" > {_SAME_DEGREES}, {limit}, NULL)')
    parts = ", ".join([*said, measured])
    expression = f"array_to_string(array_filter(array({parts}), @element is not null), '; ')"
    layer.addExpressionField(expression, _text_field(layer, "verdict", DEGREES))
    layer.setFieldAlias(layer.fields().indexOf(DEGREES), tr("Deflection"))


def _filled(text, *columns):
    """Write the expression that puts columns, rounded, where a text has {0} and {1}; null where one of them is."""
    pieces = re.split(r"\{(\d)\}", text)
    written = [
        f'format_number("{columns[int(piece)]}", {_DEGREES})' if at % 2 else _quoted(piece)
        for at, piece in enumerate(pieces)
        if piece
    ]
    return " || ".join(written)


def _add_words_of_assumptions(layer):
    """Add a column that says in words what a verdict assumes."""
    if "verdict_assumes" not in [field.name() for field in layer.fields()] or layer.fields().indexOf(ASSUMED) >= 0:
        return
    each = _in_words(vocabulary()["assumptions"], "@element")
    expression = (
        f"if(coalesce(\"verdict_assumes\", '') = '', NULL, "
        f"array_to_string(array_foreach(string_to_array(\"verdict_assumes\", ' '), {each}), '; '))"
    )
    layer.addExpressionField(expression, _text_field(layer, "verdict_assumes", ASSUMED))
    layer.setFieldAlias(layer.fields().indexOf(ASSUMED), tr("The verdict assumes that"))


def _text_field(layer, like, name):
    """Give a field of the type of a text that the layer has: how types are named differs from Qt 5 to 6."""
    field = QgsField(layer.fields().field(like))
    field.setName(name)
    field.setAlias("")
    return field


def _show_photo(layer, path):
    """Show the first photo of an inspection as a picture in its form."""
    if layer.fields().indexOf(PHOTO) < 0:
        expression = "string_to_array(\"photo_files\", ';')[0]"
        layer.addExpressionField(f"trim({expression})", _text_field(layer, "photo_files", PHOTO))
    index = layer.fields().indexOf(PHOTO)
    layer.setFieldAlias(index, tr("Photo"))
    shown = {
        "DocumentViewer": 1, "DocumentViewerHeight": 320, "DocumentViewerWidth": 0, "RelativeStorage": 2,
        "DefaultRoot": str(_folder_of_photos(path)), "FileWidget": True, "UseLink": True, "FullUrl": True,
    }  # fmt: skip
    layer.setEditorWidgetSetup(index, QgsEditorWidgetSetup("ExternalResource", shown))


def _folder_of_photos(path):
    """Give the folder that a job's photos are named from: that of its log, else that of the placed file."""
    folder = Path(path).resolve().parent
    with closing(sqlite3.connect(path)) as database:
        if database.execute("SELECT 1 FROM sqlite_master WHERE name = 'run'").fetchone():
            (inputs,) = database.execute("SELECT inputs FROM run").fetchone()
            folders = [Path(one["path"]).parent for one in json.loads(inputs) if Path(one["path"]).is_absolute()]
            return next((one for one in folders if one.is_dir()), folder)
    return folder


def _write_values(layer):
    """Show codes as they stand or by their meanings, and numbers rounded; what is stored stays as it is."""
    for index, field in enumerate(layer.fields()):
        name = field.name()
        if name in _LONG:
            layer.setEditorWidgetSetup(index, QgsEditorWidgetSetup("TextEdit", {"IsMultiline": True}))
        elif name in _CODED:
            layer.setEditorWidgetSetup(index, QgsEditorWidgetSetup("TextEdit", {}))
        elif field.isNumeric() and (name.endswith("_deg") or name in _ROUNDED or name.startswith("accuracy")):
            shown = {"Precision": _DEGREES if name.endswith("_deg") else _LENGTHS, "AllowNull": True, "Min": -1e12,
                     "Max": 1e12, "Step": 1, "Style": "SpinBox"}  # fmt: skip
            layer.setEditorWidgetSetup(index, QgsEditorWidgetSetup("Range", shown))
        elif layer.editorWidgetSetup(index).type() == _CHOICE:
            choices = [
                {tr(words): code for words, code in one.items()}
                for one in layer.editorWidgetSetup(index).config()["map"]
            ]
            layer.setEditorWidgetSetup(index, QgsEditorWidgetSetup(_CHOICE, {"map": choices}))


def _translate_style(layer):
    """Say in the host's language what the style, which is in English, says in its legend and its labels."""
    if isinstance(layer.renderer(), QgsCategorizedSymbolRenderer):
        # A renderer of its own, so that the host sees that the legend is another.
        renderer = layer.renderer().clone()
        for index, category in enumerate(renderer.categories()):
            renderer.updateCategoryLabel(index, _translated(category.label()))
        layer.setRenderer(renderer)
    if isinstance(layer.labeling(), QgsVectorLayerSimpleLabeling):
        settings = QgsPalLayerSettings(layer.labeling().settings())
        if settings.isExpression:
            settings.fieldName = re.sub("'([^']*)'", lambda text: _quoted(_translated(text[1])), settings.fieldName)
            layer.setLabeling(QgsVectorLayerSimpleLabeling(settings))


def _translated(text):
    """Translate a text of a style, with the blanks around it as they are."""
    words = text.strip()
    return text.replace(words, tr(words)) if words else text


def _joint_tip(layer):
    lines = [
        f'<b>{tr("Joint")} [% "joint" %]</b>, {tr("route")} [% "route" %], [% "station" %]<br>',
        f"[% {_in_words(vocabulary()['domains']['verdict'], chr(34) + 'verdict' + chr(34))} %]",
        f"[% if(\"deflection_deg\" is null, '', '<br>' || round(\"deflection_deg\", 2) || ' / ' || "
        f"coalesce(round(\"allowable_deg\", 2), '?') || ' {tr('degrees')}') %]",
    ]
    if layer.fields().indexOf(ASSUMED) >= 0:
        lines.append(f"[% coalesce('<br><i>{_in_text(tr('if'))} ' || \"{ASSUMED}\" || '</i>', '') %]")
    return "".join(lines)


def _finding_tip():
    return (
        '<b>[% "code" %]</b> ([% "severity" %])[% coalesce(\'<br>\' || "route" || \' \' || "joint" || \' \' || '
        '"station", \'\') %]<br>[% "message" %]'
    )


def _label(layer, near, nearer, scale):
    """Label a layer's points from a scale on; where there is a second text, nearer still with both."""
    labeling = layer.labeling()
    base = labeling.settings() if labeling is not None and hasattr(labeling, "settings") else _plain_label()
    root = QgsRuleBasedLabeling.Rule(None)
    both = f'"{near}" || \'\\n\' || "{nearer}"'
    rules = [(both, scale, 0), (f'"{near}"', 2 * scale, scale)] if nearer else [(f'"{near}"', scale, 0)]
    for text, smallest, largest in rules:
        settings = QgsPalLayerSettings(base)
        settings.fieldName, settings.isExpression, settings.scaleVisibility = text, True, False
        rule = QgsRuleBasedLabeling.Rule(settings)
        rule.setMinimumScale(smallest)
        rule.setMaximumScale(largest)
        rule.setDescription(text)
        root.appendChild(rule)
    layer.setLabeling(QgsRuleBasedLabeling(root))
    layer.setLabelsEnabled(True)


def _plain_label():
    settings = QgsPalLayerSettings()
    text, buffer = QgsTextFormat(), QgsTextBufferSettings()
    text.setSize(8)
    text.setColor(QColor(0, 0, 0))
    buffer.setEnabled(True)
    buffer.setSize(0.8)
    text.setBuffer(buffer)
    settings.setFormat(text)
    settings.dist = 3.5
    return settings


def _in_words(words, code):
    """Write the expression that gives the words of a code in the host's language, or the code where it has none."""
    known = ", ".join(f"{_quoted(one)}, {_quoted(tr(text))}" for one, text in words.items())
    return f"coalesce(map_get(map({known}), {code}), {code})"


def _quoted(text):
    return "'" + _in_text(text) + "'"


def _in_text(text):
    return text.replace("\\", "\\\\").replace("'", "''")
