<?xml version="1.0" encoding="utf-8"?>
<!DOCTYPE TS>
<TS version="2.1" language="de">
<context>
    <name>asbuilt</name>
    <message>
        <location filename="../again.py"/>
        <source>This job was placed from selected features only, or from a layer in memory ({0}): what was chosen then is not known any more. Open the form from the toolbox, and choose it there.</source>
        <translation>Dieser Auftrag wurde nur aus ausgewählten Objekten oder aus einem Layer im Speicher verortet ({0}): Was damals gewählt war, ist nicht mehr bekannt. Öffnen Sie das Formular aus der Werkzeugkiste und wählen Sie es dort.</translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>The project was closed meanwhile, so nothing is opened in the one that is here now. Written: {0}</source>
        <translation>Das Projekt wurde inzwischen geschlossen, darum wird in dem, das jetzt hier ist, nichts geöffnet. Geschrieben: {0}</translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>joint</source>
        <translation>Rohrverbindung</translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>pipe</source>
        <translation>Rohr</translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>as-built</source>
        <translation>Bestand</translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>station</source>
        <translation>Station</translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>deflection</source>
        <translation>Abwinkelung</translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>Cancelled; the output is as it was before.</source>
        <translation>Abgebrochen; die Ausgabe ist wie zuvor.</translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>The asbuilt command ended before it was done (exit status {0}); the output is as it was before.</source>
        <translation>Der Befehl asbuilt endete, bevor er fertig war (Endstatus {0}); die Ausgabe ist wie zuvor.</translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>Cancelled too late: the work was done by then, and the output is the new one.</source>
        <translation>Zu spät abgebrochen: Die Arbeit war schon fertig, und die Ausgabe ist die neue.</translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>The asbuilt environment is damaged ({0}). Set it up again.</source>
        <translation>Die Umgebung von asbuilt ist beschädigt ({0}). Richten Sie sie neu ein.</translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>Run it again; if it fails again, report it.</source>
        <translation>Führen Sie es noch einmal aus; schlägt es wieder fehl, melden Sie es.</translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>The asbuilt command answered with something other than JSON: {0}</source>
        <translation>Der Befehl asbuilt antwortete mit etwas anderem als JSON: {0}</translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>{0} cannot be started: {1}</source>
        <translation>{0} lässt sich nicht starten: {1}</translation>
    </message>
    <message>
        <location filename="../columns.py"/>
        <source>Columns: {0!r} is not of the form: field = column</source>
        <translation>Spalten: {0!r} hat nicht die Form: Feld = Spalte</translation>
    </message>
    <message>
        <location filename="../columns_widget.py"/>
        <source>Field</source>
        <translation>Feld</translation>
    </message>
    <message>
        <location filename="../columns_widget.py"/>
        <source>Column of the log</source>
        <translation>Spalte des Protokolls</translation>
    </message>
    <message>
        <location filename="../columns_widget.py"/>
        <source>by its name, if there</source>
        <translation>nach ihrem Namen, falls vorhanden</translation>
    </message>
    <message>
        <location filename="../columns_widget.py"/>
        <source>Column of the log that holds this field. Left blank, it is matched by its name.</source>
        <translation>Spalte des Protokolls mit diesem Feld. Bleibt es leer, wird sie nach dem Namen gesucht.</translation>
    </message>
    <message>
        <location filename="../columns_widget.py"/>
        <source>Two columns of the log could be the same field; choose one: {0}</source>
        <translation>Zwei Spalten des Protokolls könnten dasselbe Feld sein; wählen Sie eine: {0}</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>The asbuilt command is not here yet. Run the algorithm 'Set up the asbuilt environment' once (Processing toolbox, Joint records), or name an environment in the plugin's settings.</source>
        <translation>Der Befehl asbuilt ist noch nicht da. Führen Sie einmal den Algorithmus 'Die Umgebung von asbuilt einrichten' aus (Werkzeugkiste, Rohrverbindungen), oder nennen Sie eine Umgebung in den Einstellungen der Erweiterung.</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>No Python interpreter was found: name one, of version 3.11 or later.</source>
        <translation>Kein Python gefunden: Nennen Sie eines, Version 3.11 oder neuer.</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>This copy of the plugin came without its package: install it from its zip again.</source>
        <translation>Dieser Kopie der Erweiterung fehlt ihr Paket: Installieren Sie sie noch einmal aus der ZIP-Datei.</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>On Debian, install the package python3-venv.</source>
        <translation>Unter Debian: Installieren Sie das Paket python3-venv.</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>Installing asbuilt and its libraries; this takes a minute or two ...</source>
        <translation>asbuilt und seine Bibliotheken werden installiert; das dauert ein bis zwei Minuten ...</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>Look at the lines above; is the package index reachable?</source>
        <translation>Sehen Sie sich die Zeilen oben an; ist der Paketindex erreichbar?</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>The environment cannot be made in {0} ({1}): look at the folder's rights and room.</source>
        <translation>Die Umgebung kann in {0} nicht angelegt werden ({1}): Rechte und Platz des Ordners ansehen.</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>asbuilt {0} is ready in {1}.</source>
        <translation>asbuilt {0} ist bereit, in {1}.</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>{0} is asbuilt {1}, but this plugin needs {2}. Run the algorithm 'Set up the asbuilt environment', or name another environment in the plugin's settings.</source>
        <translation>{0} ist asbuilt {1}, aber diese Erweiterung braucht {2}. Führen Sie den Algorithmus 'Die Umgebung von asbuilt einrichten' aus, oder nennen Sie eine andere Umgebung in den Einstellungen.</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>Making a virtual environment in {0} ...</source>
        <translation>Eine virtuelle Umgebung wird in {0} angelegt ...</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>{0}, named in the plugin's settings, is not there. Correct it there, or leave it blank.</source>
        <translation>{0}, in den Einstellungen der Erweiterung genannt, ist nicht da. Berichtigen Sie es dort, oder lassen Sie es leer.</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>{0} is not a Python interpreter: name one, of version 3.11 or later.</source>
        <translation>{0} ist kein Python: Nennen Sie eines, Version 3.11 oder neuer.</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>{0} is Python {1}, but asbuilt needs 3.11 or later: name another interpreter.</source>
        <translation>{0} ist Python {1}, aber asbuilt braucht 3.11 oder neuer: Nennen Sie ein anderes.</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>The environment could not be made:</source>
        <translation>Die Umgebung ließ sich nicht einrichten:</translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>{0} does not answer as the asbuilt command ({1}). Run the algorithm 'Set up the asbuilt environment', or correct the plugin's settings.</source>
        <translation>{0} antwortet nicht wie der Befehl asbuilt ({1}). Führen Sie den Algorithmus 'Die Umgebung von asbuilt einrichten' aus, oder berichtigen Sie die Einstellungen.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Find joints in the register</source>
        <translation>Rohrverbindungen im Register finden</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Finds the joints near a point, in polygons, or on a stretch of a route, with their inspections and findings. Joints must meet every condition given; without a distance, the ten joints nearest to the point are listed.

Distances are measured on the ground, in the unit that you write: 50ft, 20m.</source>
        <translation>Findet die Verbindungen nahe einem Punkt, in Flächen oder auf einem Abschnitt einer Trasse, mit ihren Prüfungen und Befunden. Alles Angegebene muss zutreffen; ohne Abstand werden die zehn Verbindungen genannt, die dem Punkt am nächsten liegen.

