<?xml version="1.0" encoding="utf-8"?>
<!DOCTYPE TS>
<TS version="2.1">
<context>
    <name>asbuilt</name>
    <message>
        <location filename="../again.py"/>
        <source>This job was placed from selected features only, or from a layer in memory ({0}): what was chosen then is not known any more. Open the form from the toolbox, and choose it there.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>The project was closed meanwhile, so nothing is opened in the one that is here now. Written: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>pipe</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>as-built</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>station</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../algorithm.py"/>
        <source>deflection</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>Cancelled; the output is as it was before.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>The asbuilt command ended before it was done (exit status {0}); the output is as it was before.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>Cancelled too late: the work was done by then, and the output is the new one.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>The asbuilt environment is damaged ({0}). Set it up again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>Run it again; if it fails again, report it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>The asbuilt command answered with something other than JSON: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../child.py"/>
        <source>{0} cannot be started: {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../columns.py"/>
        <source>Columns: {0!r} is not of the form: field = column</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../columns_widget.py"/>
        <source>Field</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../columns_widget.py"/>
        <source>Column of the log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../columns_widget.py"/>
        <source>by its name, if there</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../columns_widget.py"/>
        <source>Column of the log that holds this field. Left blank, it is matched by its name.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../columns_widget.py"/>
        <source>Two columns of the log could be the same field; choose one: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>The asbuilt command is not here yet. Run the algorithm 'Set up the asbuilt environment' once (Processing toolbox, Joint records), or name an environment in the plugin's settings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>No Python interpreter was found: name one, of version 3.11 or later.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>This copy of the plugin came without its package: install it from its zip again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>On Debian, install the package python3-venv.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>Installing asbuilt and its libraries; this takes a minute or two ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>Look at the lines above; is the package index reachable?</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>The environment cannot be made in {0} ({1}): look at the folder's rights and room.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>asbuilt {0} is ready in {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>{0} is asbuilt {1}, but this plugin needs {2}. Run the algorithm 'Set up the asbuilt environment', or name another environment in the plugin's settings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>Making a virtual environment in {0} ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>{0}, named in the plugin's settings, is not there. Correct it there, or leave it blank.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>{0} is not a Python interpreter: name one, of version 3.11 or later.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>{0} is Python {1}, but asbuilt needs 3.11 or later: name another interpreter.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>The environment could not be made:</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../environment.py"/>
        <source>{0} does not answer as the asbuilt command ({1}). Run the algorithm 'Set up the asbuilt environment', or correct the plugin's settings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Find joints in the register</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Finds the joints near a point, in polygons, or on a stretch of a route, with their inspections and findings. Joints must meet every condition given; without a distance, the ten joints nearest to the point are listed.

Distances are measured on the ground, in the unit that you write: 50ft, 20m.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>In a group of their own, with their relations.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Point at it on the map.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>On the ground, with its unit: 50ft, 20m.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>The nearest ones to the point.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>A layer of polygons, in any coordinate system.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Name of the route.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Such as 12+34.56; needs the route.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Such as 15+00; needs the route.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Number of the joint, or its joint ID.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Deflection against its allowable.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Joints at which one of these was found.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Part of the inspector's name.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>On this day or later.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>On this day or earlier.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Open the layers in the project</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Joints found</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Number of joints</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Near this point</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Within</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>At most this many</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>In these polygons</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Route</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>From station</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>To station</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Verdict</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Finding</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Inspector</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Inspected since</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>Inspected until</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>GeoPackage</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../find.py"/>
        <source>{0} joints were found.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Opens the log at its row: its table where the log is a layer of the project, else its file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Opens the form that placed this job, filled in as it was</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Findings of a placed job</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>The placed jobs whose layers are open in the project</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>all findings</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Only findings of this severity</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Filter</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>filter</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Only rows that hold this text: a code, a route, a joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Findings</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Set aside</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Notes</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Previous</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>The finding or row before this one (Alt+Left)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Next</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>The finding or row after this one (Alt+Right)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Zoom to</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Brings the finding to the middle of the map</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Joint's form</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Opens the form of the finding's joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Open the log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Place again ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Route of the station to go to</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Station</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>go to station, such as 12+34.5</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>With Enter, the map goes there</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Open the layers of a placed job: its findings are listed here.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Severity</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>File</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Row</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Reason</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Note</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Joint records: are the files as they were?</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>There is none beyond this one in the list.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Placed again: {0} findings are gone, {1} are new (in bold).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>This finding is about the job as a whole, or has no place.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>The joints of this job are not open in the project.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>The filter of {0} leaves this joint out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>Placed {0} by asbuilt {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>{0} is not there any more.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>{0} is not where it was when the job was placed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../findings_panel.py"/>
        <source>{0} cannot be read as a placed job: {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../form_filling.py"/>
        <source>Fill in from a job file ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../form_filling.py"/>
        <source>Takes the values of this form from a job file, such as one saved from this form.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../form_filling.py"/>
        <source>Job file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../form_filling.py"/>
        <source>The form is filled in from {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../form_filling.py"/>
        <source>{0} keys that have no field here stand under 'Further keys of the job file'.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../form_words.py"/>
        <source>this form</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../form_words.py"/>
        <source>Load a placed job into the register</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../form_words.py"/>
        <source>List and settle joints that contradict the register</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>Inspection</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>Earlier record</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>Joint {0}, route {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>By load {0} ({1})</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>No inspection record.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>{0} of {1} degrees allowed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>the survey bounds it between {0} and {1} degrees</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>measured at the joint: {0} degrees</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>The verdict assumes that</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>{0} degrees</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../history.py"/>
        <source>{0} degrees allowed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../inputs.py"/>
        <source>{0} has changes that are not saved in {1}: save them, or discard them, and run this again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../inputs.py"/>
        <source>{0}: which rows of {1} the filter or selection leaves cannot be told. Take it off, or save the rows as a file of their own.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../inputs.py"/>
        <source>{0}: the filter or selection leaves no record.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../inputs.py"/>
        <source>{0} cannot be handed to asbuilt: {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Stands in the output and the register. Give each job its own: jobs of one name correct one another.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Which column is which field, as lines of: field = column. The rest is matched by name.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>A published table; written down from memory, so check it against your edition. None, if left out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Rows of joint_type,size,allowable_deg,source: they win over the table's.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Name of the job</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Unit of the stations</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Unit of stations and lengths in the log.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Laying length</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Nominal length of one pipe, in the unit of the stations.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Columns of the log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Allowable deflections</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Approved submittal (CSV)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>A CSV of survey shots or a LandXML file, in place of a line layer.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Where there is one route, and no column that names it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Only where the centerline does not say its own.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>As the specification says; 1 is all of it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Of the layers that are written; the centerline's, if left out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>TOML, such as: records.spacing_tolerance = 0.5. All keys: asbuilt check --template</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Save as job file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Writes this form down as a job file, to be run again, by the command too.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>a copy of the layer {0} ({1})</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>The surveyed lines of the routes, in a projected coordinate system.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Names the route of each line. Not needed where there is one route.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Station of each line's first vertex.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Station of the first vertex, such as 10+00.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>One row for each, in order along the route: the same point is 'back' from one side and 'ahead' from the other.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>A table or layer with a row for each joint; points of a layer place their joints.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>CSV files and workbooks as the crew handed them in; several are one log.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Centerline file (survey shots, LandXML)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Name of the route</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Coordinate system of the centerline</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Part of the allowable that may be used</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Coordinate system of the map</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Further keys of the job file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>centerline</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>joint log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>The start station is given twice: by a column and as one for all; clear one of them</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Give the start station: a column, or one for all (0+00 where stations count from there)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Give the laying length</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Give the job a name of its own: in the register, jobs of one name correct one another</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>The form cannot be saved as a job file: a layer of it is in no file, or changed by a filter. Save the layer first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Centerline</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Column with the route</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Column with the start station</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>... or one start station for all</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Station equations</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Joint log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>... or its files</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Saved as job file: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>route</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>back</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>ahead</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Survey shots or LandXML</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>{0} is what was found, not a joint log: choose what the crew handed in</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>a key is written under {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>{0} is there and was not saved from this form: name another file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>Give the {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>The {0} is given twice: as a layer and as a file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>{0} cannot be written: {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_form.py"/>
        <source>'{0}' is given twice: take {1} out of {2}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Put a job's joints on the utility's own layer</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Appends the joints of a job to the utility's own layer, column by column as the section [map] of the job file says. Joints that are there already are not added again. A value that does not fit its column is named, and nothing is written.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Write a blank log for the crew</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Writes a blank joint log whose columns, lists and limits are those that the job and the checks ask for: a workbook, or a page for a tablet. Filled in, it is read as the job's log. A log that is filled in is never written over.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Only list what would happen</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Nothing is written. Untick it when the list is as it should be.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Only for this route; for all, if left out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>What was done, as JSON</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Workbook</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Page for a tablet</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Blank log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../job_works.py"/>
        <source>Written: {0}, a blank log of {1} columns and {2} rows.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Reads and judges a joint log and its centerline; nothing is written but the log with remarks, if wanted.

The log below then says what would become of every record: how many can be placed, which are set aside and why, how the columns are read, and what there is to look at.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Puts every joint of a log at its place on the surveyed centerline, computes what it deflects, judges it against what its size and type allow, and writes a GeoPackage: joints, segments, findings, centerline, inspections, records set aside, and what made the file.

The layers open in the project with their styles; a joint's form shows its inspections and findings. No record is lost: each is placed, or set aside with its reason.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Check a joint log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Check a job file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Place joints on the map</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Place the joints of a job file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>A job file that is there already, with all that the job needs.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Log with remarks, for the contractor</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>The log's own cells, with a column of remarks on what is wrong and what is expected.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>In a group of their own, with styles and relations.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Placed job, where not the job file's own</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Placed job</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Logs with remarks that were written</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Left out, the one that the job file names.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>The placed job is in a temporary file, which goes when this program is closed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>{0} cannot be both the job file and what is written by it; name another file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>{0}: the column '{1}' is read as {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>{0}: the column '{1}' is not read.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../jobs.py"/>
        <source>Written: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>Inspections</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>Photos</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>Deflection</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>Photo</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>Place and numbers</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>Joint, route, station</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>That is</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>degrees</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../layer_forms.py"/>
        <source>if</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../log_rows.py"/>
        <source>Row {0} of {1}: correct it, save the layer's changes, and place again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../log_rows.py"/>
        <source>Looking for row {0} of {1} ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../log_rows.py"/>
        <source>Opened {0}: go to row {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../log_rows.py"/>
        <source>Saving writes the file anew as a whole: keep a copy of what the crew handed in.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../log_rows.py"/>
        <source>Row {0} of {1} is not in the layer, or its filter leaves it out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../log_rows.py"/>
        <source>Row {0} of {1} cannot be changed here: correct it in {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../outputs.py"/>
        <source>{0} is read by this work, so it cannot be its output; name another file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../outputs.py"/>
        <source>{0} is being edited in the project, as the layer {1}: end that first, or name another file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>what was found when looking at it</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Takes the mark back: the finding is to be looked at again; the earlier marks are kept</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>History of a joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>GeoPackage, or postgresql:// address</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The register: where 'Load a placed job into the register' put the joints.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Point at a joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Then click on the map: shows the nearest joint.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Draw a rectangle</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Then drag on the map: lists the joints in it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>A route's name; with Enter, its joints are listed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>A joint's number; with Enter, it is looked up.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Joints found, nearest first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Previous joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The joint before this one along the route (Alt+Left)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Next joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The joint after this one along the route (Alt+Right)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Brings the joint to the middle of the map</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Findings at the joints listed above; the next one is one key (Down) away.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Next finding</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The next finding that nobody has looked at</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Kept in the register with the finding</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Mark as looked at</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Keeps the mark and the note in the register</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Open again</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>No joint there. Point nearer to one, or zoom in.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>No joint in there.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Asking the register ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The register has changed; look the joint up again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>All findings here have been looked at.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Away</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Looked at</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>No such joint in the register.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Name the register first, in the field at the top.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>Marked in the register.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The register was changed; this is what it holds now.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>open again ({0})</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>The route has no joint beyond this one.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../panel.py"/>
        <source>{0} is asked from now on: a job was loaded into it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_file.py"/>
        <source>{0} was placed by an earlier version (asbuilt {1}): place the job again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_file.py"/>
        <source>{0} was placed by a later version (asbuilt {1}): install the plugin of that version.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_file.py"/>
        <source>{0} was changed after it was placed: {1} has {2} rows, not the {3} of the job. Place it again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Merges a placed job into the register of the utility's joints: known joints are brought up to date and keep their history, new ones are added, and what contradicts the register is listed and left out. Loading the same job again changes nothing.

The register is a GeoPackage, made if it is not there yet, or a database named as postgresql://...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Main that this one was laid in place of: a route, or a part of one, such as: A 12+00..14+00</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Compare two placings of a job</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Says what is different between an earlier and a later placed file of one job: joints that came, went, moved or changed, findings and rows set aside that came and went; as a page and a workbook, if wanted.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Write the engineer's review</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Writes pages for the reviewing engineer, one for each route and an index: deflection along the route against the allowable, plan and profile, and tables of what to look at. They open in a browser without a network.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Register</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>A GeoPackage, or a database named as postgresql://user@host/name.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Any layer of a placed job, such as its joints, or its GeoPackage; the whole file is read.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Nothing is changed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Main</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Main that the job's routes belong to: their names stand under its own.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Takes the place of</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>In a group of their own, with styles and relations; of a register that is a GeoPackage.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Moves up to this far are not listed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>With its unit: 0.05ft, 0.02m.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>The job has another name now</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Compares them although their names differ.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Only this route; all, if left out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Also print the pages to PDF</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Needs the browser Chromium on this machine.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Also write each plot as a picture</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>SVG and PNG, for a report of your own.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Open the register's layers in the project</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Earlier placed file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Later placed file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>A GeoPackage that 'Place joints on the map' wrote.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Page of the differences</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Workbook of the differences</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>What is different, as JSON</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Folder of the pages</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>First page</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Placed job: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Page</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Any file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>{0} is not a layer of a GeoPackage: choose a layer that 'Place joints on the map' wrote.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>The input</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job.py"/>
        <source>Register {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job_widget.py"/>
        <source>Choose a placed job</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../placed_job_widget.py"/>
        <source>The GeoPackage of a job that is not open</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Shows or hides the panel with what a placed job's records and survey give cause to look at</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Shows or hides the panel with what the register knows about a joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Search page in the browser</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>End the search page</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Findings on a sheet ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Help</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Settings ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Joint records</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>The asbuilt command is not here yet.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Set up the environment ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>The search page has ended.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Place joints ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Check a joint log ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Place the joints of a job file ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Write a blank log ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Write the engineer's review ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Load into the register ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Find joints ...</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Open the layers of a placed job first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../plugin.py"/>
        <source>Set it up now?</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register.py"/>
        <source>The area cannot be handed to asbuilt: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_widget.py"/>
        <source>Register: one that is there, or the name of a new one</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Undo a load of the register</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Takes out of the register what a load brought, and brings back what stood before it. The number of the load stands at the end of the log when a job is loaded. The record of it stays.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Lists the joints that loads left out because they contradict the register. With a decision it settles those that are named: the register's joints stay, or the job's take their place, or the job gets a main of its own. Each decision is kept with your name and the note.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>ours: the register's stay; theirs: the job's are taken; main: the job is a main of its own.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Note that a main is out of service</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Notes in the register that the joints of a main, or of a part of it, are abandoned, replaced, or in service again. The joints stay, and every answer says what became of them.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Tell what is in the register</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Tells which jobs and mains are in the register, how complete their inspections are, which joints are out of service, and how many wait to be settled. Nothing is changed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Number of the load</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>As the log said when the job was loaded.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Decision</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>A route of the register, or a part of one by its stations, such as: A 12+00..14+00</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>What became of it</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Of all joints of the main, or of that part.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Job</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Only joints of this job; needed to settle.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Only joints of this route of the job.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Only this joint of the job.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Name of the main</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>For the decision 'main'.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Why it was settled so.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Placed file of the job</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>Only where it is no longer where it was.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>What is to be known of it, such as how it was filled.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../register_works.py"/>
        <source>{0}: {1} joints are noted as {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../results.py"/>
        <source>Joints</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../results.py"/>
        <source>Restraint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../results.py"/>
        <source>Pressure tests</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../results.py"/>
        <source>Segments</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../results.py"/>
        <source>Run</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} of {1} joints are there already; {2} would be added and {3} changed. Nothing was written.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} of {1} joints were there already; {2} were added and {3} changed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Job {0}: of {1} joints, the records of {2} are complete, {3} incomplete, {4} failed; {5} have none.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Nothing was changed; this is what a load would do.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Nothing was changed; this is what undoing would do.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>No joint waits to be settled.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Layer {0} of {1}:</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} records were read; {1} were placed and {2} were set aside.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>They are {0} joints, on {1} of {2} routes.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>There are {0} findings to look at.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints were read: {1} new, {2} changed, {3} unchanged, {4} left out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} inspections were read: {1} new, {2} unchanged, {3} left out; {4} earlier ones are superseded.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} findings were read: {1} new; {2} earlier ones are superseded.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>The register was not changed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Load {0} of the job '{1}': {2} joints are taken out, {3} are as they were before it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} inspections are undone, {1} stand again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints of {1} jobs wait to be settled:</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints of the job '{1}' are settled.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0}: {1} joints and {2} inspections, in {3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Note: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints contradict the register and wait to be settled: {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>The job says nothing of joints that it brought earlier; they stay: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints of the main that was replaced are out of service.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>This is load {0}; by that number it can be undone.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Undone with it: load {0}, of which all joints were left out for it; theirs stand under a main.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints still wait.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Route {0}: {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>and {0} more</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints are {1}: {2}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} joints wait to be settled.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} set aside as {1}: {2}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} judged {1}: {2}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} of {1}: {2}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>The register {0} was made.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Job '{0}', route {1}, joint {2}: {3}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>Main {0}: {1} joints, inspected from {2} to {3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sentences.py"/>
        <source>{0} of these share a turn with others, and one or more of them all is over</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../serving.py"/>
        <source>Name the register first, in the plugin's settings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../serving.py"/>
        <source>The search page cannot be started.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../serving.py"/>
        <source>The search page is at {0}, on this machine alone.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../serving.py"/>
        <source>The search page has ended: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Joint records: settings</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>the plugin's own environment</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>The asbuilt command; blank for the environment that the plugin made.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>The register that the panel asks: a GeoPackage, or a postgresql:// address.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Your name, as it stands with the findings that you mark as looked at.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Makes a virtual environment in your profile and installs the command there.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Command</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Your name</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../settings_dialog.py"/>
        <source>Ready: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>Set up the asbuilt environment</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>Makes a virtual environment in your profile and installs the asbuilt command there, with its libraries; the host's own libraries stay as they are. Needed once, and again after the plugin was updated.

It takes a minute or two, a network connection to a Python package index, and Python 3.11 or later.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>Python interpreter</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>Of version 3.11 or later; looked for, if left out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>The command</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../setup_environment.py"/>
        <source>Its version</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../sheet_layout.py"/>
        <source>Findings of {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../since.py"/>
        <source>{0} is filtered: the map shows {1} of {2} rows; the lists here show all.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../since.py"/>
        <source>{0} is being edited: a placed file is not mended by hand. Correct the log, and place it again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../since.py"/>
        <source>{0} has changes that are not saved in {1}: they are not in here.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../since.py"/>
        <source>{0} was written to since: this is of the file as it was before. Place the job again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../since.py"/>
        <source>{0} was written to since, if only by this program when a layer of it was put in edit: this is of the file as it was before. Place the job again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../since.py"/>
        <source>{0} is not where it was: whether it has changed since cannot be told.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../stations.py"/>
        <source>{0!r} cannot be read as a station; write it like 12+34.56</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../stations.py"/>
        <source>the stations of this job are plain numbers; {0!r} has a plus</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../stations.py"/>
        <source>there is no station {0} on this route</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../stations.py"/>
        <source>the station occurs more than once; write {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../stations.py"/>
        <source> or </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../tasks.py"/>
        <source>Joint records: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../words.py"/>
        <source>Not for locating. Before digging: locate request and trench protection. Isolate and depressurize the main before moving a joint. Local codes, the site's safety plan and a licensed engineer govern.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../words.py"/>
        <source>These are findings on records, not an acceptance of work. Limits come from the approved submittal and the project's specification; local codes and the pipe maker's instructions govern, and the judgement is a licensed engineer's.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../data/styles/findings.qml"/>
        <source>Act</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../data/styles/findings.qml"/>
        <source>Check</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../data/styles/joints.qml"/>
        <source>Over the allowable</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../data/styles/joints.qml"/>
        <source>Survey cannot tell</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../data/styles/joints.qml"/>
        <source>No allowable on file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../data/styles/joints.qml"/>
        <source>Within, if what it assumes holds</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../data/styles/joints.qml"/>
        <source>Within the allowable</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../data/styles/joints.qml"/>
        <source>Not computed (end of route)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Joint ID</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Easting</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Northing</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Elevation</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Longitude</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Latitude</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Size</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Joint type</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Kind</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Restrained</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Position from</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Position sigma</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Accuracy, horizontal</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Accuracy, vertical</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Accuracy found by</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Turn (deg)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Turn, horizontal (deg)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Turn, vertical (deg)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Bend angle (deg)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Deflection (deg)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Deflection from</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Deflection, at least (deg)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Deflection, at most (deg)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Deflection sigma (deg)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Measured deflection (deg)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Measured direction (deg)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Measured sigma (deg)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Mean gap</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap residual</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Allowable (deg)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Allowable from</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Verdict assumes</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Design station</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Offset from design</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Height over design</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Ground</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Cover</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Least cover</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Inspected on</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>From joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>To joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Length</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Laid length</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Difference</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Azimuth (deg)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Grade (%)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Point</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Value</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Limit</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Unit</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Basis</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Message</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Start station</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Vertices</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>From distance</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>To distance</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Why</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Named by</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Not restrained</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Result</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Sizes</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Pressure</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Pressure unit</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Duration (h)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Allowance</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Make-up water</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Water unit</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Tested on</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Record</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Offset</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Outside diameter</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Pipe class</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Cut</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Bend plane</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Crew</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Groove clean</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Spigot clean</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gasket clean</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gasket temperature (F)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gasket seated</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Lubricated</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Insertion mark</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 12</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 1</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 2</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 3</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 4</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 5</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 6</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 7</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 8</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 9</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 10</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gap at 11</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 12</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 1</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 2</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 3</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 4</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 5</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 6</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 7</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 8</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 9</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 10</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gauge depth at 11</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Bolt torque</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Remarks</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Photo files</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Station settled by</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Latest</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Original row</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>File version</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Made at</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Version</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Centerline system</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Map system</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Datum step</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Surveyed on</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Station unit</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Coordinate unit</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Size unit</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Reading unit</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Torque unit</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Station format</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Pipe described</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Records read</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Inspections placed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Records set aside</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Counts</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Inputs</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Column matches</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Library versions</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Name of the route (main or line) in the centerline.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Joint number, as in the log; 'at' and the station where the log has no number.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Station along the route, in station units; with BK or AH, and the equation's number, where it occurs more than once.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Offset square to the centerline, in station units; right positive, looking ahead.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>What was laid: pipe, bend, tee, valve, reducer, sleeve, cap, or as the log says.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Nominal pipe size: inches, or DN in millimetres, as the job says.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Outside diameter of the pipe as logged, in the unit of its nominal size.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Joint family: push-on, restrained-push-on, mechanical, flanged, or one of the job's own.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Pressure or thickness class of the pipe, as logged.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Length of the pipe as laid, in station units.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the pipe was cut.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the joint is restrained against pulling apart.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Angle of the fitting, degrees.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Plane in which the fitting turns: horizontal, vertical or rolled, as logged.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Date of the inspection.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Who inspected the joint.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Crew that laid the pipe.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the bell's gasket groove was clean.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the spigot was clean back to the insertion marks.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the gasket was clean.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Temperature of the gasket when fitted, degrees F.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the gasket was seated evenly in its groove.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether gasket and spigot were lubricated.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the spigot went in to its insertion mark.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Whether the feeler gauge touched the gasket evenly all around.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 12 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 1 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 2 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 3 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 4 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 5 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 6 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 7 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 8 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 9 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 10 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Distance from the bell face to the insertion mark at 11 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 12 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 1 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 2 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 3 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 4 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 5 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 6 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 7 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 8 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 9 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 10 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Depth at which the feeler gauge touched the gasket at 11 o'clock, looking ahead, in the unit of readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Torque of the bolts of a mechanical joint; as logged, unit as the job says.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Easting that the log has for the joint, in the log's own coordinate system.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Northing that the log has for the joint, in the log's own coordinate system.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Elevation that the log has for the joint, in the log's own unit.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Remarks of the crew or the inspector.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Photo numbers or files, as logged.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The turn between the surveyed straights</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Gaps read around the joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Both, weighted by how sure they are</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Over the allowable deflection</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Within the allowable deflection, as measured</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Within the allowable deflection only if what the verdict assumes holds</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The survey cannot tell whether the joint is within or over</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>No allowable deflection is on file for this joint type and size</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Not computed, as at an end of the route, where pipe lies on one side only</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Something is wrong and needs action before the work is accepted</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Someone must look: the records are incomplete or contradict one another</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>For information; nothing need be done</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Every required item was recorded, and none failed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A required item was not recorded</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A recorded item did not pass</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Nothing about the inspection was recorded</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Placed on the centerline by its station</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Placed by its station, adjusted between ties of known station and coordinates</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Surveyed at the joint itself</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The bends of the log lie at corners of another line, and not of its own</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A survey shot lies off the line of the shots beside it</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Survey shots stand in another order than they lie in</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The line is as long as its log only in another unit</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A bend of the log lies off the corner of its angle</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The stations are counted on past a station equation, as if it were not there</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The stations of a run of rows run off the pipes laid</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The deflection is over the allowable</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The line turns to the other side than the bend that the log has there</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A pressure test took more make-up water than its allowance</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The joint is unrestrained within a length that must be restrained</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>An inspection item did not pass</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The joint lies farther right or left of the design than the job allows</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The joint lies farther above or below the design than the job allows</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A later record passes what had failed, and nothing shows that it was looked at again</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The pipe has less cover than the job asks for</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The next joint is too far: joints are missing, or a station or length is wrong</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The line turns where no joint is in the log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A pressure test was held at less pressure than the job requires</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A pressure test was held for less time than the job requires</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The spigot is in too far, or not far enough</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The feeler gauge went in to uneven depths: the gasket may be displaced</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Records of one joint and one day, or without days, give it different stations</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>One place was shot twice, and both shots are strung into the line</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The elevation of a survey shot cannot be that of the pipe</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Shots scatter less than their stated error allows: interpolated, smoothed or designed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The line turns back on itself, as no pipe does</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A length of the line has no joint in the log, or was not shot</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Joints lie off their shots alike: by the start station, a tie or a piece not logged</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Survey and readings at the joint disagree about the deflection</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A required inspection item was not recorded</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The survey cannot tell whether the deflection is within the allowable</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The survey cannot tell whether the joint lies near enough to the design line</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The survey cannot tell whether the joint lies near enough to the design grade</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The survey cannot tell whether the pipe has the cover that the job asks for</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A bend has no plane in the log; level or upright, it leaves its joints too much</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A bend has no angle in the log, so what its joints take is not computed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The insertion readings around the joint contradict one another</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Readings are the same in more rows, one below the other, than chance makes</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The gasket was colder than the job's limit when it was fitted</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The bolt torque is outside the range for this size</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>An entry is far from the others of its column: in another unit, or its point slipped</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The next joint is nearer than a cut or fitting would explain</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The log has more than one record of this joint number</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The joint number is out of order against the stations</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The surveyed position and the station disagree</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The size changes without a reducer or tee in the log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The inspection date is before the work began, or in the future</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A pressure test's pressure or duration looks as if written in another unit</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Joints were inspected after the pressure test of their length</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A length of the route is under no pressure test, or under one that cannot be judged</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A remark in the log has a word that may tell of trouble at the joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A photo that the log names is not in the job's folders of photos</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>An entry of the log could not be read</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The station cannot be read</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>No station is given</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The station lies beyond an end of the route</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The offset from the line cannot be read</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The station falls in the gap of a station equation, where no station exists</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The station occurs more than once on the route, and nothing tells which is meant</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The route is not in the centerline, or none is given</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The row does not fit the columns of its file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The row is struck through in its sheet, as void</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The make-up water was within the testing allowance</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The make-up water was over the testing allowance</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The test failed, and later tests passed the whole of its length</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The test was held at less pressure, or for less time, than the job requires</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The test was held below what the job requires; later tests passed its whole length</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The test cannot be judged: no make-up water, a size unknown, or a unit in doubt</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Under no test</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Yes, or passed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>No, or failed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Inch</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Millimetre</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Foot-pound</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Newton metre</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>As 12+34.56: two digits before the decimal point</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>As 1+234.567: three digits before the decimal point</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A plain decimal number</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A record describes the pipe laid ahead of its joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A record describes the pipe laid back of its joint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>US survey foot, 1200/3937 m</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>International foot, 0.3048 m</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Metre</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Stands</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Superseded by a later load of the same job, or by the joint's later state</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Its load was undone</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The register's joint stays as it is; the one left out stays out</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>The one left out is the register's joint, and became its present state</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>In service, as a joint is unless something else was noted</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>A main laid later took its place; the joint is out of service</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Out of service, and left in the ground</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Someone looked at the finding</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>To be looked at again</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Inches</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>Millimetres: the size is a DN</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>the main curves one way between shots, no joint against the next</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>no elevation was measured there: the pipe turns up or down no more than the elevations on either side show while it bends one way between them, and not at all where there are none</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>the bend lies in the plane that the log gives or, where it gives none, in the one that leaves its two joints least, and both deflect the same way</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>nothing of the line there was shot: it was drawn, is a design, or its shots are too even to be any, and the pipe lies on it</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>no standard error of the shots is stated, and they are taken as without error</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>the shots that stations put at joints are at them and not all beside them alike, which nothing else in the data tells</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>the allowable is as the job's own table has it, though that is far from the published one, or from what joints are known to take</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <location filename="../../schema.py"/>
        <source>the stations start at that end of the line from which it is drawn, which nothing in the data tells</source>
        <translation type="unfinished"></translation>
    </message>
</context>
</TS>