Abstände gelten am Boden, in der Einheit, die Sie schreiben: 50ft, 20m.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>In a group of their own, with their relations.</source>
        <translation>In einer eigenen Gruppe, mit ihren Beziehungen.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Point at it on the map.</source>
        <translation>Zeigen Sie auf der Karte darauf.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>On the ground, with its unit: 50ft, 20m.</source>
        <translation>Am Boden, mit Einheit: 50ft, 20m.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>The nearest ones to the point.</source>
        <translation>Die nächsten am Punkt.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>A layer of polygons, in any coordinate system.</source>
        <translation>Ein Flächenlayer, in einem beliebigen Koordinatensystem.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Name of the route.</source>
        <translation>Name der Trasse.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Such as 12+34.56; needs the route.</source>
        <translation>Etwa 12+34.56; braucht die Trasse.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Such as 15+00; needs the route.</source>
        <translation>Etwa 15+00; braucht die Trasse.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Number of the joint, or its joint ID.</source>
        <translation>Nummer der Verbindung, oder ihre Kennung.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Deflection against its allowable.</source>
        <translation>Abwinkelung gegen die zulässige.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Joints at which one of these was found.</source>
        <translation>Verbindungen, an denen einer dieser Befunde steht.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Part of the inspector's name.</source>
        <translation>Teil des Namens des Prüfers.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>On this day or later.</source>
        <translation>An diesem Tag oder später.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>On this day or earlier.</source>
        <translation>An diesem Tag oder früher.</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Open the layers in the project</source>
        <translation>Die Layer im Projekt öffnen</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Joints found</source>
        <translation>Gefundene Verbindungen</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Number of joints</source>
        <translation>Anzahl der Verbindungen</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Near this point</source>
        <translation>Nahe diesem Punkt</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Within</source>
        <translation>Innerhalb von</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>At most this many</source>
        <translation>Höchstens so viele</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>In these polygons</source>
        <translation>In diesen Flächen</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Route</source>
        <translation>Trasse</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>From station</source>
        <translation>Von Station</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>To station</source>
        <translation>Bis Station</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Joint</source>
        <translation>Verbindung</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Verdict</source>
        <translation>Urteil</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Finding</source>
        <translation>Befund</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Inspector</source>
        <translation>Prüfer</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Inspected since</source>
        <translation>Geprüft seit</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Inspected until</source>
        <translation>Geprüft bis</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>GeoPackage</source>
        <translation>GeoPackage</translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>{0} joints were found.</source>
        <translation>{0} Verbindungen wurden gefunden.</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Opens the log at its row: its table where the log is a layer of the project, else its file</source>
        <translation>Öffnet das Protokoll in seiner Zeile: die Tabelle, wenn das Protokoll ein Layer des Projekts ist, sonst die Datei</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Opens the form that placed this job, filled in as it was</source>
        <translation>Öffnet das Formular, das diesen Auftrag verortet hat, so ausgefüllt, wie es war</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Findings of a placed job</source>
        <translation>Befunde eines verorteten Auftrags</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>The placed jobs whose layers are open in the project</source>
        <translation>Die verorteten Aufträge, deren Layer im Projekt offen sind</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>all findings</source>
        <translation>alle Befunde</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Only findings of this severity</source>
        <translation>Nur Befunde dieser Schwere</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Filter</source>
        <translation>Filter</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>filter</source>
        <translation>filtern</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Only rows that hold this text: a code, a route, a joint</source>
        <translation>Nur Zeilen mit diesem Text: ein Kürzel, eine Trasse, eine Verbindung</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Findings</source>
        <translation>Befunde</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Set aside</source>
        <translation>Zurückgestellt</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Notes</source>
        <translation>Hinweise</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Previous</source>
        <translation>Zurück</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>The finding or row before this one (Alt+Left)</source>
        <translation>Der Befund oder die Zeile davor (Alt+Links)</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Next</source>
        <translation>Weiter</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>The finding or row after this one (Alt+Right)</source>
        <translation>Der Befund oder die Zeile danach (Alt+Rechts)</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Zoom to</source>
        <translation>Hinzoomen</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Brings the finding to the middle of the map</source>
        <translation>Bringt den Befund in die Mitte der Karte</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Joint's form</source>
        <translation>Formular der Verbindung</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Opens the form of the finding's joint</source>
        <translation>Öffnet das Formular der Verbindung, um die es im Befund geht</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Open the log</source>
        <translation>Protokoll öffnen</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Place again ...</source>
        <translation>Neu verorten ...</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Route of the station to go to</source>
        <translation>Trasse der gesuchten Station</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Station</source>
        <translation>Station</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>go to station, such as 12+34.5</source>
        <translation>zur Station, etwa 12+34.5</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>With Enter, the map goes there</source>
        <translation>Mit der Eingabetaste geht die Karte dorthin</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Open the layers of a placed job: its findings are listed here.</source>
        <translation>Öffnen Sie die Layer eines verorteten Auftrags: Seine Befunde stehen dann hier.</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Severity</source>
        <translation>Schwere</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>File</source>
        <translation>Datei</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Row</source>
        <translation>Zeile</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Reason</source>
        <translation>Grund</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Note</source>
        <translation>Hinweis</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Joint records: are the files as they were?</source>
        <translation>Rohrverbindungen: Sind die Dateien, wie sie waren?</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>There is none beyond this one in the list.</source>
        <translation>Danach kommt in der Liste keiner mehr.</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Placed again: {0} findings are gone, {1} are new (in bold).</source>
        <translation>Neu verortet: {0} Befunde sind weg, {1} sind neu (fett).</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>This finding is about the job as a whole, or has no place.</source>
        <translation>Dieser Befund betrifft den Auftrag als Ganzes, oder er hat keinen Ort.</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>The joints of this job are not open in the project.</source>
        <translation>Die Verbindungen dieses Auftrags sind im Projekt nicht geöffnet.</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>The filter of {0} leaves this joint out.</source>
        <translation>Der Filter von {0} lässt diese Verbindung aus.</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Placed {0} by asbuilt {1}.</source>
        <translation>Verortet {0} mit asbuilt {1}.</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>{0} is not there any more.</source>
        <translation>{0} ist nicht mehr da.</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>{0} is not where it was when the job was placed.</source>
        <translation>{0} ist nicht mehr da, wo es beim Verorten war.</translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>{0} cannot be read as a placed job: {1}</source>
        <translation>{0} lässt sich nicht als verorteter Auftrag lesen: {1}</translation>
    </message>
    <message>
        <location filename="../form_filling.py"/>
        <source>Fill in from a job file ...</source>
        <translation>Aus einer Auftragsdatei ausfüllen ...</translation>
    </message>
    <message>
        <location filename="../form_filling.py"/>
        <source>Takes the values of this form from a job file, such as one saved from this form.</source>
        <translation>Übernimmt die Werte dieses Formulars aus einer Auftragsdatei, etwa einer, die aus diesem Formular gespeichert wurde.</translation>
    </message>
    <message>
        <location filename="../form_filling.py"/>
        <source>Job file</source>
        <translation>Auftragsdatei</translation>
    </message>
    <message>
        <location filename="../form_filling.py"/>
        <source>The form is filled in from {0}.</source>
        <translation>Das Formular ist aus {0} ausgefüllt.</translation>
    </message>
    <message>
        <location filename="../form_filling.py"/>
        <source>{0} keys that have no field here stand under 'Further keys of the job file'.</source>
        <translation>{0} Schlüssel ohne Feld stehen unter 'Weitere Schlüssel der Auftragsdatei'.</translation>
    </message>
    <message>
        <location filename="../form_words.py"/>
        <source>this form</source>
        <translation>dieses Formular</translation>
    </message>
    <message>
        <location filename="../form_words.py"/>
        <source>Load a placed job into the register</source>
        <translation>Einen verorteten Auftrag in das Register laden</translation>
    </message>
    <message>
        <location filename="../form_words.py"/>
        <source>List and settle joints that contradict the register</source>
        <translation>Verbindungen, die dem Register widersprechen, nennen und klären</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>Inspection</source>
        <translation>Prüfung</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>Earlier record</source>
        <translation>Früherer Eintrag</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>Joint {0}, route {1}</source>
        <translation>Verbindung {0}, Trasse {1}</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>By load {0} ({1})</source>
        <translation>Nach Ladevorgang {0} ({1})</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>No inspection record.</source>
        <translation>Keine Prüfung eingetragen.</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>{0} of {1} degrees allowed</source>
        <translation>{0} von {1} zulässigen Grad</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>the survey bounds it between {0} and {1} degrees</source>
        <translation>nach der Vermessung zwischen {0} und {1} Grad</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>measured at the joint: {0} degrees</source>
        <translation>an der Verbindung gemessen: {0} Grad</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>The verdict assumes that</source>
        <translation>Das Urteil setzt voraus</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>{0} degrees</source>
        <translation>{0} Grad</translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>{0} degrees allowed</source>
        <translation>{0} Grad zulässig</translation>
    </message>
    <message>
        <location filename="../inputs.py"/>
        <source>{0} has changes that are not saved in {1}: save them, or discard them, and run this again.</source>
        <translation>{0} hat Änderungen, die nicht in {1} gespeichert sind: Speichern oder verwerfen Sie sie, und führen Sie dies noch einmal aus.</translation>
    </message>
    <message>
        <location filename="../inputs.py"/>
        <source>{0}: which rows of {1} the filter or selection leaves cannot be told. Take it off, or save the rows as a file of their own.</source>
        <translation>{0}: Welche Zeilen von {1} Filter oder Auswahl übrig lassen, ist nicht festzustellen. Heben Sie sie auf, oder speichern Sie die Zeilen als eigene Datei.</translation>
    </message>
    <message>
        <location filename="../inputs.py"/>
        <source>{0}: the filter or selection leaves no record.</source>
        <translation>{0}: Filter oder Auswahl lassen keinen Eintrag übrig.</translation>
    </message>
    <message>
        <location filename="../inputs.py"/>
        <source>{0} cannot be handed to asbuilt: {1}</source>
        <translation>{0} lässt sich nicht an asbuilt übergeben: {1}</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Stands in the output and the register. Give each job its own: jobs of one name correct one another.</source>
        <translation>Steht in der Ausgabe und im Register. Geben Sie jedem Auftrag seinen eigenen: Aufträge eines Namens berichtigen einander.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Which column is which field, as lines of: field = column. The rest is matched by name.</source>
        <translation>Welche Spalte welches Feld ist, als Zeilen: Feld = Spalte. Das Übrige wird nach dem Namen gesucht.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>A published table; written down from memory, so check it against your edition. None, if left out.</source>
        <translation>Eine veröffentlichte Tabelle, aus dem Gedächtnis aufgeschrieben: Prüfen Sie sie an Ihrer Ausgabe. Keine, wenn leer.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Rows of joint_type,size,allowable_deg,source: they win over the table's.</source>
        <translation>Zeilen mit joint_type,size,allowable_deg,source: Sie gehen der Tabelle vor.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Name of the job</source>
        <translation>Name des Auftrags</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Unit of the stations</source>
        <translation>Einheit der Stationen</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Unit of stations and lengths in the log.</source>
        <translation>Einheit der Stationen und Längen im Protokoll.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Laying length</source>
        <translation>Baulänge</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Nominal length of one pipe, in the unit of the stations.</source>
        <translation>Nennlänge eines Rohrs, in der Einheit der Stationen.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Columns of the log</source>
        <translation>Spalten des Protokolls</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Allowable deflections</source>
        <translation>Zulässige Abwinkelungen</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Approved submittal (CSV)</source>
        <translation>Genehmigte Unterlage (CSV)</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>A CSV of survey shots or a LandXML file, in place of a line layer.</source>
        <translation>CSV mit Messpunkten oder LandXML-Datei, statt eines Linienlayers.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Where there is one route, and no column that names it.</source>
        <translation>Wo es nur eine Trasse gibt und keine Spalte sie nennt.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Only where the centerline does not say its own.</source>
        <translation>Nur wo die Achse ihr eigenes nicht nennt.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>As the specification says; 1 is all of it.</source>
        <translation>Wie die Vorschrift des Projekts sagt; 1 ist alles davon.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Of the layers that are written; the centerline's, if left out.</source>
        <translation>Der Layer, die geschrieben werden; wenn leer, das der Achse.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>TOML, such as: records.spacing_tolerance = 0.5. All keys: asbuilt check --template</source>
        <translation>TOML, etwa: records.spacing_tolerance = 0.5. Alle Schlüssel: asbuilt check --template</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Save as job file</source>
        <translation>Als Auftragsdatei speichern</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Writes this form down as a job file, to be run again, by the command too.</source>
        <translation>Schreibt dieses Formular als Auftragsdatei auf, die sich wieder ausführen lässt, auch mit dem Befehl.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>a copy of the layer {0} ({1})</source>
        <translation>eine Kopie des Layers {0} ({1})</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>The surveyed lines of the routes, in a projected coordinate system.</source>
        <translation>Die eingemessenen Linien der Trassen, in einem ebenen Koordinatensystem.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Names the route of each line. Not needed where there is one route.</source>
        <translation>Nennt die Trasse jeder Linie. Nicht nötig, wo es nur eine gibt.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Station of each line's first vertex.</source>
        <translation>Station des ersten Stützpunkts jeder Linie.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Station of the first vertex, such as 10+00.</source>
        <translation>Station des ersten Stützpunkts, etwa 10+00.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>One row for each, in order along the route: the same point is 'back' from one side and 'ahead' from the other.</source>
        <translation>Je eine Zeile, in der Reihenfolge längs der Trasse: Derselbe Punkt ist von der einen Seite 'zurück' und von der anderen 'voraus'.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>A table or layer with a row for each joint; points of a layer place their joints.</source>
        <translation>Tabelle oder Layer mit einer Zeile je Verbindung; Punkte eines Layers verorten ihre Verbindungen.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>CSV files and workbooks as the crew handed them in; several are one log.</source>
        <translation>CSV-Dateien und Arbeitsmappen, wie die Kolonne sie abgab; mehrere sind ein Protokoll.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Centerline file (survey shots, LandXML)</source>
        <translation>Datei der Achse (Messpunkte, LandXML)</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Name of the route</source>
        <translation>Name der Trasse</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Coordinate system of the centerline</source>
        <translation>Koordinatensystem der Achse</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Part of the allowable that may be used</source>
        <translation>Anteil des Zulässigen, der genutzt werden darf</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Coordinate system of the map</source>
        <translation>Koordinatensystem der Karte</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Further keys of the job file</source>
        <translation>Weitere Schlüssel der Auftragsdatei</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>centerline</source>
        <translation>Achse</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>joint log</source>
        <translation>Verlegeprotokoll</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>The start station is given twice: by a column and as one for all; clear one of them</source>
        <translation>Die Anfangsstation ist zweimal angegeben: durch eine Spalte und als eine für alle; leeren Sie eine davon</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Give the start station: a column, or one for all (0+00 where stations count from there)</source>
        <translation>Geben Sie die Anfangsstation an: eine Spalte, oder eine für alle (0+00, wo die Stationen dort beginnen)</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Give the laying length</source>
        <translation>Geben Sie die Baulänge an</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Give the job a name of its own: in the register, jobs of one name correct one another</source>
        <translation>Geben Sie dem Auftrag einen eigenen Namen: Im Register berichtigen Aufträge eines Namens einander</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>The form cannot be saved as a job file: a layer of it is in no file, or changed by a filter. Save the layer first.</source>
        <translation>Das Formular lässt sich nicht als Auftragsdatei speichern: Ein Layer ist in keiner Datei, oder ein Filter ändert ihn. Speichern Sie zuerst den Layer.</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Centerline</source>
        <translation>Achse</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Column with the route</source>
        <translation>Spalte mit der Trasse</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Column with the start station</source>
        <translation>Spalte mit der Anfangsstation</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>... or one start station for all</source>
        <translation>... oder eine Anfangsstation für alle</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Station equations</source>
        <translation>Stationsgleichungen</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Joint log</source>
        <translation>Verlegeprotokoll</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>... or its files</source>
        <translation>... oder seine Dateien</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Saved as job file: {0}</source>
        <translation>Als Auftragsdatei gespeichert: {0}</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>route</source>
        <translation>Trasse</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>back</source>
        <translation>zurück</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>ahead</source>
        <translation>voraus</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Survey shots or LandXML</source>
        <translation>Messpunkte oder LandXML</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>{0} is what was found, not a joint log: choose what the crew handed in</source>
        <translation>{0} ist, was gefunden wurde, kein Verlegeprotokoll: wählen Sie, was die Kolonne abgegeben hat</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>a key is written under {0}</source>
        <translation>ein Schlüssel steht unter {0}</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>{0} is there and was not saved from this form: name another file</source>
        <translation>{0} ist da und wurde nicht aus diesem Formular gespeichert: Nennen Sie eine andere Datei</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Give the {0}</source>
        <translation>Es fehlt: {0}</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>The {0} is given twice: as a layer and as a file</source>
        <translation>Zweimal angegeben, als Layer und als Datei: {0}</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>{0} cannot be written: {1}</source>
        <translation>{0} lässt sich nicht schreiben: {1}</translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>'{0}' is given twice: take {1} out of {2}</source>
        <translation>'{0}' ist zweimal angegeben: Nehmen Sie {1} aus {2} heraus</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Put a job's joints on the utility's own layer</source>
        <translation>Verbindungen eines Auftrags in den eigenen Layer des Versorgers schreiben</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Appends the joints of a job to the utility's own layer, column by column as the section [map] of the job file says. Joints that are there already are not added again. A value that does not fit its column is named, and nothing is written.</source>
        <translation>Hängt die Verbindungen eines Auftrags an den eigenen Layer des Versorgers an, Spalte für Spalte, wie der Abschnitt [map] der Auftragsdatei sagt. Was schon da ist, kommt nicht noch einmal dazu. Ein Wert, der nicht in seine Spalte passt, wird genannt, und nichts wird geschrieben.</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Write a blank log for the crew</source>
        <translation>Ein leeres Protokoll für die Kolonne schreiben</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Writes a blank joint log whose columns, lists and limits are those that the job and the checks ask for: a workbook, or a page for a tablet. Filled in, it is read as the job's log. A log that is filled in is never written over.</source>
        <translation>Schreibt ein leeres Verlegeprotokoll mit den Spalten, Listen und Grenzen, die Auftrag und Prüfregeln verlangen: als Arbeitsmappe oder als Seite für ein Tablet. Ausgefüllt wird es als Protokoll des Auftrags gelesen. Ein ausgefülltes Protokoll wird nie überschrieben.</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Only list what would happen</source>
        <translation>Nur auflisten, was geschähe</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Nothing is written. Untick it when the list is as it should be.</source>
        <translation>Nichts wird geschrieben. Nehmen Sie das Häkchen weg, wenn die Liste stimmt.</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Only for this route; for all, if left out.</source>
        <translation>Nur für diese Trasse; für alle, wenn leer.</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>What was done, as JSON</source>
        <translation>Was geschah, als JSON</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Workbook</source>
        <translation>Arbeitsmappe</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Page for a tablet</source>
        <translation>Seite für ein Tablet</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Blank log</source>
        <translation>Leeres Protokoll</translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Written: {0}, a blank log of {1} columns and {2} rows.</source>
        <translation>Geschrieben: {0}, ein leeres Protokoll mit {1} Spalten und {2} Zeilen.</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Reads and judges a joint log and its centerline; nothing is written but the log with remarks, if wanted.

The log below then says what would become of every record: how many can be placed, which are set aside and why, how the columns are read, and what there is to look at.</source>
        <translation>Liest und beurteilt ein Verlegeprotokoll und seine Achse; geschrieben wird nichts als das Protokoll mit Bemerkungen, falls gewünscht.

Unten steht dann, was aus jedem Eintrag würde: wie viele sich verorten lassen, welche warum zurückgestellt werden, wie die Spalten gelesen werden und was anzusehen ist.</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Puts every joint of a log at its place on the surveyed centerline, computes what it deflects, judges it against what its size and type allow, and writes a GeoPackage: joints, segments, findings, centerline, inspections, records set aside, and what made the file.

The layers open in the project with their styles; a joint's form shows its inspections and findings. No record is lost: each is placed, or set aside with its reason.</source>
        <translation>Bringt jede Verbindung eines Protokolls an ihren Ort auf der eingemessenen Achse, berechnet ihre Abwinkelung, beurteilt sie an dem, was Nennweite und Bauart zulassen, und schreibt ein GeoPackage: Verbindungen, Abschnitte, Befunde, Achse, Prüfungen, zurückgestellte Einträge, und woraus die Datei entstand.

Die Layer öffnen sich im Projekt mit ihren Stilen; das Formular einer Verbindung zeigt ihre Prüfungen und Befunde. Kein Eintrag geht verloren: Jeder wird verortet, oder mit seinem Grund zurückgestellt.</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Check a joint log</source>
        <translation>Ein Verlegeprotokoll prüfen</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Check a job file</source>
        <translation>Eine Auftragsdatei prüfen</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Place joints on the map</source>
        <translation>Rohrverbindungen auf der Karte verorten</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Place the joints of a job file</source>
        <translation>Die Verbindungen einer Auftragsdatei verorten</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>A job file that is there already, with all that the job needs.</source>
        <translation>Eine vorhandene Auftragsdatei mit allem, was der Auftrag braucht.</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Log with remarks, for the contractor</source>
        <translation>Protokoll mit Bemerkungen, für den Auftragnehmer</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>The log's own cells, with a column of remarks on what is wrong and what is expected.</source>
        <translation>Die Zellen des Protokolls selbst, mit einer Spalte, was falsch ist und was erwartet wird.</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>In a group of their own, with styles and relations.</source>
        <translation>In einer eigenen Gruppe, mit Stilen und Beziehungen.</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Placed job, where not the job file's own</source>
        <translation>Verorteter Auftrag, falls nicht der der Auftragsdatei</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Placed job</source>
        <translation>Verorteter Auftrag</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Logs with remarks that were written</source>
        <translation>Geschriebene Protokolle mit Bemerkungen</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Left out, the one that the job file names.</source>
        <translation>Wenn leer, die Datei, die der Auftrag nennt.</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>The placed job is in a temporary file, which goes when this program is closed.</source>
        <translation>Der verortete Auftrag liegt in einer temporären Datei, die mit dem Schließen dieses Programms verschwindet.</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>{0} cannot be both the job file and what is written by it; name another file</source>
        <translation>{0} kann nicht zugleich die Auftragsdatei und das sein, was mit ihr geschrieben wird; geben Sie eine andere Datei an</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>{0}: the column '{1}' is read as {2}.</source>
        <translation>{0}: Die Spalte '{1}' wird gelesen als {2}.</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>{0}: the column '{1}' is not read.</source>
        <translation>{0}: Die Spalte '{1}' wird nicht gelesen.</translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Written: {0}</source>
        <translation>Geschrieben: {0}</translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>Inspections</source>
        <translation>Prüfungen</translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>Photos</source>
        <translation>Fotos</translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>Deflection</source>
        <translation>Abwinkelung</translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>Photo</source>
        <translation>Foto</translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>Place and numbers</source>
        <translation>Ort und Zahlen</translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>Joint, route, station</source>
        <translation>Verbindung, Trasse, Station</translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>That is</source>
        <translation>Das heißt</translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>degrees</source>
        <translation>Grad</translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>if</source>
        <translation>sofern</translation>
    </message>
    <message>
        <location filename="../log_rows.py"/>
        <source>Row {0} of {1}: correct it, save the layer's changes, and place again.</source>
        <translation>Zeile {0} von {1}: Berichtigen Sie sie, speichern Sie die Änderungen des Layers, und verorten Sie neu.</translation>
    </message>
    <message>
        <location filename="../log_rows.py"/>
        <source>Looking for row {0} of {1} ...</source>
        <translation>Zeile {0} von {1} wird gesucht ...</translation>
    </message>
    <message>
        <location filename="../log_rows.py"/>
        <source>Opened {0}: go to row {1}.</source>
        <translation>{0} geöffnet: Gehen Sie zu Zeile {1}.</translation>
    </message>
    <message>
        <location filename="../log_rows.py"/>
        <source>Saving writes the file anew as a whole: keep a copy of what the crew handed in.</source>
        <translation>Beim Speichern wird die ganze Datei neu geschrieben: Behalten Sie eine Kopie dessen, was die Kolonne abgab.</translation>
    </message>
    <message>
        <location filename="../log_rows.py"/>
        <source>Row {0} of {1} is not in the layer, or its filter leaves it out.</source>
        <translation>Zeile {0} von {1} ist nicht im Layer, oder sein Filter lässt sie aus.</translation>
    </message>
    <message>
        <location filename="../log_rows.py"/>
        <source>Row {0} of {1} cannot be changed here: correct it in {2}.</source>
        <translation>Zeile {0} von {1} lässt sich hier nicht ändern: Berichtigen Sie sie in {2}.</translation>
    </message>
    <message>
        <location filename="../outputs.py"/>
        <source>{0} is read by this work, so it cannot be its output; name another file</source>
        <translation>{0} wird bei dieser Arbeit gelesen und kann nicht ihre Ausgabe sein; nennen Sie eine andere Datei</translation>
    </message>
    <message>
        <location filename="../outputs.py"/>
        <source>{0} is being edited in the project, as the layer {1}: end that first, or name another file</source>
        <translation>{0} wird im Projekt gerade bearbeitet, als Layer {1}: Beenden Sie das zuerst, oder nennen Sie eine andere Datei</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>what was found when looking at it</source>
        <translation>was beim Ansehen gefunden wurde</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Takes the mark back: the finding is to be looked at again; the earlier marks are kept</source>
        <translation>Nimmt den Vermerk zurück: Der Befund ist wieder anzusehen; frühere Vermerke bleiben</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>History of a joint</source>
        <translation>Geschichte einer Verbindung</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>GeoPackage, or postgresql:// address</source>
        <translation>GeoPackage, oder Adresse postgresql://</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The register: where 'Load a placed job into the register' put the joints.</source>
        <translation>Das Register: wohin 'Einen verorteten Auftrag in das Register laden' die Verbindungen gebracht hat.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Point at a joint</source>
        <translation>Auf eine Verbindung zeigen</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Then click on the map: shows the nearest joint.</source>
        <translation>Dann auf die Karte klicken: zeigt die nächste Verbindung.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Draw a rectangle</source>
        <translation>Ein Rechteck aufziehen</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Then drag on the map: lists the joints in it.</source>
        <translation>Dann auf der Karte ziehen: nennt die Verbindungen darin.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>A route's name; with Enter, its joints are listed.</source>
        <translation>Name einer Trasse; mit der Eingabetaste werden ihre Verbindungen genannt.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>A joint's number; with Enter, it is looked up.</source>
        <translation>Nummer einer Verbindung; mit der Eingabetaste wird sie gesucht.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Joints found, nearest first.</source>
        <translation>Gefundene Verbindungen, die nächste zuerst.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Previous joint</source>
        <translation>Vorige Verbindung</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The joint before this one along the route (Alt+Left)</source>
        <translation>Die Verbindung davor längs der Trasse (Alt+Links)</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Next joint</source>
        <translation>Nächste Verbindung</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The joint after this one along the route (Alt+Right)</source>
        <translation>Die Verbindung danach längs der Trasse (Alt+Rechts)</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Brings the joint to the middle of the map</source>
        <translation>Bringt die Verbindung in die Mitte der Karte</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Findings at the joints listed above; the next one is one key (Down) away.</source>
        <translation>Befunde an den oben genannten Verbindungen; der nächste ist eine Taste (Ab) entfernt.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Next finding</source>
        <translation>Nächster Befund</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The next finding that nobody has looked at</source>
        <translation>Der nächste Befund, den noch niemand angesehen hat</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Kept in the register with the finding</source>
        <translation>Bleibt beim Befund im Register</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Mark as looked at</source>
        <translation>Als angesehen vermerken</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Keeps the mark and the note in the register</source>
        <translation>Behält Vermerk und Bemerkung im Register</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Open again</source>
        <translation>Wieder offen</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>No joint there. Point nearer to one, or zoom in.</source>
        <translation>Dort ist keine Verbindung. Zeigen Sie näher auf eine, oder zoomen Sie hinein.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>No joint in there.</source>
        <translation>Darin ist keine Verbindung.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Asking the register ...</source>
        <translation>Das Register wird gefragt ...</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The register has changed; look the joint up again.</source>
        <translation>Das Register hat sich geändert; suchen Sie die Verbindung noch einmal.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>All findings here have been looked at.</source>
        <translation>Alle Befunde hier sind angesehen.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Away</source>
        <translation>Abstand</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Looked at</source>
        <translation>Angesehen</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>No such joint in the register.</source>
        <translation>Diese Verbindung gibt es im Register nicht.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Name the register first, in the field at the top.</source>
        <translation>Nennen Sie zuerst das Register, oben im Feld.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Marked in the register.</source>
        <translation>Im Register vermerkt.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The register was changed; this is what it holds now.</source>
        <translation>Das Register wurde geändert; dies steht jetzt darin.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>open again ({0})</source>
        <translation>wieder offen ({0})</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The route has no joint beyond this one.</source>
        <translation>Die Trasse hat danach keine Verbindung mehr.</translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>{0} is asked from now on: a job was loaded into it.</source>
        <translation>Von nun an wird {0} gefragt: Ein Auftrag wurde hineingeladen.</translation>
    </message>
    <message>
        <location filename="../placed_file.py"/>
        <source>{0} was placed by an earlier version (asbuilt {1}): place the job again.</source>
        <translation>{0} wurde von einer früheren Version verortet (asbuilt {1}): Verorten Sie den Auftrag neu.</translation>
    </message>
    <message>
        <location filename="../placed_file.py"/>
        <source>{0} was placed by a later version (asbuilt {1}): install the plugin of that version.</source>
        <translation>{0} wurde von einer späteren Version verortet (asbuilt {1}): Installieren Sie die Erweiterung dieser Version.</translation>
    </message>
    <message>
        <location filename="../placed_file.py"/>
        <source>{0} was changed after it was placed: {1} has {2} rows, not the {3} of the job. Place it again.</source>
        <translation>{0} wurde nach dem Verorten geändert: {1} hat {2} Zeilen, nicht die {3} des Auftrags. Verorten Sie neu.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Merges a placed job into the register of the utility's joints: known joints are brought up to date and keep their history, new ones are added, and what contradicts the register is listed and left out. Loading the same job again changes nothing.

The register is a GeoPackage, made if it is not there yet, or a database named as postgresql://...</source>
        <translation>Führt einen verorteten Auftrag mit dem Register der Verbindungen des Versorgers zusammen: Bekannte werden auf den Stand gebracht und behalten ihre Geschichte, neue kommen hinzu, und was dem Register widerspricht, wird genannt und ausgelassen. Denselben Auftrag noch einmal zu laden ändert nichts.

Das Register ist ein GeoPackage, das angelegt wird, wenn es noch nicht da ist, oder eine Datenbank, genannt als postgresql://...</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Main that this one was laid in place of: a route, or a part of one, such as: A 12+00..14+00</source>
        <translation>Leitung, an deren Stelle diese verlegt wurde: eine Trasse oder ein Teil davon, etwa: A 12+00..14+00</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Compare two placings of a job</source>
        <translation>Zwei Verortungen eines Auftrags vergleichen</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Says what is different between an earlier and a later placed file of one job: joints that came, went, moved or changed, findings and rows set aside that came and went; as a page and a workbook, if wanted.</source>
        <translation>Sagt, was zwischen einer früheren und einer späteren verorteten Datei eines Auftrags anders ist: Verbindungen, die kamen, gingen, sich verschoben oder änderten, Befunde und zurückgestellte Zeilen, die kamen und gingen; auf Wunsch als Seite und als Arbeitsmappe.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Write the engineer's review</source>
        <translation>Die Durchsicht für den Ingenieur schreiben</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Writes pages for the reviewing engineer, one for each route and an index: deflection along the route against the allowable, plan and profile, and tables of what to look at. They open in a browser without a network.</source>
        <translation>Schreibt Seiten für den prüfenden Ingenieur, eine je Trasse und eine Übersicht: Abwinkelung längs der Trasse gegen die zulässige, Lageplan und Längsschnitt, und Tabellen dessen, was anzusehen ist. Sie öffnen sich im Browser ohne Netz.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Register</source>
        <translation>Register</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>A GeoPackage, or a database named as postgresql://user@host/name.</source>
        <translation>Ein GeoPackage, oder eine Datenbank, genannt als postgresql://user@host/name.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Any layer of a placed job, such as its joints, or its GeoPackage; the whole file is read.</source>
        <translation>Ein Layer eines verorteten Auftrags, etwa seine Verbindungen, oder sein GeoPackage; gelesen wird die ganze Datei.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Nothing is changed.</source>
        <translation>Nichts wird geändert.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Main</source>
        <translation>Leitung</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Main that the job's routes belong to: their names stand under its own.</source>
        <translation>Leitung, zu der die Trassen des Auftrags gehören: Ihre Namen stehen unter deren Namen.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Takes the place of</source>
        <translation>Tritt an die Stelle von</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>In a group of their own, with styles and relations; of a register that is a GeoPackage.</source>
        <translation>In einer eigenen Gruppe, mit Stilen und Beziehungen; bei einem Register, das ein GeoPackage ist.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Moves up to this far are not listed</source>
        <translation>Verschiebungen bis hierhin werden nicht genannt</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>With its unit: 0.05ft, 0.02m.</source>
        <translation>Mit Einheit: 0.05ft, 0.02m.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>The job has another name now</source>
        <translation>Der Auftrag heißt jetzt anders</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Compares them although their names differ.</source>
        <translation>Vergleicht sie, obwohl ihre Namen verschieden sind.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Only this route; all, if left out.</source>
        <translation>Nur diese Trasse; alle, wenn leer.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Also print the pages to PDF</source>
        <translation>Die Seiten auch als PDF drucken</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Needs the browser Chromium on this machine.</source>
        <translation>Braucht den Browser Chromium auf diesem Rechner.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Also write each plot as a picture</source>
        <translation>Jedes Diagramm auch als Bild schreiben</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>SVG and PNG, for a report of your own.</source>
        <translation>SVG und PNG, für einen eigenen Bericht.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Open the register's layers in the project</source>
        <translation>Die Layer des Registers im Projekt öffnen</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Earlier placed file</source>
        <translation>Frühere verortete Datei</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Later placed file</source>
        <translation>Spätere verortete Datei</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>A GeoPackage that 'Place joints on the map' wrote.</source>
        <translation>Ein GeoPackage, das 'Rohrverbindungen auf der Karte verorten' geschrieben hat.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Page of the differences</source>
        <translation>Seite der Unterschiede</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Workbook of the differences</source>
        <translation>Arbeitsmappe der Unterschiede</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>What is different, as JSON</source>
        <translation>Was anders ist, als JSON</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Folder of the pages</source>
        <translation>Ordner der Seiten</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>First page</source>
        <translation>Erste Seite</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Placed job: {0}</source>
        <translation>Verorteter Auftrag: {0}</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Page</source>
        <translation>Seite</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Any file</source>
        <translation>Beliebige Datei</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>{0} is not a layer of a GeoPackage: choose a layer that 'Place joints on the map' wrote.</source>
        <translation>{0} ist kein Layer eines GeoPackage: Wählen Sie einen, den 'Rohrverbindungen auf der Karte verorten' geschrieben hat.</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>The input</source>
        <translation>Die Eingabe</translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Register {0}</source>
        <translation>Register {0}</translation>
    </message>
    <message>
        <location filename="../placed_job_widget.py"/>
        <source>Choose a placed job</source>
        <translation>Verorteten Auftrag wählen</translation>
    </message>
    <message>
        <location filename="../placed_job_widget.py"/>
        <source>The GeoPackage of a job that is not open</source>
        <translation>Das GeoPackage eines Auftrags, der nicht geöffnet ist</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Shows or hides the panel with what a placed job's records and survey give cause to look at</source>
        <translation>Zeigt oder verbirgt das Bedienfeld mit dem, was an einem verorteten Auftrag anzusehen ist</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Shows or hides the panel with what the register knows about a joint</source>
        <translation>Zeigt oder verbirgt das Bedienfeld mit dem, was das Register von einer Verbindung weiß</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Search page in the browser</source>
        <translation>Suchseite im Browser</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>End the search page</source>
        <translation>Die Suchseite beenden</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Findings on a sheet ...</source>
        <translation>Befunde auf einem Blatt ...</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Help</source>
        <translation>Hilfe</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Settings ...</source>
        <translation>Einstellungen ...</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Joint records</source>
        <translation>Rohrverbindungen</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>The asbuilt command is not here yet.</source>
        <translation>Der Befehl asbuilt ist noch nicht da.</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Set up the environment ...</source>
        <translation>Die Umgebung einrichten ...</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>The search page has ended.</source>
        <translation>Die Suchseite ist beendet.</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Place joints ...</source>
        <translation>Verbindungen verorten ...</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Check a joint log ...</source>
        <translation>Ein Verlegeprotokoll prüfen ...</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Place the joints of a job file ...</source>
        <translation>Die Verbindungen einer Auftragsdatei verorten ...</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Write a blank log ...</source>
        <translation>Ein leeres Protokoll schreiben ...</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Write the engineer's review ...</source>
        <translation>Die Durchsicht für den Ingenieur schreiben ...</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Load into the register ...</source>
        <translation>In das Register laden ...</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Find joints ...</source>
        <translation>Verbindungen finden ...</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Open the layers of a placed job first.</source>
        <translation>Öffnen Sie zuerst die Layer eines verorteten Auftrags.</translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Set it up now?</source>
        <translation>Jetzt einrichten?</translation>
    </message>
    <message>
        <location filename="../register.py"/>
        <source>The area cannot be handed to asbuilt: {0}</source>
        <translation>Die Fläche lässt sich nicht an asbuilt übergeben: {0}</translation>
    </message>
    <message>
        <location filename="../register_widget.py"/>
        <source>Register: one that is there, or the name of a new one</source>
        <translation>Register: ein vorhandenes, oder der Name eines neuen</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Undo a load of the register</source>
        <translation>Einen Ladevorgang des Registers rückgängig machen</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Takes out of the register what a load brought, and brings back what stood before it. The number of the load stands at the end of the log when a job is loaded. The record of it stays.</source>
        <translation>Nimmt aus dem Register, was ein Ladevorgang brachte, und stellt wieder her, was davor galt. Die Nummer des Ladevorgangs steht beim Laden am Ende der Meldungen. Dass es ihn gab, bleibt vermerkt.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Lists the joints that loads left out because they contradict the register. With a decision it settles those that are named: the register's joints stay, or the job's take their place, or the job gets a main of its own. Each decision is kept with your name and the note.</source>
        <translation>Nennt die Verbindungen, die beim Laden ausgelassen wurden, weil sie dem Register widersprechen. Mit einer Entscheidung werden die genannten geklärt: Die des Registers bleiben, oder die des Auftrags treten an ihre Stelle, oder der Auftrag bekommt eine eigene Leitung. Jede Entscheidung bleibt mit Ihrem Namen und der Bemerkung vermerkt.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>ours: the register's stay; theirs: the job's are taken; main: the job is a main of its own.</source>
        <translation>ours: die des Registers bleiben; theirs: die des Auftrags werden genommen; main: der Auftrag ist eine eigene Leitung.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Note that a main is out of service</source>
        <translation>Vermerken, dass eine Leitung außer Betrieb ist</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Notes in the register that the joints of a main, or of a part of it, are abandoned, replaced, or in service again. The joints stay, and every answer says what became of them.</source>
        <translation>Vermerkt im Register, dass die Verbindungen einer Leitung oder eines Teils davon stillgelegt, ersetzt oder wieder in Betrieb sind. Die Verbindungen bleiben, und jede Antwort sagt, was aus ihnen wurde.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Tell what is in the register</source>
        <translation>Sagen, was im Register steht</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Tells which jobs and mains are in the register, how complete their inspections are, which joints are out of service, and how many wait to be settled. Nothing is changed.</source>
        <translation>Sagt, welche Aufträge und Leitungen im Register stehen, wie vollständig ihre Prüfungen sind, welche Verbindungen außer Betrieb sind, und wie viele darauf warten, geklärt zu werden. Nichts wird geändert.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Number of the load</source>
        <translation>Nummer des Ladevorgangs</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>As the log said when the job was loaded.</source>
        <translation>Wie beim Laden gemeldet.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Decision</source>
        <translation>Entscheidung</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>A route of the register, or a part of one by its stations, such as: A 12+00..14+00</source>
        <translation>Eine Trasse des Registers, oder ein Teil davon nach Stationen, etwa: A 12+00..14+00</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>What became of it</source>
        <translation>Was aus ihr wurde</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Of all joints of the main, or of that part.</source>
        <translation>Für alle Verbindungen der Leitung, oder dieses Teils.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Job</source>
        <translation>Auftrag</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Only joints of this job; needed to settle.</source>
        <translation>Nur Verbindungen dieses Auftrags; zum Klären nötig.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Only joints of this route of the job.</source>
        <translation>Nur Verbindungen dieser Trasse des Auftrags.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Only this joint of the job.</source>
        <translation>Nur diese Verbindung des Auftrags.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Name of the main</source>
        <translation>Name der Leitung</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>For the decision 'main'.</source>
        <translation>Für die Entscheidung 'main'.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Why it was settled so.</source>
        <translation>Warum so entschieden wurde.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Placed file of the job</source>
        <translation>Verortete Datei des Auftrags</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Only where it is no longer where it was.</source>
        <translation>Nur wo sie nicht mehr da ist, wo sie war.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>What is to be known of it, such as how it was filled.</source>
        <translation>Was davon zu wissen ist, etwa womit sie verfüllt wurde.</translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>{0}: {1} joints are noted as {2}.</source>
        <translation>{0}: {1} Verbindungen sind vermerkt als {2}.</translation>
    </message>
    <message>
        <location filename="../results.py"/>
        <source>Joints</source>
        <translation>Verbindungen</translation>
    </message>
    <message>
        <location filename="../results.py"/>
        <source>Restraint</source>
        <translation>Längskraftschlüssige Verbindungen</translation>
    </message>
    <message>
        <location filename="../results.py"/>
        <source>Pressure tests</source>
        <translation>Druckprüfungen</translation>
    </message>
    <message>
        <location filename="../results.py"/>
        <source>Segments</source>
        <translation>Abschnitte</translation>
    </message>
    <message>
        <location filename="../results.py"/>
        <source>Run</source>
        <translation>Lauf</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} of {1} joints are there already; {2} would be added and {3} changed. Nothing was written.</source>
        <translation>{0} von {1} Verbindungen sind schon da; {2} kämen hinzu, und {3} würden geändert. Nichts wurde geschrieben.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} of {1} joints were there already; {2} were added and {3} changed.</source>
        <translation>{0} von {1} Verbindungen waren schon da; {2} kamen hinzu, und {3} wurden geändert.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Job {0}: of {1} joints, the records of {2} are complete, {3} incomplete, {4} failed; {5} have none.</source>
        <translation>Auftrag {0}: Von {1} Verbindungen sind die Einträge bei {2} vollständig, bei {3} unvollständig, bei {4} nicht bestanden; {5} haben keine.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Nothing was changed; this is what a load would do.</source>
        <translation>Nichts wurde geändert; dies würde ein Ladevorgang tun.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Nothing was changed; this is what undoing would do.</source>
        <translation>Nichts wurde geändert; dies würde das Rückgängigmachen tun.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>No joint waits to be settled.</source>
        <translation>Keine Verbindung wartet darauf, geklärt zu werden.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Layer {0} of {1}:</source>
        <translation>Layer {0} von {1}:</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} records were read; {1} were placed and {2} were set aside.</source>
        <translation>{0} Einträge wurden gelesen; {1} wurden verortet und {2} zurückgestellt.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>They are {0} joints, on {1} of {2} routes.</source>
        <translation>Das sind {0} Verbindungen, auf {1} von {2} Trassen.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>There are {0} findings to look at.</source>
        <translation>{0} Befunde sind anzusehen.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints were read: {1} new, {2} changed, {3} unchanged, {4} left out.</source>
        <translation>{0} Verbindungen wurden gelesen: {1} neu, {2} geändert, {3} unverändert, {4} ausgelassen.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} inspections were read: {1} new, {2} unchanged, {3} left out; {4} earlier ones are superseded.</source>
        <translation>{0} Prüfungen wurden gelesen: {1} neu, {2} unverändert, {3} ausgelassen; {4} frühere sind überholt.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} findings were read: {1} new; {2} earlier ones are superseded.</source>
        <translation>{0} Befunde wurden gelesen: {1} neu; {2} frühere sind überholt.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>The register was not changed.</source>
        <translation>Das Register wurde nicht geändert.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Load {0} of the job '{1}': {2} joints are taken out, {3} are as they were before it.</source>
        <translation>Ladevorgang {0} des Auftrags '{1}': {2} Verbindungen sind herausgenommen, {3} sind wie davor.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} inspections are undone, {1} stand again.</source>
        <translation>{0} Prüfungen sind zurückgenommen, {1} gelten wieder.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints of {1} jobs wait to be settled:</source>
        <translation>{0} Verbindungen aus {1} Aufträgen warten darauf, geklärt zu werden:</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints of the job '{1}' are settled.</source>
        <translation>{0} Verbindungen des Auftrags '{1}' sind geklärt.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0}: {1} joints and {2} inspections, in {3}.</source>
        <translation>{0}: {1} Verbindungen und {2} Prüfungen, in {3}.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Note: {0}</source>
        <translation>Hinweis: {0}</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints contradict the register and wait to be settled: {1}</source>
        <translation>{0} Verbindungen widersprechen dem Register und warten darauf, geklärt zu werden: {1}</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>The job says nothing of joints that it brought earlier; they stay: {0}</source>
        <translation>Der Auftrag sagt nichts von Verbindungen, die er früher brachte; sie bleiben: {0}</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints of the main that was replaced are out of service.</source>
        <translation>{0} Verbindungen der ersetzten Leitung sind außer Betrieb.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>This is load {0}; by that number it can be undone.</source>
        <translation>Dies ist Ladevorgang {0}; mit dieser Nummer lässt er sich rückgängig machen.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Undone with it: load {0}, of which all joints were left out for it; theirs stand under a main.</source>
        <translation>Mit ihm rückgängig gemacht: Ladevorgang {0}, dessen Verbindungen alle seinetwegen ausgelassen wurden; sie stehen unter einer Leitung.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints still wait.</source>
        <translation>{0} Verbindungen warten noch.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Route {0}: {1}</source>
        <translation>Trasse {0}: {1}</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>and {0} more</source>
        <translation>und {0} weitere</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints are {1}: {2}</source>
        <translation>{0} Verbindungen sind {1}: {2}</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints wait to be settled.</source>
        <translation>{0} Verbindungen warten darauf, geklärt zu werden.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} set aside as {1}: {2}</source>
        <translation>{0} zurückgestellt als {1}: {2}</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} judged {1}: {2}</source>
        <translation>{0} beurteilt als {1}: {2}</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} of {1}: {2}</source>
        <translation>{0} mit {1}: {2}</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>The register {0} was made.</source>
        <translation>Das Register {0} wurde angelegt.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Job '{0}', route {1}, joint {2}: {3}</source>
        <translation>Auftrag '{0}', Trasse {1}, Verbindung {2}: {3}</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Main {0}: {1} joints, inspected from {2} to {3}.</source>
        <translation>Leitung {0}: {1} Verbindungen, geprüft von {2} bis {3}.</translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} of these share a turn with others, and one or more of them all is over</source>
        <translation>{0} davon teilen eine Abwinkelung mit anderen; mindestens eine von ihnen allen liegt darüber</translation>
    </message>
    <message>
        <location filename="../serving.py"/>
        <source>Name the register first, in the plugin's settings.</source>
        <translation>Nennen Sie zuerst das Register, in den Einstellungen der Erweiterung.</translation>
    </message>
    <message>
        <location filename="../serving.py"/>
        <source>The search page cannot be started.</source>
        <translation>Die Suchseite lässt sich nicht starten.</translation>
    </message>
    <message>
        <location filename="../serving.py"/>
        <source>The search page is at {0}, on this machine alone.</source>
        <translation>Die Suchseite ist unter {0}, nur auf diesem Rechner.</translation>
    </message>
    <message>
        <location filename="../serving.py"/>
        <source>The search page has ended: {0}</source>
        <translation>Die Suchseite ist beendet: {0}</translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Joint records: settings</source>
        <translation>Rohrverbindungen: Einstellungen</translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>the plugin's own environment</source>
        <translation>die eigene Umgebung der Erweiterung</translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>The asbuilt command; blank for the environment that the plugin made.</source>
        <translation>Der Befehl asbuilt; leer für die Umgebung, die die Erweiterung angelegt hat.</translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>The register that the panel asks: a GeoPackage, or a postgresql:// address.</source>
        <translation>Das Register, das das Bedienfeld fragt: ein GeoPackage, oder eine Adresse postgresql://.</translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Your name, as it stands with the findings that you mark as looked at.</source>
        <translation>Ihr Name, wie er bei den Befunden steht, die Sie als angesehen vermerken.</translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Makes a virtual environment in your profile and installs the command there.</source>
        <translation>Legt in Ihrem Profil eine virtuelle Umgebung an und installiert den Befehl dort.</translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Command</source>
        <translation>Befehl</translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Your name</source>
        <translation>Ihr Name</translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Ready: {0}</source>
        <translation>Bereit: {0}</translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>Set up the asbuilt environment</source>
        <translation>Die Umgebung von asbuilt einrichten</translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>Makes a virtual environment in your profile and installs the asbuilt command there, with its libraries; the host's own libraries stay as they are. Needed once, and again after the plugin was updated.

It takes a minute or two, a network connection to a Python package index, and Python 3.11 or later.</source>
        <translation>Legt in Ihrem Profil eine virtuelle Umgebung an und installiert dort den Befehl asbuilt mit seinen Bibliotheken; die des GIS bleiben, wie sie sind. Einmal nötig, und wieder, wenn die Erweiterung erneuert wurde.

Es braucht ein bis zwei Minuten, eine Netzverbindung zu einem Python-Paketindex, und Python 3.11 oder neuer.</translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>Python interpreter</source>
        <translation>Python</translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>Of version 3.11 or later; looked for, if left out.</source>
        <translation>Version 3.11 oder neuer; wird gesucht, wenn leer.</translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>The command</source>
        <translation>Der Befehl</translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>Its version</source>
        <translation>Seine Version</translation>
    </message>
    <message>
        <location filename="../sheet_layout.py"/>
        <source>Findings of {0}</source>
        <translation>Befunde von {0}</translation>
    </message>
    <message>
        <location filename="../since.py"/>
        <source>{0} is filtered: the map shows {1} of {2} rows; the lists here show all.</source>
        <translation>{0} ist gefiltert: Die Karte zeigt {1} von {2} Zeilen; die Listen hier zeigen alle.</translation>
    </message>
    <message>
        <location filename="../since.py"/>
        <source>{0} is being edited: a placed file is not mended by hand. Correct the log, and place it again.</source>
        <translation>{0} wird gerade bearbeitet: Eine verortete Datei wird nicht von Hand berichtigt. Berichtigen Sie das Protokoll, und verorten Sie neu.</translation>
    </message>
    <message>
        <location filename="../since.py"/>
        <source>{0} has changes that are not saved in {1}: they are not in here.</source>
        <translation>{0} hat Änderungen, die nicht in {1} gespeichert sind: Sie sind hier nicht enthalten.</translation>
    </message>
    <message>
        <location filename="../since.py"/>
        <source>{0} was written to since: this is of the file as it was before. Place the job again.</source>
        <translation>{0} wurde seitdem beschrieben: Dies hier gilt für die Datei, wie sie vorher war. Verorten Sie den Auftrag neu.</translation>
    </message>
    <message>
        <location filename="../since.py"/>
        <source>{0} was written to since, if only by this program when a layer of it was put in edit: this is of the file as it was before. Place the job again.</source>
        <translation>{0} wurde seitdem beschrieben, und sei es nur von diesem Programm, als ein Layer daraus zum Bearbeiten geöffnet wurde: Dies hier gilt für die Datei, wie sie vorher war. Verorten Sie den Auftrag neu.</translation>
    </message>
    <message>
        <location filename="../since.py"/>
        <source>{0} is not where it was: whether it has changed since cannot be told.</source>
        <translation>{0} ist nicht mehr da, wo es war: Ob es sich seitdem geändert hat, lässt sich nicht sagen.</translation>
    </message>
    <message>
        <location filename="../stations.py"/>
        <source>{0!r} cannot be read as a station; write it like 12+34.56</source>
        <translation>{0!r} ist nicht als Station zu lesen; schreiben Sie es wie 12+34.56</translation>
    </message>
    <message>
        <location filename="../stations.py"/>
        <source>the stations of this job are plain numbers; {0!r} has a plus</source>
        <translation>die Stationen dieses Auftrags sind einfache Zahlen; {0!r} hat ein Plus</translation>
    </message>
    <message>
        <location filename="../stations.py"/>
        <source>there is no station {0} on this route</source>
        <translation>eine Station {0} gibt es auf dieser Trasse nicht</translation>
    </message>
    <message>
        <location filename="../stations.py"/>
        <source>the station occurs more than once; write {0}</source>
        <translation>die Station kommt mehrmals vor; schreiben Sie {0}</translation>
    </message>
    <message>
        <location filename="../stations.py"/>
        <source> or </source>
        <translation> oder </translation>
    </message>
    <message>
        <location filename="../tasks.py"/>
        <source>Joint records: {0}</source>
        <translation>Rohrverbindungen: {0}</translation>
    </message>
    <message>
        <location filename="../words.py"/>
        <source>Not for locating. Before digging: locate request and trench protection. Isolate and depressurize the main before moving a joint. Local codes, the site's safety plan and a licensed engineer govern.</source>
        <translation>Nicht zum Aufsuchen von Leitungen. Vor dem Graben: Leitungsauskunft einholen und Graben sichern. Die Leitung absperren und drucklos machen, bevor eine Verbindung bewegt wird. Es gelten die örtlichen Vorschriften, der Sicherheitsplan der Baustelle und das Urteil eines zugelassenen Ingenieurs.</translation>
    </message>
    <message>
        <location filename="../words.py"/>
        <source>These are findings on records, not an acceptance of work. Limits come from the approved submittal and the project's specification; local codes and the pipe maker's instructions govern, and the judgement is a licensed engineer's.</source>
        <translation>Dies sind Befunde zu Aufzeichnungen, keine Abnahme. Grenzwerte kommen aus der genehmigten Unterlage und der Vorschrift des Projekts; es gelten die örtlichen Vorschriften und die Anweisungen des Rohrherstellers, und das Urteil fällt ein zugelassener Ingenieur.</translation>
    </message>
    <message>
        <location filename="../../data/styles/findings.qml"/>
        <source>Act</source>
        <translation>Handeln</translation>
    </message>
    <message>
        <location filename="../../data/styles/findings.qml"/>
        <source>Check</source>
        <translation>Prüfen</translation>
    </message>
    <message>
        <location filename="../../data/styles/joints.qml"/>
        <source>Over the allowable</source>
        <translation>Über der zulässigen Abwinkelung</translation>
    </message>
    <message>
        <location filename="../../data/styles/joints.qml"/>
        <source>Survey cannot tell</source>
        <translation>Aus der Vermessung nicht zu sagen</translation>
    </message>
    <message>
        <location filename="../../data/styles/joints.qml"/>
        <source>No allowable on file</source>
        <translation>Keine zulässige Abwinkelung hinterlegt</translation>
    </message>
    <message>
        <location filename="../../data/styles/joints.qml"/>
        <source>Within, if what it assumes holds</source>
        <translation>Eingehalten, wenn die Annahmen zutreffen</translation>
    </message>
    <message>
        <location filename="../../data/styles/joints.qml"/>
        <source>Within the allowable</source>
        <translation>Zulässige Abwinkelung eingehalten</translation>
    </message>
    <message>
        <location filename="../../data/styles/joints.qml"/>
        <source>Not computed (end of route)</source>
        <translation>Nicht berechnet (Ende der Trasse)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Joint ID</source>
        <translation>Kennung der Verbindung</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance</source>
        <translation>Entfernung</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Easting</source>
        <translation>Ostwert</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Northing</source>
        <translation>Nordwert</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Elevation</source>
        <translation>Höhe</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Longitude</source>
        <translation>Geografische Länge</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Latitude</source>
        <translation>Geografische Breite</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Size</source>
        <translation>Nennweite</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Joint type</source>
        <translation>Verbindungsart</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Kind</source>
        <translation>Art</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Restrained</source>
        <translation>Längskraftschlüssig</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Position from</source>
        <translation>Lage aus</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Position sigma</source>
        <translation>Standardabweichung der Lage</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Accuracy, horizontal</source>
        <translation>Genauigkeit, Lage</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Accuracy, vertical</source>
        <translation>Genauigkeit, Höhe</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Accuracy found by</source>
        <translation>Genauigkeit ermittelt aus</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Turn (deg)</source>
        <translation>Richtungsänderung (Grad)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Turn, horizontal (deg)</source>
        <translation>Richtungsänderung, waagerecht (Grad)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Turn, vertical (deg)</source>
        <translation>Richtungsänderung, senkrecht (Grad)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Bend angle (deg)</source>
        <translation>Bogenwinkel (Grad)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Deflection (deg)</source>
        <translation>Abwinkelung (Grad)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Deflection from</source>
        <translation>Abwinkelung aus</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Deflection, at least (deg)</source>
        <translation>Abwinkelung, mindestens (Grad)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Deflection, at most (deg)</source>
        <translation>Abwinkelung, höchstens (Grad)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Deflection sigma (deg)</source>
        <translation>Standardabweichung der Abwinkelung (Grad)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Measured deflection (deg)</source>
        <translation>Gemessene Abwinkelung (Grad)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Measured direction (deg)</source>
        <translation>Gemessene Richtung (Grad)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Measured sigma (deg)</source>
        <translation>Standardabweichung der Messung (Grad)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Mean gap</source>
        <translation>Mittlerer Spalt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap residual</source>
        <translation>Restabweichung der Spalte</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Allowable (deg)</source>
        <translation>Zulässig (Grad)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Allowable from</source>
        <translation>Zulässig nach</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Verdict assumes</source>
        <translation>Urteil setzt voraus</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Design station</source>
        <translation>Station im Entwurf</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Offset from design</source>
        <translation>Seitlicher Abstand vom Entwurf</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Height over design</source>
        <translation>Höhe über dem Entwurf</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Ground</source>
        <translation>Gelände</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Cover</source>
        <translation>Überdeckung</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Least cover</source>
        <translation>Geringste Überdeckung</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Inspected on</source>
        <translation>Geprüft am</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>From joint</source>
        <translation>Von Verbindung</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>To joint</source>
        <translation>Bis Verbindung</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Length</source>
        <translation>Länge</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Laid length</source>
        <translation>Verlegte Länge</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Difference</source>
        <translation>Unterschied</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Azimuth (deg)</source>
        <translation>Azimut (Grad)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Grade (%)</source>
        <translation>Gefälle (%)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Point</source>
        <translation>Punkt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Value</source>
        <translation>Wert</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Limit</source>
        <translation>Grenze</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Unit</source>
        <translation>Einheit</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Basis</source>
        <translation>Grundlage</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Message</source>
        <translation>Meldung</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Start station</source>
        <translation>Anfangsstation</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Vertices</source>
        <translation>Stützpunkte</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>From distance</source>
        <translation>Von Entfernung</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>To distance</source>
        <translation>Bis Entfernung</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Why</source>
        <translation>Warum</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Named by</source>
        <translation>Genannt in</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Not restrained</source>
        <translation>Nicht längskraftschlüssig</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Result</source>
        <translation>Ergebnis</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Sizes</source>
        <translation>Nennweiten</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Pressure</source>
        <translation>Druck</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Pressure unit</source>
        <translation>Einheit des Drucks</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Duration (h)</source>
        <translation>Dauer (h)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Allowance</source>
        <translation>Zulässige Wassermenge</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Make-up water</source>
        <translation>Nachgespeistes Wasser</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Water unit</source>
        <translation>Einheit des Wassers</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Tested on</source>
        <translation>Druckprüfung am</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Record</source>
        <translation>Eintrag</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Offset</source>
        <translation>Seitlicher Abstand</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Outside diameter</source>
        <translation>Außendurchmesser</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Pipe class</source>
        <translation>Rohrklasse</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Cut</source>
        <translation>Gekürzt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Bend plane</source>
        <translation>Ebene des Bogens</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Crew</source>
        <translation>Kolonne</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Groove clean</source>
        <translation>Nut sauber</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Spigot clean</source>
        <translation>Spitzende sauber</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gasket clean</source>
        <translation>Dichtring sauber</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gasket temperature (F)</source>
        <translation>Temperatur des Dichtrings (F)</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gasket seated</source>
        <translation>Dichtring sitzt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Lubricated</source>
        <translation>Gleitmittel aufgetragen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Insertion mark</source>
        <translation>Einstecktiefenmarke</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge</source>
        <translation>Fühlerlehre</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 12</source>
        <translation>Spalt bei 12 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 1</source>
        <translation>Spalt bei 1 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 2</source>
        <translation>Spalt bei 2 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 3</source>
        <translation>Spalt bei 3 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 4</source>
        <translation>Spalt bei 4 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 5</source>
        <translation>Spalt bei 5 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 6</source>
        <translation>Spalt bei 6 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 7</source>
        <translation>Spalt bei 7 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 8</source>
        <translation>Spalt bei 8 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 9</source>
        <translation>Spalt bei 9 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 10</source>
        <translation>Spalt bei 10 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 11</source>
        <translation>Spalt bei 11 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 12</source>
        <translation>Tiefe der Fühlerlehre bei 12 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 1</source>
        <translation>Tiefe der Fühlerlehre bei 1 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 2</source>
        <translation>Tiefe der Fühlerlehre bei 2 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 3</source>
        <translation>Tiefe der Fühlerlehre bei 3 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 4</source>
        <translation>Tiefe der Fühlerlehre bei 4 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 5</source>
        <translation>Tiefe der Fühlerlehre bei 5 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 6</source>
        <translation>Tiefe der Fühlerlehre bei 6 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 7</source>
        <translation>Tiefe der Fühlerlehre bei 7 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 8</source>
        <translation>Tiefe der Fühlerlehre bei 8 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 9</source>
        <translation>Tiefe der Fühlerlehre bei 9 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 10</source>
        <translation>Tiefe der Fühlerlehre bei 10 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 11</source>
        <translation>Tiefe der Fühlerlehre bei 11 Uhr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Bolt torque</source>
        <translation>Drehmoment der Schrauben</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Remarks</source>
        <translation>Bemerkungen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Photo files</source>
        <translation>Fotodateien</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Station settled by</source>
        <translation>Station entschieden durch</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Latest</source>
        <translation>Letzter Stand</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Original row</source>
        <translation>Ursprüngliche Zeile</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>File version</source>
        <translation>Version der Datei</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Made at</source>
        <translation>Erstellt am</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Version</source>
        <translation>Version</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Centerline system</source>
        <translation>System der Achse</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Map system</source>
        <translation>System der Karte</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Datum step</source>
        <translation>Datumsübergang</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Surveyed on</source>
        <translation>Eingemessen am</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Station unit</source>
        <translation>Einheit der Stationen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Coordinate unit</source>
        <translation>Einheit der Koordinaten</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Size unit</source>
        <translation>Einheit der Nennweiten</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Reading unit</source>
        <translation>Einheit der Ablesungen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Torque unit</source>
        <translation>Einheit der Drehmomente</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Station format</source>
        <translation>Schreibweise der Stationen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Pipe described</source>
        <translation>Beschriebenes Rohr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Records read</source>
        <translation>Gelesene Einträge</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Inspections placed</source>
        <translation>Verortete Prüfungen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Records set aside</source>
        <translation>Zurückgestellte Einträge</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Counts</source>
        <translation>Anzahlen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Inputs</source>
        <translation>Eingaben</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Column matches</source>
        <translation>Zuordnung der Spalten</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Library versions</source>
        <translation>Versionen der Bibliotheken</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Name of the route (main or line) in the centerline.</source>
        <translation>Name der Trasse (Leitung oder Strang) in der Achse.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Joint number, as in the log; 'at' and the station where the log has no number.</source>
        <translation>Nummer der Verbindung, wie im Protokoll; 'at' und die Station, wo das Protokoll keine Nummer hat.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Station along the route, in station units; with BK or AH, and the equation's number, where it occurs more than once.</source>
        <translation>Station entlang der Trasse, in der Einheit der Stationen; mit BK oder AH und der Nummer der Gleichung, wo sie mehrmals vorkommt.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Offset square to the centerline, in station units; right positive, looking ahead.</source>
        <translation>Abstand rechtwinklig zur Achse, in der Einheit der Stationen; nach rechts positiv, in Richtung der Stationen gesehen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>What was laid: pipe, bend, tee, valve, reducer, sleeve, cap, or as the log says.</source>
        <translation>Was verlegt wurde: pipe (Rohr), bend (Bogen), tee (T-Stück), valve (Schieber), reducer (Reduzierstück), sleeve (Überschieber), cap (Kappe), oder wie im Protokoll.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Nominal pipe size: inches, or DN in millimetres, as the job says.</source>
        <translation>Nennweite des Rohrs: Zoll, oder DN in Millimetern, wie im Auftrag.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Outside diameter of the pipe as logged, in the unit of its nominal size.</source>
        <translation>Außendurchmesser des Rohrs, wie protokolliert, in der Einheit seiner Nennweite.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Joint family: push-on, restrained-push-on, mechanical, flanged, or one of the job's own.</source>
        <translation>Verbindungsart: push-on (Steckmuffe), restrained-push-on (längskraftschlüssige Steckmuffe), mechanical (Stopfbuchsenmuffe), flanged (Flansch), oder eine des Auftrags.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Pressure or thickness class of the pipe, as logged.</source>
        <translation>Druck- oder Wanddickenklasse des Rohrs, wie protokolliert.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Length of the pipe as laid, in station units.</source>
        <translation>Länge des Rohrs, wie verlegt, in der Einheit der Stationen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the pipe was cut.</source>
        <translation>Ob das Rohr gekürzt wurde.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the joint is restrained against pulling apart.</source>
        <translation>Ob die Verbindung gegen Auseinanderziehen gesichert ist.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Angle of the fitting, degrees.</source>
        <translation>Winkel des Formstücks, in Grad.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Plane in which the fitting turns: horizontal, vertical or rolled, as logged.</source>
        <translation>Ebene, in der das Formstück umlenkt: horizontal (waagerecht), vertical (senkrecht) oder rolled (gedreht), wie protokolliert.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Date of the inspection.</source>
        <translation>Datum der Prüfung.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Who inspected the joint.</source>
        <translation>Wer die Verbindung geprüft hat.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Crew that laid the pipe.</source>
        <translation>Kolonne, die das Rohr verlegt hat.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the bell's gasket groove was clean.</source>
        <translation>Ob die Dichtringnut der Muffe sauber war.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the spigot was clean back to the insertion marks.</source>
        <translation>Ob das Spitzende bis zu den Einstecktiefenmarken sauber war.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the gasket was clean.</source>
        <translation>Ob der Dichtring sauber war.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Temperature of the gasket when fitted, degrees F.</source>
        <translation>Temperatur des Dichtrings beim Einbau, in Grad F.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the gasket was seated evenly in its groove.</source>
        <translation>Ob der Dichtring gleichmäßig in seiner Nut saß.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether gasket and spigot were lubricated.</source>
        <translation>Ob auf Dichtring und Spitzende Gleitmittel aufgetragen war.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the spigot went in to its insertion mark.</source>
        <translation>Ob das Spitzende bis zu seiner Einstecktiefenmarke eingeschoben war.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the feeler gauge touched the gasket evenly all around.</source>
        <translation>Ob die Fühlerlehre den Dichtring ringsum gleichmäßig berührte.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 12 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Abstand von der Stirn der Muffe zur Einstecktiefenmarke bei 12 Uhr, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 1 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Abstand von der Stirn der Muffe zur Einstecktiefenmarke bei 1 Uhr, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 2 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Abstand von der Stirn der Muffe zur Einstecktiefenmarke bei 2 Uhr, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 3 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Abstand von der Stirn der Muffe zur Einstecktiefenmarke bei 3 Uhr, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 4 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Abstand von der Stirn der Muffe zur Einstecktiefenmarke bei 4 Uhr, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 5 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Abstand von der Stirn der Muffe zur Einstecktiefenmarke bei 5 Uhr, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 6 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Abstand von der Stirn der Muffe zur Einstecktiefenmarke bei 6 Uhr, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 7 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Abstand von der Stirn der Muffe zur Einstecktiefenmarke bei 7 Uhr, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 8 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Abstand von der Stirn der Muffe zur Einstecktiefenmarke bei 8 Uhr, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 9 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Abstand von der Stirn der Muffe zur Einstecktiefenmarke bei 9 Uhr, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 10 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Abstand von der Stirn der Muffe zur Einstecktiefenmarke bei 10 Uhr, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 11 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Abstand von der Stirn der Muffe zur Einstecktiefenmarke bei 11 Uhr, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 12 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Tiefe, in der die Fühlerlehre den Dichtring bei 12 Uhr berührte, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 1 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Tiefe, in der die Fühlerlehre den Dichtring bei 1 Uhr berührte, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 2 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Tiefe, in der die Fühlerlehre den Dichtring bei 2 Uhr berührte, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 3 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Tiefe, in der die Fühlerlehre den Dichtring bei 3 Uhr berührte, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 4 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Tiefe, in der die Fühlerlehre den Dichtring bei 4 Uhr berührte, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 5 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Tiefe, in der die Fühlerlehre den Dichtring bei 5 Uhr berührte, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 6 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Tiefe, in der die Fühlerlehre den Dichtring bei 6 Uhr berührte, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 7 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Tiefe, in der die Fühlerlehre den Dichtring bei 7 Uhr berührte, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 8 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Tiefe, in der die Fühlerlehre den Dichtring bei 8 Uhr berührte, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 9 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Tiefe, in der die Fühlerlehre den Dichtring bei 9 Uhr berührte, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 10 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Tiefe, in der die Fühlerlehre den Dichtring bei 10 Uhr berührte, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 11 o'clock, looking ahead, in the unit of readings.</source>
        <translation>Tiefe, in der die Fühlerlehre den Dichtring bei 11 Uhr berührte, in Richtung der Stationen gesehen, in der Einheit der Ablesungen.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Torque of the bolts of a mechanical joint; as logged, unit as the job says.</source>
        <translation>Drehmoment der Schrauben einer Stopfbuchsenmuffe; wie protokolliert, Einheit wie im Auftrag.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Easting that the log has for the joint, in the log's own coordinate system.</source>
        <translation>Ostwert der Verbindung im Protokoll, in dessen eigenem Koordinatensystem.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Northing that the log has for the joint, in the log's own coordinate system.</source>
        <translation>Nordwert der Verbindung im Protokoll, in dessen eigenem Koordinatensystem.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Elevation that the log has for the joint, in the log's own unit.</source>
        <translation>Höhe der Verbindung im Protokoll, in dessen eigener Einheit.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Remarks of the crew or the inspector.</source>
        <translation>Bemerkungen der Kolonne oder des Prüfers.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Photo numbers or files, as logged.</source>
        <translation>Nummern oder Dateien der Fotos, wie protokolliert.</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The turn between the surveyed straights</source>
        <translation>Die Richtungsänderung zwischen den eingemessenen Geraden</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gaps read around the joint</source>
        <translation>Um die Verbindung abgelesene Spalte</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Both, weighted by how sure they are</source>
        <translation>Beides, nach Sicherheit gewichtet</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Over the allowable deflection</source>
        <translation>Über der zulässigen Abwinkelung</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Within the allowable deflection, as measured</source>
        <translation>Nach der Messung innerhalb der zulässigen Abwinkelung</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Within the allowable deflection only if what the verdict assumes holds</source>
        <translation>Innerhalb der zulässigen Abwinkelung nur, wenn zutrifft, was das Urteil voraussetzt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The survey cannot tell whether the joint is within or over</source>
        <translation>Die Vermessung kann nicht sagen, ob die Verbindung innerhalb oder darüber liegt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>No allowable deflection is on file for this joint type and size</source>
        <translation>Für diese Verbindungsart und Nennweite ist keine zulässige Abwinkelung hinterlegt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Not computed, as at an end of the route, where pipe lies on one side only</source>
        <translation>Nicht berechnet, etwa am Ende der Trasse, wo nur auf einer Seite Rohr liegt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Something is wrong and needs action before the work is accepted</source>
        <translation>Etwas ist falsch und verlangt Handeln, bevor die Arbeit abgenommen wird</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Someone must look: the records are incomplete or contradict one another</source>
        <translation>Jemand muss nachsehen: Die Aufzeichnungen sind unvollständig oder widersprechen sich</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>For information; nothing need be done</source>
        <translation>Zur Kenntnis; nichts ist zu tun</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Every required item was recorded, and none failed</source>
        <translation>Alle verlangten Punkte wurden aufgezeichnet, und keiner fiel durch</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A required item was not recorded</source>
        <translation>Ein verlangter Punkt wurde nicht aufgezeichnet</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A recorded item did not pass</source>
        <translation>Ein aufgezeichneter Punkt fiel durch</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Nothing about the inspection was recorded</source>
        <translation>Über die Prüfung wurde nichts aufgezeichnet</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Placed on the centerline by its station</source>
        <translation>Nach der Station auf der Achse verortet</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Placed by its station, adjusted between ties of known station and coordinates</source>
        <translation>Nach der Station verortet, ausgeglichen zwischen Punkten mit bekannter Station und bekannten Koordinaten</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Surveyed at the joint itself</source>
        <translation>An der Verbindung selbst eingemessen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The bends of the log lie at corners of another line, and not of its own</source>
        <translation>Die Bögen des Protokolls liegen an Knicken einer anderen Linie und nicht an denen der eigenen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A survey shot lies off the line of the shots beside it</source>
        <translation>Ein Messpunkt liegt abseits der Linie seiner Nachbarn</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Survey shots stand in another order than they lie in</source>
        <translation>Messpunkte stehen in anderer Reihenfolge, als sie liegen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The line is as long as its log only in another unit</source>
        <translation>Die Linie ist nur in einer anderen Einheit so lang wie ihr Protokoll</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A bend of the log lies off the corner of its angle</source>
        <translation>Ein Bogen des Protokolls liegt neben dem Knick seines Winkels</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The stations are counted on past a station equation, as if it were not there</source>
        <translation>Die Stationen sind über eine Stationsgleichung hinweg weitergezählt, als gäbe es sie nicht</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The stations of a run of rows run off the pipes laid</source>
        <translation>Die Stationen einer Reihe von Zeilen laufen den verlegten Rohren davon</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The deflection is over the allowable</source>
        <translation>Die Abwinkelung ist größer als zulässig</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The line turns to the other side than the bend that the log has there</source>
        <translation>Die Leitung biegt zur anderen Seite ab als der Bogen, den das Protokoll dort hat</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A pressure test took more make-up water than its allowance</source>
        <translation>Eine Druckprüfung brauchte mehr nachgespeistes Wasser als zulässig</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The joint is unrestrained within a length that must be restrained</source>
        <translation>Die Verbindung ist nicht längskraftschlüssig, liegt aber in einer Strecke, die es sein muss</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>An inspection item did not pass</source>
        <translation>Ein Punkt der Prüfung fiel durch</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The joint lies farther right or left of the design than the job allows</source>
        <translation>Die Verbindung liegt weiter rechts oder links vom Entwurf, als der Auftrag erlaubt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The joint lies farther above or below the design than the job allows</source>
        <translation>Die Verbindung liegt weiter über oder unter dem Entwurf, als der Auftrag erlaubt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A later record passes what had failed, and nothing shows that it was looked at again</source>
        <translation>Ein späterer Eintrag macht aus „nicht bestanden“ ein „bestanden“, und nichts zeigt, dass die Verbindung erneut geprüft wurde</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The pipe has less cover than the job asks for</source>
        <translation>Das Rohr hat weniger Überdeckung, als der Auftrag verlangt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The next joint is too far: joints are missing, or a station or length is wrong</source>
        <translation>Die nächste Verbindung ist zu weit weg: Verbindungen fehlen, oder eine Station oder Länge ist falsch</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The line turns where no joint is in the log</source>
        <translation>Die Linie ändert die Richtung, wo keine Verbindung im Protokoll steht</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A pressure test was held at less pressure than the job requires</source>
        <translation>Eine Druckprüfung lief mit weniger Druck, als der Auftrag verlangt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A pressure test was held for less time than the job requires</source>
        <translation>Eine Druckprüfung dauerte kürzer, als der Auftrag verlangt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The spigot is in too far, or not far enough</source>
        <translation>Das Spitzende steckt zu weit oder nicht weit genug in der Muffe</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The feeler gauge went in to uneven depths: the gasket may be displaced</source>
        <translation>Die Fühlerlehre ging ungleich tief hinein: Der Dichtring kann verschoben sein</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Records of one joint and one day, or without days, give it different stations</source>
        <translation>Einträge einer Verbindung und eines Tages, oder ohne Tag, geben ihr verschiedene Stationen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>One place was shot twice, and both shots are strung into the line</source>
        <translation>Eine Stelle wurde zweimal gemessen, und beide Punkte stehen in der Linie</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The elevation of a survey shot cannot be that of the pipe</source>
        <translation>Die Höhe eines Messpunkts kann nicht die des Rohrs sein</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Shots scatter less than their stated error allows: interpolated, smoothed or designed</source>
        <translation>Messpunkte streuen weniger, als ihr angegebener Fehler zulässt: interpoliert, geglättet oder entworfen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The line turns back on itself, as no pipe does</source>
        <translation>Die Linie läuft in sich zurück, wie es kein Rohr tut</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A length of the line has no joint in the log, or was not shot</source>
        <translation>Ein Stück der Linie hat keine Verbindung im Protokoll oder wurde nicht eingemessen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Joints lie off their shots alike: by the start station, a tie or a piece not logged</source>
        <translation>Verbindungen liegen alle gleich weit neben den Aufnahmepunkten, wie bei einer falschen Anfangsstation, einem falschen Punkt mit bekannter Station oder einem Stück, das im Protokoll fehlt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Survey and readings at the joint disagree about the deflection</source>
        <translation>Vermessung und Ablesungen an der Verbindung widersprechen sich in der Abwinkelung</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A required inspection item was not recorded</source>
        <translation>Ein verlangter Punkt der Prüfung wurde nicht aufgezeichnet</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The survey cannot tell whether the deflection is within the allowable</source>
        <translation>Die Vermessung kann nicht sagen, ob die Abwinkelung zulässig ist</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The survey cannot tell whether the joint lies near enough to the design line</source>
        <translation>Die Vermessung kann nicht sagen, ob die Verbindung nahe genug an der Achse des Entwurfs liegt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The survey cannot tell whether the joint lies near enough to the design grade</source>
        <translation>Die Vermessung kann nicht sagen, ob die Verbindung nahe genug an der Höhe des Entwurfs liegt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The survey cannot tell whether the pipe has the cover that the job asks for</source>
        <translation>Die Vermessung kann nicht sagen, ob das Rohr die Überdeckung hat, die der Auftrag verlangt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A bend has no plane in the log; level or upright, it leaves its joints too much</source>
        <translation>Ein Bogen hat im Protokoll keine Ebene; waagerecht oder senkrecht lässt er seinen Verbindungen zu viel</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A bend has no angle in the log, so what its joints take is not computed</source>
        <translation>Ein Bogen hat im Protokoll keinen Winkel; was seine Verbindungen aufnehmen, wird daher nicht berechnet</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The insertion readings around the joint contradict one another</source>
        <translation>Die Ablesungen der Einstecktiefe um die Verbindung widersprechen sich</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Readings are the same in more rows, one below the other, than chance makes</source>
        <translation>Ablesungen sind in mehr Zeilen untereinander gleich, als der Zufall sie macht</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The gasket was colder than the job's limit when it was fitted</source>
        <translation>Der Dichtring war beim Einbau kälter als die Grenze des Auftrags</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The bolt torque is outside the range for this size</source>
        <translation>Das Drehmoment der Schrauben liegt außerhalb des Bereichs für diese Nennweite</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>An entry is far from the others of its column: in another unit, or its point slipped</source>
        <translation>Ein Eintrag liegt weit von den übrigen seiner Spalte, wie in anderer Einheit oder mit verrutschtem Dezimalkomma</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The next joint is nearer than a cut or fitting would explain</source>
        <translation>Die nächste Verbindung ist näher, als ein gekürztes Rohr oder ein Formstück erklären würde</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The log has more than one record of this joint number</source>
        <translation>Das Protokoll hat mehr als einen Eintrag dieser Verbindungsnummer</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The joint number is out of order against the stations</source>
        <translation>Die Verbindungsnummer passt nicht zur Reihenfolge der Stationen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The surveyed position and the station disagree</source>
        <translation>Eingemessene Lage und Station widersprechen sich</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The size changes without a reducer or tee in the log</source>
        <translation>Die Nennweite wechselt, ohne dass ein Reduzierstück oder T-Stück im Protokoll steht</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The inspection date is before the work began, or in the future</source>
        <translation>Das Datum der Prüfung liegt vor dem Beginn der Arbeit oder in der Zukunft</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A pressure test's pressure or duration looks as if written in another unit</source>
        <translation>Druck oder Dauer einer Druckprüfung sehen aus, als stünden sie in einer anderen Einheit</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Joints were inspected after the pressure test of their length</source>
        <translation>Verbindungen wurden nach der Druckprüfung ihrer Strecke geprüft</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A length of the route is under no pressure test, or under one that cannot be judged</source>
        <translation>Ein Stück der Trasse wurde keiner Druckprüfung unterzogen, oder keiner, die zu beurteilen ist</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A remark in the log has a word that may tell of trouble at the joint</source>
        <translation>Eine Bemerkung im Protokoll hat ein Wort, das auf einen Mangel an der Verbindung deuten kann</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A photo that the log names is not in the job's folders of photos</source>
        <translation>Ein Foto, das im Protokoll steht, ist nicht in den Fotoordnern des Auftrags</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>An entry of the log could not be read</source>
        <translation>Eine Angabe im Protokoll war nicht zu lesen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The station cannot be read</source>
        <translation>Die Station ist nicht zu lesen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>No station is given</source>
        <translation>Es ist keine Station angegeben</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The station lies beyond an end of the route</source>
        <translation>Die Station liegt jenseits eines Endes der Trasse</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The offset from the line cannot be read</source>
        <translation>Der seitliche Abstand von der Linie ist nicht zu lesen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The station falls in the gap of a station equation, where no station exists</source>
        <translation>Die Station fällt in die Lücke einer Stationsgleichung, wo es keine Station gibt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The station occurs more than once on the route, and nothing tells which is meant</source>
        <translation>Die Station kommt auf der Trasse mehrmals vor, und nichts sagt, welche gemeint ist</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The route is not in the centerline, or none is given</source>
        <translation>Die Trasse ist nicht in der Achse, oder es ist keine angegeben</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The row does not fit the columns of its file</source>
        <translation>Die Zeile passt nicht zu den Spalten ihrer Datei</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The row is struck through in its sheet, as void</source>
        <translation>Die Zeile ist in ihrem Blatt durchgestrichen, als ungültig</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The make-up water was within the testing allowance</source>
        <translation>Das nachgespeiste Wasser lag innerhalb der zulässigen Menge</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The make-up water was over the testing allowance</source>
        <translation>Das nachgespeiste Wasser lag über der zulässigen Menge</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The test failed, and later tests passed the whole of its length</source>
        <translation>Die Prüfung wurde nicht bestanden; spätere haben ihre ganze Strecke bestanden</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The test was held at less pressure, or for less time, than the job requires</source>
        <translation>Die Prüfung lief mit weniger Druck oder kürzer, als der Auftrag verlangt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The test was held below what the job requires; later tests passed its whole length</source>
        <translation>Die Prüfung blieb unter dem, was der Auftrag verlangt; spätere haben ihre ganze Strecke bestanden</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The test cannot be judged: no make-up water, a size unknown, or a unit in doubt</source>
        <translation>Die Prüfung ist nicht zu beurteilen: Wasser oder Nennweite fehlt, oder eine Einheit ist zweifelhaft</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Under no test</source>
        <translation>Ohne Druckprüfung</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Yes, or passed</source>
        <translation>Ja, oder in Ordnung</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>No, or failed</source>
        <translation>Nein, oder nicht in Ordnung</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Inch</source>
        <translation>Zoll</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Millimetre</source>
        <translation>Millimeter</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Foot-pound</source>
        <translation>Foot-pound</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Newton metre</source>
        <translation>Newtonmeter</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>As 12+34.56: two digits before the decimal point</source>
        <translation>Wie 12+34.56: zwei Ziffern vor dem Dezimalpunkt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>As 1+234.567: three digits before the decimal point</source>
        <translation>Wie 1+234.567: drei Ziffern vor dem Dezimalpunkt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A plain decimal number</source>
        <translation>Eine einfache Dezimalzahl</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A record describes the pipe laid ahead of its joint</source>
        <translation>Ein Eintrag beschreibt das Rohr, das in Richtung der Stationen auf seine Verbindung folgt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A record describes the pipe laid back of its joint</source>
        <translation>Ein Eintrag beschreibt das Rohr, das in Richtung der Stationen seiner Verbindung vorausgeht</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>US survey foot, 1200/3937 m</source>
        <translation>US-Vermessungsfuß, 1200/3937 m</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>International foot, 0.3048 m</source>
        <translation>Internationaler Fuß, 0.3048 m</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Metre</source>
        <translation>Meter</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Stands</source>
        <translation>Gilt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Superseded by a later load of the same job, or by the joint's later state</source>
        <translation>Überholt durch ein späteres Laden desselben Auftrags oder durch den späteren Stand der Verbindung</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Its load was undone</source>
        <translation>Sein Ladevorgang wurde rückgängig gemacht</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The register's joint stays as it is; the one left out stays out</source>
        <translation>Die Verbindung des Registers bleibt, wie sie ist; die ausgelassene bleibt draußen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The one left out is the register's joint, and became its present state</source>
        <translation>Die ausgelassene ist die Verbindung des Registers und wurde ihr jetziger Stand</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>In service, as a joint is unless something else was noted</source>
        <translation>In Betrieb, wie jede Verbindung, wenn nichts anderes vermerkt wurde</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A main laid later took its place; the joint is out of service</source>
        <translation>Eine später verlegte Leitung trat an ihre Stelle; die Verbindung ist außer Betrieb</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Out of service, and left in the ground</source>
        <translation>Außer Betrieb, und im Boden geblieben</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Someone looked at the finding</source>
        <translation>Jemand hat den Befund angesehen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>To be looked at again</source>
        <translation>Wieder anzusehen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Inches</source>
        <translation>Zoll</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Millimetres: the size is a DN</source>
        <translation>Millimeter: Die Nennweite ist eine DN</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>the main curves one way between shots, no joint against the next</source>
        <translation>die Leitung krümmt sich zwischen den Messpunkten nach einer Seite, keine Verbindung gegen die nächste</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>no elevation was measured there: the pipe turns up or down no more than the elevations on either side show while it bends one way between them, and not at all where there are none</source>
        <translation>dort wurde keine Höhe gemessen: Das Rohr knickt nicht mehr nach oben oder unten ab, als die Höhen beiderseits zeigen, wenn es sich dazwischen nach einer Seite krümmt, und gar nicht, wo keine sind</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>the bend lies in the plane that the log gives or, where it gives none, in the one that leaves its two joints least, and both deflect the same way</source>
        <translation>der Bogen liegt in der Ebene, die das Protokoll nennt, oder, wo es keine nennt, in der, die seinen beiden Verbindungen am wenigsten lässt, und beide winkeln nach derselben Seite ab</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>nothing of the line there was shot: it was drawn, is a design, or its shots are too even to be any, and the pipe lies on it</source>
        <translation>von der Linie wurde dort nichts eingemessen: Sie wurde gezeichnet, ist ein Entwurf, oder ihre Messpunkte sind zu gleichmäßig, um welche zu sein, und das Rohr liegt auf ihr</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>no standard error of the shots is stated, and they are taken as without error</source>
        <translation>für die Messpunkte ist keine Standardabweichung angegeben, und sie gelten als fehlerfrei</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>the shots that stations put at joints are at them and not all beside them alike, which nothing else in the data tells</source>
        <translation>die Messpunkte, die nach den Stationen an Verbindungen liegen, liegen dort und nicht alle gleich weit daneben, was sonst nichts in den Daten zeigt</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>the allowable is as the job's own table has it, though that is far from the published one, or from what joints are known to take</source>
        <translation>die zulässige Abwinkelung ist, wie die eigene Tabelle des Auftrags sie hat, obwohl das weit von der veröffentlichten oder von dem liegt, was Verbindungen bekanntermaßen aufnehmen</translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>the stations start at that end of the line from which it is drawn, which nothing in the data tells</source>
        <translation>die Stationen beginnen an dem Ende der Linie, von dem aus sie gezeichnet ist, was nichts in den Daten zeigt</translation>
    </message>
</context>
</TS>
